"""The trials: kill a job, or let the disk be full, at each of its points, and look at what is left."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.disk.jobs import MUSIC, Job
from tests.disk.journals import offence
from tests.disk.worker import JOURNAL

OLD = b"the old file, whole"
_LEFT = (".handframe-", ".part")


@dataclass(frozen=True)
class Found:
    """What came of a job: its ``points``, and a sentence for each offence."""

    points: int
    offences: tuple[str, ...]


class Worker:
    """The process that does jobs in copies of itself; see ``tests.disk.worker``."""

    def __init__(self, process: subprocess.Popen[str], folder: Path) -> None:
        self._process, self._folder, self._rounds = process, folder, 0
        self.score = folder / "two.musicxml"
        self.score.write_bytes(MUSIC)

    def fresh(self) -> Path:
        """A new empty folder."""
        self._rounds += 1
        folder = self._folder / str(self._rounds)
        folder.mkdir()
        return folder

    def ask(self, **order: Any) -> dict[str, Any]:
        """Have a job done."""
        assert self._process.stdin is not None
        assert self._process.stdout is not None
        self._process.stdin.write(json.dumps({"score": str(self.score), **order}, default=str) + "\n")
        self._process.stdin.flush()
        answer: dict[str, Any] = json.loads(self._process.stdout.readline())
        return answer


@contextmanager
def working(folder: Path) -> Iterator[Worker]:
    """A worker for as long as it is needed; it writes in folders of its own in ``folder``."""
    command = [sys.executable, "-m", "tests.disk.worker"]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE}
    with subprocess.Popen(command, **pipes, text=True) as process:
        yield Worker(process, folder)
        assert process.stdin is not None
        process.stdin.close()


def killed(worker: Worker, job: Job, step: int = 1) -> Found:
    """Kill a job at every point, or every few; after each, and after the power fails then, each file is old or new."""
    names, points, offences = _first(worker, job)
    for at in range(1, points + 1, step):
        folder = _with_old(worker, job, names)
        told = worker.ask(job=job.name, folder=folder, at=at)
        where = f"{job.name}, killed at {at} of {points}, {told['calls'][-1]}"
        if told["status"] != -9:
            offences.append(f"{where}: it ended with {told['status']}")
        offences += [f"{where}: {sentence}" for sentence in _unlike(folder, job, names)]
        _lose(told["unsynced"])
        offences += [f"{where}, power lost: {sentence}" for sentence in _unlike(folder, job, names)]
        shutil.rmtree(folder)
    return Found(points, tuple(offences))


def full(worker: Worker, job: Job, step: int = 1) -> Found:
    """Let the disk be full from every point on, or every few: one sentence, old files whole, nothing left over."""
    names, points, offences = _first(worker, job)
    for at in range(1, points + 1, step):
        folder = _with_old(worker, job, names)
        told = worker.ask(job=job.name, folder=folder, at=at, full=True)
        where = f"{job.name}, full from {at} of {points}, {told['calls'][at - 1]}"
        offences += [f"{where}: {sentence}" for sentence in _unlike(folder, job, names)]
        offences += [f"{where}: {path.name} is left over" for path in _under(folder) if is_left(path.name)]
        offences += [f"{where}: {sentence}" for sentence in wrongly_told(job, told, folder)]
        shutil.rmtree(folder)
    return Found(points, tuple(offences))


def wrongly_told(job: Job, told: dict[str, Any], folder: Path) -> Iterator[str]:
    """What is wrong with how a failure was told; where all was written nothing has to be."""
    new = all(path.read_bytes() != OLD for path in _under(folder))
    if told["status"] == 0 and (new or job.may_fail_silently):
        return
    if told["status"] != 2:
        yield f"it ended with {told['status']}: {told['said']}"
    said = told["said"]
    names = [path.name for path in _under(folder)] or [job.name]
    if said.count("\n") != 1 or str(folder) not in said or not any(name in said for name in (job.name, *names)):
        yield f"it said {said!r}"


def journal_killed(worker: Worker, step: int = 1) -> Found:
    """Kill a journal at every point, or every few: what the disk had taken is there, the power lost or not."""
    folder = worker.fresh()
    points, offences = len(worker.ask(job=JOURNAL, folder=folder)["calls"]), []
    for at in range(1, points + 1, step):
        folder = worker.fresh()
        told = worker.ask(job=JOURNAL, folder=folder, at=at)
        for power in ("", ", power lost"):
            if power:
                _lose(told["unsynced"])
            wrong = offence(folder / JOURNAL, told["shown"])
            if wrong:
                offences.append(f"{JOURNAL}, killed at {at} of {points}, {told['calls'][-1]}{power}: {wrong}")
        shutil.rmtree(folder)
    return Found(points, tuple(offences))


def is_left(name: str) -> bool:
    """Whether a file is one that was being written."""
    return name.startswith(_LEFT[0]) and name.endswith(_LEFT[1])


def _first(worker: Worker, job: Job) -> tuple[list[str], int, list[str]]:
    """The files of a job by their names, its points, and what is wrong where nothing gets in its way."""
    folder, offences = worker.fresh(), []
    worker.ask(job=job.name, folder=folder)
    names = [str(path.relative_to(folder)) for path in _under(folder)]
    again = _with_old(worker, job, names)
    told = worker.ask(job=job.name, folder=again)
    if told["status"] or not names:
        offences.append(f"{job.name}: {told['said']}")
    if "a file opened otherwise" in told["calls"]:
        offences.append(f"{job.name}: a file is written without the one function for it")
    if told["unsynced"] or told["entries"]:
        offences.append(f"{job.name}: the disk may not have {sorted(told['unsynced'])}, {told['entries']}")
    offences += [f"{job.name}: {name} is old" for name in names if (again / name).read_bytes() == OLD]
    offences += [f"{job.name}: {sentence}" for sentence in _unlike(again, job, names)]
    for data in ((again / name).read_bytes() for name in names):
        if _is_whole(job, data[: len(data) // 2]):
            offences.append(f"{job.name}: half of it is taken for a whole one")
    return names, len(told["calls"]), offences


def _with_old(worker: Worker, job: Job, names: list[str]) -> Path:
    """A folder in which the files stand that the job will replace."""
    folder = worker.fresh()
    for name in names:
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_bytes(OLD)
    return folder


def _under(folder: Path) -> list[Path]:
    return sorted(path for path in folder.rglob("*") if path.is_file())


def _unlike(folder: Path, job: Job, names: list[str]) -> Iterator[str]:
    """What is neither the old file nor a new one, whole."""
    there = {str(path.relative_to(folder)) for path in _under(folder) if not is_left(path.name)}
    if there != set(names):
        yield f"there is {sorted(there)}"
    for name in there & set(names):
        data = (folder / name).read_bytes()
        if data != OLD and not _is_whole(job, data):
            yield f"{name} is half written"


def _is_whole(job: Job, data: bytes) -> bool:
    try:
        return job.whole(data)
    except Exception:  # noqa: BLE001 - whatever a reader says of half a file
        return False


def _lose(unsynced: dict[str, int]) -> None:
    """Let the power fail: of what the disk was not asked to take, half is there."""
    for name, size in unsynced.items():
        if Path(name).exists():
            os.truncate(name, (size + Path(name).stat().st_size) // 2)
