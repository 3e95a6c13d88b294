"""Scores in other formats (MIDI, ABC, Humdrum kern, MEI), converted once to MusicXML by music21."""

from __future__ import annotations

import codecs
import re
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from lxml import etree

from analysis.language import _
from engraving.apart import BrokenOffError, OverdueError, call_apart
from engraving.errors import ScoreFileError
from engraving.limits import LIMITS, Limits
from engraving.xmltext import looks_like_xml, parse_xml, xml_bytes

_HEAD = 4096
_MEI_ROOT = re.compile(rb"<(\w+:)?mei[\s>]")
_KERN_START = re.compile(rb"\s*(!!|\*\*)")
_TUNE_START = re.compile(r"^X:", re.MULTILINE)
_ABC_START = re.compile(rb"^(%abc|X:\s*\d)", re.MULTILINE)
_TEXT_SUFFIXES = {".abc": "abc", ".krn": "humdrum"}
_TRADE_NAMES = {"abc": "ABC", "humdrum": "kern", "mei": "MEI", "midi": "MIDI"}


@dataclass(frozen=True, slots=True)
class Imported:
    """A converted score as MusicXML bytes, with sentences on what the conversion left out or doubted."""

    musicxml: bytes
    remarks: tuple[str, ...]


def foreign_format(data: bytes, suffix: str) -> str | None:
    """The format to convert from, ``midi``, ``abc``, ``humdrum`` or ``mei``; ``None`` for MusicXML or unknown bytes.

    The bytes decide; the suffix does only for plain text that does not tell.
    """
    head = data[:_HEAD]
    if head.startswith(b"MThd"):
        return "midi"
    if looks_like_xml(head):
        return "mei" if _MEI_ROOT.search(head.replace(b"\0", b"")) else None
    if not head.strip() or head.startswith(b"PK"):
        return None
    if _KERN_START.match(head):
        return "humdrum"
    return "abc" if _ABC_START.search(head) else _TEXT_SUFFIXES.get(suffix.lower())


def import_apart(data: bytes, name: str, score_format: str, limits: Limits = LIMITS) -> Imported:
    """The same as :func:`import_score`, in a process of its own: a damaged file may keep a converter busy for ever.

    ScoreFileError also when it takes too long or needs too much memory.
    """
    kind = _TRADE_NAMES[score_format]
    try:
        return call_apart(
            import_score, (data, name, score_format), seconds=limits.convert_seconds, memory=limits.convert_bytes
        )
    except OverdueError as error:
        raise ScoreFileError(
            _("{name} is not converted from {kind} in {seconds} seconds: it is too long, or damaged").format(
                name=name, kind=kind, seconds=f"{limits.convert_seconds:g}"
            )
        ) from error
    except MemoryError as error:
        raise ScoreFileError(
            _("{name} needs too much memory to be converted from {kind}: it is too long, or damaged").format(
                name=name, kind=kind
            )
        ) from error
    except BrokenOffError as error:
        raise _unreadable(name, score_format) from error


def import_score(data: bytes, name: str, score_format: str) -> Imported:
    """Convert a score of ``score_format`` to MusicXML; ScoreFileError in one sentence when that fails.

    Of an ABC file with several tunes the first is taken, which a remark says.
    """
    if score_format == "mei":
        parse_xml(data, name)
    remarks: tuple[str, ...] = ()
    source: str | bytes = data if score_format == "midi" else _text(data)
    if score_format == "abc":
        tunes = list(_TUNE_START.finditer(str(source)))
        if len(tunes) > 1:
            source = source[: tunes[1].start()]
            remarks = (_("{name} holds {count} tunes; the first was opened").format(name=name, count=len(tunes)),)
    musicxml, doubts = _with_doubts(lambda: _convert(source, score_format, name))
    title = Path(name).stem
    return Imported(_without_filler(musicxml, name, title), remarks + tuple(f"{name}: {doubt}" for doubt in doubts))


def _with_doubts(convert: Callable[[], bytes]) -> tuple[bytes, list[str]]:
    """What ``convert`` returns, and the warnings it gave on the way, each once."""
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always", UserWarning)
        musicxml = convert()
    return musicxml, list(dict.fromkeys(str(warning.message) for warning in caught))


def _text(data: bytes) -> str:
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return data.decode("utf-16", "replace")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return data.decode("latin-1")


def _convert(source: str | bytes, score_format: str, name: str) -> bytes:
    from music21 import converter, exceptions21, stream
    from music21.musicxml.m21ToXml import GeneralObjectExporter

    # The parsers of music21 meet damaged input with whichever of these their code runs into first.
    failures = (exceptions21.Music21Exception, ArithmeticError, AttributeError, LookupError, TypeError, ValueError)
    try:
        parsed: Any = converter.parseData(source, format=score_format)
        score = parsed.scores.first() if isinstance(parsed, stream.Opus) else parsed
        if score is None or not score.recurse().notes:
            raise ScoreFileError(
                _("{name} holds no notes that can be read as {kind}").format(name=name, kind=_TRADE_NAMES[score_format])
            )
        return bytes(GeneralObjectExporter(score).parse())
    except failures as error:
        raise _unreadable(name, score_format) from error


def _unreadable(name: str, score_format: str) -> ScoreFileError:
    return ScoreFileError(
        _("{name} cannot be read as {kind}: it is damaged or holds something unknown").format(
            name=name, kind=_TRADE_NAMES[score_format]
        )
    )


def _without_filler(musicxml: bytes, name: str, title: str) -> bytes:
    """The converted text with the file's own name as title and no composer where the source gave none.

    The converter fills both with words of its own, which would be printed on the page.
    """
    from music21 import defaults

    tree = parse_xml(musicxml, name)
    for path, filler in (("movement-title", defaults.title), ("work/work-title", defaults.title)):
        for element in tree.iterfind(path):
            if (element.text or "").strip() == filler:
                element.text = title
    for creator in list(tree.iterfind("identification/creator")):
        if (creator.text or "").strip() == defaults.author:
            _drop(creator)
    return xml_bytes(tree, declared=True)


def _drop(element: etree._Element) -> None:
    parent = element.getparent()
    if parent is not None:
        parent.remove(element)
