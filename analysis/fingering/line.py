"""A voice as it is played: its stages in written order, the rules at each, and the seams where playing jumps."""

from __future__ import annotations

import bisect
import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import cached_property

from analysis.fingering.grips import Grip
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.stages import GRACE_SECONDS, Stage
from analysis.instruments import Instrument
from analysis.music import Measure, Part


@dataclass(frozen=True, slots=True)
class Seam:
    """Two stages that are played one after the other though others may stand between them.

    ``first`` <= ``last`` are their places in the line. ``back``: playing goes from ``last`` back to ``first``, at the
    end of a repeated section; otherwise from ``first`` on to ``last``, over the endings between. ``arrival`` is the
    stage arrived at, with the times it has then.
    """

    first: int
    last: int
    back: bool
    arrival: Stage


@dataclass(frozen=True)
class Line:
    """The stages of one voice with what holds at each.

    ``rules``: those in force at each stage. ``standing``: how a stage is played wherever its figure comes, if it comes
    again. ``parted`` holds every k for which stage k + 1 is never played right after stage k.
    """

    instrument: Instrument
    stages: tuple[Stage, ...]
    rules: tuple[HouseRules, ...]
    standing: tuple[Grip | None, ...]
    seams: tuple[Seam, ...] = ()
    parted: frozenset[int] = frozenset()

    @cached_property
    def holding(self) -> tuple[int, ...]:
        """The stages at which notes are struck while others are still held by a tie from the stage before."""
        return tuple(index for index, stage in enumerate(self.stages) if index and stage.held)

    @cached_property
    def trilled(self) -> tuple[int, ...]:
        """The stages with a trill."""
        return tuple(k for k, stage in enumerate(self.stages) if any(note.trill is not None for note in stage.heads))

    def stretch(self, start: int, stop: int) -> Line:
        """The stages from ``start`` to before ``stop``, without seams."""
        return Line(
            self.instrument,
            self.stages[start:stop],
            self.rules[start:stop],
            self.standing[start:stop],
            parted=frozenset(k - start for k in self.parted if start <= k < stop - 1),
        )


def end_to_end(lines: Sequence[Line]) -> Line:
    """Lines of one instrument without seams as one, in which nothing is played from one into the next."""
    starts = list(itertools.accumulate((len(line.stages) for line in lines), initial=0))
    return Line(
        lines[0].instrument,
        tuple(itertools.chain.from_iterable(line.stages for line in lines)),
        tuple(itertools.chain.from_iterable(line.rules for line in lines)),
        tuple(itertools.chain.from_iterable(line.standing for line in lines)),
        parted=frozenset(
            {start - 1 for start in starts[1:-1]}
            | {start + k for start, line in zip(starts, lines, strict=False) for k in line.parted}
        ),
    )


def seams(part: Part, stages: Sequence[Stage], default_tempo: float) -> tuple[Seam, ...]:
    """The seams of repeats and endings in a voice of ``part``, in the order of their first stage."""
    made = _Seams(part, stages, default_tempo)
    return tuple(sorted(made.found(), key=lambda seam: (seam.first, seam.last)))


def parted(part: Part, stages: Sequence[Stage]) -> frozenset[int]:
    """Every k for which stages k and k + 1 lie in two endings of one section."""
    measures = part.measures
    return frozenset(
        k
        for k, (here, there) in enumerate(itertools.pairwise(stages))
        if any(
            measures[index].repeat_back and measures[index].endings and measures[index + 1].endings
            for index in range(here.measure, there.measure)
        )
    )


class _Seams:
    """The walk over the repeats of one voice."""

    def __init__(self, part: Part, stages: Sequence[Stage], default_tempo: float) -> None:
        self.part, self.stages, self.tempo = part, stages, default_tempo
        self.measure_of = [stage.measure for stage in stages]

    def found(self) -> Iterator[Seam]:
        measures = self.part.measures
        start, body_end = 0, None
        for measure in measures:
            index = measure.index
            if measure.repeat_from:
                start, body_end = index, None
            if measure.endings and body_end is None:
                body_end = index - 1
            if not measure.repeat_back:
                continue
            yield from self._back(start, index)
            following = measures[index + 1] if index + 1 < len(measures) else None
            if measure.endings and following is not None and following.endings and body_end is not None:
                yield from self._over(start, body_end, index + 1)
            else:
                start, body_end = index + 1, None

    def _back(self, start: int, end: int) -> Iterator[Seam]:
        """From the last stage of measures ``start`` to ``end`` back to their first."""
        first, last = self._within(start, end)
        if first <= last:
            yield self._seam(first, last, back=True, left=self._end(end), entered=self.part.measures[start].onset)

    def _over(self, start: int, body_end: int, ending: int) -> Iterator[Seam]:
        """From the last stage before the endings to the first of a later ending."""
        first, last = self._within(start, body_end)[1], bisect.bisect_left(self.measure_of, ending)
        if self._within(start, body_end)[0] <= first and last < len(self.stages):
            onset = self.part.measures[ending].onset
            yield self._seam(first, last, back=False, left=self._end(body_end), entered=onset)

    def _within(self, start: int, end: int) -> tuple[int, int]:
        """The first and last stage in measures ``start`` to ``end``; the first is greater where there is none."""
        return bisect.bisect_left(self.measure_of, start), bisect.bisect_right(self.measure_of, end) - 1

    def _end(self, measure: int) -> Fraction:
        found: Measure = self.part.measures[measure]
        return found.onset + found.length

    def _seam(self, first: int, last: int, *, back: bool, left: Fraction, entered: Fraction) -> Seam:
        leaving, arriving = (last, first) if back else (first, last)
        before, after = self.stages[leaving], self.stages[arriving]
        wait = after.onset - entered
        seconds = 60.0 / self.part.tempo_at(after.onset, self.tempo)
        silence = max(Fraction(0), left - before.onset - before.quarters) + wait
        arrival = replace(
            after,
            seconds_since=max(seconds * float(max(Fraction(0), left - before.onset) + wait), GRACE_SECONDS),
            seconds_rest=seconds * float(silence),
            slurred=False,
            held=(),
            alternates=False,
            after_trill=before.trilled and not silence,
        )
        return Seam(first, last, back, arrival)
