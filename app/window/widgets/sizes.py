"""How large windows are to begin with."""

from __future__ import annotations

from PySide6.QtCore import QSize
from PySide6.QtWidgets import QWidget

# What a desktop draws round a window, in pixels; it tells only once the window is shown.
_FRAME = QSize(8, 40)


def resize_on_screen(window: QWidget, size: QSize) -> None:
    """Give a window that size, or as much of it as its screen has room for."""
    window.resize(size.boundedTo(window.screen().availableSize() - _FRAME))
