"""Writing a file whole or not at all: a crash or a full disk never leaves half a file in the old one's place."""

from __future__ import annotations

import os
import secrets
from pathlib import Path

from engraving.errors import EngravingError


def write_atomically(path: Path, data: bytes) -> None:
    """Write ``data`` to a new file beside ``path``, see it safely on the disk, then let it take ``path``'s place.

    EngravingError in one sentence when that fails; whatever stood at ``path`` before then still does. A link is
    followed: the file it points to is replaced and the link stays. A file that is replaced keeps its access rights.
    """
    try:
        _replace(path.resolve(), data)
    except OSError as error:
        raise EngravingError(f"{path.name} cannot be written in {path.parent}: {error.strerror or error}") from error


def make_folder(path: Path) -> None:
    """Make a folder if it is not there; EngravingError in one sentence when that fails."""
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise EngravingError(
            f"the folder {path.name} cannot be made in {path.parent}: {error.strerror or error}"
        ) from error


def _replace(target: Path, data: bytes) -> None:
    temporary = target.with_name(f".{target.name}.{secrets.token_hex(4)}.part")
    try:
        with temporary.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if target.exists():
            temporary.chmod(target.stat().st_mode & 0o7777)
        temporary.replace(target)
    finally:
        temporary.unlink(missing_ok=True)
    sync_folder(target.parent)


def sync_folder(folder: Path) -> None:
    """See the folder's own entry on the disk, where folders can be opened at all (not on Windows)."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)
