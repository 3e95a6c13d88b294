"""Scrolling by itself while something is dragged past the upper or lower edge of a view."""

from __future__ import annotations

from PySide6.QtCore import QObject, QTimer, Signal
from PySide6.QtWidgets import QAbstractScrollArea

_EVERY_MS = 30
_SHARE, _MOST = 0.4, 40.0  # pixels a step for each pixel beyond the edge, and at the most


class DragScroll(QObject):
    """The further the pointer is beyond the edge, the faster. ``scrolled``: other places lie under it now."""

    scrolled = Signal()

    def __init__(self, view: QAbstractScrollArea) -> None:
        super().__init__(view)
        self._view = view
        self._beyond = 0.0
        self._timer = QTimer(self, interval=_EVERY_MS)
        self._timer.timeout.connect(self._step)

    @property
    def is_on(self) -> bool:
        """Whether it scrolls."""
        return self._timer.isActive()

    def follow(self, y: float) -> None:
        """The pointer is at that height of the viewport now."""
        height = self._view.viewport().height()
        self._beyond = min(y, 0.0) or max(y - height, 0.0)
        if not self._beyond:
            self._timer.stop()
        elif not self._timer.isActive():
            self._timer.start()

    def stop(self) -> None:
        """Nothing is dragged any longer."""
        self._timer.stop()

    def _step(self) -> None:
        bar = self._view.verticalScrollBar()
        pixels = max(1.0, min(abs(self._beyond) * _SHARE, _MOST))
        bar.setValue(bar.value() + round(pixels if self._beyond > 0 else -pixels))
        self.scrolled.emit()
