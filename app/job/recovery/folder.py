"""The folder where journals lie: which of them a window is writing, and which a process left behind when it died.

Journals are named after the file that they are about. Whoever writes, takes up or removes those of a file holds its
lock; the lock of a process that has died is taken over.
"""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from pathlib import Path

from PySide6.QtCore import QLockFile, QSysInfo

from analysis.language import _
from app.errors import AppError
from app.job.files.opening import Opened, opened_with
from app.job.project.mending import mended
from app.job.project.work_json import work_from_json
from app.job.recovery.journal import BESIDE
from app.job.recovery.lines import Replayed, replay
from engraving.document import read_document

_JOURNAL, _LOCK = ".journal", ".lock"


@dataclass(frozen=True, slots=True)
class LeftBehind:
    """A journal whose process died with work that was not saved.

    ``name``: of the project or score. ``edited``: when the last edit was written, in seconds since 1970. ``lost``: how
    many edits after it are damaged. ``overtaken``: the project has been saved since. ``fault``: why nothing of it can
    be brought back, "" if it can.
    """

    journal: Path
    name: str
    edited: float
    file: Path = Path()
    lost: int = 0
    overtaken: bool = False
    fault: str = ""


class Claim:
    """The right to the journals of one file, held until it is released or the process ends.

    ``journal``: the last one that was begun under it.
    """

    def __init__(self, folder: Path, stem: str, lock: QLockFile) -> None:
        self.stem = stem
        self.journal: Path | None = None
        self._folder, self._lock = folder, lock

    @property
    def file_stem(self) -> str:
        """The stem of the file that it is about."""
        return self.stem.partition("-")[0]

    @property
    def is_for_copy(self) -> bool:
        """Whether it is about another copy of what lies open elsewhere."""
        return self.stem != self.file_stem

    def new_journal(self) -> Path:
        """Where another journal can be begun: always another name, for old ones are removed by theirs."""
        self.journal = self._folder / f"{self.stem}.{secrets.token_hex(4)}{_JOURNAL}"
        return self.journal

    def release(self) -> None:
        """Let others have it."""
        self._lock.unlock()


class RecoveryFolder:
    """The journals in a folder, which is made when it is first needed."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def claim(self, stem: str) -> Claim | None:
        """The right to the journals of that stem, ``None`` while another window has it.

        AppError when nothing can be written in the folder.
        """
        try:
            self.path.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise AppError(_no_folder(self.path, error.strerror or str(error))) from error
        lock = self._lock(stem)
        if lock.tryLock(0) or (self._is_ours_to_clear(lock) and lock.removeStaleLockFile() and lock.tryLock(0)):
            return Claim(self.path, stem, lock)
        if lock.error() is not QLockFile.LockError.LockFailedError:
            raise AppError(_no_folder(self.path, _("no file can be made there")))
        return None

    def claim_copy(self, stem: str) -> Claim:
        """The right to the journals of another copy of what lies open elsewhere. AppError as in :meth:`claim`."""
        while True:
            claim = self.claim(f"{stem}-{secrets.token_hex(4)}")
            if claim is not None:
                return claim

    def holder(self, stem: str) -> str | None:
        """The computer where a window has the right to the journals of that stem, ``None`` if none has it."""
        try:
            claim = self.claim(stem)
        except AppError:
            return None
        if claim is None:
            return str(self._lock(stem).getLockInfo()[1]) or QSysInfo.machineHostName()
        claim.release()
        return None

    def left_behind(self, file: Path | None = None, own: Claim | None = None) -> tuple[LeftBehind, ...]:
        """What was left behind, of one file or of all, the latest first; journals without unsaved work are removed.

        ``own``: what the window that asks has, whose journal is not left behind.
        """
        stems = sorted({_stem(path) for path in self.path.glob("*.*")})
        if file is not None:
            stems = [stem for stem in stems if stem.partition("-")[0] == stem_of(file)]
        found = [left for stem in stems for left in self._left_under(stem, own)]
        return tuple(sorted(found, key=lambda left: left.edited, reverse=True))

    def remove(self, journal: Path, own: Claim | None = None) -> None:
        """Remove a journal that is needed no more, unless another window has taken it up."""
        held = own is not None and own.stem == _stem(journal)
        with suppress(AppError, OSError):
            claim = None if held else self.claim(_stem(journal))
            if held or claim is not None:
                journal.unlink(missing_ok=True)
            if claim is not None:
                claim.release()

    def _left_under(self, stem: str, own: Claim | None) -> Iterator[LeftBehind]:
        if own is not None and own.stem == stem:
            for path in sorted(self.path.glob(f"{stem}.*{_JOURNAL}")):
                if path != own.journal:
                    yield from _left_in(path)
            return
        try:
            claim = self.claim(stem)
        except AppError:
            return
        if claim is None:
            return
        for path in sorted(self.path.glob(f"{stem}.*")):
            if path.name.endswith(BESIDE):
                _clear(path)
            elif path.suffix == _JOURNAL:
                yield from _left_in(path)
        claim.release()

    def _lock(self, stem: str) -> QLockFile:
        lock = QLockFile(str(self.path / f"{stem}{_LOCK}"))
        lock.setStaleLockTime(0)  # a score may lie open for days
        return lock

    @staticmethod
    def _is_ours_to_clear(lock: QLockFile) -> bool:
        """Whether a lock is of this computer, where one that is alive cannot be removed, or was never finished.

        Qt by itself takes a lock for alive if any process of the same name has the number of the one that died.
        """
        return lock.getLockInfo()[1] in ("", QSysInfo.machineHostName())


def stem_of(file: Path) -> str:
    """What the names of the journals about a file begin with."""
    return hashlib.sha256(str(file.resolve()).encode("utf-8", "surrogatepass")).hexdigest()[:20]


def bring_back(journal: Path) -> Opened:
    """The score and the work in a journal; AppError or EngravingError when there is nothing to be brought back.

    It has no project to be saved in if that was saved by somebody else in the meantime.
    """
    replayed = _replayed(journal)
    if replayed is None:
        raise AppError(_("This work is not there any more: another window has brought it back."))
    heading = replayed.heading
    document = read_document(heading.source, heading.name)
    plain, losses = mended(replayed.state["work"], document)
    project = None if losses or _is_overtaken(replayed) else heading.project
    opened = opened_with(document, work_from_json(plain, heading.name), project, losses)
    return replace(opened, file=heading.file, journal=journal, in_hand=str(replayed.state.get("in_hand", "")))


def _left_in(path: Path) -> Iterator[LeftBehind]:
    try:
        replayed = _replayed(path)
    except AppError as error:
        with suppress(OSError):
            yield LeftBehind(path, path.name, path.stat().st_mtime, fault=str(error))
        return
    if replayed is None or not (replayed.unsaved or replayed.lost):
        _clear(path)
        return
    heading = replayed.heading
    name = heading.project.name if heading.project else heading.name
    yield LeftBehind(path, name, replayed.edited, heading.file, replayed.lost, _is_overtaken(replayed))


def _replayed(journal: Path) -> Replayed | None:
    try:
        return replay(journal.read_bytes(), journal.name)
    except FileNotFoundError:
        return None
    except OSError as error:
        raise AppError(
            _("{file} cannot be read in {folder}: {why}").format(
                file=journal.name, folder=journal.parent, why=error.strerror or error
            )
        ) from error


def _is_overtaken(replayed: Replayed) -> bool:
    project = replayed.heading.project
    try:
        return project is not None and project.stat().st_mtime > replayed.edited
    except OSError:
        return False


def _clear(path: Path) -> None:
    with suppress(OSError):
        path.unlink()


def _stem(journal: Path) -> str:
    return journal.name.partition(".")[0]


def _no_folder(folder: Path, why: str) -> str:
    return _(
        "What you do is not kept safe as you go, since {folder} cannot be used: {why}. You can go on, but save often."
    ).format(folder=folder, why=why)
