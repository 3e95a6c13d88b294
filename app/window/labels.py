"""The labels that panels are made of."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QPalette
from PySide6.QtWidgets import QLabel, QWidget


def heading(text: str, parent: QWidget) -> QLabel:
    """What a panel is called."""
    label = QLabel(text, parent)
    font = label.font()
    font.setBold(True)
    font.setPointSizeF(font.pointSizeF() * 1.15)
    label.setFont(font)
    return label


def quiet_label(ink: QColor, parent: QWidget) -> QLabel:
    """A label for a sentence or two that wrap."""
    label = QLabel("", parent)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    palette = label.palette()
    palette.setColor(QPalette.ColorRole.WindowText, ink)
    label.setPalette(palette)
    return label
