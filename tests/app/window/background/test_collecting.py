"""What a score brings is left out of Python's searches for unreachable objects, until it goes."""

from __future__ import annotations

import gc

from tests.app.conftest import opened, settled
from tests.waiting import wait_until


def test_what_a_score_brings_is_not_searched_again_until_another_is_opened(qtbot, window, mini):
    gc.unfreeze()
    opened(qtbot, window, mini)
    wait_until(lambda: gc.get_freeze_count() > 0)
    seen = []
    window.desk.opened.connect(lambda: seen.append(gc.get_freeze_count()))
    opened(qtbot, window, mini)
    assert seen == [0]


def test_what_an_edit_brings_is_searched_once_in_a_quiet_moment(qtbot, window, mini):
    opened(qtbot, window, mini)
    wait_until(lambda: gc.get_freeze_count() > 0)
    before = gc.get_stats()[2]["collections"]
    settled(qtbot, window)
    window.desk.tasks.run("Counting", lambda tick: 1, lambda found: None, lambda error: None)
    settled(qtbot, window)
    wait_until(lambda: gc.get_stats()[2]["collections"] > before)


def test_nothing_is_left_out_once_the_window_is_closed(qtbot, window, mini):
    opened(qtbot, window, mini)
    window.close()
    assert gc.get_freeze_count() == 0


def test_python_searches_everything_by_itself_only_while_there_is_no_window(qtbot, window):
    assert gc.get_threshold()[2] > 100_000
    window.close()
    assert gc.get_threshold()[2] < 100
