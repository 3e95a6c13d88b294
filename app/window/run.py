"""Start the window: first what one begins with, then all that the work needs, loaded behind it piece by piece."""

from __future__ import annotations

import importlib
import sys
from importlib import resources
from pathlib import Path

from PySide6.QtCore import QLocale, QObject, QTimer
from PySide6.QtGui import QIcon
from PySide6.QtWidgets import QApplication

from app.job.files.recent import RecentFiles
from app.window.background.heap import share_one_heap
from app.window.start.front import Front
from app.window.start.recents import recent_files
from app.window.style.colouring import Colouring, own_settings
from app.window.style.tongue import follow_desktop, install_qt_language, spoken

ICON = Path(str(resources.files("app.window.style"))) / "handframe.svg"
# What is loaded at once, one after the other; each is the last of what it needs itself.
_PIECES = (
    "numpy",
    "lxml.etree",
    "analysis.fingering.rules.house",
    "analysis.fingering.plan",
    "engraving.reading",
    "engraving.engraver",
    "analysis.watch.watchlist",
    "app.job.files.opening",
    "app.window.editing.desk",
    "app.window.music.score_view",
    "app.window.comparing.compare_window",
    "app.window.start.furnish",
)
# Where a window is shown that nobody sees, it is never painted.
_UNSEEN_MS = 300


def run_window(score: Path | None) -> int:
    """Show the window, open ``score`` in it if given, and stay until it is closed; returns the exit status."""
    share_one_heap()
    follow_desktop()
    # Numbers in fields have the same sign before their decimals as those in sentences.
    QLocale.setDefault(spoken())
    application = QApplication(sys.argv[:1])
    install_qt_language(application)
    application.setApplicationName("Handframe")
    application.setDesktopFileName("handframe")
    application.setWindowIcon(QIcon(str(ICON)))
    colouring = Colouring(own_settings(), application)
    colouring.show(colouring.kept)
    starting = _Starting(application, colouring, recent_files(), score)
    starting.begin()
    return application.exec()


class _Starting(QObject):
    """Loads piece by piece while the front can be used, and puts the window in its place."""

    def __init__(
        self, application: QApplication, colouring: Colouring, recent: RecentFiles | None, score: Path | None
    ) -> None:
        super().__init__(application)
        self._application, self._colouring, self._recent, self._score = application, colouring, recent, score
        self._front = Front(recent, score)
        self._loaded = 0
        self._pause = QTimer(self)
        self._pause.setSingleShot(True)
        self._pause.timeout.connect(self._go_on)

    def begin(self) -> None:
        """Show the front, and load once it is on the screen."""
        self._front.painted.connect(lambda: self._pause.start(0))
        self._pause.start(_UNSEEN_MS)
        self._front.show()

    def _go_on(self) -> None:
        if not self._front.isVisible():
            return  # closed, and with it the program
        if self._loaded < len(_PIECES):
            importlib.import_module(_PIECES[self._loaded])
            self._loaded += 1
            self._front.show_progress(self._loaded, len(_PIECES))
            self._pause.start(0)
        else:
            self._put_in_place()

    def _put_in_place(self) -> None:
        from app.window.start.furnish import furnished

        window = furnished(self._application, self._colouring, self._recent)
        window.setGeometry(self._front.geometry())
        if self._front.isMaximized():
            window.showMaximized()
        else:
            window.show()
        wish = self._front.wish
        self._front.close()
        self._front.deleteLater()
        QTimer.singleShot(0, window, lambda: window.rescue.start(self._score))
        if wish is not None:
            QTimer.singleShot(0, window, lambda: wish(window))
