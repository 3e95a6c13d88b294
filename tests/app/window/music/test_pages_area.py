"""Pages that fit the view, whatever their size."""

from __future__ import annotations

from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QApplication

from app.window.music.pages_area import PagesArea


class Counting(PagesArea):
    """Counts how often it becomes another size."""

    resized = 0

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Count, and give up where there is no end."""
        self.resized += 1
        if self.resized < 100:
            super().resizeEvent(event)


def test_a_page_that_just_fits_comes_to_rest(qtbot):
    """Beside a scroll bar the page is smaller and needs none: the bar must not come and go."""
    area = Counting()
    qtbot.addWidget(area)
    area.resize(500, 400)
    area.show()
    for tenths in range(600, 1000):
        area.resized = 0
        area.lay_pages([(100.0, tenths / 10)])
        QApplication.processEvents()
        assert area.resized < 10, tenths
