"""Notes down what is opened and saved, and has a picture made of its first line, as the desk tells."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject

from app.job.files.example import example_score
from app.window.background.ahead import Ahead
from app.window.editing.desk import Desk
from app.window.start.first_line import first_line_png
from app.window.start.recents import Recents


class RecentNotes(QObject):
    """Keeps ``recents`` up to date with what lies on the desk."""

    def __init__(self, desk: Desk, recents: Recents) -> None:
        super().__init__(desk)
        self._desk, self._recents = desk, recents
        self._ahead = Ahead(self)
        self._pictured: Path | None = None
        desk.opened.connect(self._note)
        desk.saved.connect(self._note)
        desk.pages_changed.connect(self._picture)

    def end(self) -> None:
        """End all that is under way, as the window closes."""
        self._ahead.end()

    @property
    def _file(self) -> Path | None:
        score = self._desk.score
        file = score.path or score.file if score is not None else None
        # The example has a button of its own.
        return None if file is None or file == example_score() else file

    def _note(self) -> None:
        if self._file is not None:
            self._pictured = None
            self._picture()
            self._recents.add(self._file)

    def _picture(self) -> None:
        """Have the picture of what lies open made, once each time that it is opened or saved."""
        file, pages = self._file, self._desk.pages
        if self._recents.are_kept and file is not None and pages and file != self._pictured:
            self._pictured = file
            self._ahead.ask(file, lambda tick: first_line_png(pages[0]), partial(self._keep, file))

    def _keep(self, file: Path, png: bytes | None) -> None:
        if png is not None:
            self._recents.keep_picture(file, png)
