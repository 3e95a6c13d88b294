"""The task runner: off the GUI thread and back, with progress, errors and stopping."""

from __future__ import annotations

import multiprocessing
import os
import sys
import threading
import time

import pytest

from app.errors import AppError
from app.window.background.tasks import TaskRunner
from engraving.limits import LIMITS


@pytest.fixture
def tasks(qtbot):
    runner = TaskRunner()
    yield runner
    runner.shut_down()


def fail(error):
    pytest.fail(str(error))


def crash():
    """End the process at once, as native code that breaks down would."""
    os._exit(1)


def test_work_runs_on_another_thread_and_its_result_comes_back_to_this_one(qtbot, tasks):
    seen = []
    tasks.run(
        "Work", lambda tick: threading.get_ident(), lambda other: seen.extend((other, threading.get_ident())), fail
    )
    qtbot.waitUntil(lambda: len(seen) == 2)
    assert seen[1] == threading.get_ident() != seen[0]


def test_progress_and_label_are_told(qtbot, tasks):
    shares, labels = [], []
    tasks.progressed.connect(shares.append)
    tasks.busy.connect(labels.append)
    tasks.run("Counting", lambda tick: [tick(share / 4) for share in range(4)], lambda _: None, fail)
    qtbot.waitUntil(lambda: not tasks.is_busy)
    assert shares == [0, 0.25, 0.5, 0.75]
    assert labels == ["Counting", ""]


def test_an_error_comes_back_as_an_error(qtbot, tasks):
    errors = []

    def work(tick):
        raise AppError("no such part")

    tasks.run("Work", work, lambda _: pytest.fail("there is no result"), errors.append)
    qtbot.waitUntil(lambda: bool(errors))
    assert str(errors[0]) == "no such part"


def test_stopped_work_ends_at_its_next_tick_and_calls_nobody(qtbot, tasks):
    begun, ended = threading.Event(), threading.Event()

    def work(tick):
        begun.set()
        try:
            while True:
                tick(0.5)
        finally:
            ended.set()

    tasks.run("Endless", work, lambda _: pytest.fail("it was stopped"), fail)
    assert begun.wait(5)
    tasks.stop_all()
    assert ended.wait(5)
    assert not tasks.is_busy


def test_work_apart_runs_in_another_process(qtbot, tasks):
    found = []
    tasks.run_apart("Apart", os.getpid, (), found.append, fail)
    qtbot.waitUntil(lambda: bool(found), timeout=20_000)
    assert found[0] != os.getpid()


def test_a_process_that_breaks_down_is_told_and_the_next_task_runs(qtbot, tasks):
    errors, found = [], []
    tasks.run_apart("Engraving", crash, (), lambda _: pytest.fail("it broke down"), errors.append)
    qtbot.waitUntil(lambda: bool(errors), timeout=20_000)
    assert str(errors[0]) == "Engraving: the engraver broke down; the work itself is safe"
    tasks.run_apart("Apart", os.getpid, (), found.append, fail)
    qtbot.waitUntil(lambda: bool(found), timeout=20_000)


def test_after_the_end_nothing_is_done_that_is_asked_for(qtbot, tasks):
    tasks.shut_down()
    late = [tasks.run("Late", lambda tick: pytest.fail("it ran"), fail, fail)]
    late.append(tasks.run_apart("Later", os.getpid, (), fail, fail))
    assert all(task.stopped for task in late)
    assert not tasks.is_busy


def test_what_hangs_in_the_other_process_ends_with_the_window(qtbot, tasks):
    before = set(multiprocessing.active_children())
    tasks.run_apart("Endless", time.sleep, (600,), lambda _: pytest.fail("it was stopped"), fail)
    qtbot.waitUntil(lambda: bool(set(multiprocessing.active_children()) - before))
    tasks.shut_down()
    assert set(multiprocessing.active_children()) <= before


@pytest.fixture
def hasty(qtbot):
    runner = TaskRunner(seconds=3.0)
    runner.run_apart("Beginning", os.getpid, (), lambda _: None, fail)  # the process is there
    qtbot.waitUntil(lambda: not runner.is_busy, timeout=30_000)
    yield runner
    runner.shut_down()


TOO_LONG = "has not come to an end in 0.05 minutes and was broken off; the work itself is safe"


def test_what_takes_too_long_in_the_other_process_is_broken_off_and_the_next_task_runs(qtbot, hasty):
    errors, results = [], []
    hasty.run_apart("Engraving tune.mxl", time.sleep, (600,), results.append, errors.append)
    qtbot.waitUntil(lambda: bool(errors), timeout=30_000)
    assert str(errors[0]) == f"Engraving tune.mxl {TOO_LONG}"
    hasty.run_apart("Work", os.getpid, (), results.append, fail)
    qtbot.waitUntil(lambda: bool(results), timeout=30_000)
    assert not hasty.is_busy


def test_so_is_what_a_thread_waits_for(qtbot, hasty):
    errors, results = [], []
    hasty.run("Printing tune.pdf", lambda tick: hasty.apart(time.sleep, 600), results.append, errors.append)
    qtbot.waitUntil(lambda: bool(errors), timeout=30_000)
    assert str(errors[0]) == f"Printing tune.pdf {TOO_LONG}"
    hasty.run_apart("Work", os.getpid, (), results.append, fail)
    qtbot.waitUntil(lambda: bool(results), timeout=30_000)


def test_every_task_has_its_time_from_when_it_is_its_turn(qtbot, hasty):
    done = []
    for number in range(4):
        hasty.run_apart(f"Work {number}", time.sleep, (0.9,), lambda _, number=number: done.append(number), fail)
    qtbot.waitUntil(lambda: len(done) == 4, timeout=30_000)
    assert done == [0, 1, 2, 3]


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux keeps to a limit of address space")
def test_the_other_process_cannot_fill_the_memory(qtbot, tasks):
    errors = []
    tasks.run_apart("Greedy", bytes, (LIMITS.engrave_bytes,), lambda _: pytest.fail("it fits"), errors.append)
    qtbot.waitUntil(lambda: bool(errors), timeout=30_000)
    assert str(errors[0]) == "Greedy needs more memory than there is and was broken off; the work itself is safe"


def test_a_task_that_is_dropped_ends_and_does_not_call_back(qtbot, tasks):
    ended, told, labels = threading.Event(), [], []
    tasks.busy.connect(labels.append)

    def work(tick):
        try:
            while True:
                tick(0.5)
                time.sleep(0.001)
        finally:
            ended.set()

    dropped = tasks.run("First", work, told.append, told.append)
    tasks.run("Second", lambda tick: "second", told.append, fail)
    tasks.drop(dropped)
    qtbot.waitUntil(lambda: told == ["second"])
    assert ended.is_set()
    assert labels == ["First", "First", "Second", ""]
    tasks.drop(dropped)  # once more does nothing
    assert labels[-1] == ""
    assert len(labels) == 4
