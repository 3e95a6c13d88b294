"""What lies on a page beside the music: what is selected, lit, in hand, or without a finger. Painted in millimetres.

Grounds are painted as a pen of clear ink would: black stays black under them. Edges keep clear of digits, which stand
nearest above and below notes and staves: they are nearer still, or lie at the sides.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from itertools import groupby

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from app.window.style import look
from engraving.page import MeasurePlace, PageMap, Rect

# In staff spaces.
_BESIDE_NOTE, _BESIDE_HEAD, _OVER_NOTE, _AROUND_MARK = 0.45, 0.4, 0.15, 0.3
_ROUND = 0.45
_RING_MM = 0.8
_FRAME_MM, _EDGE_MM, _HEAVY_MM = 0.25, 0.25, 0.6


def paint_passage(painter: QPainter, page: PageMap, passage: tuple[int, int] | None) -> None:
    """A shade over the selected measures, with an edge where it begins and ends on each line."""
    if passage is None:
        return
    chosen = (one for one in page.measures if one.first <= passage[1] and passage[0] <= one.last)
    with _clear_ink(painter):
        painter.setPen(QPen(look.PASSAGE_EDGE, _HEAVY_MM))
        for _system, measures in groupby(sorted(chosen, key=_place), key=lambda one: one.system):
            areas = [_area(one.rect) for one in measures]
            area = areas[0].united(areas[-1]).adjusted(0, -page.staff_space, 0, page.staff_space)
            painter.fillRect(area, look.PASSAGE)
            for x in (area.left(), area.right()):
                painter.drawLine(QPointF(x, area.top()), QPointF(x, area.bottom()))


def paint_selected(painter: QPainter, page: PageMap, note_ids: Iterable[str]) -> None:
    """A frame around every selected note with its stem."""
    x, y, corner = (side * page.staff_space for side in (_BESIDE_NOTE, _OVER_NOTE, _ROUND))
    with _clear_ink(painter):
        painter.setPen(QPen(look.ACCENT, _FRAME_MM))
        painter.setBrush(look.SELECTED_NOTE)
        for place in (page.notes[note_id] for note_id in note_ids if note_id in page.notes):
            head, column = place.head, place.column
            area = QRectF(head.x0, min(column.y0, head.y0), head.width, column.height)
            painter.drawRoundedRect(area.adjusted(-x, -y, x, y), corner, corner)


def paint_lit(
    painter: QPainter, page: PageMap, note_ids: Iterable[str], ink: QColor, edge: QColor, *, heavy: bool = False
) -> None:
    """A light under noteheads; two kinds of them differ in the weight of their edges too."""
    weight = _HEAVY_MM if heavy else _EDGE_MM
    x, y = _BESIDE_HEAD * page.staff_space, _OVER_NOTE * page.staff_space - (weight - _EDGE_MM) / 2
    with _clear_ink(painter):
        painter.setPen(QPen(edge, weight))
        painter.setBrush(ink)
        for head in (page.notes[note_id].head for note_id in note_ids if note_id in page.notes):
            painter.drawEllipse(_area(head).adjusted(-x, -y, x, y))


def paint_unfingered(painter: QPainter, page: PageMap, note_ids: Iterable[str]) -> None:
    """A dotted ring round each note that stays without a finger."""
    painter.setPen(QPen(look.OWN_INK, 0.3, Qt.PenStyle.DotLine))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for note_id in note_ids:
        around = _area(page.notes[note_id].head).adjusted(-_RING_MM, -_RING_MM, _RING_MM, _RING_MM)
        painter.drawEllipse(around)


def paint_in_hand(painter: QPainter, page: PageMap, areas: Iterable[Rect], by: QPointF) -> None:
    """A frame around the mark in hand, as far from its place as it has been dragged."""
    pad = _AROUND_MARK * page.staff_space
    painter.setPen(QPen(look.OWN_INK, 0.25, Qt.PenStyle.DashLine))
    painter.setBrush(Qt.BrushStyle.NoBrush)
    for area in areas:
        painter.drawRoundedRect(_area(area).adjusted(-pad, -pad, pad, pad).translated(by), pad, pad)


@contextmanager
def _clear_ink(painter: QPainter) -> Iterator[None]:
    """Paint so that what is dark already stays as it is."""
    painter.save()
    painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_Multiply)
    yield
    painter.restore()


def _place(measure: MeasurePlace) -> tuple[int, float]:
    return measure.system, measure.rect.x0


def _area(rect: Rect) -> QRectF:
    return QRectF(rect.x0, rect.y0, rect.width, rect.height)
