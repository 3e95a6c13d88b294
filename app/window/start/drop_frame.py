"""The frame that stands over a window while files are dragged over it."""

from __future__ import annotations

from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QWidget

from analysis.language import _

_WIDE, _INSET, _GROUND = 3, 8, 0.85  # pixels; how much the ground covers
_LARGER = 1.6


class DropFrame(QWidget):
    """Hidden until it is shown over the whole of ``window``."""

    def __init__(self, window: QWidget) -> None:
        super().__init__(window)
        self._window = window
        self.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        self.setAccessibleName(_("Drop to open"))
        self.hide()

    def show_over(self) -> None:
        """Cover the window, as large as it is now."""
        self.setGeometry(self._window.rect())
        self.raise_()
        self.show()

    def paintEvent(self, event: QPaintEvent) -> None:
        """A frame, and in it what letting go does."""
        painter = QPainter(self)
        painter.setOpacity(_GROUND)
        painter.fillRect(self.rect(), self.palette().window())
        painter.setOpacity(1)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(self.palette().highlight(), _WIDE))
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(_INSET, _INSET, -_INSET, -_INSET), _INSET, _INSET)
        font = self.font()
        font.setPointSizeF(font.pointSizeF() * _LARGER)
        painter.setFont(font)
        painter.setPen(self.palette().windowText().color())
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignCenter, _("Drop to open"))
