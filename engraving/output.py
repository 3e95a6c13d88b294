"""Printed pages as a vector PDF, and the same pages to be looked at first, by the painter of the screen."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from io import BytesIO
from pathlib import Path

from analysis.language import _
from engraving.atomic import write_atomically
from engraving.engraver import EngravedPage
from engraving.errors import EngravingError
from engraving.imprint import Imprint, imprint_lines
from engraving.layout import Layout
from engraving.metrics import FontMetrics, data_folder
from engraving.painter import PagePainter, paint_sign
from engraving.paper import PaintedPage, Paper, PdfPaper, PicturePaper
from engraving.placing.boxes import Overlaid
from engraving.styles import OWN_MARKS_COPIED, PAPER, MarkStyle

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
        raise EngravingError(_("{file}: there are no pages to print").format(file=path.name))
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
    with PdfPaper(layout, title) as paper:
        _paint(paper, copies, title, marks, tick)
    return paper.pdf if len(copies) == 1 else _with_outline(paper.pdf, copies)


def painted_pages(
    copy: Copy,
    layout: Layout,
    marks: MarkStyle = OWN_MARKS_COPIED,
    tick: Callable[[float], None] = lambda share: None,
) -> tuple[PaintedPage, ...]:
    """The pages of a copy as a PDF has them, to be looked at; arguments and errors as for :func:`pdf_bytes`."""
    with PicturePaper(layout) as paper:
        _paint(paper, [copy], copy.label, marks, tick)
    return paper.pages


def _paint(paper: Paper, copies: Sequence[Copy], title: str, marks: MarkStyle, tick: Callable[[float], None]) -> None:
    """Every page of every copy with its imprint."""
    total = sum(len(copy.pages) for copy in copies)
    if not total:
        raise EngravingError(_("{title}: there are no pages to print").format(title=title))
    metrics, painted = FontMetrics(data_folder()), 0
    painters: dict[int, PagePainter] = {}
    for copy in copies:
        for number, (page, placed) in enumerate(copy.pages, 1):
            tick(painted / total)
            if painted:
                paper.new_page()
            if id(page) not in painters:
                painters[id(page)] = PagePainter(page, marks)
            painters[id(page)].paint(paper.painter, placed)
            lines = imprint_lines(
                copy.imprint, page.map, paper.layout, metrics, number=number, count=len(copy.pages), overlay=placed
            )
            paint_sign(paper.painter, lines, PAPER.ink)
            painted += 1


def _with_outline(data: bytes, copies: Sequence[Copy]) -> bytes:
    """The PDF with an entry in its outline for every copy."""
    from pypdf import PdfWriter  # here, since a window that prints nothing does not wait for it

    writer = PdfWriter(clone_from=BytesIO(data))
    first = 0
    for copy in copies:
        writer.add_outline_item(title=copy.label, page_number=first)
        first += len(copy.pages)
    writer.page_mode = "/UseOutlines"
    out = BytesIO()
    writer.write(out)
    return out.getvalue()
