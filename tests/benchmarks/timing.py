"""Times as ratios of medians, taken in turn in one run; and music made longer, to see how times grow."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from dataclasses import replace

from analysis.music import Measure, Note, Part

RUNS = 7


def seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def ratio(ours: Callable[[], object], theirs: Callable[[], object], *, runs: int = RUNS) -> float:
    taken = [(seconds(ours), seconds(theirs)) for _ in range(runs)]
    return statistics.median(one for one, _ in taken) / statistics.median(other for _, other in taken)


def times(part: Part, count: int) -> Part:
    """The part's music so many times in a row."""
    length = part.measures[-1].onset + part.measures[-1].length
    measures: list[Measure] = []
    notes: list[Note] = []
    for number in range(count):
        onset, first = number * length, number * len(part.measures)
        measures += [replace(m, index=m.index + first, onset=m.onset + onset) for m in part.measures]
        notes += [
            replace(note, id=f"{note.id}x{number}", onset=note.onset + onset, measure=note.measure + first,
                    chord=None if note.chord is None else f"{note.chord}x{number}")
            for note in part.notes
        ]  # fmt: skip
    keys = [replace(key, onset=key.onset + number * length) for number in range(count) for key in part.keys]
    return replace(part, measures=tuple(measures), notes=tuple(notes), keys=tuple(keys))
