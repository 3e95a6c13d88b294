"""One painter for the page on screen, in the PDF and in the picture: first the engraved page, then the digits over it.

It paints in millimetres: the caller scales the QPainter.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen
from PySide6.QtSvg import QSvgRenderer

from engraving.engraver import EngravedPage
from engraving.errors import EngravingError
from engraving.fonts import load_fonts
from engraving.metrics import TEXT_FAMILY
from engraving.placing import Figure, Placed

_FINE = 100.0  # text is set in hundredths of a millimetre: font sizes are whole numbers
_PADDING = 0.06  # between a digit and the edge of its label, in parts of the em
_OUTLINE = 0.04  # width of that edge
_ROUNDING = 0.28  # of its corners


@dataclass(frozen=True, slots=True)
class DigitStyle:
    """How digits look: colours as ``#rrggbb``; with ``label`` a rounded label of that colour lies under them.

    The label's edge has the colour of the ink. Kinds of digits should differ in shape (bold, label) and not by colour
    alone.
    """

    ink: str
    bold: bool = False
    label: str | None = None


PAPER = DigitStyle("#000000")
COMPUTED = DigitStyle("#1f6f78")
OWN = DigitStyle("#7a2e1d", bold=True, label="#fff6ec")


class PagePainter:
    """Paints one engraved page and digits over it."""

    def __init__(self, page: EngravedPage) -> None:
        load_fonts()
        self._renderer = QSvgRenderer(page.svg)
        if not self._renderer.isValid():
            raise EngravingError("Qt cannot draw the engraved page")
        self._area = QRectF(0, 0, page.width_mm, page.height_mm)

    def paint(self, painter: QPainter, placed: Iterable[Placed], style: DigitStyle = PAPER) -> None:
        """The page and its digits."""
        self.paint_page(painter)
        self.paint_overlay(painter, placed, style)

    def paint_page(self, painter: QPainter) -> None:
        """The page alone; the ground is left as it is."""
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        self._renderer.render(painter, self._area)
        painter.restore()

    def paint_overlay(self, painter: QPainter, placed: Iterable[Placed], style: DigitStyle) -> None:
        """Digits alone, all in one style."""
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.scale(1 / _FINE, 1 / _FINE)
        for one in placed:
            if style.label is not None:
                _paint_label(painter, one, style.ink, style.label)
            for figure in one.figures:
                _paint_figure(painter, figure, style)
        painter.restore()


def _paint_figure(painter: QPainter, figure: Figure, style: DigitStyle) -> None:
    font = QFont(TEXT_FAMILY)
    font.setPixelSize(round(figure.size * _FINE))
    font.setBold(style.bold)
    painter.setFont(font)
    painter.setPen(QColor(style.ink))
    middle = figure.rect.centre[0] * _FINE
    width = QFontMetricsF(font).horizontalAdvance(figure.text)
    painter.drawText(QPointF(middle - width / 2, figure.rect.y1 * _FINE), figure.text)


def _paint_label(painter: QPainter, placed: Placed, ink: str, ground: str) -> None:
    em = placed.digit.size * _FINE
    area = QRectF()
    for rect in (figure.rect for figure in placed.figures):
        area = area.united(QRectF(rect.x0 * _FINE, rect.y0 * _FINE, rect.width * _FINE, rect.height * _FINE))
    pad = _PADDING * em
    painter.setPen(QPen(QColor(ink), _OUTLINE * em, Qt.PenStyle.SolidLine))
    painter.setBrush(QColor(ground))
    painter.drawRoundedRect(area.adjusted(-pad, -pad, pad, pad), _ROUNDING * em, _ROUNDING * em)
