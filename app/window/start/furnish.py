"""The window itself, with all that the program watches while it is open: made once everything is loaded."""

from __future__ import annotations

from PySide6.QtWidgets import QApplication

from app.job.files.recent import RecentFiles
from app.window.main_window import MainWindow
from app.window.safe.bugs import Bugs
from app.window.safe.safety import recovery_folder
from app.window.style.colouring import Colouring
from engraving.engraver import warm_up


def furnished(application: QApplication, colouring: Colouring, recent: RecentFiles | None) -> MainWindow:
    """The window, not shown yet, with the engraver's process started."""
    window = MainWindow(recovery_folder(), recent, colouring)
    Bugs(window.safety, window).install()
    # When the session ends, what the disk does not have yet goes there before anybody is asked anything.
    application.commitDataRequest.connect(lambda session: window.safety.flush())
    window.tasks.warm_up(warm_up)
    return window
