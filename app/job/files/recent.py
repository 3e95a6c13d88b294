"""The files that were opened last: a short list in a file of its own, and a small picture of each."""

from __future__ import annotations

import hashlib
import json
import math
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from engraving.atomic import make_folder, write_atomically
from engraving.errors import EngravingError

MOST = 8
# Of the picture of a score's first line, in pixels; shown at half of it, so that it is sharp on a fine screen too.
PICTURE_WIDTH, PICTURE_HEIGHT = 640, 120
_LIST = "recent.json"


@dataclass(frozen=True, slots=True)
class RecentFile:
    """A file that was opened. ``opened``: when, in seconds since 1970."""

    file: Path
    opened: float


class RecentFiles:
    """The last files opened, as a list in the folder ``state``, their pictures in the folder ``pictures``.

    Neither folder needs to be there. A list that is damaged counts as empty, and what cannot be written is not kept:
    nobody's work is lost by it.
    """

    def __init__(self, state: Path, pictures: Path) -> None:
        self._list, self._pictures = state / _LIST, pictures

    def read(self) -> tuple[RecentFile, ...]:
        """The files, at most ``MOST``, the one opened last first."""
        try:
            return _listed(json.loads(self._list.read_text(encoding="utf-8")))
        except (OSError, ValueError, RecursionError):
            return ()

    def add(self, file: Path, opened: float) -> None:
        """Put a file at the head of the list, wherever it was before."""
        file = file.absolute()
        self._write((RecentFile(file, opened), *(one for one in self.read() if one.file != file)))

    def remove(self, file: Path) -> None:
        """Take a file off the list; the file itself stays."""
        self._write(one for one in self.read() if one.file != file.absolute())

    def picture_of(self, file: Path) -> Path:
        """Where the picture of a file lies, if it has one."""
        return self._pictures / f"{_stem(file)}.png"

    def keep_picture(self, file: Path, png: bytes) -> None:
        """Keep a picture of a file that is on the list."""
        if any(one.file == file.absolute() for one in self.read()):
            with suppress(EngravingError):
                make_folder(self._pictures)
                write_atomically(self.picture_of(file), png)

    def _write(self, files: Iterable[RecentFile]) -> None:
        kept = sorted(files, key=lambda one: one.opened, reverse=True)[:MOST]
        text = json.dumps([{"file": str(one.file), "opened": one.opened} for one in kept], indent=1)
        with suppress(EngravingError):
            make_folder(self._list.parent)
            # Names of files need not be text: what stands for their odd bytes is escaped by JSON.
            write_atomically(self._list, text.encode("ascii"))
        self._drop_pictures({self.picture_of(one.file).name for one in kept})

    def _drop_pictures(self, kept: set[str]) -> None:
        with suppress(OSError):
            for path in self._pictures.glob("*.png"):
                if path.name not in kept:
                    path.unlink()


def _stem(file: Path) -> str:
    return hashlib.sha256(str(file.absolute()).encode("utf-8", "surrogatepass")).hexdigest()[:20]


def _listed(plain: Any) -> tuple[RecentFile, ...]:
    """The files of a list as JSON has it, each once; ValueError when it is not one."""
    if not isinstance(plain, list):
        raise ValueError("no list")
    files: dict[Path, RecentFile] = {}
    for one in plain:
        file, opened = (one.get("file"), one.get("opened")) if isinstance(one, dict) else (None, None)
        if not isinstance(file, str) or "\0" in file or isinstance(opened, bool) or not isinstance(opened, int | float):
            raise ValueError("no file that was opened")
        if not math.isfinite(opened) or not Path(file).is_absolute():
            raise ValueError("no file that was opened")
        files.setdefault(Path(file), RecentFile(Path(file), float(opened)))
    return tuple(sorted(files.values(), key=lambda one: one.opened, reverse=True)[:MOST])
