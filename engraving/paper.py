"""Paper to paint on in millimetres, page after page: a PDF to print, or pictures of its pages to look at first."""

from __future__ import annotations

import hashlib
import re
import uuid
from abc import ABC, abstractmethod
from dataclasses import dataclass
from types import TracebackType
from typing import Self

from PySide6.QtCore import QBuffer, QHashSeed, QIODevice, QMarginsF, QSizeF, Qt, QUuid
from PySide6.QtGui import QPageLayout, QPageSize, QPainter, QPdfWriter, QPicture

from analysis.language import _
from engraving.errors import EngravingError
from engraving.fonts import load_fonts
from engraving.layout import Layout

UNITS_A_MM = 100  # 2540 dots an inch
_INCH_MM = 25.4
# When a PDF was made, in its information dictionary and in its metadata.
_DATES = re.compile(rb'/(?:Creation|Mod)Date \(D:[^)]*\)|xmp:(?:Create|Modify|Metadata)Date="[^"]*"')


@dataclass(frozen=True, eq=False)
class PaintedPage:
    """All that was painted on one page, kept as strokes and lettering: sharp at any size and on any screen."""

    width_mm: float
    height_mm: float
    strokes: QPicture

    def paint(self, painter: QPainter) -> None:
        """Paint it again, ``painter`` in millimetres from its corner; the ground is left as it is."""
        painter.save()
        # What paper begins with is not among the strokes, and the painter of a window begins with other ink.
        painter.setPen(Qt.GlobalColor.black)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.scale(1 / UNITS_A_MM, 1 / UNITS_A_MM)
        painter.drawPicture(0, 0, self.strokes)
        painter.restore()


class Paper(ABC):
    """Pages of the size of ``layout`` for one ``painter``, the first of them begun.

    It is a context: what it holds is whole when that has ended, and its painter has ended before its paper does.
    EngravingError where there is no Qt GUI application.
    """

    def __init__(self, layout: Layout) -> None:
        load_fonts()
        self.layout = layout
        self.painter = QPainter()
        self._begin()

    @abstractmethod
    def _begin(self) -> None:
        """Have the painter on the first page."""

    @abstractmethod
    def new_page(self) -> None:
        """Begin the next page."""

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, traceback: TracebackType | None
    ) -> None:
        if self.painter.isActive():
            self.painter.end()

    def _scale(self) -> None:
        self.painter.resetTransform()
        self.painter.scale(UNITS_A_MM, UNITS_A_MM)


class PdfPaper(Paper):
    """A PDF, fonts embedded."""

    def __init__(self, layout: Layout, title: str) -> None:
        self._title, self._buffer = title, QBuffer()
        super().__init__(layout)

    @property
    def pdf(self) -> bytes:
        """The file, once the context has ended: the same bytes whenever the same is painted."""
        return _timeless(bytes(self._buffer.data().data()), self._writer.documentId())

    def _begin(self) -> None:
        self._buffer.open(QIODevice.OpenModeFlag.WriteOnly)
        self._writer = _pdf_writer(self._buffer, self.layout, self._title)
        self.painter.begin(self._writer)
        self._scale()

    def new_page(self) -> None:
        """Begin the next page; EngravingError where that fails."""
        if not self._writer.newPage():
            raise EngravingError(_("{title}: another page cannot be begun").format(title=self._title))
        self._scale()


class PicturePaper(Paper):
    """The pages that a PDF would have, to be looked at."""

    def __init__(self, layout: Layout) -> None:
        self._pictures: list[QPicture] = []
        super().__init__(layout)

    @property
    def pages(self) -> tuple[PaintedPage, ...]:
        """What was painted, once the context has ended."""
        return tuple(PaintedPage(self.layout.width_mm, self.layout.height_mm, one) for one in self._pictures)

    def _begin(self) -> None:
        self._pictures.append(QPicture())
        self.painter.begin(self._pictures[-1])
        self._scale()

    def new_page(self) -> None:
        """Begin the next page."""
        self.painter.end()
        self._begin()


def _pdf_writer(buffer: QBuffer, layout: Layout, title: str) -> QPdfWriter:
    """A writer for a PDF on the paper of ``layout``, ``UNITS_A_MM`` units a millimetre."""
    # A PDF holds its fonts in the order of a table of Qt's, which otherwise is another in every process.
    QHashSeed.setDeterministicGlobalSeed()
    writer = QPdfWriter(buffer)
    writer.setResolution(round(UNITS_A_MM * _INCH_MM))
    size = QPageSize(QSizeF(layout.width_mm, layout.height_mm), QPageSize.Unit.Millimeter)
    writer.setPageLayout(QPageLayout(size, QPageLayout.Orientation.Portrait, QMarginsF(0, 0, 0, 0)))
    writer.setTitle(title)
    writer.setCreator("Handframe")
    return writer


def _timeless(pdf: bytes, document_id: QUuid) -> bytes:
    """The file without dates, and with an id made from what it holds in place of a random one.

    Nothing in it is moved: its table of places stays right.
    """
    blank = _DATES.sub(lambda date: b" " * len(date[0]), pdf)
    drawn = document_id.toString(QUuid.StringFormat.WithoutBraces).encode()
    written = (drawn, drawn.hex().encode())  # as text in the metadata, in hexadecimal digits at the end
    plain = blank
    for one in written:
        plain = plain.replace(one, b"")
    own = str(uuid.uuid5(uuid.NAMESPACE_OID, hashlib.sha256(plain).hexdigest())).encode()
    return blank.replace(written[0], own).replace(written[1], own.hex().encode())
