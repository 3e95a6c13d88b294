"""One way of playing a passage as a strip of music, the digits that other ways do not have made to stand out."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen, QResizeEvent
from PySide6.QtWidgets import QWidget

from analysis.fingering.plan import Plan
from analysis.language import _
from app.window.music.sheets import Sheets
from app.window.style import look
from engraving.engraver import EngravedPage
from engraving.page import Rect

STRIP_MM = 170.0
_LEAST_WIDTH = 520  # narrower than that a digit with its string can hardly be read
_BELOW, _LINE = 0.22, 0.28  # from a digit that stands out to the middle of the line under it, and its weight, in mm


class Strip(QWidget):
    """One way's music, as wide as the window lets it.

    ``differing``: the notes whose digits get a ground and a line. ``strings``: those at which the string is told too.
    """

    def __init__(
        self,
        pages: Sequence[EngravedPage],
        plan: Plan,
        differing: Collection[str] = frozenset(),
        strings: Collection[str] = frozenset(),
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._sheets = Sheets(pages)
        self._sheets.show_plans([plan], strings)
        self._differing = frozenset(differing)
        self.setMinimumSize(_LEAST_WIDTH, self.heightForWidth(_LEAST_WIDTH))
        policy = self.sizePolicy()
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setAccessibleName(_("The passage with this way's fingers"))

    @property
    def sheets(self) -> Sheets:
        """The engraved passage with its digits."""
        return self._sheets

    def sizeHint(self) -> QSize:
        """At a comfortable size."""
        return QSize(680, self.heightForWidth(680))

    def hasHeightForWidth(self) -> bool:
        """Music keeps its shape."""
        return True

    def heightForWidth(self, width: int) -> int:
        """The height of all its pages at that width."""
        return round(sum(page.height_mm for page in self._sheets.pages) * width / STRIP_MM)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Have the height that goes with the width, however many ways there are: the window scrolls."""
        super().resizeEvent(event)
        self.setMinimumHeight(self.heightForWidth(self.width()))

    def standing_out(self, number: int) -> tuple[Rect, ...]:
        """The grounds under the digits of a page that stand out, in mm: no larger than these, which touch no ink."""
        digits = self._sheets.digits(number)
        boxes = []
        for one in (*digits.computed, *digits.own):
            if one.note_id in self._differing:
                rects = [figure.rect for figure in one.figures]
                boxes.append(
                    Rect(
                        min(rect.x0 for rect in rects),
                        min(rect.y0 for rect in rects),
                        max(rect.x1 for rect in rects),
                        max(rect.y1 for rect in rects),
                    )
                )
        return tuple(boxes)

    def paintEvent(self, event: QPaintEvent) -> None:
        """The music on white."""
        painter = QPainter(self)
        painter.fillRect(self.rect(), look.PAPER)
        scale = min(self.width() / STRIP_MM, self.height() / sum(page.height_mm for page in self._sheets.pages))
        for number, page in enumerate(self._sheets.pages):
            self._sheets.paint_picture(painter, number, scale, self.devicePixelRatioF())
            painter.save()
            painter.scale(scale, scale)
            painter.setPen(QPen(look.LIT_EDGE, _LINE, Qt.PenStyle.SolidLine, Qt.PenCapStyle.FlatCap))
            for box in self.standing_out(number):
                painter.fillRect(QRectF(box.x0, box.y0, box.width, box.height), look.LIT)
                painter.drawLine(QPointF(box.x0, box.y1 + _BELOW), QPointF(box.x1, box.y1 + _BELOW))
            self._sheets.paint_digits(painter, number)
            painter.restore()
            painter.translate(0, page.height_mm * scale)
        painter.resetTransform()
        look.tint(painter, self.rect())
