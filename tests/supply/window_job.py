"""``python -m tests.supply.window_job SCORE``: the window opens the score, shows and plays it, and is closed."""

from __future__ import annotations

import sys

from PySide6.QtCore import QTimer
from PySide6.QtGui import QShowEvent
from PySide6.QtWidgets import QApplication

from app import main as program
from app.window.main_window import MainWindow
from app.window.start import furnish

_OPENED = ("manual", "see_part")


class _Guest(MainWindow):
    """A window that a patient guest sits at: waits for the music, looks at what there is, goes."""

    def showEvent(self, event: QShowEvent) -> None:
        super().showEvent(event)
        self._left = list(_OPENED)
        self._clock = QTimer(self, interval=50)
        self._clock.timeout.connect(self._go_on)
        self._clock.start()

    def _go_on(self) -> None:
        if not self.desk.pages or self.desk.plan is None or self.tasks.is_busy:
            return
        if self._left:
            self.actions_by_name[self._left.pop(0)].trigger()
        else:
            self._clock.stop()
            QApplication.closeAllWindows()
            QApplication.exit(0)


if __name__ == "__main__":
    furnish.MainWindow = _Guest
    sys.exit(program.main(sys.argv[1:]))
