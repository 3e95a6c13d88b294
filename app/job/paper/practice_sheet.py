"""The practice sheet as a PDF: every item's music with its digits, what to know, and a chart of the fingerboard."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from analysis.fingering.cautions import CAUTION
from analysis.fingering.placements import Lie
from analysis.fingering.plan import Plan
from analysis.instruments import Instrument
from analysis.language import _, later
from analysis.music import Part
from analysis.wording import numbers_listed
from app.errors import AppError
from app.job.fingerboard.chart import CHART_WIDTH_MM, fingerboard_chart
from app.job.paper.digits import wanted_digits
from app.job.paper.part import PaperPage, place_digits
from app.job.paper.practice import Practice, PracticeItem
from app.job.paper.sheet import PaperSheet, Paragraph
from app.job.teacher.pencilling import to_engrave, to_paint
from app.job.teacher.watching import Entry
from engraving.apart import Call, here
from engraving.atomic import write_atomically
from engraving.document import Document
from engraving.engraver import EngravedPage, engrave_each
from engraving.extract import part_for_engraving
from engraving.fingerboard import FingerboardChart, usual_tapes
from engraving.fingerboard_painter import paint_chart
from engraving.layout import Layout
from engraving.page import Rect
from engraving.paper import PaintedPage, Paper, PdfPaper, PicturePaper
from engraving.placing.runs import boxes_of

# Rehearsals in stretches of about half an hour: ABRSM advice, reported at blog.musicroom.com.
BREAKS = later("Put the instrument down for a few minutes after every half hour.")
SHEET_WORDS = later("Practice sheet")
IN_ORDER = later("Practise in this order, slowly first.")
PROPOSED = later("Proposed by Handframe: strike out what you know.")

_MARGIN = 13.0
_TITLE, _PART, _SAID, _FOOT, _HEADING = 6.4, 4.8, 3.7, 3.0, 4.4
_LINE, _HEADING_LINE, _BETWEEN, _BELOW_MUSIC = 1.45, 7.6, 2.6, 1.6
_GAP, _SHEET_WORDS_WIDTH = 4.0, 36.0
_STAFF = 5.5
# How high charts are at most, from the roomiest on: the first is taken with which all fits on a page.
_CHARTS, _USUAL_CHART = (60.0, 54.0, 48.0, 43.0, 38.0), 48.0


@dataclass(frozen=True)
class _Block:
    """An item laid out: its heading, its music and sentences one under the other, and a chart beside them."""

    heading: str
    music: tuple[PaperPage, ...]
    sentences: tuple[Paragraph, ...]
    chart: FingerboardChart | None
    chart_mm: float = 0.0

    @property
    def height(self) -> float:
        """How much of the page it takes."""
        music = sum(_music_height(marked) for marked in self.music)
        text = sum(paragraph.height for paragraph in self.sentences)
        return max(_HEADING_LINE + music + text, self.chart_mm)

    def with_chart_of(self, most_mm: float) -> _Block:
        """The same with its chart no higher than that, if it can be read so."""
        if self.chart is None:
            return self
        return replace(self, chart_mm=max(min(self.chart.wanted_height, most_mm), self.chart.least_height))


def practice_sheet(
    path: Path,
    document: Document,
    title: str,
    plan: Plan,
    practice: Practice,
    layout: Layout,
    call: Call = here,
) -> None:
    """Write the practice sheet of a fingered part on the paper of ``layout``, on one page where it fits.

    ``call`` calls the engraver. AppError where there is nothing to practise.
    """
    with PdfPaper(layout, f"{title}, {plan.part.name}") as paper:
        _fill(paper, document, title, plan, practice, call)
    write_atomically(path, paper.pdf)


def practice_sheet_pages(
    document: Document, title: str, plan: Plan, practice: Practice, layout: Layout, call: Call = here
) -> tuple[PaintedPage, ...]:
    """The pages that :func:`practice_sheet` writes, to be looked at."""
    with PicturePaper(layout) as paper:
        _fill(paper, document, title, plan, practice, call)
    return paper.pages


def _fill(paper: Paper, document: Document, title: str, plan: Plan, practice: Practice, call: Call) -> None:
    if not practice.items:
        raise AppError(_("{part}: its watch-list has nothing to practise").format(part=plan.part.name))
    width = paper.layout.width_mm - 2 * _MARGIN
    foot = [
        Paragraph(words, width, _FOOT) for words in (_key_words(plan, practice), f"{_(CAUTION)} {_(BREAKS)}") if words
    ]
    sheet = PaperSheet(paper, _MARGIN, foot)
    _add_head(sheet, title, plan, practice)
    blocks = _blocks(document, plan, practice, width, call)
    for block in _fitting(blocks, practice, sheet.bottom - sheet.y):
        _add_block(sheet, block, f"{title}, {plan.part.name}")


def _fitting(every: Sequence[_Block], practice: Practice, room: float) -> list[_Block]:
    """The items with charts as large as one page of ``room`` mm lets them be.

    Where they need more, charts have their usual size; of items that are only proposed the last are left out.
    """
    fewest = 1 if practice.is_proposed else len(every)
    for count in range(len(every), fewest - 1, -1):
        for most_mm in _CHARTS:
            blocks = [block.with_chart_of(most_mm) for block in every[:count]]
            if sum(block.height + _BETWEEN for block in blocks) <= room:
                return blocks
    return [block.with_chart_of(_USUAL_CHART) for block in every]


def _blocks(document: Document, plan: Plan, practice: Practice, width: float, call: Call) -> list[_Block]:
    """Every item laid out, those with a chart beside it in a narrower column."""
    charts = [_useful_chart(plan, item) for item in practice.items]
    widths = [width - (CHART_WIDTH_MM + _GAP if chart else 0) for chart in charts]
    source = part_for_engraving(document, plan.part.id, marks=to_engrave(plan.part, practice.marks))
    painted = to_paint(plan.part, practice.marks)
    music: dict[int, tuple[EngravedPage, ...]] = {}
    for column in set(widths):
        numbers = [number for number, beside in enumerate(widths) if beside == column]
        passages = [practice.items[number].measures for number in numbers]
        excerpts = call(engrave_each, source, Layout.excerpt(column, staff_mm=_STAFF), passages)
        music.update(zip(numbers, excerpts, strict=True))
    return [
        _block(
            plan,
            number,
            item,
            widths[number],
            place_digits(music[number], wanted_digits(plan, item.measures), painted),
            charts[number],
        )
        for number, item in enumerate(practice.items)
    ]


def _block(
    plan: Plan,
    number: int,
    item: PracticeItem,
    width: float,
    pages: Sequence[PaperPage],
    chart: FingerboardChart | None,
) -> _Block:
    words = plan.part.span(item.measures)
    return _Block(
        f"{number + 1}.  {words[0].upper()}{words[1:]}",
        tuple(pages),
        tuple(_sentence(plan.part, entry, width, _SAID) for entry in item.entries),
        chart,
    )


def _useful_chart(plan: Plan, item: PracticeItem) -> FingerboardChart | None:
    """A chart of what the left hand does, where it does anything."""
    chart = fingerboard_chart(plan, item.measures)
    return chart if item.by_hand and chart.stopped else None


def _add_head(sheet: PaperSheet, title: str, plan: Plan, practice: Practice) -> None:
    sheet.text(title, _TITLE, width=sheet.width - _SHEET_WORDS_WIDTH, bold=True)
    sheet.text(_(SHEET_WORDS), _PART, right=True)
    sheet.y += _TITLE * _LINE
    sheet.text(f"{plan.part.name} ({_size_words(plan.setting.played_on)})", _PART)
    sheet.y += _PART * _LINE
    said = Paragraph(f"{_(PROPOSED)} {_(IN_ORDER)}" if practice.is_proposed else _(IN_ORDER), sheet.width, _SAID)
    said.paint(sheet.painter, sheet.left, sheet.y)
    sheet.y += said.height + _BETWEEN


def _add_block(sheet: PaperSheet, block: _Block, running: str) -> None:
    if sheet.keep_together(block.height):
        sheet.text(_("{title}, page {number}").format(title=running, number=sheet.pages), _SAID)
        sheet.y += _SAID * _LINE + _BETWEEN
    top, right, page = sheet.y, sheet.left + sheet.width, sheet.pages
    sheet.rule()
    if block.chart is not None:
        area = Rect(right - CHART_WIDTH_MM, top + 1.0, right, top + block.chart_mm)
        paint_chart(sheet.painter, block.chart, area)
    sheet.y += 1.0
    sheet.text(block.heading, _HEADING, bold=True)
    sheet.y = top + _HEADING_LINE
    for marked in block.music:
        start = sheet.y
        sheet.y -= _ink(marked)[0]
        sheet.music(marked)
        sheet.y = start + _music_height(marked)
    for paragraph in block.sentences:
        # More sentences than a page holds go on the next one.
        sheet.keep_together(paragraph.height)
        paragraph.paint(sheet.painter, sheet.left, sheet.y)
        sheet.y += paragraph.height
    sheet.y = (top + block.height if sheet.pages == page else sheet.y) + _BETWEEN


def _ink(marked: PaperPage) -> tuple[float, float]:
    """Where on a page of music, from its top, ink begins and ends, digits and marks included."""
    page, placed = marked
    ink = np.concatenate([page.map.ink, boxes_of(placed)])
    return float(ink[:, 1].min()), float(ink[:, 3].max())


def _music_height(marked: PaperPage) -> float:
    top, bottom = _ink(marked)
    return bottom - top + _BELOW_MUSIC


def _sentence(part: Part, entry: Entry, width: float, size_mm: float) -> Paragraph:
    """What is said to the player, with the place before it where it does not name the measure itself."""
    place = part.place(part.note(entry.finding.note_ids[0]))
    return Paragraph(entry.text, width, size_mm, "" if entry.says_where else f"{place[0].upper()}{place[1:]}:")


def _size_words(instrument: Instrument) -> str:
    return _("{instrument}, size {size}").format(instrument=instrument.words, size=instrument.size)


def _key_words(plan: Plan, practice: Practice) -> str:
    """How to read the charts, as far as there are any."""
    charts = [_useful_chart(plan, item) for item in practice.items]
    dots = {dot for chart in charts if chart for dot in chart.dots}
    if not dots:
        return ""
    instrument = plan.setting.played_on
    away = [f"{instrument.distance_mm(tape.place):.1f}" for tape in usual_tapes(instrument)]
    said = [
        _(
            "The charts are to scale for the {instrument} of size {size}: its tapes lie {distances} mm from the nut, "
            "which is at the top."
        ).format(
            instrument=instrument.words,
            size=instrument.size,
            distances=numbers_listed(away),
        )
    ]
    if any(dot.leans for dot in dots):
        said.append(_("A dot drawn to a point: the finger lies higher or lower than usual, on that side."))
    if any(dot.placement.lie is Lie.EXTENDED and not dot.placement.harmonic for dot in dots):
        said.append(_("Ext.: it reaches out of the hand."))
    if any(dot.placement.harmonic for dot in dots):
        said.append(_("Touch: it only touches the string."))
    return " ".join(said)
