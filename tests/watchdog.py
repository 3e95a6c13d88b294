"""A watchdog for the event loop: how long at most it was busy with one turn, while nothing else could be handled."""

from __future__ import annotations

import time
from collections.abc import Callable
from types import TracebackType

from PySide6.QtCore import QTimer


class Watchdog:
    """While it is entered, the longest turn of the event loop so far, in seconds: ``longest``.

    A timer comes about once a turn and leaves other threads their time. ``clock`` is the processor time of the thread,
    which other programs on the machine do not lengthen; with ``time.perf_counter`` it is what a person at the screen
    waits for.
    """

    def __init__(self, clock: Callable[[], float] = time.thread_time) -> None:
        self.longest = 0.0
        self._clock = clock
        self._last: float | None = None
        self._timer = QTimer()
        self._timer.timeout.connect(self._come)

    def __enter__(self) -> Watchdog:
        self._timer.start(2)
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, where: TracebackType | None
    ) -> None:
        self._timer.stop()

    def _come(self) -> None:
        now = self._clock()
        if self._last is not None:
            self.longest = max(self.longest, now - self._last)
        self._last = now
