"""The labels that panels are made of."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtGui import QPalette
from PySide6.QtWidgets import QLabel, QWidget

from analysis.language import _


def heading(text: str, parent: QWidget) -> QLabel:
    """What a panel is called."""
    label = QLabel(text, parent)
    font = label.font()
    font.setBold(True)
    font.setPointSizeF(font.pointSizeF() * 1.15)
    label.setFont(font)
    return label


def quiet_label(ink: QPalette.ColorRole, parent: QWidget) -> QLabel:
    """A label for a sentence or two that wrap, in the ink that the palette has for ``ink``."""
    label = QLabel("", parent)
    label.setWordWrap(True)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setForegroundRole(ink)
    return label


def in_sentence(title: str) -> str:
    """A title of a table, in the user's language, to stand within a sentence: in lower case where that is English."""
    shown = _(title)
    return title.lower() if shown == title else shown
