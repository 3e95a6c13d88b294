"""Waiting as a program waits that nobody touches: other threads have the interpreter meanwhile."""

from __future__ import annotations

import time
from collections.abc import Callable

from PySide6.QtCore import QEventLoop, QTimer

WAIT_S = 120.0
_LOOK_EVERY_MS = 10


def wait(milliseconds: int) -> None:
    """Let the window work for so long. QTest.qWait would keep the interpreter from all other threads."""
    loop = QEventLoop()
    QTimer.singleShot(milliseconds, loop.quit)
    loop.exec()


def wait_until(is_so: Callable[[], bool]) -> None:
    """Let the window work until something is so; AssertionError when it takes minutes."""
    end = time.monotonic() + WAIT_S
    while not is_so():
        assert time.monotonic() < end, "it does not come to be"
        wait(_LOOK_EVERY_MS)
