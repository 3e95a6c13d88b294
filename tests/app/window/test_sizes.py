"""Windows are no larger than the screen they are on, with a frame round them."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QApplication, QLabel

from app.window.start.front import Front
from app.window.widgets.cards import CardList
from app.window.widgets.tabs import Tabs
from tests.app.conftest import opened, settled, trigger


def fits(shown):
    room = shown.screen().availableSize()
    return shown.width() < room.width() < 1000 and shown.height() + 30 < room.height()


def test_what_stands_there_first_fits_on_the_screen(qtbot):
    front = Front(None)
    qtbot.addWidget(front)
    assert fits(front)


@pytest.mark.parametrize("name", ["rules", "compare", "manual", "see_part"])
def test_what_is_opened_beside_the_window_fits_on_the_screen(qtbot, window, mini, name):
    opened(qtbot, window, mini)
    window.desk.select_passage((0, 2))
    trigger(window, name)
    settled(qtbot, window)
    (shown,) = (one for one in QApplication.topLevelWidgets() if one.isVisible() and one is not window)
    assert fits(shown)


def test_on_a_small_screen_the_lists_and_their_buttons_are_seen_without_scrolling(qtbot, window, mini):
    """A laptop of 1366 by 768 dots with everything a quarter larger, less the frame and the bar of the desktop."""
    opened(qtbot, window, mini)
    window.resize(1085, 560)
    for page in (window.watch_panel, window.marks_panel, window.fingerboard, window.watch_panel):
        window.lists.setCurrentWidget(page)
        qtbot.waitUntil(lambda page=page: page.height() >= page.minimumSizeHint().height())
        assert window.columns[1].verticalScrollBar().maximum() == 0
    ways = window.ways.findChild(CardList)
    assert ways.height() > 5 * ways.fontMetrics().lineSpacing(), "two ways with their reasons"


def test_tabs_are_as_high_as_the_page_in_front_needs(qtbot):
    low, high = QLabel("one"), QLabel("one\ntwo\nthree\nfour")
    tabs = Tabs()
    qtbot.addWidget(tabs)
    tabs.addTab(low, "low")
    tabs.addTab(high, "high")
    heights = []
    for page in (low, high, low):
        tabs.setCurrentWidget(page)
        heights.append(tabs.minimumSizeHint().height())
    assert heights[0] == heights[2]
    assert heights[1] - heights[0] == high.minimumSizeHint().height() - low.minimumSizeHint().height()
