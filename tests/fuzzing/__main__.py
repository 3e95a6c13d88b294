"""``python -m tests.fuzzing --cases N [--seed S] [--jobs J] [--engrave]``; ``--case NUMBER`` runs and tells of one."""

from __future__ import annotations

import argparse
import signal
import sys
import tempfile
import threading
from pathlib import Path

from tests.fuzzing.campaign import run
from tests.fuzzing.cases import case
from tests.fuzzing.trial import trial


def main() -> int:
    """Run what is asked for; 1 when a case failed."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzzing", description="Open damaged scores by the thousand.")
    parser.add_argument("--cases", type=int, default=1_000, help="how many cases (default: 1000)")
    parser.add_argument("--first", type=int, default=0, help="the number of the first (default: 0)")
    parser.add_argument("--seed", type=int, default=1, help="the seed that all cases follow from (default: 1)")
    parser.add_argument("--jobs", type=int, default=1, help="how many at once (default: 1)")
    parser.add_argument("--engrave", action="store_true", help="engrave what opens, in a process of its own")
    parser.add_argument("--case", type=int, help="run only the case of this number, here, and keep its file")
    asked = parser.parse_args()
    if asked.case is not None:
        return _run_one(asked.seed, asked.case)
    numbers = range(asked.first, asked.first + asked.cases)
    stop = threading.Event()
    signal.signal(signal.SIGINT, lambda *_: stop.set())  # what has been found so far is reported
    report = run(asked.seed, numbers, jobs=asked.jobs, engraving=asked.engrave, tell=_tell, stop=stop)
    sys.stdout.writelines(f"{line}\n" for line in report.lines())
    return 1 if report.faults else 0


def _tell(line: str) -> None:
    sys.stderr.write(f"{line}\n")
    sys.stderr.flush()


def _run_one(seed: int, number: int) -> int:
    folder = Path(tempfile.mkdtemp(prefix="fuzzing-"))
    one = case(seed, number)
    sys.stdout.write(f"{folder / one.name}\n")
    refused, part = trial(one, folder)
    sys.stdout.write(f"{refused or f'opened, {len(part)} characters to engrave'}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
