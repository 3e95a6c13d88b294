"""Ways of playing a passage as strips of music, one above the other, and the sheet that shows them with their table."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from analysis.wording import decimal
from app.job.comparing.ways import Weighed, comparison_rows
from app.job.paper.digits import wanted_digits
from app.job.paper.part import PaperPage, place_digits
from app.job.paper.sheet import PaperSheet
from app.job.words.names import rules_title
from engraving.apart import Call, here
from engraving.atomic import write_atomically
from engraving.document import Document
from engraving.engraver import EngravedPage, engrave
from engraving.extract import part_for_engraving
from engraving.layout import A4, Layout
from engraving.paper import PdfPaper

_MARGIN, _TITLE, _NAME, _TEXT, _STAFF = 15.0, 6.0, 4.6, 3.8, 6.0
_FIRST_COLUMN, _ROW = 62.0, 6.5


def strip(pages: Sequence[EngravedPage], way: Weighed) -> list[PaperPage]:
    """The engraved passage with the digits of one way."""
    return place_digits(pages, wanted_digits(way.plan))


def comparison_sheet(
    path: Path,
    document: Document,
    title: str,
    measures: tuple[int, int],
    ways: Sequence[Weighed],
    call: Call = here,
) -> None:
    """Write a PDF (A4) of every way's strip, one above the other, and the counts; ``call`` calls the engraver."""
    text = part_for_engraving(document, ways[0].plan.part.id)
    pages = call(engrave, text, Layout.excerpt(A4.width_mm - 2 * _MARGIN, staff_mm=_STAFF), measures)
    with PdfPaper(A4, title) as paper:
        sheet = PaperSheet(paper, _MARGIN)
        sheet.text(title, _TITLE, bold=True)
        sheet.y += 11
        for way in ways:
            _add_strip(sheet, rules_title(way.rules), strip(pages, way))
        _add_table(sheet, [rules_title(way.rules) for way in ways], comparison_rows(ways))
    write_atomically(path, paper.pdf)


def _add_strip(sheet: PaperSheet, title: str, pages: Sequence[PaperPage]) -> None:
    """One way's music under its name."""
    for number, (page, placed) in enumerate(pages):
        sheet.keep_together(page.height_mm + 9)
        if number == 0:
            sheet.text(title, _NAME, bold=True)
            sheet.y += 7
        sheet.music((page, placed))
        sheet.y += page.height_mm + 4


def _add_table(sheet: PaperSheet, titles: Sequence[str], rows: Sequence[tuple[str, list[str]]]) -> None:
    """The counts, one column a way."""
    sheet.keep_together(_ROW * (len(rows) + 1))
    _add_row(sheet, "", titles, bold=True)
    for name, values in rows:
        _add_row(sheet, name, list(map(decimal, values)))


def _add_row(sheet: PaperSheet, name: str, values: Sequence[str], *, bold: bool = False) -> None:
    step = (sheet.width - _FIRST_COLUMN) / len(values)
    sheet.text(name, _TEXT, width=_FIRST_COLUMN)
    for column, value in enumerate(values):
        start = sheet.left + _FIRST_COLUMN + column * step
        sheet.text(value, _TEXT, start, step - 2, bold=bold, right=True)
    sheet.y += _ROW - 1
    sheet.rule()
    sheet.y += 1
