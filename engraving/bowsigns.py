"""Down-bow and up-bow signs over the page, as players know them: a box open below, and a V.

They stand below the staff, where they meet no digit. Room for them is found as for digits; each takes that of a letter.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QPainter, QPen

from engraving.placing import Placed, Wanted

# The letters whose room the signs take.
_LETTERS = {"down": "H", "up": "V"}
_THIN, _THICK = 0.09, 0.34  # of lines, in parts of the sign's height


def wanted_signs(directions: Mapping[str, str]) -> tuple[Wanted, ...]:
    """The signs for bows by note id, each "down" or "up"."""
    return tuple(Wanted(note_id, _LETTERS[direction], below=True) for note_id, direction in directions.items())


def is_sign(placed: Placed) -> bool:
    """Whether something placed on a page is a bow sign and no digit."""
    return placed.digit.text in _LETTERS.values()


def paint_signs(painter: QPainter, placed: Iterable[Placed], ink: str) -> None:
    """The signs at their places; ``painter`` in millimetres, ``ink`` as ``#rrggbb``."""
    painter.save()
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    for one in placed:
        rect = one.digit.rect
        area = QRectF(rect.x0, rect.y0, rect.width, rect.height)
        thin = _THIN * rect.height
        painter.setPen(
            QPen(QColor(ink), thin, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap, Qt.PenJoinStyle.MiterJoin)
        )
        area.adjust(thin / 2, 0, -thin / 2, 0)
        if one.digit.text == _LETTERS["down"]:
            painter.fillRect(QRectF(area.left(), area.top(), area.width(), _THICK * rect.height), QColor(ink))
            for x in (area.left() + thin / 2, area.right() - thin / 2):
                painter.drawLine(QPointF(x, area.top()), QPointF(x, area.bottom()))
        else:
            foot = QPointF(area.center().x(), area.bottom())
            painter.drawPolyline([area.topLeft(), foot, area.topRight()])
    painter.restore()
