"""What a library's run has made already: a file beside the copies that says from what each of them was made.

It goes by what files hold, not by when they were changed, so that it is right after the folder is copied or moved.
There is a line for every file made. A line is added as soon as a file is written, so that the next run goes on where
one broke off, and at the end of a run the lines are put in order.
"""

from __future__ import annotations

import hashlib
import json
import stat
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from pathlib import Path

from analysis.language import _
from app.errors import AppError
from engraving.atomic import make_folder, write_atomically
from engraving.filebytes import mode_of

FILE = "handframe-finished.jsonl"
# Names of files need not be text. What stands for their odd bytes is written as JSON escapes it, and read back so.
_ODD = "backslashreplace"


@dataclass(frozen=True, slots=True)
class Made:
    """A file that was made: its path in the output folder, the source's in the library, and digests of both.

    ``key`` stands for all that went in: the source, the rules, the versions; ``digest`` for what came out.
    """

    file: str
    source: str
    key: str
    digest: str


class Finished:
    """The files made in an output folder, by path from it."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._made: dict[str, Made] = {made.file: made for made in _read(folder / FILE)}

    @property
    def made(self) -> Mapping[str, Made]:
        """Every file that was made here, as far as is known."""
        return self._made

    def has(self, file: str, key: str) -> bool:
        """Whether the file is there, unchanged, and was made from the same as ``key`` stands for."""
        made = self._made.get(file)
        return made is not None and made.key == key and self._stands(made)

    def write(self, made: Made, data: bytes) -> None:
        """Write a file that was made; AppError where another one stands in its place that was not made here."""
        path = self._folder / made.file
        before = self._made.get(made.file)
        if mode_of(path) and not self._stands(made) and not (before and self._stands(before)):
            raise AppError(
                _("{file} is already there and was not made here, or was changed since: move it away first").format(
                    file=made.file
                )
            )
        if not self._stands(made):
            make_folder(path.parent)
            write_atomically(path, data)
        self._add(made)

    def close(self) -> None:
        """Put the lines in order, the same whoever made what first."""
        if self._made:
            lines = [_line(self._made[file]) for file in sorted(self._made)]
            write_atomically(self._folder / FILE, "".join(lines).encode("utf-8", _ODD))

    def _add(self, made: Made) -> None:
        self._made[made.file] = made
        try:
            with (self._folder / FILE).open("a", encoding="utf-8", errors=_ODD) as file:
                # A line before it that a crash cut off does not take this one with it.
                file.write(f"\n{_line(made)}")
        except OSError as error:
            raise AppError(
                _("{file} cannot be written: {reason}").format(file=FILE, reason=error.strerror or error)
            ) from error

    def _stands(self, made: Made) -> bool:
        path = self._folder / made.file
        return stat.S_ISREG(mode_of(path)) and digest_of(path) == made.digest


def digest_of(path: Path) -> str:
    """The SHA-256 of what a file holds, in hexadecimal; AppError where it cannot be read."""
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise AppError(
            _("{file} cannot be read: {reason}").format(file=path.name, reason=error.strerror or error)
        ) from error


def _line(made: Made) -> str:
    return f"{json.dumps(asdict(made), ensure_ascii=False)}\n"


def _read(path: Path) -> Iterator[Made]:
    """The lines that can be read; one that was cut off by a crash is as if it were not there."""
    try:
        text = path.read_text(encoding="utf-8", errors="replace")
    except FileNotFoundError:
        return
    except OSError as error:
        raise AppError(
            _("{file} cannot be read: {reason}").format(file=path, reason=error.strerror or error)
        ) from error
    for line in text.split("\n"):
        try:
            made = Made(**json.loads(line))
        except (TypeError, ValueError):
            continue
        if all(isinstance(value, str) for value in asdict(made).values()):
            yield made
