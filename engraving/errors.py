"""The errors this package raises: always about a file or a page, in one plain sentence."""


class EngravingError(Exception):
    """A score cannot be read, engraved or written; the message says what and where, ready to be shown."""


class ScoreFileError(EngravingError):
    """A file that does not open as a score; the message begins with the file's name."""
