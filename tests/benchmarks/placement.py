"""Digits on the page, ours beside the engraving library's own: how many touch other ink, and how far they stand.

Run from the project's root: ``python -m tests.benchmarks.placement`` (``--all-parts`` for more than the first
violins). Every notehead of 25 quartet movements has a digit. The library places digits that are written into its
score; its boxes are those of the bare ink, ours as wide as the text's advance. A digit touches when its box shares
area with a box of any other ink, other digits too.
"""

from __future__ import annotations

import argparse
import re
import statistics
import sys
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
from lxml import etree

from engraving.document import open_document
from engraving.drawing import UNITS_A_MM, Drawing, Lettering
from engraving.engraver import engrave
from engraving.extract import part_for_engraving
from engraving.ink import InkFinder
from engraving.layout import A4
from engraving.mapping import map_page
from engraving.marks.finger import Mark
from engraving.marks.fingerings import write_fingering
from engraving.metrics import MUSIC_FAMILY, FontMetrics, data_folder
from engraving.outlines import Floats
from engraving.page import PageMap, Rect
from engraving.placing import Wanted, place
from engraving.svg import read_drawing
from engraving.typesetting import typeset
from tests.engraving.corpus import corpus_folder

MOVEMENTS = (
    *(f"haydn/opus1no1/movement{number}" for number in range(1, 6)),
    *(f"haydn/opus74no1/movement{number}" for number in range(1, 5)),
    *(f"mozart/k80/movement{number}" for number in range(1, 5)),
    *(f"mozart/k155/movement{number}" for number in range(1, 4)),
    *(f"mozart/k156/movement{number}" for number in range(1, 5)),
    *(f"mozart/k458/movement{number}" for number in range(1, 5)),
    "beethoven/opus18no1/movement3",
)
STAFF_MM, SLACK = 7.0, 0.03  # SLACK: what text boxes are wider than their ink, in parts of the em
OPTIONS = {
    "pageWidth": 2100,
    "pageHeight": 2970,
    "unit": STAFF_MM * 10 / 8,
    "scale": 100,
    "breaks": "auto",
    "header": "none",
    "footer": "none",
    "font": MUSIC_FAMILY,
    "smuflTextFont": "none",
    "svgViewBox": True,
    "svgFormatRaw": True,
    "xmlIdChecksum": True,
    "svgAdditionalAttribute": ["fing@startid"],
}


@dataclass
class Tally:
    """What was counted: all digits, those that touch, and how far each stands from its head in staff spaces."""

    digits: int = 0
    touching: int = 0
    gaps: list[float] = field(default_factory=list)

    def add(self, other: Tally) -> None:
        self.digits += other.digits
        self.touching += other.touching
        self.gaps += other.gaps

    def row(self) -> str:
        middle = statistics.median(self.gaps) if self.gaps else 0.0
        return f"{self.digits:7d}{self.touching:8d}{middle:8.2f}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--all-parts", action="store_true")
    asked = parser.parse_args()
    metrics = FontMetrics(data_folder())
    print(f"{'':34s}{'library':>23s}{'ours':>23s}")
    print(f"{'':34s}" + "".join(f"{name:>{width}s}" for name, width in (("digits", 7), ("touch", 8), ("gap", 8)) * 2))
    sums = Tally(), Tally()
    for movement in MOVEMENTS:
        document = open_document(corpus_folder() / f"{movement}.mxl")
        theirs, ours = Tally(), Tally()
        for entry in document.parts if asked.all_parts else document.parts[:1]:
            text = part_for_engraving(document, entry.id)
            theirs.add(of_library(text, metrics))
            ours.add(of_ours(text, metrics))
        print(f"{movement:34s}{theirs.row()}{ours.row()}")
        for whole, part in zip(sums, (theirs, ours), strict=True):
            whole.add(part)
    print(f"{'all':34s}{sums[0].row()}{sums[1].row()}")


def of_ours(text: str, metrics: FontMetrics) -> Tally:
    tally = Tally()
    for page in (page.map for page in engrave(text, A4)):
        placed = place(page, [Wanted(note_id, str(number % 5)) for number, note_id in enumerate(page.notes)], metrics)
        tally.add(counted(page, [(one.note_id, one.digit.rect) for one in placed], page.ink))
    return tally


def of_library(text: str, metrics: FontMetrics) -> Tally:
    tally, ink = Tally(), InkFinder(metrics)
    for svg in typeset(with_fingerings(text), OPTIONS, None):
        starts = dict(re.findall(r'<g id="([^"]*)" class="fing"[^>]*data-startid="#([^"]*)"', svg))
        drawing = read_drawing(svg, metrics)
        bare = Drawing(drawing.width, drawing.height, tuple(without(drawing, "fing")), drawing.glyphs)
        page = map_page(bare, ink, staff_space=STAFF_MM / 4)
        tally.add(counted(page, list(digits_of(drawing, starts, ink)), page.ink))
    return tally


def with_fingerings(text: str) -> str:
    """The part with a finger at every notehead, by the writer of marks."""
    score = etree.fromstring(text)
    notes = [note for note in score.iter("note") if note.find("pitch") is not None]
    for number, note in enumerate(notes):
        write_fingering(note, Mark(note.get("id", ""), number % 5), {})
    return etree.tostring(score, encoding="unicode")


def without(drawing: Drawing, kind: str) -> Iterator:
    return (mark for mark in drawing.marks if mark.group.within(kind) is None)


def digits_of(drawing: Drawing, starts: dict[str, str], ink: InkFinder) -> Iterator[tuple[str, Rect]]:
    """The bare ink of each digit in the library's page, by the id of its note."""
    for mark in drawing.marks:
        group = mark.group.within("fing")
        if group is not None and isinstance(mark, Lettering):
            slack = SLACK * mark.size
            (box,) = (ink.boxes(mark, drawing) + np.array([slack, slack, -slack, -slack])) / UNITS_A_MM
            yield starts[group.id], Rect(*box.tolist())


def counted(page: PageMap, digits: Sequence[tuple[str, Rect]], ink: Floats) -> Tally:
    """Counts for the digits of one page; those of notes that are not drawn as heads are passed over."""
    boxes = as_boxes(rect for _, rect in digits)
    others = share_area(boxes, boxes) & ~np.eye(len(boxes), dtype=bool)
    touches = share_area(boxes, ink).any(axis=1) | others.any(axis=1)
    gaps = [gap(page, note_id, rect) for note_id, rect in digits if note_id in page.notes]
    return Tally(len(digits), int(touches.sum()), gaps)


def gap(page: PageMap, note_id: str, rect: Rect) -> float:
    head = page.notes[note_id].head
    return max(head.y0 - rect.y1, rect.y0 - head.y1) / page.staff_space


def as_boxes(rects: Iterable[Rect]) -> Floats:
    return np.array([[rect.x0, rect.y0, rect.x1, rect.y1] for rect in rects], dtype=float).reshape(-1, 4)


def share_area(first: Floats, second: Floats) -> np.ndarray:
    """Which boxes of one array share area with which of the other, [n, m]."""
    a, b = first[:, None, :], second[None, :, :]
    return (a[..., 0] < b[..., 2]) & (b[..., 0] < a[..., 2]) & (a[..., 1] < b[..., 3]) & (b[..., 1] < a[..., 3])


if __name__ == "__main__":
    sys.exit(main())
