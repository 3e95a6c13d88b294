"""The errors of the program itself: about what was asked of it, in one plain sentence."""


class AppError(Exception):
    """What was asked cannot be done; the message says what and where, ready to be shown."""
