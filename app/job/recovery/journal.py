"""The journal of one open score: every edit is written down as it is made, and read back should the process die.

What is kept: :meth:`Journal.write` hands the line of an edit to the operating system before it returns, and it is
called before the edit is shown. However the process ends from then on, no edit that was on the screen is lost. A thread
has the disk take the line at once (fsync). If the machine itself dies, what can be lost is what came since the last
fsync that ended: the edits of some hundredths of a second on a disk that is not overloaded.

After many lines the thread writes the journal anew, as it stands then, in a file beside it that takes its place.
"""

from __future__ import annotations

import os
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from analysis.language import _
from app.errors import AppError
from app.job.recovery.changes import differences
from app.job.recovery.lines import Heading, State, heading_record, line_of
from engraving.atomic import sync_folder, write_all

BESIDE = ".part"
REWRITE_AFTER = 2000
_GO_ON = os.O_WRONLY | os.O_APPEND | getattr(os, "O_BINARY", 0)
_BEGIN = _GO_ON | os.O_CREAT | os.O_EXCL


class Journal:
    """A journal that is being written at ``path``, where no file may be yet.

    ``saved``: the work in ``state`` is in the user's own file. ``failed`` is called with a sentence, on the thread of
    the journal, when the disk does not take what was written; all is then written anew at the next edit. States are
    plain JSON with a "work" among them; none that was given may be changed later. AppError when nothing can be written.
    """

    def __init__(
        self,
        path: Path,
        heading: Heading,
        state: State,
        *,
        saved: bool,
        failed: Callable[[str], None],
        rewrite_after: int = REWRITE_AFTER,
    ) -> None:
        self.path = path
        self._failed, self._rewrite_after = failed, rewrite_after
        self._heading, self._heading_checksum = line_of(heading_record(heading), 0)
        self._saved_work = state["work"] if saved else None
        # What follows is touched under the gate only. Nobody holds the gate while the disk takes its time.
        self._gate = threading.Condition()
        self._state = state
        text, self._checksum = self._beginning(state)
        self._file, self._size, self._lines = _begun(path, text), len(text), 0
        self._given, self._taken = 1, 0
        self._anew = self._ending = False
        self._thread = threading.Thread(target=self._keep_taking, name="journal", daemon=True)
        self._thread.start()

    def write(self, state: State) -> None:
        """Write down what is different now. AppError when that fails; the next call writes it too then."""
        with self._gate:
            changes = differences(self._state, state)
            if changes:
                line, checksum = line_of({"at": time.time(), "changes": changes}, self._checksum)
                self._append(line)
                self._state, self._checksum = state, checksum
                self._given += 1
                self._gate.notify_all()

    def flush(self, seconds: float) -> bool:
        """Wait until the disk has taken all there is, at most so long; whether it has."""
        with self._gate:
            given = self._given
            return self._gate.wait_for(lambda: self._taken >= given, seconds) and not self._anew

    def close(self, *, remove: bool) -> None:
        """Write no more; ``remove``: nothing in it is needed any more."""
        with self._gate:
            self._ending = True
            if remove:
                self._taken = self._given
            self._gate.notify_all()
        self._thread.join()
        with suppress(OSError):
            os.close(self._file)
        if remove:
            with suppress(OSError):
                self.path.unlink()

    def _beginning(self, state: State) -> tuple[bytes, int]:
        """The first two lines of a journal that begins with that state, and the checksum of the second."""
        saved = self._saved_work is not None and self._saved_work == state["work"]
        line, checksum = line_of({"at": time.time(), "saved": saved, "state": state}, self._heading_checksum)
        return self._heading + line, checksum

    def _append(self, line: bytes) -> None:
        try:
            write_all(self._file, line)
        except OSError as error:
            try:
                os.ftruncate(self._file, self._size)
            except OSError:
                self._anew = True
            raise AppError(_refused(self.path, error)) from error
        self._size += len(line)
        self._lines += 1

    # On the thread of the journal

    def _keep_taking(self) -> None:
        while True:
            with self._gate:
                self._gate.wait_for(lambda: self._ending or self._given > self._taken)
                if self._given == self._taken:
                    return
                given, anew = self._given, self._anew or self._lines > self._rewrite_after
            try:
                self._have_taken(anew=anew, first=not self._taken)
                failed = False
            except OSError as error:
                self._failed(_refused(self.path, error))
                failed = True
            with self._gate:
                self._taken = max(given, self._taken)
                self._anew = failed or (self._anew and not anew)
                self._gate.notify_all()

    def _have_taken(self, *, anew: bool, first: bool) -> None:
        if anew or not os.fstat(self._file).st_nlink:
            self._write_anew()
        else:
            os.fsync(self._file)
        if anew or first:
            sync_folder(self.path.parent)

    def _write_anew(self) -> None:
        """Write the journal without the edits that it took to get here; edits made meanwhile follow as one line."""
        beside = self.path.with_name(self.path.name + BESIDE)
        beside.unlink(missing_ok=True)
        state = self._state
        text, checksum = self._beginning(state)
        file = _opened_with(beside, text)
        try:
            os.fsync(file)
            with self._gate:
                changes, lines = differences(state, self._state), 0
                if changes:
                    line, checksum = line_of({"at": time.time(), "changes": changes}, checksum)
                    write_all(file, line)
                    text, lines = text + line, 1
                os.close(file)
                file = -1
                self._change_over(beside)
                self._checksum, self._size, self._lines = checksum, len(text), lines
        finally:
            if file >= 0:
                os.close(file)
            beside.unlink(missing_ok=True)

    def _change_over(self, beside: Path) -> None:
        # No file that is open can be replaced on Windows.
        old, self._file = self._file, -1
        with suppress(OSError):
            os.close(old)
        try:
            beside.replace(self.path)
        finally:
            self._file = os.open(self.path, _GO_ON)


def _begun(path: Path, text: bytes) -> int:
    try:
        return _opened_with(path, text)
    except OSError as error:
        raise AppError(_refused(path, error)) from error


def _opened_with(path: Path, text: bytes) -> int:
    """A new file that holds the text, open for more; no file at all if that fails."""
    file = os.open(path, _BEGIN, 0o600)
    try:
        write_all(file, text)
    except OSError:
        os.close(file)
        path.unlink(missing_ok=True)
        raise
    return file


def _refused(path: Path, error: OSError) -> str:
    return _(
        "What you do is not kept safe as you go, since {folder} cannot be written: {why}. "
        "You can go on, but save often."
    ).format(folder=path.parent, why=error.strerror or error)
