"""The buttons that windows are made of."""

from __future__ import annotations

from PySide6.QtWidgets import QPushButton, QWidget


def plain_button(words: str, parent: QWidget) -> QPushButton:
    """A button that is pressed only when it is meant: Enter elsewhere in the window leaves it alone."""
    button = QPushButton(words, parent)
    button.setAutoDefault(False)
    return button
