"""Start the window."""

from __future__ import annotations

import sys
from pathlib import Path

from PySide6.QtCore import QLocale, QTimer
from PySide6.QtWidgets import QApplication

from app.window.bugs import Bugs
from app.window.colouring import Colouring, own_settings
from app.window.main_window import MainWindow
from app.window.recents import recent_files
from app.window.safety import recovery_folder
from app.window.tongue import follow_desktop, install_qt_language, spoken
from engraving.engraver import warm_up


def run_window(score: Path | None) -> int:
    """Show the window, open ``score`` in it if given, and stay until it is closed; returns the exit status."""
    follow_desktop()
    # Numbers in fields have the same sign before their decimals as those in sentences.
    QLocale.setDefault(spoken())
    application = QApplication(sys.argv[:1])
    install_qt_language(application)
    application.setApplicationName("Handframe")
    colouring = Colouring(own_settings(), application)
    colouring.show(colouring.kept)
    window = MainWindow(recovery_folder(), recent_files(), colouring)
    Bugs(window.safety, window).install()
    # When the session ends, what the disk does not have yet goes there before anybody is asked anything.
    application.commitDataRequest.connect(lambda session: window.safety.flush())
    window.show()
    window.tasks.warm_up(warm_up)
    QTimer.singleShot(0, lambda: window.rescue.start(score))
    return application.exec()
