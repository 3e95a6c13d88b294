"""What happens when Handframe itself errs: the work is seen to be on the disk, then a calm word, and all goes on."""

from __future__ import annotations

import platform
import sys
import threading
import traceback
from types import TracebackType

import PySide6
from PySide6.QtCore import QObject, Qt, Signal
from PySide6.QtWidgets import QWidget

from analysis.language import _, later
from app.window import dialogs
from app.window.safe.safety import Safety

_SAFE = later("Your work is safe on the disk, and you can go on. If it happens again, save and start Handframe anew.")
_UNSAFE = later("Save your work now: it could not be written down by itself.")


class Bugs(QObject):
    """Told of every exception that nobody caught; each place in the program that errs is shown once."""

    _caught = Signal(str, str)

    def __init__(self, safety: Safety, window: QWidget) -> None:
        super().__init__(window)
        self._safety, self._window = safety, window
        self._seen: set[str] = set()
        self._is_showing = False
        # Shown later, on the GUI thread: a dialog while a view paints itself would have it paint again.
        self._caught.connect(self._show, Qt.ConnectionType.QueuedConnection)

    def install(self) -> None:
        """From now on be told of exceptions in slots, event handlers and threads."""
        sys.excepthook = self.take
        threading.excepthook = self.take_from_thread

    def take(self, kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        """An exception that nobody caught, on any thread."""
        sys.__excepthook__(kind, error, trace)
        if issubclass(kind, Exception):
            frames = traceback.extract_tb(trace)
            place = f"{frames[-1].filename}:{frames[-1].lineno}" if frames else ""
            details = "".join(traceback.format_exception(kind, error, trace))
            self._caught.emit(f"{kind.__name__} {place}", f"{details}\n{_versions()}")

    def take_from_thread(self, caught: threading.ExceptHookArgs) -> None:
        """The same, as threads tell it."""
        if caught.exc_value is not None:
            self.take(caught.exc_type, caught.exc_value, caught.exc_traceback)

    def _show(self, place: str, details: str) -> None:
        if self._is_showing or place in self._seen:
            return
        self._seen.add(place)
        self._is_showing = True
        try:
            words = _("Something went wrong inside Handframe.")
            safe = _SAFE if self._safety.flush() else _UNSAFE
            dialogs.tell_bug(self._window, f"{words} {_(safe)}", details)
        finally:
            self._is_showing = False


def _versions() -> str:
    return f"Python {platform.python_version()}, PySide6 {PySide6.__version__}, {platform.platform()}"
