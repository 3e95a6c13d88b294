"""The open score file: its MusicXML tree, in which every note has an id, and the parts it holds."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from lxml import etree

from analysis.language import _
from engraving.archive import is_archive, score_in_archive
from engraving.errors import ScoreFileError
from engraving.filebytes import as_text, file_bytes, printable
from engraving.identity import give_ids
from engraving.importing import Imported, foreign_format, import_apart
from engraving.limits import LIMITS, Limits
from engraving.timewise import partwise
from engraving.tuning import is_tuned_otherwise
from engraving.xmltext import is_blank, looks_like_xml, parse_xml

# At the very beginning, in UTF-8 and in UTF-16 of both orders; before or behind the byte order mark.
_BLANKS = re.compile(
    rb"\A[ \t\r\n]*(?P<mark>(?:\xef\xbb\xbf)?)[ \t\r\n]*(?=<)"
    rb"|\A(?P<little>(?:\xff\xfe)?)(?:[ \t\r\n]\0)*(?=<\0)|\A(?P<big>(?:\xfe\xff)?)(?:\0[ \t\r\n])*(?=\0<)"
)
_LONGEST_NAME = 200


@dataclass(frozen=True, slots=True)
class PartEntry:
    """One part as the score lists it; ``name`` is never empty, ``abbreviation`` may be."""

    id: str
    name: str
    abbreviation: str


@dataclass(frozen=True, slots=True)
class Document:
    """A score as it came from its file.

    ``tree`` is the MusicXML with an id on every note; copy it before changing it. ``source`` is the untouched MusicXML
    text (unpacked, or converted once from another format or order). ``name`` is the file name, for messages.
    ``stands_for`` maps each id given here to the one the file had in its place, ``None`` for none. ``remarks`` are
    sentences for the reader: what was left out while converting, and what is not read as it may be meant.
    """

    tree: etree._ElementTree
    name: str
    source: bytes
    parts: tuple[PartEntry, ...]
    stands_for: Mapping[str, str | None] = field(default_factory=dict)
    remarks: tuple[str, ...] = ()

    @property
    def given_ids(self) -> frozenset[str]:
        """The note ids that were given here and are not in the file."""
        return frozenset(self.stands_for)


def open_document(
    path: Path, limits: Limits = LIMITS, convert: Callable[[bytes, str, str], Imported] = import_apart
) -> Document:
    """Open a score file: MusicXML, plain or compressed, or another format, which ``convert`` converts once.

    What the file holds decides, not its suffix, wherever the two differ. ScoreFileError when it cannot be read or goes
    over the limits.
    """
    name = as_text(path.name)
    data = file_bytes(path, limits.file_bytes)
    score_format = foreign_format(data, path.suffix)
    if score_format is None:
        return read_document(data, name, limits)
    imported = convert(data, name, score_format)
    return _document(imported.musicxml, name, limits, imported.remarks)


def read_document(data: bytes, name: str, limits: Limits = LIMITS) -> Document:
    """The document in MusicXML bytes, plain or compressed; ``name`` is the file name for messages."""
    if is_archive(data):
        data = score_in_archive(data, name, limits)
    if not is_blank(data) and not looks_like_xml(data):
        raise ScoreFileError(
            _("{name} is neither MusicXML nor another score format that can be read here").format(name=name)
        )
    # XML allows no blank before its declaration, but files from the web have some now and then.
    blanks = _BLANKS.match(data)
    if blanks is not None:
        data = blanks[blanks.lastgroup or 0] + data[blanks.end() :]
    return _document(data, name, limits)


def _document(musicxml: bytes, name: str, limits: Limits, remarks: tuple[str, ...] = ()) -> Document:
    name = printable(name)
    tree = parse_xml(musicxml, name, limits)
    root = tree.getroot()
    if root.tag == "score-timewise":
        musicxml = partwise(tree, name)
        remarks += (
            _("{name} was ordered by measures (score-timewise); it is kept ordered by parts").format(name=name),
        )
        tree = parse_xml(musicxml, name, limits)
    elif root.tag != "score-partwise":
        raise ScoreFileError(_not_a_score(root, name))
    _put_comments_behind(tree)
    parts = _part_entries(tree, name)
    _check_counts(tree, name, limits)
    return Document(tree, name, musicxml, parts, give_ids(tree), remarks + tuple(_doubts(tree, parts, name)))


def _not_a_score(root: etree._Element, name: str) -> str:
    named = etree.QName(root)
    if named.namespace and named.localname.startswith("score-"):
        return _("{name} puts its elements into the namespace {namespace}, which MusicXML does not").format(
            name=name, namespace=named.namespace
        )
    return _("{name} is XML but no MusicXML score: it begins with <{tag}>").format(name=name, tag=named.localname)


def _put_comments_behind(tree: etree._ElementTree) -> None:
    """Move comments in the midst of a text to its end: no text is read farther than to the first of them."""
    for comment in tree.iter(etree.Comment, etree.ProcessingInstruction):
        parent, tail = comment.getparent(), comment.tail or ""
        if parent is not None and tail.strip() and next(parent.iterchildren("*"), None) is None:
            parent.text, comment.tail = (parent.text or "") + tail, None


def _check_counts(tree: etree._ElementTree, name: str, limits: Limits) -> None:
    """Refuse what has more parts, measures or notes than the limits allow."""
    measures = [
        [len(measure.findall("note")) for measure in part.iterfind("measure")] for part in tree.iterfind("part")
    ]
    in_part, in_measure = max(map(len, measures)), max((max(counts, default=0) for counts in measures), default=0)
    for found, most, what in (
        (len(measures), limits.parts, _("{name} has more than {most} parts")),
        (in_part, limits.measures_of_part, _("{name} has a part of more than {most} measures")),
        (sum(map(len, measures)), limits.measures, _("{name} has more than {most} measures in all its parts")),
        (in_measure, limits.notes_of_measure, _("{name} has a measure of more than {most} notes")),
        (sum(map(sum, measures)), limits.notes, _("{name} has more than {most} notes")),
    ):
        if found > most:
            raise ScoreFileError(what.format(name=name, most=f"{most:,}"))


def _doubts(tree: etree._ElementTree, parts: tuple[PartEntry, ...], name: str) -> Iterator[str]:
    """What is not read as it may be meant: a sentence for each part with strings tuned otherwise."""
    names = {entry.id: entry.name for entry in parts}
    for part in tree.iterfind("part"):
        if is_tuned_otherwise(part, names[part.get("id", "")]):
            yield _(
                "{name}: {part} asks for strings tuned otherwise; its notes are read as they sound, "
                "and fingered for the usual strings"
            ).format(name=name, part=names[part.get("id", "")])


def _part_entries(tree: etree._ElementTree, name: str) -> tuple[PartEntry, ...]:
    listed = {entry.get("id"): entry for entry in tree.iterfind("part-list//score-part")}
    entries: dict[str, PartEntry] = {}
    for number, part in enumerate(tree.iterfind("part"), start=1):
        part_id = part.get("id")
        if not part_id:
            raise ScoreFileError(_("{name}: part {number} has no id").format(name=name, number=number))
        if part_id in entries:
            raise ScoreFileError(_("{name}: two parts share the id {part_id}").format(name=name, part_id=part_id))
        entries[part_id] = _part_entry(part_id, listed.get(part_id), number)
    if not entries:
        raise ScoreFileError(_("{name} holds no parts").format(name=name))
    return tuple(entries.values())


def _part_entry(part_id: str, entry: etree._Element | None, number: int) -> PartEntry:
    if entry is None:
        return PartEntry(part_id, f"Part {number}", "")  # in English everywhere: house rules name the part so
    abbreviation = _words(entry, "part-abbreviation")
    name = _words(entry, "part-name") or _words(entry, "score-instrument/instrument-name") or abbreviation
    return PartEntry(part_id, name or f"Part {number}", abbreviation)


def _words(entry: etree._Element, path: str) -> str:
    return " ".join((entry.findtext(path) or "")[:_LONGEST_NAME].split())
