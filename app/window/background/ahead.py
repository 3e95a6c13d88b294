"""Work done ahead on a thread of its own, so that scrolling never waits: pictures of pages, places of digits."""

from __future__ import annotations

import sys
import threading
from collections.abc import Callable, Hashable
from concurrent.futures import Future, ThreadPoolExecutor, wait
from typing import Any, TypeVar

from PySide6.QtCore import QObject, Qt, QTimer, Signal

from analysis.fingering.ticking import Tick

_V = TypeVar("_V")
# So long at most work stands back at a tick, whatever the window does.
_PATIENCE_S = 0.1


class _OverError(Exception):
    """Raised in work that is given up."""


class Ahead(QObject):
    """Does one piece of work after another and hands the results over on the thread of the window.

    ``done``: something that was asked for is there. At every tick the work may have to stand back: Python runs one
    thread at a time, and that of the window is in a hurry when it paints.
    """

    done = Signal()
    _made = Signal(object, object, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        # Not Qt's pool: what is cleared from that before its turn is never let go of, nor the pages it is about.
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="ahead")
        self._asked: dict[Hashable, Future[None]] = {}
        self._free = threading.Event()
        self._free.set()
        # With no time to wait it comes once everything that is pending is done.
        self._release = QTimer(self, singleShot=True)
        self._release.timeout.connect(self._free.set)
        self._is_over = False
        self._made.connect(self._take, Qt.ConnectionType.QueuedConnection)

    def stand_back(self, for_ms: int = 0) -> None:
        """Let the work wait until what the window has to do now is done, or for so long, unless this is called anew."""
        self._free.clear()
        self._release.start(for_ms)

    def ask(self, key: Hashable, work: Callable[[Tick], _V], take: Callable[[_V], None]) -> None:
        """Have ``work`` done, unless that of the same ``key`` is on its way; ``take`` gets its result.

        It is given a tick to call now and then.
        """
        if key not in self._asked and not self._is_over:
            self._asked[key] = self._thread.submit(lambda: self._made.emit(key, take, work(self._tick)))
            self._asked[key].add_done_callback(_tell_bug)

    def give_up(self) -> None:
        """Do nothing more of what was asked for, and wait until what is under way has given up."""
        self._is_over = True
        self._free.set()
        for future in self._asked.values():
            future.cancel()
        wait(self._asked.values())
        self._asked.clear()
        self._is_over = False

    def end(self) -> None:
        """Give up and end the thread, when the window closes; nothing that is asked for later is done."""
        self.give_up()
        self._is_over = True
        self._thread.shutdown()

    def _tick(self, share: float) -> None:
        self._free.wait(_PATIENCE_S)
        if self._is_over:
            raise _OverError

    def _take(self, key: Hashable, take: Callable[[Any], None], made: object) -> None:
        if self._asked.pop(key, None) is not None:
            take(made)
            self.done.emit()


def _tell_bug(future: Future[None]) -> None:
    error = None if future.cancelled() else future.exception()
    if error is not None and not isinstance(error, _OverError):
        sys.excepthook(type(error), error, error.__traceback__)
