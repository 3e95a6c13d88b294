"""What is no longer shown, let go of bit by bit: to free the pages of a long score at once would hold the window up."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable

from PySide6.QtCore import QObject, QTimer

from app.window.background.tasks import TaskRunner


class Leaving(QObject):
    """Lets go of one thing after another while no task is under way, each as an event of its own."""

    def __init__(self, tasks: TaskRunner, parent: QObject) -> None:
        super().__init__(parent)
        self._tasks = tasks
        self._things: deque[object] = deque()
        self._next = QTimer(self, interval=0)
        self._next.timeout.connect(self._let_go)
        tasks.busy.connect(self._go_on)

    def take(self, things: Iterable[object]) -> None:
        """Let go of these by and by."""
        self._things.extend(things)
        self._go_on()

    def _go_on(self) -> None:
        if self._things and not self._tasks.is_busy:
            self._next.start()

    def _let_go(self) -> None:
        if self._things and not self._tasks.is_busy:
            self._things.popleft()
        else:
            self._next.stop()
