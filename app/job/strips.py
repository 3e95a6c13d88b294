"""Ways of playing a passage as strips of music, one above the other, and the sheet that shows them with their table."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QBuffer, QIODevice, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QPainter, QPen

from analysis.music import Part
from app.job.comparing import Weighed, comparison_rows
from app.job.digits import wanted_digits
from app.job.paper import MarkedPage, place_digits
from engraving.atomic import write_atomically
from engraving.document import Document
from engraving.engraver import EngravedPage, engrave
from engraving.extract import part_for_engraving
from engraving.fonts import load_fonts
from engraving.layout import A4, Layout
from engraving.metrics import TEXT_FAMILY
from engraving.output import UNITS_A_MM, pdf_writer
from engraving.painter import PagePainter

_MARGIN = 15.0
_ROW = 6.5


def passage_pages(
    document: Document, part: Part, measures: tuple[int, int], width_mm: float, staff_mm: float = 6.0
) -> tuple[EngravedPage, ...]:
    """The passage engraved by itself, as wide as asked and as high as it needs."""
    layout = Layout.excerpt(width_mm, staff_mm=staff_mm)
    return engrave(part_for_engraving(document, part.id), layout, measures)


def strip(pages: Sequence[EngravedPage], way: Weighed) -> list[MarkedPage]:
    """The engraved passage with the digits of one way."""
    return place_digits(pages, wanted_digits(way.plan))


def comparison_sheet(
    path: Path, document: Document, title: str, measures: tuple[int, int], ways: Sequence[Weighed]
) -> None:
    """Write a PDF (A4) with every way's strip one above the other and the table of counts."""
    load_fonts()
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    sheet = _Sheet(buffer, title)
    pages = passage_pages(document, ways[0].plan.part, measures, A4.width_mm - 2 * _MARGIN)
    for way in ways:
        sheet.strip(way.rules.title, strip(pages, way))
    sheet.table([way.rules.title for way in ways], comparison_rows(ways))
    sheet.end()
    write_atomically(path, bytes(buffer.data().data()))


class _Sheet:
    """A PDF page that fills from top to bottom; what does not fit goes on the next page. Lengths in mm."""

    def __init__(self, buffer: QBuffer, title: str) -> None:
        self._writer = pdf_writer(buffer, A4, title)
        self._painter = QPainter(self._writer)
        self._painter.scale(UNITS_A_MM, UNITS_A_MM)
        self._y = _MARGIN
        self._text(title, _MARGIN, size_mm=6.0, bold=True)
        self._y += 11

    def strip(self, title: str, pages: Sequence[MarkedPage]) -> None:
        """One way's music under its name."""
        for number, (page, placed) in enumerate(pages):
            self._keep_together(page.height_mm + 9)
            if number == 0:
                self._text(title, _MARGIN, size_mm=4.6, bold=True)
                self._y += 7
            self._painter.save()
            self._painter.translate(_MARGIN, self._y)
            PagePainter(page).paint(self._painter, placed)
            self._painter.restore()
            self._y += page.height_mm + 4

    def table(self, titles: Sequence[str], rows: Sequence[tuple[str, list[str]]]) -> None:
        """The counts, one column a way."""
        self._keep_together(_ROW * (len(rows) + 1))
        first = _MARGIN + 62
        step = (A4.width_mm - _MARGIN - first) / len(titles)
        self._row("", titles, first, step, bold=True)
        for name, values in rows:
            self._row(name, values, first, step)

    def end(self) -> None:
        """Finish the file."""
        self._painter.end()

    def _row(self, name: str, values: Sequence[str], first: float, step: float, *, bold: bool = False) -> None:
        self._text(name, _MARGIN, size_mm=3.8)
        for column, value in enumerate(values):
            self._text(value, first + column * step, size_mm=3.8, bold=bold, width=step - 2)
        self._y += _ROW
        self._painter.setPen(QPen(QColor("#bbbbbb"), 0.15))
        self._painter.drawLine(QPointF(_MARGIN, self._y - 1), QPointF(A4.width_mm - _MARGIN, self._y - 1))

    def _keep_together(self, height: float) -> None:
        if self._y + height > A4.height_mm - _MARGIN and self._y > _MARGIN + 12:
            self._writer.newPage()
            self._y = _MARGIN

    def _text(self, text: str, x: float, *, size_mm: float, bold: bool = False, width: float | None = None) -> None:
        """Text at the height reached; right-aligned in ``width`` if given."""
        self._painter.save()
        self._painter.scale(1 / UNITS_A_MM, 1 / UNITS_A_MM)
        font = QFont(TEXT_FAMILY)
        font.setPixelSize(round(size_mm * UNITS_A_MM))
        font.setBold(bold)
        self._painter.setFont(font)
        self._painter.setPen(QColor("#000000"))
        side = Qt.AlignmentFlag.AlignRight if width else Qt.AlignmentFlag.AlignLeft
        box = (x, self._y, width or A4.width_mm - _MARGIN - x, size_mm * 1.4)
        self._painter.drawText(QRectF(*(length * UNITS_A_MM for length in box)), side | Qt.AlignmentFlag.AlignTop, text)
        self._painter.restore()
