"""The folder in which dialogs that ask for a file begin."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtCore import QDir, QStandardPaths

from app.job.files.example import example_score


class Folder:
    """Where a file was chosen last, since the score that lies open was opened; before that, beside the score."""

    def __init__(self) -> None:
        documents = QStandardPaths.writableLocation(QStandardPaths.StandardLocation.DocumentsLocation)
        self._documents = Path(documents) if documents and Path(documents).is_dir() else Path(QDir.homePath())
        self.path = self._documents

    def move_beside(self, file: Path | None) -> None:
        """Begin beside that file from now on; the user's documents lie where there is none, or only the example."""
        self.path = self._documents if file is None or file == example_score() else file.absolute().parent
