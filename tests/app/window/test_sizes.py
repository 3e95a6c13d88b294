"""Windows are no larger than the screen they are on, with a frame round them."""

from __future__ import annotations

import pytest
from PySide6.QtWidgets import QApplication

from app.window.start.front import Front
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
