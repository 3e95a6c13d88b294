"""What stands on the screen first: how to begin, while all else is still being loaded behind it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from PySide6.QtCore import QEvent, QSize, Qt, Signal
from PySide6.QtWidgets import QLabel, QProgressBar, QVBoxLayout, QWidget

from analysis.language import _
from app.job.files.example import example_score
from app.job.files.recent import RecentFiles
from app.window.start.recents import Recents
from app.window.start.start_page import StartPage
from app.window.style import look
from app.window.widgets.labels import heading, quiet_label
from app.window.widgets.sizes import resize_on_screen

if TYPE_CHECKING:
    from app.window.main_window import MainWindow

SIZE = QSize(1280, 800)


class Front(QWidget):
    """Stands in for the window. ``painted``: it is on the screen now, told once.

    ``wish`` is what was asked of it so far, to be done by the window; nothing as yet is ``None``. With a ``file`` that
    is opened anyway it says so, and nothing can be asked.
    """

    painted = Signal()

    def __init__(self, recent: RecentFiles | None, file: Path | None = None) -> None:
        super().__init__()
        self.wish: Callable[[MainWindow], None] | None = None
        self._is_painted = False
        self.setWindowTitle("Handframe")
        resize_on_screen(self, SIZE)
        self.says = quiet_label(look.QUIET, self)
        self.says.setAlignment(Qt.AlignmentFlag.AlignHCenter)
        self.progress = QProgressBar(self)
        self.progress.setTextVisible(False)
        self.progress.setMaximumWidth(220)
        self.progress.setAccessibleName(_("How much is loaded"))
        layout = QVBoxLayout(self)
        layout.addWidget(self._opening(file) if file is not None else self._start(recent), 1)
        layout.addWidget(self.says)
        layout.addWidget(self.progress, 0, Qt.AlignmentFlag.AlignHCenter)
        layout.addSpacing(24)

    def show_progress(self, done: int, of: int) -> None:
        """Show how many things are loaded."""
        self.progress.setRange(0, of)
        self.progress.setValue(done)

    def event(self, event: QEvent) -> bool:
        """Tell of the first time that it is painted."""
        handled = super().event(event)
        if event.type() == QEvent.Type.Paint and not self._is_painted:
            self._is_painted = True
            self.painted.emit()
        return handled

    def _start(self, recent: RecentFiles | None) -> StartPage:
        page = StartPage(Recents(recent, self), self)
        page.open_wanted.connect(lambda: self._take(lambda window: window.ask_open()))
        page.example_wanted.connect(lambda: self._take(lambda window: window.open(example_score())))
        page.file_wanted.connect(lambda file: self._take(lambda window: window.open(file)))
        return page

    def _opening(self, file: Path) -> QLabel:
        label = heading(_("Opening {name}").format(name=file.name), self)
        label.setAlignment(Qt.AlignmentFlag.AlignCenter)
        return label

    def _take(self, wish: Callable[[MainWindow], None]) -> None:
        self.wish = wish
        self.says.setText(_("It opens in a moment, once everything is loaded."))
