"""A library of scores fingered on one process and on two: throughput as a ratio, and the memory of a process.

Run from the project's root: ``python -m tests.benchmarks.library [--sample K]``. The scores are copied from music21's
corpus: quartets, chorales and songs, small and large; all parts that no string player is known for are a violin's. How
a process grows is measured in a process of its own, which makes the same files again and again.
"""

from __future__ import annotations

import argparse
import resource
import shutil
import sys
from concurrent.futures import ProcessPoolExecutor
from contextlib import redirect_stderr, redirect_stdout
from io import StringIO
from multiprocessing import get_context
from pathlib import Path
from tempfile import TemporaryDirectory

from app.cli.library import PROCESS_LIFE, Asked, make_copies
from app.main import main as handframe
from tests.benchmarks.corpus import sample, score_names
from tests.benchmarks.memory import current_mb
from tests.benchmarks.timing import seconds
from tests.engraving.corpus import corpus_folder

GROWTH_PIECE = "bach/bwv300.mxl"
FORMATS = ("csv", "musicxml", "pdf")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sample", metavar="K", type=int, default=24, help="how many scores (default: 24)")
    arguments = parser.parse_args()
    with TemporaryDirectory() as folder:
        library = Path(folder) / "scores"
        names = [name for name in score_names() if name.endswith((".mxl", ".xml"))]
        for name in sample(names[: len(names) * 3 // 4], arguments.sample):
            (library / name).parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(corpus_folder() / name, library / name)
        taken = {jobs: seconds(lambda jobs=jobs: finger(library, Path(folder) / f"{jobs}", jobs)) for jobs in (1, 2)}
        again = seconds(lambda: finger(library, Path(folder) / "2", 2))
        peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    print(f"{arguments.sample} scores, {', '.join(FORMATS)}")
    print(f"{taken[1] / taken[2]:10.2f}  throughput of two processes over one")
    print(f"{again / taken[2]:10.3f}  a run that finds all done, over the run that did it")
    print(f"{peak:10.0f}  the most memory of a process, MB")
    with ProcessPoolExecutor(max_workers=1, mp_context=get_context("spawn")) as pool:
        for count, size in pool.submit(growth).result().items():
            print(f"{size:10.0f}  memory after {count} times the same score, MB")


def finger(library: Path, output: Path, jobs: int) -> None:
    formats = [word for name in FORMATS for word in ("--format", name)]
    with redirect_stdout(StringIO()), redirect_stderr(StringIO()):
        handframe(["finger", str(library), "-o", str(output), "--instrument", "violin", "--jobs", str(jobs), *formats])


def growth() -> dict[int, float]:
    """The memory of this process, in MB, after it has made so many times the files of one score."""
    asked = Asked("violin", None, None, FORMATS)
    sizes = {}
    for number in range(1, PROCESS_LIFE + 1):
        make_copies(corpus_folder() / GROWTH_PIECE, FORMATS, asked)
        if number in (1, PROCESS_LIFE // 4, PROCESS_LIFE // 2, PROCESS_LIFE):
            sizes[number] = current_mb()
    return sizes


if __name__ == "__main__":
    sys.exit(main())
