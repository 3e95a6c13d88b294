"""Printed pages as files: a vector PDF and a picture, both by the painter of the screen."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QMarginsF, QSize, QSizeF, Qt
from PySide6.QtGui import QImage, QImageWriter, QPageLayout, QPageSize, QPainter, QPdfWriter

from engraving.atomic import write_atomically
from engraving.engraver import EngravedPage
from engraving.errors import EngravingError
from engraving.fonts import load_fonts
from engraving.layout import Layout
from engraving.painter import PAPER, DigitStyle, PagePainter
from engraving.placing import Overlay

UNITS_A_MM = 100  # 2540 dots an inch
_INCH_MM = 25.4
_DPI = (20, 1200)

MarkedPage = tuple[EngravedPage, Sequence[Overlay]]


def write_pdf(path: Path, pages: Sequence[MarkedPage], layout: Layout, title: str) -> None:
    """Write the pages with their digits and marks as one PDF on the paper of ``layout``, fonts embedded.

    Nothing is left half written. EngravingError when there are no pages, or no Qt GUI application.
    """
    if not pages:
        raise EngravingError(f"{path.name}: there are no pages to print")
    load_fonts()
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = pdf_writer(buffer, layout, title)
    painter = QPainter(writer)
    try:
        for number, (page, placed) in enumerate(pages):
            if number and not writer.newPage():
                raise EngravingError(f"{path.name}: page {number + 1} cannot be begun")
            painter.resetTransform()
            painter.scale(UNITS_A_MM, UNITS_A_MM)
            PagePainter(page).paint(painter, placed)
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


def write_png(
    path: Path, page: EngravedPage, placed: Sequence[Overlay], dpi: int = 200, style: DigitStyle = PAPER
) -> None:
    """Write one page with its digits as a picture on white; EngravingError for a resolution out of reach."""
    if not _DPI[0] <= dpi <= _DPI[1]:
        raise EngravingError(f"{path.name}: a picture has {_DPI[0]} to {_DPI[1]} dots an inch, not {dpi}")
    image = paint_image(page, placed, dpi, style)
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QImageWriter(buffer, QByteArray(b"png"))
    if not writer.write(image):
        raise EngravingError(f"{path.name}: the picture cannot be encoded: {writer.errorString()}")
    write_atomically(path, bytes(data.data()))


def paint_image(page: EngravedPage, placed: Sequence[Overlay], dpi: int, style: DigitStyle = PAPER) -> QImage:
    """The page with its digits on white, ``dpi`` dots an inch."""
    scale = dpi / _INCH_MM
    image = QImage(QSize(round(page.width_mm * scale), round(page.height_mm * scale)), QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    image.setDotsPerMeterX(round(dpi / _INCH_MM * 1000))
    image.setDotsPerMeterY(round(dpi / _INCH_MM * 1000))
    painter = QPainter(image)
    painter.scale(scale, scale)
    PagePainter(page).paint(painter, placed, style)
    painter.end()
    return image
