"""The one task runner: work that takes longer than a blink goes off the GUI thread and comes back to it.

Python work runs on a thread and is stopped by its tick; the engraver, which cannot be interrupted and might crash, runs
in a process of its own.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from concurrent.futures import CancelledError, Future, ThreadPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass, field
from typing import Any, TypeVar

from PySide6.QtCore import QObject, Qt, QTimer, Signal

from analysis.errors import AnalysisError
from analysis.fingering.ticking import Tick
from analysis.language import _
from app.errors import AppError
from engraving.apart import BrokenOffError, OverdueError, Worker
from engraving.errors import EngravingError
from engraving.limits import LIMITS

_V = TypeVar("_V")
# How long another thread may keep the interpreter: Qt gives it up at every turn, and the window has to get it back.
_HAND_OVER_S = 0.0001


class StoppedError(Exception):
    """Raised inside a task by its tick when the user has stopped it."""


# What is no bug: it is about what was asked, or about the disk.
_FAULTS = (AppError, AnalysisError, EngravingError, OSError)


@dataclass(eq=False)
class Task:
    """One piece of work under way; ``label`` says in words what is being done."""

    label: str
    done: Callable[[Any], None]
    failed: Callable[[Exception], None]
    stopped: bool = field(default=False)
    is_apart: bool = field(default=False)
    is_overdue: bool = field(default=False)


class TaskRunner(QObject):
    """Runs tasks one after another and calls back on the GUI thread.

    ``busy`` tells the label of the oldest task under way, empty when there is none; ``progressed`` how much of it is
    done, 0 to 1. A bug in a task reaches ``sys.excepthook`` besides. What runs in the other process is broken off after
    ``seconds``.
    """

    busy = Signal(str)
    progressed = Signal(float)
    _settled = Signal(object, object)
    _ticked = Signal(object, float)

    def __init__(self, parent: QObject | None = None, seconds: float = LIMITS.engrave_seconds) -> None:
        super().__init__(parent)
        self._seconds = seconds
        self._overdue = QTimer(self, singleShot=True, interval=round(seconds * 1000))
        self._overdue.timeout.connect(self._break_off)
        self._threads = ThreadPoolExecutor(max_workers=1, thread_name_prefix="task")
        self._worker = Worker(LIMITS.engrave_bytes)
        self._running: list[Task] = []
        self._ended = False
        sys.setswitchinterval(_HAND_OVER_S)
        self._settled.connect(self._settle, Qt.ConnectionType.QueuedConnection)
        self._ticked.connect(self._tick, Qt.ConnectionType.QueuedConnection)

    @property
    def is_busy(self) -> bool:
        """Whether a task is under way."""
        return bool(self._running)

    def run(
        self,
        label: str,
        work: Callable[[Tick], Any],
        done: Callable[[Any], None],
        failed: Callable[[Exception], None],
        after_ms: int = 0,
    ) -> Task:
        """Run ``work`` on a thread, so many milliseconds from now; it is given a tick to call now and then."""
        task = Task(label, done, failed, stopped=self._ended)
        if self._ended:
            return task
        self._take(task)
        if after_ms:
            QTimer.singleShot(after_ms, self, lambda: self._begin(task, work))
        else:
            self._begin(task, work)
        return task

    def _begin(self, task: Task, work: Callable[[Tick], Any]) -> None:
        def tick(share: float) -> None:
            if task.stopped:
                raise StoppedError
            self._ticked.emit(task, share)

        if not task.stopped:
            self._watch(task, self._threads.submit(work, tick))

    def run_apart(
        self,
        label: str,
        work: Callable[..., Any],
        arguments: tuple[Any, ...],
        done: Callable[[Any], None],
        failed: Callable[[Exception], None],
    ) -> Task:
        """Run a module-level function in the other process; arguments and result are copied over."""
        task = Task(label, done, failed, stopped=self._ended, is_apart=True)
        if self._ended:
            return task
        self._take(task)
        self._watch(task, self._worker.submit(work, *arguments))
        return task

    def apart(self, work: Callable[..., _V], /, *arguments: Any) -> _V:
        """Run a module-level function in the other process and wait for it: for work that is on a thread already."""
        return self._worker.call(work, *arguments, seconds=self._seconds)

    def warm_up(self, work: Callable[[], None]) -> None:
        """Start the other process before it is needed."""
        self._worker.submit(work)

    def drop(self, task: Task) -> None:
        """Give up one task, if it is under way; it will not call back. What runs apart ends there all the same."""
        if task in self._running:
            task.stopped = True
            self._running.remove(task)
            self._watch_time()
            self.busy.emit(self._running[0].label if self._running else "")

    def stop_all(self) -> None:
        """Give up everything under way; none of it will call back."""
        for task in self._running:
            task.stopped = True
        self._running.clear()
        self._overdue.stop()
        self._worker.end()
        self.busy.emit("")

    def shut_down(self) -> None:
        """End for good, when the window closes; nothing that is asked for later is done."""
        self._ended = True
        self.stop_all()
        self._threads.shutdown(wait=True, cancel_futures=True)

    def _break_off(self) -> None:
        """The oldest task in the other process has taken too long."""
        task = next((task for task in self._running if task.is_apart), None)
        if task is not None:
            task.is_overdue = True
            self._worker.interrupt()

    def _watch_time(self) -> None:
        """Give the oldest task in the other process its time from now on."""
        if any(task.is_apart for task in self._running):
            self._overdue.start()
        else:
            self._overdue.stop()

    def _take(self, task: Task) -> None:
        self._running.append(task)
        if task.is_apart and not self._overdue.isActive():
            self._watch_time()
        self.busy.emit(self._running[0].label)

    def _watch(self, task: Task, future: Future[Any]) -> None:
        future.add_done_callback(lambda settled: self._settled.emit(task, settled))

    def _tick(self, task: Task, share: float) -> None:
        if not task.stopped:
            self.progressed.emit(share)

    def _settle(self, task: Task, future: Future[Any]) -> None:
        if task.stopped:
            return
        self._running.remove(task)
        if task.is_apart:
            self._watch_time()
        self.busy.emit(self._running[0].label if self._running else "")
        try:
            error = future.exception()
        except CancelledError:
            return
        if error is None:
            task.done(future.result())
        elif task.is_overdue or isinstance(error, OverdueError):
            task.failed(AppError(_too_long(task.label, self._seconds)))
        elif isinstance(error, (BrokenProcessPool, BrokenOffError)):
            broken = _("{task}: the engraver broke down; the work itself is safe")
            task.failed(AppError(broken.format(task=task.label)))
        elif isinstance(error, MemoryError):
            greedy = _("{task} needs more memory than there is and was broken off; the work itself is safe")
            task.failed(AppError(greedy.format(task=task.label)))
        elif isinstance(error, _FAULTS):
            task.failed(error)
        elif isinstance(error, Exception):
            task.failed(AppError(_("{task} broke off; the work itself is safe").format(task=task.label)))
            sys.excepthook(type(error), error, error.__traceback__)  # a bug, and shown as one


def _too_long(label: str, seconds: float) -> str:
    words = _("{task} has not come to an end in {minutes:g} minutes and was broken off; the work itself is safe")
    return words.format(task=label, minutes=seconds / 60)
