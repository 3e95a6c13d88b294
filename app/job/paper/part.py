"""The part on paper: its pages engraved, with the digits of a plan at their places."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from fractions import Fraction

from analysis.cues import cues_of
from analysis.fingering.plan import Plan
from analysis.fingering.ticking import Tick, no_tick
from analysis.music import Part
from analysis.turns import rest_seconds
from app.job.files.opening import Opened
from app.job.paper.digits import Measures, digits_on_paper, struck_notes
from app.job.teacher.passages import boxes_of
from app.job.teacher.pencilling import to_engrave, to_paint
from app.job.teacher.printing import Printing
from app.job.teacher.work import PartWork
from engraving.apart import Call, here
from engraving.document import Document
from engraving.engraver import EngravedPage, engrave
from engraving.extract import part_for_engraving
from engraving.layout import Layout
from engraving.marks.teacher import TeacherMark
from engraving.metrics import FontMetrics, data_folder
from engraving.placing import Ground, Wanted, mark_page
from engraving.placing.boxes import Overlaid, PassageBox, boxes_on, uprights_of
from engraving.turning import OPEN_PAGES, engrave_turning

# Marks that say something of a finger: its digit is printed with them.
_OF_FINGER = frozenset(("high", "low", "extension", "held-finger"))

PaperPage = tuple[EngravedPage, tuple[Overlaid, ...]]


@dataclass(frozen=True, eq=False)
class PaperPart:
    """One part on paper: its pages with what lies over them, and a sentence for every turn that comes at a bad time."""

    part: Part
    pages: tuple[PaperPage, ...]
    hard_turns: tuple[str, ...]


def paper_part(
    opened: Opened,
    part: Part,
    plan: Plan | None,
    work: PartWork,
    printing: Printing,
    call: Call = here,
) -> PaperPart:
    """A part as ``printing`` wants it; without a plan it has no digits. ``call`` calls the engraver."""
    text = part_for_engraving(
        opened.document,
        part.id,
        marks=to_engrave(part, work.marks),
        cues=cues_of(opened.score, part) if printing.cues else (),
        title=opened.score.title,
    )
    tempo = work.rules.tempo if plan is None else plan.setting.own.tempo
    rests = rest_seconds(part, tempo) if printing.turns else (math.inf,) * len(part.measures)
    turned = call(engrave_turning, text, printing.layout, rests)
    pages = printed_pages(turned.pages, part, plan, work)
    return PaperPart(part, tuple(pages), tuple(filter(None, (turn.text for turn in turned.turns))))


def excerpt_pages(
    document: Document, plan: Plan, work: PartWork, layout: Layout, measures: tuple[int, int], call: Call = here
) -> list[PaperPage]:
    """The measures of these indices, both included, engraved on ``layout`` as they are printed; by ``call``."""
    text = part_for_engraving(document, plan.part.id, marks=to_engrave(plan.part, work.marks))
    return printed_pages(call(engrave, text, layout, measures), plan.part, plan, work, measures)


def printed_pages(
    pages: Sequence[EngravedPage], part: Part, plan: Plan | None, work: PartWork, measures: Measures = None
) -> list[PaperPage]:
    """Each engraved page with the digits that are printed, the marks painted over it, and the boxes of passages.

    A mark that says something of a finger has its digit with it, unless the teacher wants none there. An excerpt, the
    ``measures`` of these indices, has no boxes.
    """
    marks = to_paint(part, work.marks)
    wanted: tuple[Wanted, ...] = ()
    if plan is not None:
        asked = {mark.first: True for mark in marks if mark.kind in _OF_FINGER} | dict(work.on_paper)
        turned = line_starts(pages, plan, excerpt=measures is not None)
        wanted = digits_on_paper(plan, turned, asked, measures)
    boxes = boxes_of(part, work.passages) if measures is None else ()
    metrics = FontMetrics(data_folder())
    return [(page, overlaid(page, wanted, marks, boxes, metrics)) for page in pages]


def overlaid(
    page: EngravedPage,
    wanted: Sequence[Wanted],
    marks: Sequence[TeacherMark],
    boxes: Sequence[PassageBox],
    metrics: FontMetrics,
    ground: Ground | None = None,
    tick: Tick = no_tick,
) -> tuple[Overlaid, ...]:
    """All that lies over a page: digits and marks, and around them the boxes of passages.

    ``ground`` and ``tick`` as in :func:`engraving.placing.mark_page`.
    """
    overlay = mark_page(page.map, wanted, marks, metrics, ground, tick, uprights_of(page.map, boxes))
    return (*overlay, *boxes_on(page.map, boxes, overlay, metrics)) if boxes else overlay


def line_starts(pages: Sequence[EngravedPage], plan: Plan, *, excerpt: bool = False) -> frozenset[str]:
    """The first notes of each voice after a page turn, and at the very beginning of an ``excerpt``.

    One turns from an odd page to the even one after it; two pages lie open side by side.
    """
    turned = list(pages[1::2]) if len(pages) > OPEN_PAGES else []
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


def place_digits(
    pages: Sequence[EngravedPage], wanted: Sequence[Wanted], marks: Sequence[TeacherMark] = ()
) -> list[PaperPage]:
    """Each page with the digits whose notes lie on it, and with ``marks``, all painted."""
    metrics = FontMetrics(data_folder())
    return [(page, mark_page(page.map, wanted, marks, metrics)) for page in pages]
