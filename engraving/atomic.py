"""Writing a file whole or not at all: a crash or a full disk never leaves half a file in the old one's place."""

from __future__ import annotations

import errno
import hashlib
import os
import secrets
import time
from contextlib import suppress
from pathlib import Path

from analysis.language import _
from engraving.errors import EngravingError

PART = ".part"
# On Windows a file that a virus scanner or an indexer looks at cannot be replaced for a moment; seconds between trials.
_PATIENCE = (0.05, 0.1, 0.2, 0.4, 0.8) if os.name == "nt" else ()
_NEW = os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0)
_A_DAY = 24 * 60 * 60.0
# What file systems answer that have no such thing as seeing a folder's entry on the disk.
_NO_SYNC = (errno.EINVAL, errno.ENOTSUP, errno.ENOSYS, errno.EACCES, errno.EPERM)


def write_atomically(path: Path, data: bytes) -> None:
    """Write ``data`` to a new file beside ``path``, see it safely on the disk, then let it take ``path``'s place.

    EngravingError in one sentence when that fails; whatever stood at ``path`` before then still does. A link is
    followed: the file it points to is replaced and the link stays. A file that is replaced keeps its access rights, and
    its owner and group as far as the user may give them; one that is write-protected is left alone.
    """
    try:
        target = _target(path)
        _replace(target, data)
    except OSError as error:
        words = _("{name} cannot be written in {folder}: {reason}")
        raise EngravingError(words.format(name=path.name, folder=path.parent, reason=_reason(error))) from error
    try:
        sync_folder(target.parent)
    except OSError as error:
        words = _("{name} is written in {folder}, but the disk does not say that it is safe there: {reason}")
        raise EngravingError(words.format(name=path.name, folder=path.parent, reason=_reason(error))) from error


def make_folder(path: Path) -> None:
    """Make a folder if it is not there; EngravingError in one sentence when that fails."""
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        words = _("the folder {name} cannot be made in {folder}: {reason}")
        raise EngravingError(words.format(name=path.name, folder=path.parent, reason=_reason(error))) from error


def sync_folder(folder: Path) -> None:
    """See the folder's own entry on the disk, where folders can be opened at all (not on Windows) and seen to."""
    if os.name != "posix":
        return
    try:
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
    except OSError as error:
        if error.errno not in _NO_SYNC:
            raise


def write_all(handle: int, data: bytes) -> None:
    """Hand all of ``data`` to the operating system, however little it takes at once; OSError when it takes no more."""
    left = memoryview(data)
    while left:
        left = left[os.write(handle, left) :]


def _target(path: Path) -> Path:
    """The file that is to be replaced or made; OSError where that cannot be."""
    try:
        target = path.resolve()
    except RuntimeError as error:  # how links that lead in a circle are told
        raise OSError(errno.ELOOP, os.strerror(errno.ELOOP)) from error
    if target.is_symlink():
        raise OSError(errno.ELOOP, os.strerror(errno.ELOOP))
    if target.is_dir():
        raise IsADirectoryError(errno.EISDIR, _("a folder has that name"))
    if target.exists() and not target.is_file():
        raise OSError(errno.EINVAL, _("a pipe, a socket or a device has that name"))
    if target.exists() and not (target.stat().st_mode & 0o222 and os.access(target, os.W_OK)):
        raise PermissionError(errno.EACCES, _("the file there is write-protected"))
    return target


def _replace(target: Path, data: bytes) -> None:
    # The name says whose it is should the machine die now, and is short however long that of the target is.
    stem = f".handframe-{hashlib.sha256(os.fsencode(target.name)).hexdigest()[:12]}-"
    temporary = target.with_name(f"{stem}{secrets.token_hex(4)}{PART}")
    try:
        _write_new(temporary, data, target.stat() if target.exists() else None)
        _take_place(temporary, target)
    except BaseException:
        with suppress(OSError):
            temporary.unlink(missing_ok=True)
        raise
    _clear_left(target.parent, stem)


def _write_new(path: Path, data: bytes, old: os.stat_result | None) -> None:
    """Make a file that is safely on the disk, with the rights of an ``old`` one from the start."""
    handle = os.open(path, _NEW, 0o666 if old is None else 0o600)
    try:
        if old is not None:
            _give_rights(path, handle, old)
        write_all(handle, data)
        os.fsync(handle)
    finally:
        os.close(handle)


def _give_rights(path: Path, handle: int, old: os.stat_result) -> None:
    """The owner, group and access rights of the old file, as far as user and file system have them given."""
    if os.name == "posix":
        for owner in (old.st_uid, -1):
            with suppress(OSError):
                os.chown(handle, owner, old.st_gid)
                break
    with suppress(OSError):
        path.chmod(old.st_mode & 0o7777)


def _take_place(temporary: Path, target: Path) -> None:
    for seconds in (*_PATIENCE, None):
        try:
            temporary.replace(target)
        except PermissionError as error:
            if seconds is None:
                words = _("{reason}; another program may have it open")
                raise PermissionError(error.errno, words.format(reason=_reason(error))) from error
            time.sleep(seconds)
        else:
            return


def _clear_left(folder: Path, stem: str) -> None:
    """Remove what a process that died left half written of the same file, a day ago or longer."""
    with suppress(OSError):
        for path in folder.glob(f"{stem}*{PART}"):
            if path.stat().st_mtime < time.time() - _A_DAY:
                path.unlink()


def _reason(error: OSError) -> str:
    return error.strerror or str(error)
