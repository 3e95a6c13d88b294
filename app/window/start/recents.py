"""The list of the files opened last, with a picture of the first line of each, for the views that show it."""

from __future__ import annotations

import time
from pathlib import Path

from PySide6.QtCore import QObject, QStandardPaths, Signal

from app.job.files.recent import RecentFile, RecentFiles


def recent_files() -> RecentFiles | None:
    """This user's list, ``None`` where users have no folders for it."""
    places = QStandardPaths.StandardLocation
    state, cache = (
        QStandardPaths.writableLocation(place) for place in (places.AppLocalDataLocation, places.CacheLocation)
    )
    return RecentFiles(Path(state), Path(cache) / "first-lines") if state and cache else None


class Recents(QObject):
    """The list kept in ``files``; an empty one that nobody keeps where that is ``None``.

    ``changed``: the list or a picture is another one.
    """

    changed = Signal()

    def __init__(self, files: RecentFiles | None, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._files = files

    @property
    def are_kept(self) -> bool:
        """Whether anything is noted down at all."""
        return self._files is not None

    def read(self) -> tuple[RecentFile, ...]:
        """The files, the one opened last first."""
        return self._files.read() if self._files is not None else ()

    def picture_of(self, file: Path) -> Path | None:
        """Where the picture of a file lies, if it has one."""
        return self._files.picture_of(file) if self._files is not None else None

    def add(self, file: Path) -> None:
        """Note down that a file was opened now."""
        if self._files is not None:
            self._files.add(file, time.time())
            self.changed.emit()

    def keep_picture(self, file: Path, png: bytes) -> None:
        """Keep the picture of a file."""
        if self._files is not None:
            self._files.keep_picture(file, png)
            self.changed.emit()

    def remove(self, file: Path) -> None:
        """Take a file off the list."""
        if self._files is not None:
            self._files.remove(file)
            self.changed.emit()
