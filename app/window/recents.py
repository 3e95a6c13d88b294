"""Keeps the list of the files opened last, with a picture of the first line of each, as the desk tells."""

from __future__ import annotations

import time
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, QStandardPaths, Signal

from app.job.example import example_score
from app.job.recent import RecentFile, RecentFiles
from app.window.ahead import Ahead
from app.window.desk import Desk
from app.window.first_line import first_line_png


def recent_files() -> RecentFiles | None:
    """This user's list, ``None`` where users have no folders for it."""
    places = QStandardPaths.StandardLocation
    state, cache = (
        QStandardPaths.writableLocation(place) for place in (places.AppLocalDataLocation, places.CacheLocation)
    )
    return RecentFiles(Path(state), Path(cache) / "first-lines") if state and cache else None


class Recents(QObject):
    """Notes down what is opened and saved in ``files``; nothing at all where that is ``None``.

    ``changed``: the list or a picture is another one.
    """

    changed = Signal()

    def __init__(self, desk: Desk, files: RecentFiles | None) -> None:
        super().__init__(desk)
        self._desk, self._files = desk, files
        self._ahead = Ahead(self)
        self._pictured: Path | None = None
        desk.opened.connect(self._note)
        desk.saved.connect(self._note)
        desk.pages_changed.connect(self._picture)

    def read(self) -> tuple[RecentFile, ...]:
        """The files, the one opened last first."""
        return self._files.read() if self._files is not None else ()

    def picture_of(self, file: Path) -> Path | None:
        """Where the picture of a file lies, if it has one."""
        return self._files.picture_of(file) if self._files is not None else None

    def remove(self, file: Path) -> None:
        """Take a file off the list."""
        if self._files is not None:
            self._files.remove(file)
            self.changed.emit()

    def put_away(self) -> None:
        """End all that is under way, as the window closes."""
        self._ahead.shut_down()

    @property
    def _file(self) -> Path | None:
        score = self._desk.score
        file = score.path or score.file if score is not None else None
        # The example has a button of its own.
        return None if file is None or file == example_score() else file

    def _note(self) -> None:
        if self._files is not None and self._file is not None:
            self._files.add(self._file, time.time())
            self._pictured = None
            self._picture()
            self.changed.emit()

    def _picture(self) -> None:
        """Have the picture of what lies open made, once each time that it is opened or saved."""
        file, pages = self._file, self._desk.pages
        if self._files is not None and file is not None and pages and file != self._pictured:
            self._pictured = file
            self._ahead.ask(file, partial(first_line_png, pages[0]), partial(self._keep, self._files, file))

    def _keep(self, files: RecentFiles, file: Path, png: bytes | None) -> None:
        if png is not None:
            files.keep_picture(file, png)
            self.changed.emit()
