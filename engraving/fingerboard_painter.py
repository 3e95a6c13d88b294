"""Paint a chart of the fingerboard, in black and grey: it is copied on school copiers. Lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QBrush, QColor, QFontMetricsF, QPainter, QPainterPath, QPen, QPolygonF

from analysis.fingering.position_words import short_position
from analysis.language import _, p_
from engraving.fingerboard import (
    GAP,
    LETTER_EM,
    LOZENGE,
    NUT_THICK,
    POINT,
    POSITION_WORD,
    RING,
    TICK,
    WORD_EM,
    ChartLayout,
    FingerboardChart,
    Spot,
    lay_out,
)
from engraving.fonts import load_fonts, text_font
from engraving.page import Rect

_FINE = 100.0  # text is set in hundredths of a millimetre: font sizes are whole numbers
_INK, _TAPE, _EDGE = QColor("#000000"), QColor("#dcdcdc"), QColor("#707070")
_TAPE_WIDTH, _OUTLINE, _THIN = 1.3, 0.3, 0.12
# The width of the highest string, and how much wider the next one is.
_STRING, _WIDER = 0.16, 0.1
_DIGIT = 0.78  # the em of a digit in its dot, in parts of the dot
_FIGURE = 0.676  # the height of a digit of the face, in parts of the em
# The strokes across the board where a part of it is left out: how far apart, how slanted, how far over its edges.
_APART, _SLANT, _OVER = 1.6, 0.9, 1.0


@dataclass(frozen=True, slots=True)
class SpotStyle:
    """How a dot looks: its ground, its digit and its edge as ``#rrggbb``, and the width of the edge in mm.

    ``dotted``: the edge is. ``ring``: another edge round it, ``""`` for none.
    """

    fill: str = "#ffffff"
    ink: str = "#000000"
    edge: str = "#000000"
    width: float = _OUTLINE
    dotted: bool = False
    ring: str = ""


def paint_chart(painter: QPainter, chart: FingerboardChart, rect: Rect) -> None:
    """Paint the chart into ``rect``; the ground is left as it is."""
    paint_layout(painter, lay_out(chart, rect))


def paint_layout(
    painter: QPainter,
    layout: ChartLayout,
    styles: Sequence[SpotStyle] | None = None,
    hand: tuple[int, float] | None = None,
) -> None:
    """Paint a chart that is laid out already, as what is painted again and again should be.

    ``styles``: one for each of the layout's spots. ``hand``: number and place of the position whose name stands out.
    """
    load_fonts()
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    _paint_tapes(painter, layout)
    _paint_strings(painter, layout)
    _paint_hands(painter, layout, hand)
    for label in layout.labels:
        box = QRectF(label.box.x0, label.box.y0, label.box.width, label.box.height)
        painter.fillRect(box.adjusted(-GAP, 0, GAP, 0), Qt.GlobalColor.white)
        _text(painter, label.text, label.x, label.y, label.em)
    for spot, style in zip(layout.spots, styles or [SpotStyle()] * len(layout.spots), strict=True):
        _paint_spot(painter, spot, style)
    painter.restore()


def _paint_tapes(painter: QPainter, layout: ChartLayout) -> None:
    left, right = layout.board
    painter.setPen(QPen(_EDGE, _THIN))
    for tape, y in layout.tapes:
        painter.setBrush(QBrush(_TAPE))
        painter.drawRect(QRectF(left, y - _TAPE_WIDTH / 2, right - left, _TAPE_WIDTH))
        _text(painter, str(tape.finger), left - 1.0, y + _FIGURE * WORD_EM / 2, WORD_EM, lean=1.0)
    if layout.tapes:
        _text(painter, p_("fingerboard", "tape"), left - 0.6, layout.nut - NUT_THICK, WORD_EM, lean=1.0, italic=True)


def _paint_strings(painter: QPainter, layout: ChartLayout) -> None:
    """The nut, the edges of the board and the strings; two strokes stand for a part that is left out."""
    left, right = layout.board
    bottom = layout.rect.y1
    for string in layout.chart.instrument.strings:
        x = layout.x(string.number)
        painter.setPen(_flat_pen(_INK, _STRING + _WIDER * (string.number - 1)))
        _stroke(painter, (x, layout.nut), (x, bottom))
        _text(painter, string.letter, x, layout.rect.y0 + LETTER_EM * _FIGURE, LETTER_EM, lean=0.5, bold=True)
    painter.setPen(_flat_pen(_EDGE, _OUTLINE))
    for x in (left, right):
        _stroke(painter, (x, layout.nut), (x, bottom))
    painter.fillRect(QRectF(left, layout.nut - NUT_THICK, right - left, NUT_THICK), _INK)
    if layout.top > layout.nut:
        _paint_break(painter, layout)


def _paint_break(painter: QPainter, layout: ChartLayout) -> None:
    left, right = layout.board[0] - _OVER, layout.board[1] + _OVER
    middle = (layout.nut + layout.top) / 2
    low, high = (left, middle + _SLANT), (right, middle - _SLANT)
    corners = [(x, y + side * _APART / 2) for x, y, side in ((*low, -1), (*high, -1), (*high, 1), (*low, 1))]
    painter.fillPath(_polygon(*corners), QBrush(Qt.GlobalColor.white))
    painter.setPen(QPen(_INK, _OUTLINE))
    for start, end in (corners[:2], corners[2:]):
        _stroke(painter, start, end)


def _paint_hands(painter: QPainter, layout: ChartLayout, here: tuple[int, float] | None) -> None:
    """The positions beside the board: a stroke where the first finger lies, and the position's name."""
    right = layout.board[1]
    for hand, place, named in layout.hands:
        strong = here == (hand.number, hand.place)
        painter.setPen(QPen(_INK, _OUTLINE * (3 if strong else 1)))
        _stroke(painter, (right, place), (right + TICK - 0.5, named))
        _text(painter, short_position(hand.name), right + TICK, named + _FIGURE * WORD_EM / 2, WORD_EM, bold=strong)
    if layout.hands:
        _text(painter, _(POSITION_WORD), right + TICK, layout.nut - NUT_THICK, WORD_EM, italic=True)


def _paint_spot(painter: QPainter, spot: Spot, style: SpotStyle) -> None:
    """A round dot with its fingers; drawn out to a point where a finger leans, a lozenge where it only touches."""
    painter.save()
    # In hundredths, since Qt takes curves shorter than a unit for straight lines.
    painter.translate(spot.x, spot.y)
    painter.scale(1 / _FINE, 1 / _FINE)
    pen = QPen(QColor(style.edge), style.width * _FINE)
    if style.dotted:
        pen.setDashPattern([1.0, 1.6])
        pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    painter.setPen(pen)
    painter.setBrush(QBrush(QColor(style.fill)))
    painter.drawPath(_outline(spot, spot.half_width * _FINE, spot.radius * _FINE))
    if style.ring:
        more = RING * _FINE
        painter.setPen(QPen(QColor(style.ring), _OUTLINE * _FINE))
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawPath(_outline(spot, spot.half_width * _FINE + more, spot.radius * _FINE + more))
    painter.restore()
    em = 2 * spot.radius * _DIGIT
    _text(painter, spot.text, spot.x, spot.y + _FIGURE * em / 2, em, lean=0.5, bold=True, ink=QColor(style.ink))


def _outline(spot: Spot, half: float, radius: float) -> QPainterPath:
    """The edge of a dot round its middle."""
    if spot.touches:
        return _polygon((-half, 0), (0, -LOZENGE * radius), (half, 0), (0, LOZENGE * radius))
    path = QPainterPath()
    path.addRoundedRect(QRectF(-half, -radius, 2 * half, 2 * radius), radius, radius)
    if spot.leans:
        # From the point to where a line from it touches the round dot.
        away, wide = spot.leans * radius, radius * (1 - 1 / POINT**2) ** 0.5
        path = path.united(_polygon((-wide, away / POINT), (0, away * POINT), (wide, away / POINT)))
    return path


def _polygon(*corners: tuple[float, float]) -> QPainterPath:
    path = QPainterPath()
    path.addPolygon(QPolygonF([QPointF(*corner) for corner in corners]))
    path.closeSubpath()
    return path


def _flat_pen(colour: QColor, width: float) -> QPen:
    """A pen whose strokes end where they are said to."""
    return QPen(colour, width, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap)


def _stroke(painter: QPainter, start: tuple[float, float], end: tuple[float, float]) -> None:
    painter.drawLine(QPointF(*start), QPointF(*end))


def _text(
    painter: QPainter,
    text: str,
    x: float,
    y: float,
    em: float,
    *,
    lean: float = 0.0,
    bold: bool = False,
    italic: bool = False,
    ink: QColor = _INK,
) -> None:
    """Text with its baseline at ``y``; ``lean`` 0 begins at ``x``, 0.5 has its middle and 1 its end there."""
    painter.save()
    painter.scale(1 / _FINE, 1 / _FINE)
    font = text_font(em * _FINE, bold=bold, italic=italic)
    painter.setFont(font)
    painter.setPen(ink)
    width = QFontMetricsF(font).horizontalAdvance(text)
    painter.drawText(QPointF(x * _FINE - lean * width, y * _FINE), text)
    painter.restore()
