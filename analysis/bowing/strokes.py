"""The strokes of the bow in one voice: what is played without a change of bow, ties, slurs and grace notes included."""

from __future__ import annotations

import enum
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from analysis.fingering.line import Seam, parted, seams
from analysis.fingering.stages import LONG_SILENCE, Stage
from analysis.music import Measure, Note, Part

# A silence of so many seconds lets the bow leave the string and come back: common practice, no source. It is a quarter
# rest in the quickest movement, an eighth rest in a moderate one.
RETAKE_SECONDS = 0.3
# A chord of so many notes wants the weight of the frog.
_FULL_CHORD = 3


class Weight(enum.IntEnum):
    """How heavy the place in the measure is at which a stroke begins."""

    LIGHT = 0
    HALF = 1
    FIRST = 2


@dataclass(frozen=True, slots=True)
class Stroke:
    """What is played in one bow.

    ``stages`` are played in it; ``main`` is the first of them that is no grace note, ``last`` the last note.
    ``seconds`` is how long it lasts, ``last_seconds`` how long its last stage does. ``before`` is the number of the
    stroke that is played before it, ``None`` where none is, or where strings were plucked meanwhile; ``silence`` the
    seconds of rest since then. ``loose``: the bow has time to begin on whichever side the player likes. ``mark``: the
    printed bow, "down" or "up", "" where none is.
    """

    stages: tuple[Stage, ...]
    main: Stage
    last: Note
    seconds: float
    last_seconds: float
    before: int | None
    silence: float
    loose: bool
    mark: str
    weight: Weight
    on_the_beat: bool

    @property
    def onset(self) -> Fraction:
        """Where it begins, in quarter notes from the start of the part."""
        return self.stages[0].onset

    @property
    def quarters(self) -> Fraction:
        """How long it lasts in quarter notes."""
        return self.stages[-1].onset + self.stages[-1].quarters - self.onset

    @property
    def measure(self) -> int:
        """The index of the measure in which it begins."""
        return self.main.measure

    @property
    def note(self) -> Note:
        """The note over which its bow is printed: the highest of the first chord."""
        return self.main.heads[0]

    @property
    def is_full_chord(self) -> bool:
        """Whether it begins with a chord of three notes or more."""
        return len(self.main.heads) >= _FULL_CHORD

    @property
    def is_single(self) -> bool:
        """Whether one attack is played in it, but for grace notes."""
        return sum(not stage.heads[0].grace for stage in self.stages) == 1

    @property
    def trembles(self) -> bool:
        """Whether the bow goes to and fro in it, so that it may end on either side."""
        return any(head.tremolo == "bowed" for stage in self.stages for head in stage.heads)


@dataclass(frozen=True, slots=True)
class Return:
    """A repeat: after stroke ``last`` stroke ``first`` is played again, after ``silence`` in seconds."""

    first: int
    last: int
    silence: float


@dataclass(frozen=True, slots=True)
class Strokes:
    """The strokes of one voice in written order, and the repeats that lead back among them."""

    every: tuple[Stroke, ...]
    returns: tuple[Return, ...]


def strokes(part: Part, stages: Sequence[Stage], default_tempo: float) -> Strokes:
    """The strokes of one voice of ``part``; ``default_tempo`` in quarter notes a minute, before the first mark."""
    jumps = seams(part, stages, default_tempo)
    apart = parted(part, stages)
    over = {seam.last: seam for seam in jumps if not seam.back and seam.last - 1 in apart}
    groups = list(_groups(stages, apart))
    stroke_of = {k: number for number, group in enumerate(groups) for k in group}
    made: list[Stroke] = []
    for group in groups:
        before, silence = _arrival(group[0], stages, stroke_of, over, apart)
        made.append(_stroke(part, [stages[k] for k in group], made, before, silence, default_tempo))
    back = tuple(
        Return(stroke_of[seam.first], stroke_of[seam.last], seam.arrival.seconds_rest)
        for seam in jumps
        if seam.back and seam.first in stroke_of and seam.last in stroke_of
    )
    return Strokes(tuple(made), back)


def _groups(stages: Sequence[Stage], apart: frozenset[int]) -> Iterator[list[int]]:
    """The numbers of the stages that are played in one bow, bow after bow; plucked ones are in none."""
    group: list[int] = []
    for k, stage in enumerate(stages):
        goes_on = bool(group) and group[-1] == k - 1 and k - 1 not in apart and _joins(stages, group, stage)
        if group and not goes_on:
            yield group
            group = []
        if not stage.plucked:
            group.append(k)
    if group:
        yield group


def _joins(stages: Sequence[Stage], group: Sequence[int], stage: Stage) -> bool:
    """Whether a stage is played in the bow of the group before it."""
    if stage.plucked:
        return False
    if all(stages[k].heads[0].grace for k in group):
        # Grace notes at the beginning of a bow go into the bow of the note they lead to.
        return True
    return bool(stage.slurred or stage.held or stage.alternates) and not any(head.bow for head in stage.heads)


def _arrival(
    k: int, stages: Sequence[Stage], stroke_of: dict[int, int], over: dict[int, Seam], apart: frozenset[int]
) -> tuple[int | None, float]:
    """The stroke that is played before the one that begins at stage ``k``, and the seconds of rest between them."""
    if k - 1 not in apart:
        return stroke_of.get(k - 1), stages[k].seconds_rest
    seam = over.get(k)
    if seam is None:
        return None, LONG_SILENCE
    return stroke_of.get(seam.first), seam.arrival.seconds_rest


def _stroke(
    part: Part,
    stages: Sequence[Stage],
    made: Sequence[Stroke],
    before: int | None,
    silence: float,
    default_tempo: float,
) -> Stroke:
    first = next((stage for stage in stages if not stage.heads[0].grace), stages[0])
    measure = part.measures[first.measure]
    seconds = [60 / part.tempo_at(stage.onset, default_tempo) * float(stage.quarters) for stage in stages]
    marks = [head.bow for stage in stages for head in stage.heads if head.bow]
    loose = before is None or silence >= RETAKE_SECONDS or ends_freely(made[before])
    return Stroke(
        stages=tuple(stages),
        main=first,
        last=part.note(stages[-1].ids[0][-1]),
        seconds=sum(seconds),
        last_seconds=seconds[-1],
        before=before,
        silence=silence,
        loose=loose,
        mark=marks[0] if marks else "",
        weight=weight(measure, first.onset),
        on_the_beat=_on_a_beat(measure, first.onset),
    )


def ends_freely(stroke: Stroke) -> bool:
    """Whether the bow may be lifted after a stroke: at a breath mark, a caesura or a fermata, or as it trembles."""
    return stroke.last.lifted or stroke.last.fermata or stroke.trembles


def weight(measure: Measure, onset: Fraction) -> Weight:
    """How heavy ``onset`` is in its measure: on the first beat, on the half of a measure that has one, elsewhere.

    The half is heavy in the even times from four beats on and in alla breve.
    """
    at = onset - measure.onset + measure.offset
    if at == 0:
        return Weight.FIRST
    beats, unit = measure.time
    halved = beats % 2 == 0 and (beats >= 4 or unit == 2)
    return Weight.HALF if halved and at * 2 == Fraction(4 * beats, unit) else Weight.LIGHT


def _on_a_beat(measure: Measure, onset: Fraction) -> bool:
    """Whether ``onset`` falls on a beat, as the lower number of the time counts them."""
    at = onset - measure.onset + measure.offset
    return at.numerator * measure.time[1] % (4 * at.denominator) == 0
