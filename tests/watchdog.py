"""A watchdog for the event loop: how long at most it was busy with one event, while nothing else could be handled."""

from __future__ import annotations

import time
from collections.abc import Callable

from PySide6.QtCore import QEvent, QObject
from PySide6.QtWidgets import QApplication


class Watched(QApplication):
    """Knows the longest that an event has taken, in seconds, with all that was sent and called on its account.

    ``clock`` is the processor time of the thread, which other programs on the machine do not lengthen; with
    ``time.perf_counter`` it is what a person at the screen waits for.
    """

    def __init__(self, clock: Callable[[], float] = time.thread_time) -> None:
        super().__init__([])
        self.longest = 0.0
        self._clock = clock
        self._depth = 0

    def notify(self, receiver: QObject, event: QEvent) -> bool:
        """Deliver an event, and look at the time."""
        start, self._depth = self._clock(), self._depth + 1
        try:
            return super().notify(receiver, event)
        finally:
            self._depth -= 1
            if not self._depth:
                self.longest = max(self.longest, self._clock() - start)
