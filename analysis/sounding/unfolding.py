"""A part written out as it is played: repeats and endings one after the other, times counted from the beginning."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import TypeVar

from analysis.music import DynamicMark, Hairpin, Measure, Part, Tempo, Transposition

_Change = TypeVar("_Change", Tempo, DynamicMark, Transposition)


@dataclass(frozen=True, slots=True)
class Run:
    """Measures (indices, both included) played straight on, ``shift`` quarter notes later than they are written."""

    first: int
    last: int
    shift: Fraction


def runs(measures: Sequence[Measure], order: Sequence[int], begin: Fraction = Fraction(0)) -> tuple[Run, ...]:
    """The straight runs of an order of measures that begins at ``begin`` quarter notes."""
    found: list[Run] = []
    now = begin
    for index in order:
        if found and found[-1].last == index - 1:
            found[-1] = replace(found[-1], last=index)
        else:
            found.append(Run(index, index, now - measures[index].onset))
        now += measures[index].length
    return tuple(found)


def unfold(part: Part, every: Sequence[Run]) -> Part:
    """The part written out run by run: a straight part, in which a note that is played twice stands twice."""
    here = [run for run in every if run.first < len(part.measures)]
    measures = [
        replace(part.measures[index], index=0, onset=part.measures[index].onset + run.shift)
        for run in here
        for index in range(run.first, min(run.last, len(part.measures) - 1) + 1)
    ]
    notes = [
        replace(note, onset=note.onset + run.shift)
        for run in here
        for index in range(run.first, run.last + 1)
        for note in part.notes_in(index)
    ]
    return Part(
        part.id,
        part.name,
        tuple(replace(measure, index=index) for index, measure in enumerate(measures)),
        tuple(notes),
        part.transpose,
        tuple(_carried(part, here, part.tempi)),
        tuple(_transpositions(part, here)),
        dynamics=tuple(_carried(part, here, part.dynamics)),
        hairpins=tuple(sorted(_hairpins(part, here), key=lambda hairpin: hairpin.onset)),
    )


def _start(part: Part, run: Run) -> Fraction:
    return part.measures[run.first].onset


def _end(part: Part, run: Run) -> Fraction:
    last = part.measures[min(run.last, len(part.measures) - 1)]
    return last.onset + last.length


def _onset(change: Tempo | DynamicMark | Transposition) -> Fraction:
    return change.onset


def _within(part: Part, run: Run, changes: Sequence[_Change]) -> Sequence[_Change]:
    """The changes after the beginning of a run and before its end."""
    low = bisect_right(changes, _start(part, run), key=_onset)
    return changes[low : bisect_left(changes, _end(part, run), key=_onset)]


def _carried(part: Part, every: Sequence[Run], changes: Sequence[_Change]) -> Iterator[_Change]:
    """What is in force as each run begins, and the changes within it, at the times at which they are played."""
    for run in every:
        start = _start(part, run)
        before = bisect_right(changes, start, key=_onset)
        if before:
            yield replace(changes[before - 1], onset=start + run.shift)
        yield from (replace(change, onset=change.onset + run.shift) for change in _within(part, run, changes))


def _transpositions(part: Part, every: Sequence[Run]) -> Iterator[Transposition]:
    """As ``_carried``; before the first change the part's own transposition is in force."""
    for run in every if part.transpositions else ():
        start = _start(part, run)
        yield Transposition(start + run.shift, part.transpose_at(start))
        yield from (
            replace(change, onset=change.onset + run.shift) for change in _within(part, run, part.transpositions)
        )


def _hairpins(part: Part, every: Sequence[Run]) -> Iterator[Hairpin]:
    for run in every:
        start, end = _start(part, run), _end(part, run)
        for hairpin in part.hairpins:
            if hairpin.onset < end and hairpin.end > start:
                onset = max(hairpin.onset, start) + run.shift
                yield Hairpin(onset, min(hairpin.end, end) + run.shift, hairpin.grows)
