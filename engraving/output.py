"""Printed pages as a vector PDF, by the painter of the screen."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path

from pypdf import PdfWriter
from PySide6.QtCore import QBuffer, QIODevice, QMarginsF, QSizeF
from PySide6.QtGui import QPageLayout, QPageSize, QPainter, QPdfWriter

from engraving.atomic import write_atomically
from engraving.engraver import EngravedPage
from engraving.errors import EngravingError
from engraving.fonts import load_fonts
from engraving.imprint import Imprint, imprint_lines
from engraving.layout import Layout
from engraving.metrics import FontMetrics, data_folder
from engraving.painter import OWN_MARKS_COPIED, PAPER, MarkStyle, PagePainter, paint_sign
from engraving.placing.boxes import Overlaid

UNITS_A_MM = 100  # 2540 dots an inch
_INCH_MM = 25.4

MarkedPage = tuple[EngravedPage, Sequence[Overlaid]]


@dataclass(frozen=True, eq=False)
class Copy:
    """One printed copy of a part: its entry in the outline, its pages, and what it says of itself."""

    label: str
    pages: Sequence[MarkedPage]
    imprint: Imprint = field(default_factory=Imprint)


def write_pdf(
    path: Path, pages: Sequence[MarkedPage], layout: Layout, title: str, imprint: Imprint | None = None
) -> None:
    """Write one copy as a PDF, as :func:`pdf_bytes` makes it. Nothing is left half written."""
    if not pages:
        raise EngravingError(f"{path.name}: there are no pages to print")
    write_atomically(path, pdf_bytes([Copy(title, pages, imprint or Imprint())], layout, title))


def pdf_bytes(
    copies: Sequence[Copy],
    layout: Layout,
    title: str,
    marks: MarkStyle = OWN_MARKS_COPIED,
    tick: Callable[[float], None] = lambda share: None,
) -> bytes:
    """Copies with their digits and marks as one PDF on the paper of ``layout``, fonts embedded.

    Every copy has its own page numbers and, where there are several, an entry in the outline. ``tick`` is told which
    share is painted. EngravingError when there are no pages, or no Qt GUI application.
    """
    total = sum(len(copy.pages) for copy in copies)
    if not total:
        raise EngravingError(f"{title}: there are no pages to print")
    load_fonts()
    metrics, painted = FontMetrics(data_folder()), 0
    painters: dict[int, PagePainter] = {}
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = pdf_writer(buffer, layout, title)
    painter = QPainter(writer)
    try:
        for copy in copies:
            for number, (page, placed) in enumerate(copy.pages, 1):
                tick(painted / total)
                if painted and not writer.newPage():
                    raise EngravingError(f"{title}: page {painted + 1} cannot be begun")
                painter.resetTransform()
                painter.scale(UNITS_A_MM, UNITS_A_MM)
                if id(page) not in painters:
                    painters[id(page)] = PagePainter(page, marks)
                painters[id(page)].paint(painter, placed)
                lines = imprint_lines(
                    copy.imprint, page.map, layout, metrics, number=number, count=len(copy.pages), overlay=placed
                )
                paint_sign(painter, lines, PAPER.ink)
                painted += 1
    finally:
        painter.end()  # a painter that outlives its paper takes the whole application down
    data = bytes(buffer.data().data())
    return data if len(copies) == 1 else _with_outline(data, copies)


def _with_outline(data: bytes, copies: Sequence[Copy]) -> bytes:
    """The PDF with an entry in its outline for every copy."""
    writer = PdfWriter(clone_from=BytesIO(data))
    first = 0
    for copy in copies:
        writer.add_outline_item(title=copy.label, page_number=first)
        first += len(copy.pages)
    writer.page_mode = "/UseOutlines"
    out = BytesIO()
    writer.write(out)
    return out.getvalue()


def pdf_writer(buffer: QBuffer, layout: Layout, title: str) -> QPdfWriter:
    """A writer for a PDF on the paper of ``layout``, ``UNITS_A_MM`` units a millimetre."""
    writer = QPdfWriter(buffer)
    writer.setResolution(round(UNITS_A_MM * _INCH_MM))
    size = QPageSize(QSizeF(layout.width_mm, layout.height_mm), QPageSize.Unit.Millimeter)
    writer.setPageLayout(QPageLayout(size, QPageLayout.Orientation.Portrait, QMarginsF(0, 0, 0, 0)))
    writer.setTitle(title)
    writer.setCreator("Handframe")
    return writer
