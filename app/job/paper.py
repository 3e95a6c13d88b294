"""The part on paper: its pages engraved, with the digits of a plan at their places."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from fractions import Fraction

from analysis.fingering.plan import Plan
from app.job.digits import Measures, digits_on_paper, struck_notes
from app.job.pencilling import to_engrave, to_paint
from app.job.work import PartWork
from engraving.document import Document
from engraving.engraver import EngravedPage, engrave
from engraving.extract import part_for_engraving
from engraving.layout import Layout
from engraving.metrics import FontMetrics, data_folder
from engraving.placing import Overlay, Placed, Wanted, mark_page, place

MarkedPage = tuple[EngravedPage, tuple[Placed, ...]]
# Marks that say something of a finger: its digit is printed with them.
_OF_FINGER = frozenset(("high", "low", "extension", "held-finger"))

PaperPage = tuple[EngravedPage, tuple[Overlay, ...]]


def marked_pages(
    document: Document, plan: Plan, work: PartWork, layout: Layout, measures: Measures = None
) -> list[PaperPage]:
    """The part of ``plan`` engraved on ``layout``, all of it or the measures of these indices, as it is printed."""
    text = part_for_engraving(document, plan.part.id, marks=to_engrave(plan.part, work.marks))
    return printed_pages(engrave(text, layout, measures), plan, work, measures)


def printed_pages(
    pages: Sequence[EngravedPage], plan: Plan, work: PartWork, measures: Measures = None
) -> list[PaperPage]:
    """Each engraved page with the digits that are printed, and the marks of ``work`` that are painted over it.

    A mark that says something of a finger has its digit with it, unless the teacher wants none there.
    """
    marks = to_paint(plan.part, work.marks)
    asked = {mark.first: True for mark in marks if mark.kind in _OF_FINGER} | dict(work.on_paper)
    turned = line_starts(pages, plan, excerpt=measures is not None)
    wanted, metrics = digits_on_paper(plan, turned, asked, measures), FontMetrics(data_folder())
    return [(page, mark_page(page.map, wanted, marks, metrics)) for page in pages]


def line_starts(pages: Sequence[EngravedPage], plan: Plan, *, excerpt: bool = False) -> frozenset[str]:
    """The first notes of each voice after a page turn, and at the very beginning of an ``excerpt``.

    Odd pages are right-hand ones, as in any booklet: one turns from an odd page to the even one after it.
    """
    turned = list(pages[1::2])
    if excerpt:
        turned.extend(pages[:1])
    return frozenset(note_id for page in turned for note_id in _first_notes(page, plan))


def _first_notes(page: EngravedPage, plan: Plan) -> Collection[str]:
    """The first notes with a finger on a page's first line, voice by voice; all of a chord."""
    first: dict[str, Fraction] = {}
    found: list[str] = []
    for note, _ in struck_notes(plan):
        place_of_note = page.map.notes.get(note.id)
        on_first_line = place_of_note is not None and place_of_note.system == 0
        if on_first_line and first.setdefault(note.voice, note.onset) == note.onset:
            found.append(note.id)
    return found


def place_digits(pages: Sequence[EngravedPage], wanted: Sequence[Wanted]) -> list[MarkedPage]:
    """Each page with the digits whose notes lie on it."""
    metrics = FontMetrics(data_folder())
    return [(page, place(page.map, wanted, metrics)) for page in pages]
