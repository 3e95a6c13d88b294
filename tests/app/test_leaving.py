"""What is left behind: nothing by windows that were closed, nothing by the main window."""

from __future__ import annotations

import gc
import threading
from collections import Counter

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QApplication

from tests.app.conftest import opened, settled
from tests.app.person import Person
from tests.waiting import wait, wait_until

# Commands that open a window or a bar, and what puts it away again where it is no window.
OPENING = {"compare": "", "see_part": "", "see_sheet": "", "rules": "", "manual": "", "keys": "", "listen": "listen"}


def alive(window) -> Counter[str]:
    """All widgets, timers and other objects of the window, and all windows, by their class."""
    gc.collect()
    objects = [*window.findChildren(QObject), *QApplication.topLevelWidgets()]
    return Counter(type(one).__name__ for one in objects)


def test_another_score_is_opened_and_the_window_is_left(qtbot, window, mini, tmp_path) -> None:
    person = Person(window, tmp_path, opens=mini)
    with person.sitting():
        person.do("open")
        wait_until(lambda: window.desk.plan is not None)
        person.settle()
        person.do("quit")
    assert not window.isVisible()


def test_windows_that_are_closed_leave_no_widget_timer_or_thread(qtbot, window, mini, tmp_path) -> None:
    opened(qtbot, window, mini)
    person = Person(window, tmp_path)
    with person.sitting():
        for name, put_away in OPENING.items():
            left = []
            for _ in range(3):
                person.window.desk.select_passage((0, 1))
                person.window.desk.select_note(person.note_ids()[1])
                person.do(name)
                settled(qtbot, window)
                person.close_others()
                if put_away:
                    person.do(put_away)
                wait(100)  # what was put off by a moment is done
                left.append((alive(window), {thread.name for thread in threading.enumerate()}))
            assert left[1] == left[2], name
