"""Start the window."""

from __future__ import annotations

import sys
from pathlib import Path

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from app.window.bugs import Bugs
from app.window.look import dress
from app.window.main_window import MainWindow
from app.window.recents import recent_files
from app.window.safety import recovery_folder
from engraving.engraver import warm_up


def run_window(score: Path | None) -> int:
    """Show the window, open ``score`` in it if given, and stay until it is closed; returns the exit status."""
    application = QApplication(sys.argv[:1])
    application.setApplicationName("Handframe")
    dress(application)
    window = MainWindow(recovery_folder(), recent_files())
    Bugs(window.safety, window).install()
    # When the session ends, what the disk does not have yet goes there before anybody is asked anything.
    application.commitDataRequest.connect(lambda _: window.safety.flush())
    window.show()
    window.tasks.warm_up(warm_up)
    QTimer.singleShot(0, lambda: window.rescue.start(score))
    return application.exec()
