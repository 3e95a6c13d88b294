"""One painter for the page on screen, in the PDF and in the picture: first the engraved page, then what lies over it.

It paints in millimetres: the caller scales the QPainter.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPainterPath, QPen
from PySide6.QtSvg import QSvgRenderer

from analysis.language import _
from engraving.drawing import Lettering, Mark, Shape
from engraving.engraver import EngravedPage
from engraving.errors import EngravingError
from engraving.fonts import load_fonts, text_font
from engraving.metrics import TEXT_FAMILY
from engraving.outlines import Outline
from engraving.placing import Figure, PaintedMark, Placed
from engraving.placing.boxes import Overlaid, PaintedBox
from engraving.placing.figures import REACH, SIGNS, UP
from engraving.placing.signs import Sign, arrow, cross
from engraving.styles import OWN_INK, OWN_MARKS_COPIED, PAPER, DigitStyle, MarkStyle

_FINE = 100.0  # text is set in hundredths of a millimetre: font sizes are whole numbers
_PADDING = 0.06  # between a digit and the edge of its label, in parts of the em
_OUTLINE = 0.04  # width of that edge
_ROUNDING = 0.28  # of its corners
_CAPS = {"round": Qt.PenCapStyle.RoundCap, "square": Qt.PenCapStyle.SquareCap}


# The font of a text of some size, slanted or not, and how wide the text is in it.
_Faces = dict[tuple[str, float, bool], tuple[QFont, float]]


class PagePainter:
    """Paints one engraved page, and what lies over it; ``marks`` is the style of the teacher's, engraved or painted."""

    def __init__(self, page: EngravedPage, marks: MarkStyle = OWN_MARKS_COPIED) -> None:
        load_fonts()
        self._page, self._marks = page, marks

    @cached_property
    def _renderer(self) -> QSvgRenderer:
        renderer = QSvgRenderer(self._page.svg.replace(OWN_INK.encode(), self._marks.ink.encode()))
        if not renderer.isValid():
            raise EngravingError(_("Qt cannot draw the engraved page"))
        return renderer

    def paint(self, painter: QPainter, placed: Iterable[Overlaid], style: DigitStyle = PAPER) -> None:
        """The page with its digits, marks and passage boxes."""
        self.paint_page(painter)
        overlay = tuple(placed)
        self.paint_overlay(painter, (one for one in overlay if isinstance(one, Placed)), style)
        self.paint_marks(painter, (one for one in overlay if isinstance(one, PaintedMark | PaintedBox)))

    def paint_page(self, painter: QPainter) -> None:
        """The page alone; the ground is left as it is."""
        renderer = self._renderer
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        renderer.render(painter, QRectF(0, 0, self._page.width_mm, self._page.height_mm))
        painter.restore()

    def paint_overlay(self, painter: QPainter, placed: Iterable[Placed], style: DigitStyle) -> None:
        """Digits alone, all in one style."""
        painter.save()
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.scale(1 / _FINE, 1 / _FINE)
        faces: _Faces = {}
        for one in placed:
            if style.label is not None:
                _paint_label(painter, one, style.ink, style.label)
            for figure in one.figures:
                _paint_figure(painter, figure, style, faces)
        painter.restore()

    def paint_marks(self, painter: QPainter, marks: Iterable[PaintedMark | PaintedBox]) -> None:
        """Painted marks and passage boxes alone."""
        for mark in marks:
            paint_sign(painter, mark.drawn, _ink_of(self._marks, mark))


def _ink_of(style: MarkStyle, mark: PaintedMark | PaintedBox) -> str:
    return style.passages[mark.number % len(style.passages)] if isinstance(mark, PaintedBox) else style.ink


def paint_sign(painter: QPainter, sign: Iterable[Mark], ink: str) -> None:
    """Shapes and lettering in one colour, ``#rrggbb``."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.scale(1 / _FINE, 1 / _FINE)
    _paint_sign(painter, sign, ink)
    painter.restore()


def _paint_figure(painter: QPainter, figure: Figure, style: DigitStyle, faces: _Faces) -> None:
    if figure.text in SIGNS:
        _paint_sign(painter, _sign(figure), style.ink)
        return
    key = figure.text, figure.size, figure.slanted
    if key not in faces:
        face = text_font(figure.size * _FINE, bold=style.bold, italic=figure.slanted)
        faces[key] = face, QFontMetricsF(face).horizontalAdvance(figure.text)
    font, width = faces[key]
    painter.setFont(font)
    painter.setPen(QColor(style.ink))
    middle = figure.rect.centre[0] * _FINE
    painter.drawText(QPointF(middle - width / 2, figure.rect.y1 * _FINE), figure.text)


def _sign(figure: Figure) -> Sign:
    rect, space = figure.rect, figure.space * _FINE
    corners = rect.x0 * _FINE, rect.y0 * _FINE, rect.x1 * _FINE, rect.y1 * _FINE
    if figure.text == REACH:
        return cross(*corners, space=space)
    return arrow(*corners, up=figure.text == UP, space=space)


def _paint_sign(painter: QPainter, sign: Iterable[Mark], ink: str) -> None:
    """Shapes and lettering, in the units of drawings."""
    for one in sign:
        if isinstance(one, Shape):
            _paint_shape(painter, one, QColor(ink))
        elif isinstance(one, Lettering):
            painter.setFont(_font(one))
            painter.setPen(QColor(ink))
            painter.drawText(QPointF(one.x, one.y), one.text)


def _font(lettering: Lettering) -> QFont:
    face = lettering.face
    if face.family == TEXT_FAMILY:
        return text_font(lettering.size, bold=face.bold, italic=face.italic)
    font = QFont(face.family)
    font.setPixelSize(round(lettering.size))
    return font


def _paint_shape(painter: QPainter, shape: Shape, ink: QColor) -> None:
    pen = QPen(ink, shape.width)
    pen.setCapStyle(_CAPS.get(shape.cap, Qt.PenCapStyle.FlatCap))
    pen.setJoinStyle(Qt.PenJoinStyle.RoundJoin)
    if shape.dash:
        pen.setDashPattern([length / shape.width for length in shape.dash])
    painter.setPen(pen)
    painter.setBrush(ink if shape.filled else Qt.BrushStyle.NoBrush)
    painter.drawPath(_path(shape.outline))


def _path(outline: Outline) -> QPainterPath:
    path = QPainterPath()
    for letter, at in outline:
        points = [QPointF(x, y) for x, y in zip(at[::2], at[1::2], strict=True)]
        if letter == "M":
            path.moveTo(points[0])
        elif letter == "L":
            path.lineTo(points[0])
        elif letter == "C":
            path.cubicTo(*points)
        else:
            path.closeSubpath()
    return path


def _paint_label(painter: QPainter, placed: Placed, ink: str, ground: str) -> None:
    em = placed.digit.size * _FINE
    area = QRectF()
    for rect in (figure.rect for figure in placed.figures if not figure.slanted):
        area = area.united(QRectF(rect.x0 * _FINE, rect.y0 * _FINE, rect.width * _FINE, rect.height * _FINE))
    pad = _PADDING * em
    painter.setPen(QPen(QColor(ink), _OUTLINE * em, Qt.PenStyle.SolidLine))
    painter.setBrush(QColor(ground))
    painter.drawRoundedRect(area.adjusted(-pad, -pad, pad, pad), _ROUNDING * em, _ROUNDING * em)
