"""Printed pages as a vector PDF, by the painter of the screen."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QBuffer, QIODevice, QMarginsF, QSizeF
from PySide6.QtGui import QPageLayout, QPageSize, QPainter, QPdfWriter

from engraving.atomic import write_atomically
from engraving.engraver import EngravedPage
from engraving.errors import EngravingError
from engraving.fonts import load_fonts
from engraving.imprint import Imprint, imprint_lines
from engraving.layout import Layout
from engraving.metrics import FontMetrics, data_folder
from engraving.painter import PAPER, PagePainter, paint_sign
from engraving.placing.boxes import Overlaid

UNITS_A_MM = 100  # 2540 dots an inch
_INCH_MM = 25.4

MarkedPage = tuple[EngravedPage, Sequence[Overlaid]]


def write_pdf(
    path: Path, pages: Sequence[MarkedPage], layout: Layout, title: str, imprint: Imprint | None = None
) -> None:
    """Write the pages with their digits and marks as one PDF on the paper of ``layout``, fonts embedded.

    ``imprint``: what this copy says of itself; without one its pages are numbered all the same. Nothing is left half
    written. EngravingError when there are no pages, or no Qt GUI application.
    """
    if not pages:
        raise EngravingError(f"{path.name}: there are no pages to print")
    load_fonts()
    metrics, own = FontMetrics(data_folder()), imprint or Imprint()
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = pdf_writer(buffer, layout, title)
    painter = QPainter(writer)
    try:
        for number, (page, placed) in enumerate(pages, 1):
            if number > 1 and not writer.newPage():
                raise EngravingError(f"{path.name}: page {number} cannot be begun")
            painter.resetTransform()
            painter.scale(UNITS_A_MM, UNITS_A_MM)
            PagePainter(page).paint(painter, placed)
            lines = imprint_lines(own, page.map, layout, metrics, number=number, count=len(pages), overlay=placed)
            paint_sign(painter, lines, PAPER.ink)
    finally:
        painter.end()  # a painter that outlives its paper takes the whole application down
    write_atomically(path, bytes(buffer.data().data()))


def pdf_writer(buffer: QBuffer, layout: Layout, title: str) -> QPdfWriter:
    """A writer for a PDF on the paper of ``layout``, ``UNITS_A_MM`` units a millimetre."""
    writer = QPdfWriter(buffer)
    writer.setResolution(round(UNITS_A_MM * _INCH_MM))
    size = QPageSize(QSizeF(layout.width_mm, layout.height_mm), QPageSize.Unit.Millimeter)
    writer.setPageLayout(QPageLayout(size, QPageLayout.Orientation.Portrait, QMarginsF(0, 0, 0, 0)))
    writer.setTitle(title)
    writer.setCreator("Handframe")
    return writer
