"""The whole job over all of music21's corpus: open, finger, watch, engrave, print, export, open again.

Run from the project's root: ``python -m tests.benchmarks.corpus [--sample K] [--jobs N]``. Every MusicXML file of the
corpus is worked through, and of its ABC and kern files every one of a single part within the violin's range. Parts that
no string player is known for are fingered as ``--instrument violin`` has them. Each score has a time limit, and a
process that it may break. Smaller files come first; what is found until Ctrl-C is reported, and with ``--record FILE``
another run goes on from there. What is refused or goes wrong without standing in :data:`EXPLAINED` ends the run with
status 1.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import TimeoutError as TimeLimitError
from dataclasses import asdict
from multiprocessing import get_context
from pathlib import Path
from types import MappingProxyType

from pebble import ProcessExpired, ProcessPool
from tqdm import tqdm

from tests.benchmarks.one_score import STEPS, Outcome, Refused, outcome_of
from tests.engraving.corpus import corpus_folder

_SCORES = (".mxl", ".musicxml", ".xml")
_TUNES = (".abc", ".krn")
_LIMIT = 600.0  # seconds for one score on a busy machine
_A_PROCESS = 50  # scores, after which it is begun afresh
_SLOWEST = 10

# Files that are refused, with the reason why nothing else can be done with them.
EXPLAINED = MappingProxyType[str, str](
    {
        "demos/drum_sample.xml": "drums alone: no part of a string player, so there is nothing to print",
        "ryansMammoth/WinnicksFavoriteJig.abc": "music21 reads it, but cannot write its tempo mark as MusicXML",
    }
)


def score_names() -> list[str]:
    """Every file of the sweep as a path in the corpus: MusicXML first, then tunes, each from small to large."""
    folder = corpus_folder()
    found = [path for path in folder.rglob("*") if path.suffix in (*_SCORES, *_TUNES)]
    found.sort(key=lambda path: (path.suffix in _TUNES, path.stat().st_size, path.as_posix()))
    return [path.relative_to(folder).as_posix() for path in found]


def sample(names: Sequence[str], count: int) -> list[str]:
    """``count`` of the names at even distances, the first among them."""
    return [names[number * len(names) // count] for number in range(min(count, len(names)))]


def sweep(names: Sequence[str], jobs: int = 1, limit: float = _LIMIT) -> Iterator[Outcome]:
    """What came of each score, in the order of ``names``."""
    with ProcessPool(max_workers=jobs, max_tasks=_A_PROCESS, context=get_context("spawn")) as pool:
        try:
            waiting = [pool.schedule(outcome_of, args=(name,), timeout=limit) for name in names]
            for name, future in zip(names, waiting, strict=True):
                try:
                    yield future.result()
                except TimeLimitError:
                    yield Outcome(name, refused=Refused("time", f"took more than {limit:g} seconds", known=False))
                except ProcessExpired as error:
                    yield Outcome(
                        name, refused=Refused("crash", f"its process ended with {error.exitcode}", known=False)
                    )
        finally:
            pool.stop()


def failures(outcomes: Sequence[Outcome]) -> list[str]:
    """What is refused without being explained, goes wrong, or is explained and works all the same."""
    found = []
    for one in outcomes:
        if one.refused is not None and (one.name not in EXPLAINED or not one.refused.known):
            found.append(f"{one.name}: {one.refused.step}: {one.refused.text}")
        if one.refused is None and one.name in EXPLAINED:
            found.append(f"{one.name} is read now, and still explained")
    return found


def report(outcomes: Sequence[Outcome]) -> Iterator[str]:
    """The figures as lines of text."""
    done = [one for one in outcomes if one.refused is None and not one.left_out]
    total = Counter[str]()
    for one in done:
        total.update(one.counts)
    yield f"{len(outcomes)} files, {len(done)} worked through"
    for reason, count in Counter(one.left_out for one in outcomes if one.left_out).most_common():
        yield f"{count:8}  left out: {reason}"
    yield from (f"{count:8}  {what}" for what, count in total.items())
    seconds = Counter[str]()
    for one in done:
        seconds.update(one.seconds)
    whole = sum(seconds.values()) or 1.0
    yield "share of the time: " + ", ".join(f"{step} {seconds[step] / whole:.0%}" for step in STEPS)
    yield f"the slowest {_SLOWEST}, in seconds"
    for one in sorted(done, key=lambda one: -one.time)[:_SLOWEST]:
        yield f"{one.time:8.1f}  {one.name}, {one.counts['notes']} notes"
    yield "the most memory, in MB"
    for one in sorted(done, key=lambda one: -one.peak_mb)[:_SLOWEST]:
        yield f"{one.peak_mb:8.0f}  {one.name}, {one.counts['notes']} notes"
    yield from (
        f"refused: {one.name}: {EXPLAINED[one.name]}" for one in outcomes if one.refused and one.name in EXPLAINED
    )
    yield from (f"FAILED: {line}" for line in failures(outcomes))


def recorded(path: Path) -> list[Outcome]:
    """What an earlier run kept in a file; nothing where there is none."""
    if not path.exists():
        return []
    found = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    return [Outcome(**one | {"refused": one["refused"] and Refused(**one["refused"])}) for one in found]


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sample", metavar="K", type=int, help="only K of the files, small and large")
    parser.add_argument("--jobs", metavar="N", type=int, default=1, help="how many scores at once (default: 1)")
    parser.add_argument("--only", metavar="TEXT", default="", help="only files whose path holds this text")
    parser.add_argument("--after", metavar="PATH", help="only files that come after this one")
    parser.add_argument("--record", metavar="FILE", type=Path, help="keep what is found here, and go on from it")
    arguments = parser.parse_args()
    names = [name for name in score_names() if arguments.only in name]
    if arguments.after is not None:
        names = names[names.index(arguments.after) + 1 :]
    if arguments.sample is not None:
        names = sample(names, arguments.sample)
    outcomes = recorded(arguments.record) if arguments.record else []
    known = {one.name for one in outcomes}
    left = [name for name in names if name not in known]
    try:
        for one in tqdm(sweep(left, arguments.jobs), total=len(left), unit="score", mininterval=5.0):
            outcomes.append(one)
            if arguments.record:
                with arguments.record.open("a", encoding="utf-8") as file:
                    file.write(f"{json.dumps(asdict(one))}\n")
            for line in failures([one]):
                tqdm.write(line, file=sys.stderr)
    except KeyboardInterrupt:
        print("stopped")
    print("\n".join(report(outcomes)))
    return 1 if failures(outcomes) else 0


if __name__ == "__main__":
    sys.exit(main())
