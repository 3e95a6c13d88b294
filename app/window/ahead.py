"""Work done ahead on a thread of its own, so that scrolling never waits: pictures of pages, places of digits."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Any, TypeVar

from PySide6.QtCore import QObject, Qt, QThreadPool, Signal

_V = TypeVar("_V")


class Ahead(QObject):
    """Does one piece of work after another and hands the results over on the thread of the window.

    ``done``: something that was asked for is there.
    """

    done = Signal()
    _made = Signal(object, object, object)

    def __init__(self, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._pool = QThreadPool(self)
        self._pool.setMaxThreadCount(1)
        self._asked: set[Hashable] = set()
        self._made.connect(self._take, Qt.ConnectionType.QueuedConnection)

    def ask(self, key: Hashable, work: Callable[[], _V], take: Callable[[_V], None]) -> None:
        """Have ``work`` done, unless that of the same ``key`` is on its way; ``take`` gets its result."""
        if key in self._asked:
            return
        self._asked.add(key)

        def run() -> None:
            self._made.emit(key, take, work())

        self._pool.start(run)

    def give_up(self) -> None:
        """Do nothing more of what was asked for."""
        self._pool.clear()
        self._asked.clear()

    def shut_down(self) -> None:
        """Give up, and wait for what is under way."""
        self.give_up()
        self._pool.waitForDone()

    def _take(self, key: Hashable, take: Callable[[Any], None], made: object) -> None:
        if key in self._asked:
            self._asked.discard(key)
            take(made)
            self.done.emit()
