"""Engraved pages for tests: corpus parts engraved once, a page with every kind of mark, and pages as pixels."""

from __future__ import annotations

from functools import cache

import numpy as np
from numpy.typing import NDArray
from PySide6.QtGui import QImage

from engraving.document import Document, open_document, read_document
from engraving.engraver import EngravedPage, engrave
from engraving.extract import part_for_engraving
from engraving.layout import A4, Layout
from engraving.metrics import FontMetrics, data_folder
from tests.engraving.corpus import corpus_folder
from tests.engraving.rawxml import raw, raw_note

METRICS = FontMetrics(data_folder())


@cache
def corpus_document(work: str) -> Document:
    """A score of the corpus, ``haydn/opus1no1/movement1``."""
    return open_document(corpus_folder() / f"{work}.mxl")


@cache
def corpus_pages(work: str, part: int = 0, layout: Layout = A4) -> tuple[EngravedPage, ...]:
    """One of its parts, engraved."""
    document = corpus_document(work)
    return engrave(part_for_engraving(document, document.parts[part].id), layout)


def engraved(data: bytes, layout: Layout = A4, measures: tuple[int, int] | None = None) -> tuple[EngravedPage, ...]:
    """The first part of MusicXML bytes, engraved."""
    document = read_document(data, "tune.xml")
    return engrave(part_for_engraving(document, document.parts[0].id), layout, measures)


def grey(image: QImage) -> NDArray[np.uint8]:
    """The picture as grey values [height, width], 0 black."""
    image = image.convertToFormat(QImage.Format.Format_Grayscale8)
    rows = np.frombuffer(image.constBits(), np.uint8).reshape(image.height(), image.bytesPerLine())
    return rows[:, : image.width()].copy()


def _half(name: str, marks: str = "", inside: str = "", before: str = "", attributes: str = "") -> str:
    notations = f"<notations>{marks}</notations>" if marks else ""
    rest = f"<duration>2</duration><voice>1</voice><type>half</type>{inside}{notations}"
    return raw_note(name, rest, before, attributes)


def _direction(content: str, place: str = "above") -> str:
    return f'<direction placement="{place}"><direction-type>{content}</direction-type></direction>'


def _metronome(unit: str, number: str) -> str:
    return f"<metronome><beat-unit>{unit}</beat-unit><per-minute>{number}</per-minute></metronome>"


def _triplet(name: str, mark: str) -> str:
    ratio = "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes></time-modification>"
    tuplet = f'<notations><tuplet type="{mark}" bracket="yes"/></notations>' if mark else ""
    return raw_note(name, f"<duration>1</duration><voice>1</voice><type>quarter</type>{ratio}{tuplet}")


_OPENING = (
    "<divisions>1</divisions><key><fifths>2</fifths></key><time><beats>4</beats><beat-type>4</beat-type></time>"
    "<clef><sign>G</sign><line>2</line></clef>"
)
_CHANGE = (
    "<attributes><key><fifths>-3</fifths></key>"
    '<time symbol="common"><beats>4</beats><beat-type>4</beat-type></time>'
    "<clef><sign>C</sign><line>3</line></clef></attributes>"
)
_REST = '<note><rest measure="yes"/><duration>4</duration><voice>1</voice></note>'


def every_mark() -> bytes:
    """A score with nearly everything the engraver draws: texts, brackets, wedges, slurs, ornaments, a long rest."""
    return raw(*_words_and_wedges(), _REST, _REST, _REST, *_repeats(), _last(), attributes=_OPENING)


def _words_and_wedges() -> tuple[str, str]:
    first = (
        _direction(_metronome("quarter", "120"))
        + _direction('<words font-style="italic">dolce &amp; tutti</words>')
        + _direction('<wedge type="crescendo"/>', "below")
        + _half("A4", '<technical><up-bow/></technical><slur type="start" number="1"/>')
        + _half("C5", '<slur type="stop" number="1"/><ornaments><trill-mark/></ornaments>')
        + _direction('<wedge type="stop"/>', "below")
    )
    metronome = f"</direction-type><direction-type>{_metronome('half', 'c. 60')}"
    second = (
        _direction("<rehearsal>A</rehearsal>")
        + _direction(f'<words font-weight="bold">Allegro</words>{metronome}')
        + _half("E6", '<glissando type="start" line-type="wavy"/>')
        + _half("A5", '<glissando type="stop"/><fermata/>')
    )
    return first, second


def _repeats() -> tuple[str, str, str]:
    begun = (
        '<barline location="left"><repeat direction="forward"/></barline>'
        + _half("D4", inside="<notehead>diamond</notehead>")
        + _half("G3", "<technical><harmonic/></technical>")
        + _half("B3", before="<chord/>")
    )
    first_time = (
        _direction("<dynamics><sfz/></dynamics>", "below")
        + _half("A4")
        + _direction('<words>cresc.</words></direction-type><direction-type><dashes type="start"/>', "below")
        + _half("A4")
    )
    accents = "<articulations><staccato/><accent/></articulations>"
    tremolo = '<ornaments><tremolo type="single">3</tremolo></ornaments>'
    triplets = _triplet("A4", "start") + _triplet("A4", "") + _triplet("A4", "stop")
    second_time = triplets + _half("A4", accents + tremolo)
    return begun, _ending(1, first_time, '<repeat direction="backward"/>'), _ending(2, second_time, "")


def _ending(number: int, music: str, repeat: str) -> str:
    return (
        f'<barline location="left"><ending number="{number}" type="start"/></barline>{music}'
        f'<barline location="right"><ending number="{number}" type="stop"/>{repeat}</barline>'
    )


def _last() -> str:
    return (
        _CHANGE
        + _direction('<octave-shift type="down" size="8"/>')
        + _half("A6")
        + _half("B6", "<arpeggiate/>")
        + _direction('<octave-shift type="stop" size="8"/>')
        + '<barline location="right"><bar-style>light-heavy</bar-style></barline>'
    )
