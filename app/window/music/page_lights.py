"""What lies on a page beside the music: what is selected, lit, in hand, or without a finger. Painted in millimetres."""

from __future__ import annotations

from collections.abc import Iterable

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from analysis.fingering.plan import Plan
from app.window.style import look
from engraving.page import PageMap, Rect

# In staff spaces.
_AROUND_NOTE, _AROUND_HEAD, _AROUND_MARK = 0.45, 0.4, 0.3
_RING_MM = 0.8
_EDGE_MM, _HEAVY_MM = 0.25, 0.6


def paint_passage(painter: QPainter, page: PageMap, passage: tuple[int, int] | None) -> None:
    """A shade over the selected measures, with edges above and below."""
    for measure in page.measures if passage else ():
        if passage and measure.first <= passage[1] and passage[0] <= measure.last:
            area = _area(measure.rect).adjusted(0, -page.staff_space, 0, page.staff_space)
            painter.fillRect(area, look.PASSAGE)
            painter.setPen(QPen(look.PASSAGE_EDGE, 0.25))
            for y in (area.top(), area.bottom()):
                painter.drawLine(QPointF(area.left(), y), QPointF(area.right(), y))


def paint_selected(painter: QPainter, page: PageMap, note_ids: Iterable[str]) -> None:
    """A frame around every selected note with its stem."""
    pad = _AROUND_NOTE * page.staff_space
    painter.setPen(QPen(look.ACCENT, 0.3))
    painter.setBrush(look.SELECTED_NOTE)
    for place in (page.notes[note_id] for note_id in note_ids if note_id in page.notes):
        head, column = place.head, place.column
        area = QRectF(head.x0, min(column.y0, head.y0), head.width, column.height)
        painter.drawRoundedRect(area.adjusted(-pad, -pad, pad, pad), pad, pad)


def paint_lit(
    painter: QPainter, page: PageMap, note_ids: Iterable[str], ink: QColor, edge: QColor, *, heavy: bool = False
) -> None:
    """A light under noteheads; two kinds of them differ in the weight of their edges too."""
    pad = _AROUND_HEAD * page.staff_space
    painter.setPen(QPen(edge, _HEAVY_MM if heavy else _EDGE_MM))
    painter.setBrush(ink)
    for head in (page.notes[note_id].head for note_id in note_ids if note_id in page.notes):
        painter.drawEllipse(_area(head).adjusted(-pad, -pad, pad, pad))


def paint_unfingered(painter: QPainter, page: PageMap, plan: Plan) -> None:
    """A dotted ring round each note that stays without a finger."""
    painter.setPen(QPen(look.OWN_INK, 0.3, Qt.PenStyle.DotLine))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for note_id in plan.problems:
        if note_id in page.notes and note_id not in plan:
            around = _area(page.notes[note_id].head).adjusted(-_RING_MM, -_RING_MM, _RING_MM, _RING_MM)
            painter.drawEllipse(around)


def paint_in_hand(painter: QPainter, page: PageMap, areas: Iterable[Rect], by: QPointF) -> None:
    """A frame around the mark in hand, as far from its place as it has been dragged."""
    pad = _AROUND_MARK * page.staff_space
    painter.setPen(QPen(look.OWN_INK, 0.25, Qt.PenStyle.DashLine))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for area in areas:
        painter.drawRoundedRect(_area(area).adjusted(-pad, -pad, pad, pad).translated(by), pad, pad)


def _area(rect: Rect) -> QRectF:
    return QRectF(rect.x0, rect.y0, rect.width, rect.height)
