"""The errors this package raises: always about a file or a page, in one plain sentence."""

from __future__ import annotations

from analysis.errors import one_line


class EngravingError(Exception):
    """A score cannot be read, engraved or written; the message says what and where, ready to be shown."""

    def __init__(self, message: str) -> None:
        super().__init__(one_line(message))


class ScoreFileError(EngravingError):
    """A file that does not open as a score; the message begins with the file's name."""
