"""Every call by which this process writes to a folder, counted; at one of them something happens to it.

A call is a point of its own: making, writing, seeing to the disk, renaming, removing, changing rights. A write is two
points, before it and when half of it is done.
"""

from __future__ import annotations

import builtins
import io
import os
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

_WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_TRUNC | os.O_APPEND
_BY_NAME = ("rename", "unlink", "remove", "chmod", "chown", "mkdir", "rmdir", "truncate", "link", "symlink")


class Points:
    """Watches what is written in ``folder``; ``happen`` is called at every point with its number, from 1, and its call.

    ``calls``: by name, what was done so far. ``unsynced``: by path, how many bytes of a file the disk has for sure, of
    those files of which it may not have all. ``entries``: folders of which it may not have all entries.
    """

    def __init__(self, folder: Path, happen: Callable[[int, str], None]) -> None:
        self._folder, self._happen = os.path.realpath(folder), happen
        self._gate = threading.RLock()
        self._handles: dict[int, str] = {}
        self._real: dict[str, Any] = {}
        self.calls: list[str] = []
        self.unsynced: dict[str, int] = {}
        self.entries: set[str] = set()

    def begin(self) -> None:
        """Watch from now on, until the process ends."""
        mine = {"open": self._open, "write": self._write, "fsync": self._fsync, "close": self._close}
        mine |= {"replace": self._replace, "ftruncate": self._ftruncate}
        mine |= {name: self._by_name(name) for name in _BY_NAME}
        for name, call in mine.items():
            self._real[name] = getattr(os, name)
            setattr(os, name, call)
        self._real["file"] = io.open
        io.open = builtins.open = self._file

    def _reached(self, call: str) -> None:
        self.calls.append(call)
        self._happen(len(self.calls), call)

    def _inside(self, path: Any) -> str | None:
        """The path, if it lies in the folder."""
        if isinstance(path, int):
            return self._handles.get(path)
        name = os.path.abspath(os.fsdecode(path))  # noqa: PTH100 - which Path would ask the disk about
        return name if name.startswith(self._folder) else None

    def _open(self, path: Any, flags: int, *more: Any, **named: Any) -> int:
        name = self._inside(path)
        with self._gate:
            if name is not None and flags & _WRITING:
                self._reached("open")
                self._begun(name)
            handle: int = self._real["open"](path, flags, *more, **named)
            if name is not None:
                self._handles[handle] = name
            return handle

    def _file(self, path: Any, mode: str = "r", *more: Any, **named: Any) -> Any:
        name = self._inside(path) if isinstance(path, str | bytes | os.PathLike) else None
        if name is None or not set(mode) & set("wax+"):
            return self._real["file"](path, mode, *more, **named)
        with self._gate:
            self._reached("a file opened otherwise")
            self._begun(name)
            file = self._real["file"](path, mode, *more, **named)
            self._handles[file.fileno()] = name
            return file

    def _begun(self, name: str) -> None:
        self.unsynced.setdefault(name, os.stat(name).st_size if os.path.exists(name) else 0)  # noqa: PTH110, PTH116
        self.entries.add(os.path.dirname(name))  # noqa: PTH120

    def _write(self, handle: int, data: Any) -> int:
        name = self._handles.get(handle)
        if name is None:
            return int(self._real["write"](handle, data))
        with self._gate:
            self.unsynced.setdefault(name, os.fstat(handle).st_size)
            self._reached("write")
            half = len(data) // 2
            done = int(self._real["write"](handle, data[:half]))
            self._reached("half a write")
            return done + (int(self._real["write"](handle, data[done:])) if done == half else 0)

    def _fsync(self, handle: int) -> None:
        name = self._handles.get(handle)
        if name is None:
            self._real["fsync"](handle)
            return
        with self._gate:
            self._reached("fsync")
            self._real["fsync"](handle)
            self.unsynced.pop(name, None)
            self.entries.discard(name)

    def _ftruncate(self, handle: int, size: int) -> None:
        with self._gate:
            if handle in self._handles:
                self._reached("ftruncate")
            self._real["ftruncate"](handle, size)

    def _close(self, handle: int) -> None:
        with self._gate:
            self._handles.pop(handle, None)
            self._real["close"](handle)

    def _replace(self, old: Any, new: Any, **named: Any) -> None:
        name, other = self._inside(old), self._inside(new)
        with self._gate:
            if other is not None:
                self._reached("replace")
            self._real["replace"](old, new, **named)
            if name is not None and other is not None:
                self.unsynced.pop(other, None)
                if name in self.unsynced:
                    self.unsynced[other] = self.unsynced.pop(name)
                self._handles = {h: other if at == name else at for h, at in self._handles.items()}
                self.entries.add(os.path.dirname(other))  # noqa: PTH120

    def _by_name(self, call: str) -> Callable[..., Any]:
        def called(path: Any, *more: Any, **named: Any) -> Any:
            name = self._inside(path)
            if name is None:
                return self._real[call](path, *more, **named)
            with self._gate:
                self._reached(call)
                if call in ("unlink", "remove"):
                    self.unsynced.pop(name, None)
                return self._real[call](path, *more, **named)

        return called
