"""``python -m tests.app.event_loop``: the longest that one handler of an event takes on a long part, by what is done.

What is measured is the processor time of the window's own thread, so that other programs matter little; of several
rounds the best counts, since a processor that slept between two doings is slow at times.
"""

from __future__ import annotations

import json
import os
import sys
import tempfile
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "offscreen"
os.environ["LANGUAGE"] = "en"

from PySide6.QtCore import QPoint, QPointF, Qt, QTimer
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QApplication

from analysis.fingering.locks import Lock
from app.window.main_window import MainWindow
from tests.engraving.corpus import corpus_folder
from tests.waiting import wait, wait_until
from tests.watchdog import Watched

SCORE = "beethoven/opus132.mxl"
# A twentieth of a second is not felt.
LONGEST_S = 0.05
ROUNDS = 6  # at most, as long as one takes longer
_BREATH_MS = 60  # between two doings: nobody's hand is faster


class Doings:
    """What a person does at the window, each thing as an event of its own."""

    def __init__(self, folder: Path) -> None:
        self.window = MainWindow(folder)
        self.window.show()
        wait(300)
        self.ids: list[str] = []

    def open(self) -> None:
        """Open the quartet, and see its first part engraved, fingered and read."""
        desk, before = self.window.desk, self.window.desk.score
        desk.history.setClean()  # so that nothing is asked
        self._do(lambda: self.window.open(corpus_folder() / SCORE))
        wait_until(lambda: desk.score is not before and bool(desk.pages) and self.window.watch.is_read)
        self._settle()
        self.ids = [note.id for note in desk.plan.part.notes if desk.plan.choice(note.id)] if desk.plan else []

    def open_over_it(self) -> None:
        """Open it once more; what lay open is let go of."""
        self.open()

    def scroll(self) -> None:
        """Down through the pages."""
        for _ in range(40):
            self._wheel(-240)

    def zoom(self) -> None:
        """Nearer and farther."""
        for angle in (120, 120, 120, -120, -120, -120):
            self._wheel(angle, Qt.KeyboardModifier.ControlModifier)

    def go_through_the_list(self) -> None:
        """From entry to entry of the watch-list."""
        for _ in range(10):
            self._do(self.window.actions_by_name["next"].trigger)

    def fix_notes(self) -> None:
        """Six notes, each in the way that the list has last."""
        desk = self.window.desk
        for note_id in self.ids[:: len(self.ids) // 6]:
            self._do(lambda note_id=note_id: desk.select_note(note_id))
            self._do(
                lambda note_id=note_id: desk.lock(note_id, Lock.on(self.window.ways.model.ways[-1].placement), "fixed")
            )
        self._settle()

    def mark(self) -> None:
        """Hairpins over several lines of music, and away again."""
        desk = self.window.desk
        for first, last in pairwise(self.ids[10:100:40]):
            self._do(lambda first=first: desk.select_note(first))
            self._do(lambda last=last: desk.select_until(last))
            self._do(self.window.actions_by_name["mark-crescendo"].trigger)
        self._settle()

    def _do(self, doing: Callable[[], object]) -> None:
        QTimer.singleShot(0, doing)
        wait(_BREATH_MS)

    def _wheel(self, angle: int, keys: Qt.KeyboardModifier = Qt.KeyboardModifier.NoModifier) -> None:
        view = self.window.music.viewport()
        place = QPointF(view.rect().center())
        event = QWheelEvent(
            place, QPointF(view.mapToGlobal(place)), QPoint(), QPoint(0, angle), Qt.MouseButton.NoButton, keys,
            Qt.ScrollPhase.NoScrollPhase, False,
        )  # fmt: skip
        QApplication.postEvent(view, event)
        wait(10)

    def _settle(self) -> None:
        wait_until(lambda: not self.window.tasks.is_busy)


def main() -> int:
    """Print, as JSON, the longest handler of each doing in seconds."""
    application = Watched()
    found: dict[str, float] = {}
    with tempfile.TemporaryDirectory() as folder:
        doings = Doings(Path(folder))
        for doing in (
            doings.open, doings.scroll, doings.zoom, doings.go_through_the_list, doings.fix_notes, doings.mark,
            doings.open_over_it,
        ):  # fmt: skip
            name = doing.__name__
            for _ in range(ROUNDS):
                application.longest = 0.0
                doing()
                found[name] = min(found.get(name, application.longest), application.longest)
                if found[name] <= LONGEST_S:
                    break
        doings.window.desk.history.setClean()
        doings.window.close()
    sys.stdout.write(json.dumps({name: round(seconds, 4) for name, seconds in found.items()}))
    return 0


if __name__ == "__main__":
    sys.exit(main())
