"""A file system in memory with too little room, in a mount namespace of its own: the kernel itself says it is full."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from tests.disk.jobs import JOBS
from tests.disk.trials import OLD, Found, is_left, working, wrongly_told

# 125 where nothing can be mounted. The first argument is the folder, the others are the command.
_SCRIPT = 'mount -t tmpfs -o size=256k tmpfs "$0" || exit 125; exec "$@"'
MOUNTED = ["sh", "-c", 'unshare -rm true || exit 125; exec unshare -rm sh -c "$0" "$@"', _SCRIPT]
_PAGE = 4096


def on_small_disk(folder: Path, jobs: list[str]) -> Found:
    """Do each job where the old file fits, and so much room is left: none, and a little less than what is needed."""
    offences: list[str] = []
    trials = 0
    with tempfile.TemporaryDirectory() as elsewhere, working(Path(elsewhere)) as worker:
        for job in (JOBS[name] for name in jobs if not JOBS[name].is_folder):
            apart = worker.fresh()
            worker.ask(job=job.name, folder=apart)
            size = (apart / job.name).stat().st_size
            for room in sorted({0, (size - 1) // _PAGE * _PAGE}):
                trials += 1
                (folder / job.name).write_bytes(OLD)
                _fill(folder, room)
                told = worker.ask(job=job.name, folder=folder)
                (folder / "filler").unlink()
                where = f"{job.name} with room for {room} of {size} bytes"
                if (folder / job.name).read_bytes() != OLD:
                    offences.append(f"{where}: the old file is not there")
                offences += [f"{where}: {path.name} is left over" for path in folder.iterdir() if is_left(path.name)]
                offences += [f"{where}: {sentence}" for sentence in wrongly_told(job, told, folder)]
                for path in folder.iterdir():
                    path.unlink()
    return Found(trials, tuple(offences))


def _fill(folder: Path, room: int) -> None:
    """Leave so much room in the folder, in whole pages."""
    free = os.statvfs(folder)
    size = free.f_bavail * free.f_frsize - room
    with (folder / "filler").open("wb") as file:
        file.write(bytes(max(size, 0)))
