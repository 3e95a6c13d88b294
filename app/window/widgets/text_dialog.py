"""A dialog for a few sentences of the teacher's, which wrap."""

from __future__ import annotations

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QDialog, QDialogButtonBox, QLabel, QPlainTextEdit, QVBoxLayout, QWidget

# How many letters of usual width stand in a line, and how many lines are seen at once.
_LETTERS, _LINES = 70, 6


class TextDialog(QDialog):
    """``words`` has the text, selected as the dialog opens, so that what is typed takes its place."""

    def __init__(self, title: str, question: str, text: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle(title)
        label = QLabel(question, self)
        label.setTextFormat(Qt.TextFormat.PlainText)
        label.setWordWrap(True)
        self.words = QPlainTextEdit(text, self)
        self.words.setAccessibleName(question)
        self.words.setTabChangesFocus(True)
        self.words.selectAll()
        metrics = self.words.fontMetrics()
        self.words.setMinimumSize(_LETTERS * metrics.averageCharWidth(), _LINES * metrics.lineSpacing())
        label.setBuddy(self.words)
        buttons = QDialogButtonBox(QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel, self)
        buttons.accepted.connect(self.accept)
        buttons.rejected.connect(self.reject)
        layout = QVBoxLayout(self)
        layout.addWidget(label)
        layout.addWidget(self.words, 1)
        layout.addWidget(buttons)
