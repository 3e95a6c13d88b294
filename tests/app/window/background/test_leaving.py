"""What is no longer shown goes bit by bit, while nothing is being done."""

from __future__ import annotations

import threading
import weakref
from itertools import pairwise

import pytest
from PySide6.QtCore import QCoreApplication, QTimer

from app.window.background.leaving import Leaving
from app.window.background.tasks import TaskRunner


class Page:
    """Something to let go of."""


@pytest.fixture
def tasks(qtbot):
    runner = TaskRunner()
    yield runner
    runner.shut_down()


@pytest.fixture
def leaving(tasks):
    return Leaving(tasks, tasks)


def alive(pages):
    return sum(page() is not None for page in pages)


def begin(leaving, count=5):
    things = [Page() for _ in range(count)]
    leaving.take(things)
    return [weakref.ref(thing) for thing in things]


def test_one_thing_goes_at_a_time_and_what_waits_comes_between(qtbot, leaving):
    pages, counted = begin(leaving), []

    def count():
        counted.append(alive(pages))
        if counted[-1]:
            QTimer.singleShot(0, count)

    count()
    qtbot.waitUntil(lambda: counted[-1] == 0)
    assert counted[0] == 5
    assert all(before - after <= 1 for before, after in pairwise(counted))
    assert not leaving.findChild(QTimer).isActive()


def test_nothing_goes_while_a_task_is_under_way(qtbot, tasks, leaving):
    goes_on = threading.Event()
    tasks.run("Work", lambda tick: goes_on.wait(30), lambda done: None, lambda error: None)
    pages = begin(leaving)
    for _ in range(50):
        QCoreApplication.processEvents()
    assert alive(pages) == 5
    goes_on.set()
    qtbot.waitUntil(lambda: alive(pages) == 0)
