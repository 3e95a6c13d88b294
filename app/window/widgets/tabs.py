"""Tabs beside the music."""

from __future__ import annotations

from PySide6.QtWidgets import QSizePolicy, QTabWidget, QWidget


class Tabs(QTabWidget):
    """Tabs that need no more height than the page in front does: on a small screen the others leave it room."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setDocumentMode(True)
        self.setUsesScrollButtons(False)
        self.currentChanged.connect(self._make_room)

    def tabInserted(self, index: int) -> None:
        """Take in another page."""
        super().tabInserted(index)
        self._make_room()

    def _make_room(self) -> None:
        for page in filter(None, map(self.widget, range(self.count()))):
            policy = page.sizePolicy()
            in_front = page is self.currentWidget()
            policy.setVerticalPolicy(QSizePolicy.Policy.Preferred if in_front else QSizePolicy.Policy.Ignored)
            page.setSizePolicy(policy)
