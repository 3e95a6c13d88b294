"""The errors of the program itself: about what was asked of it, in one plain sentence."""

from __future__ import annotations

from analysis.errors import one_line


class AppError(Exception):
    """What was asked cannot be done; the message says what and where, ready to be shown."""

    def __init__(self, message: str) -> None:
        super().__init__(one_line(message))
