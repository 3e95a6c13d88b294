"""The event loop on a long part: how long at most one turn of it is busy.

What is measured is the processor time of the window's own thread, so that a busy machine does not matter.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import pytest
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from analysis.fingering.locks import Lock
from tests.app.conftest import trigger
from tests.app.person import wait_until
from tests.engraving.corpus import corpus_folder
from tests.watchdog import Watchdog

SCORE = "beethoven/opus132.mxl"
# A twentieth of a second is not felt. What takes longer has bounds of its own, with room for two tests at once on a
# machine of two cores: opening begins the journal, an edit works out the fingering and the ways anew in its turn.
LONGEST_S = {
    "opening": 0.2,
    "scrolling": 0.05,
    "zooming": 0.05,
    "going through the watch-list": 0.2,
    "fixing notes": 0.5,
    "marking": 0.3,
}


@pytest.fixture
def long_part(qtbot, window):
    """Whether any turn was too long while the violin part was opened, engraved, fingered and read."""
    with Watchdog() as watch:
        window.open(corpus_folder() / SCORE)
        wait_until(lambda: bool(window.desk.pages) and window.watch.is_read)
        wait_until(lambda: not window.tasks.is_busy)
    window.opening = watch.longest
    return window


def wheel(window, angle: int, keys=Qt.KeyboardModifier.NoModifier) -> None:
    view = window.music.viewport()
    place = QPointF(view.rect().center())
    event = QWheelEvent(
        place, QPointF(view.mapToGlobal(place)), QPoint(), QPoint(0, angle), Qt.MouseButton.NoButton, keys,
        Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.postEvent(view, event)


def select_and_fix(window, *, times: int = 6) -> None:
    plan = window.desk.plan
    ids = [note.id for note in plan.part.notes if plan.choice(note.id) is not None]
    for note_id in ids[:: len(ids) // times]:
        window.desk.select_note(note_id)
        QTest.qWait(5)
        window.desk.lock(note_id, Lock.on(window.ways.model.ways[-1].placement), "")
        QTest.qWait(5)


def scroll(window) -> None:
    for _ in range(60):
        wheel(window, -240)
        QTest.qWait(5)


def zoom(window) -> None:
    for angle in (120, 120, 120, -120, -120, -120):
        wheel(window, angle, Qt.KeyboardModifier.ControlModifier)
        QTest.qWait(30)


def mark(window) -> None:
    ids = [note.id for note in window.desk.part.notes]
    for first, last in pairwise(ids[10:100:40]):
        window.desk.select_note(first)
        window.desk.select_until(last)
        trigger(window, "mark-crescendo")
        QTest.qWait(10)


def go_through_the_list(window) -> None:
    for _ in range(10):
        trigger(window, "next")
        QTest.qWait(10)


DOINGS: dict[str, Callable[..., None]] = {
    "scrolling": scroll,
    "zooming": zoom,
    "going through the watch-list": go_through_the_list,
    "fixing notes": select_and_fix,
    "marking": mark,
}


def test_no_turn_of_the_event_loop_takes_longer_than_it_may(qtbot, long_part):
    longest = {"opening": long_part.opening}
    for name, doing in DOINGS.items():
        with Watchdog() as watch:
            doing(long_part)
            wait_until(lambda: not long_part.tasks.is_busy)
        longest[name] = watch.longest
    assert {name: round(seconds, 3) for name, seconds in longest.items() if seconds > LONGEST_S[name]} == {}
