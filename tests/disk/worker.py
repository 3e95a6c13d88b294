"""A process that does jobs in copies of itself, each of which may be killed on the way; everything is loaded once only.

It reads orders from its input, one a line, in JSON: the ``job``, the ``score``, the ``folder`` to write to, and what
happens ``at`` which point: it is killed, or the disk is full from there on (``full``). For each it answers one line:
the exit ``status`` (minus the signal of a kill), what was ``said``, the ``calls`` made, and what the disk may not have.
"""

from __future__ import annotations

import errno
import importlib
import io
import json
import os
import signal
import sys
import traceback
from pathlib import Path
from typing import Any

from app.cli.opening import COMMANDS
from app.errors import AppError
from engraving.errors import EngravingError
from tests.disk.jobs import JOBS
from tests.disk.journals import write_journal
from tests.disk.points import Points

JOURNAL = "work.journal"
# What the commands load when they begin, loaded before there are copies.
_LOADED = [f"app.cli.{name}" for name in COMMANDS] + ["app.sound.files", "PySide6.QtGui", "verovio"]
_NEEDS_ROOM = ("open", "write", "half a write", "fsync", "mkdir", "replace", "a file opened otherwise")


def answer(order: dict[str, Any]) -> dict[str, Any]:
    """Do what is ordered in a copy of this process."""
    read, write = os.pipe()
    pid = os.fork()
    if not pid:
        os.close(read)
        _work(order, write)
    os.close(write)
    with os.fdopen(read, "rb") as pipe:
        told = pipe.read()
    status = os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1])
    return {"said": "", **(json.loads(told.splitlines()[-1]) if told.strip() else {}), "status": status}


def _work(order: dict[str, Any], pipe: int) -> None:
    """The copy: never comes back."""
    at, full = order.get("at", 0), order.get("full", False)
    said = sys.stderr = sys.stdout = io.StringIO()
    shown = [0]
    write = os.write

    def tell(**more: Any) -> None:
        state = {"calls": points.calls, "unsynced": points.unsynced, "entries": sorted(points.entries)}
        write(pipe, json.dumps({**state, "said": said.getvalue(), "shown": shown[0], **more}).encode() + b"\n")

    def happen(number: int, call: str) -> None:
        if at and full and number >= at and call in _NEEDS_ROOM:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        if at == number and not full:
            tell()
            os.kill(os.getpid(), signal.SIGKILL)

    points = Points(Path(order["folder"]), happen)
    points.begin()
    status = 70
    try:
        if order["job"] == JOURNAL:
            write_journal(Path(order["folder"]) / JOURNAL, shown)
            status = 0
        else:
            status = _status(order)
    except BaseException:  # noqa: BLE001 - a bug is told to the process that asked
        traceback.print_exc()
    finally:
        tell()
        os._exit(status)


def _status(order: dict[str, Any]) -> int:
    """As the program ends: 2 with a sentence for what the user can mend."""
    job = JOBS[order["job"]]
    try:
        return job.write(Path(order["score"]), Path(order["folder"]) / job.name)
    except (AppError, EngravingError) as error:
        sys.stderr.write(f"handframe: {error}\n")
        return 2


def main() -> None:
    """Answer orders until there are no more."""
    os.environ["QT_QPA_PLATFORM"] = "offscreen"
    for module in _LOADED:
        importlib.import_module(module)
    out = sys.stdout
    for line in sys.stdin:
        out.write(json.dumps(answer(json.loads(line))) + "\n")
        out.flush()


if __name__ == "__main__":
    main()
