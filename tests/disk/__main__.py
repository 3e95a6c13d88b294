"""``python -m tests.disk``: every file that Handframe writes, killed and on a full disk at every point; what was found.

``--rounds N``: how often a window's journal is killed at a random moment (200). ``--jobs NAME ...``: these files only.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from tests.app.job.recovery.kills import editing, killed_often
from tests.disk.jobs import JOBS
from tests.disk.small_disk import MOUNTED, on_small_disk
from tests.disk.trials import Found, full, journal_killed, killed, working


def main() -> int:
    """Try all, tell a line for each and every offence; 1 where there is one."""
    parser = argparse.ArgumentParser(prog="python -m tests.disk", description=__doc__)
    parser.add_argument("--rounds", metavar="N", type=int, default=200)
    parser.add_argument("--jobs", metavar="NAME", nargs="+", choices=list(JOBS), default=list(JOBS))
    parser.add_argument("--small-disk", metavar="FOLDER", type=Path, help=argparse.SUPPRESS)
    asked = parser.parse_args()
    if asked.small_disk is not None:
        return _tell("on a disk with too little room", lambda: on_small_disk(asked.small_disk, asked.jobs))
    wrong = 0
    with tempfile.TemporaryDirectory() as name, working(Path(name)) as worker:
        wrong += _tell("journal, killed at every point", lambda: journal_killed(worker))
        for job in asked.jobs:
            wrong += _tell(f"{job}, killed at every point", lambda job=JOBS[job]: killed(worker, job))
            wrong += _tell(f"{job}, disk full from every point on", lambda job=JOBS[job]: full(worker, job))
    wrong += _small_disk(asked.jobs)
    wrong += _tell(f"window, killed {asked.rounds} times at random", lambda: _windows(asked.rounds))
    return int(wrong > 0)


def _tell(what: str, trial: Callable[[], Found]) -> int:
    begin = time.perf_counter()
    found = trial()
    seconds = time.perf_counter() - begin
    sys.stdout.write(f"{what:50} {found.points:5} points {len(found.offences):5} offences {seconds:7.1f} s\n")
    sys.stdout.writelines(f"    {offence}\n" for offence in found.offences)
    sys.stdout.flush()
    return len(found.offences)


def _small_disk(jobs: list[str]) -> int:
    """The same on a file system in memory that has no room, where this user may mount one."""
    with tempfile.TemporaryDirectory() as name:
        command = [sys.executable, "-m", "tests.disk", "--small-disk", name, "--jobs", *jobs]
        done = subprocess.run([*MOUNTED, name, *command], check=False)
    if done.returncode == 125:
        sys.stdout.write("no small disk can be mounted here; that trial is left out\n")
        return 0
    return done.returncode


def _windows(rounds: int) -> Found:
    with tempfile.TemporaryDirectory() as name, editing(Path(name)) as editor:
        shown = killed_often(editor, Path(name), rounds, seed=2)
    return Found(sum(shown), ())


if __name__ == "__main__":
    sys.exit(main())
