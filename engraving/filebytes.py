"""What lies in a file, read whole: never more than asked for, and never from what could keep the reader waiting."""

from __future__ import annotations

import os
import stat
from pathlib import Path

from analysis.language import _
from engraving.errors import ScoreFileError

# A pipe that nobody writes to must not hold up its opening, nor Windows translate line ends.
_FLAGS = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0) | getattr(os, "O_CLOEXEC", 0)


def file_bytes(path: Path, most: int) -> bytes:
    """The bytes of a file of up to ``most`` bytes; ScoreFileError in one sentence for everything else.

    Folders, pipes, sockets and devices are refused without reading from them.
    """
    name = as_text(path.name or str(path))
    try:
        # Opening a device can set something going, so it is looked at first, and again once it is open.
        _check_kind(path.stat().st_mode, name)
        with os.fdopen(os.open(path, _FLAGS), "rb") as file:
            _check_kind(os.fstat(file.fileno()).st_mode, name)
            data = file.read(most + 1)
    except FileNotFoundError as error:
        raise ScoreFileError(
            _("{name}: there is no such file in {folder}").format(name=name, folder=path.parent)
        ) from error
    except PermissionError as error:
        raise ScoreFileError(_("{name} may not be read: you have no rights to it").format(name=name)) from error
    # ValueError: a name that no system takes.
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) else None
        raise ScoreFileError(_("{name} cannot be read: {why}").format(name=name, why=why or error)) from error
    if len(data) > most:
        raise ScoreFileError(
            _("{name} is larger than {size} MB, which no score needs").format(name=name, size=megabytes(most))
        )
    return data


def mode_of(path: Path) -> int:
    """The kind and rights of what lies at a path, for the functions of ``stat``.

    0 where nothing does, or where the system does not say: whoever then reads or writes there is told why.
    """
    try:
        return path.stat().st_mode
    except (OSError, ValueError):
        return 0


def as_text(name: str) -> str:
    """A file's name as Unicode has it: halves of signs that belong together are joined, others give way to U+FFFD.

    Such halves come from names of files that are not text, and from texts that were cut between them.
    """
    return name.encode("utf-16", "surrogatepass").decode("utf-16", "replace")


def printable(name: str) -> str:
    """A file's name as it can be shown and printed: a blank stands for what is no letter, sign or blank."""
    return "".join(sign if sign.isprintable() else " " for sign in as_text(name))


def megabytes(size: int) -> str:
    """A number of bytes in MB, for messages."""
    return f"{size / 2**20:g}"


def _check_kind(mode: int, name: str) -> None:
    if stat.S_ISDIR(mode):
        raise ScoreFileError(_("{name} is a folder, not a score").format(name=name))
    if not stat.S_ISREG(mode):
        raise ScoreFileError(_("{name} is a pipe, a socket or a device, not a file").format(name=name))
