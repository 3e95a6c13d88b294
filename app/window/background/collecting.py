"""Python's search for unreachable objects, kept short: what a score or its pages bring is not gone through every time.

A long score is a million objects that stay. Each full search of them would hold the window up for about a tenth of a
second, at any moment and on any thread; so there is one only when nothing is being done.
"""

from __future__ import annotations

import gc

from PySide6.QtCore import QObject, QTimer

from app.window.editing.desk import Desk

_QUIET_MS = 2000
# So many searches of what is young come before one of everything that Python does by itself: as good as none.
_BY_ITSELF = 1_000_000
_USUAL = gc.get_threshold()


class Collecting(QObject):
    """Searches what is new when nothing is being done, and takes it out of later searches.

    What a score and its pages bring is kept, and so is not searched before another score is opened.
    """

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        gc.set_threshold(*_USUAL[:2], _BY_ITSELF)
        self._is_new = False
        self._quiet = QTimer(self)
        self._quiet.setSingleShot(True)
        self._quiet.setInterval(_QUIET_MS)
        self._quiet.timeout.connect(self._search)
        desk.opened.connect(self._begin)
        desk.pages_changed.connect(self._note_pages)
        desk.tasks.busy.connect(self._settle)

    def _begin(self) -> None:
        gc.unfreeze()
        self._is_new = True

    def _note_pages(self) -> None:
        self._is_new = True

    def _settle(self, label: str) -> None:
        if label:
            self._quiet.stop()
        else:
            self._quiet.start()

    def _search(self) -> None:
        if not self._is_new:
            gc.collect()
        self._is_new = False
        gc.freeze()

    def end(self) -> None:
        """Search as usual again, now that the window closes."""
        self._quiet.stop()
        gc.set_threshold(*_USUAL)
        gc.unfreeze()
