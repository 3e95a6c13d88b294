"""Where a click falls: on every beat, stronger on the first; in compound metres the dotted beat: common practice."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from analysis.music import Measure

# From so short a unit on, or in six or more units, threes make one beat; three eighths make a bar of three.
_THREES, _SIX = 3, 6


@dataclass(frozen=True, slots=True)
class Click:
    """A click at a second; ``accented`` on the first beat of a measure."""

    start: float
    accented: bool


@dataclass(frozen=True, slots=True)
class Beat:
    """A beat at ``onset`` quarter notes; ``first``: it begins a measure."""

    onset: Fraction
    first: bool


def beat_length(time: tuple[int, int]) -> Fraction:
    """How many quarter notes a beat of a metre lasts.

    >>> [str(beat_length(time)) for time in ((4, 4), (6, 8), (2, 2), (3, 8), (7, 8))]
    ['1', '3/2', '2', '1/2', '1/2']
    """
    unit = Fraction(4, time[1])
    return _THREES * unit if time[0] % _THREES == 0 and time[0] >= _SIX else unit


def beats(measure: Measure) -> Iterator[Beat]:
    """The beats of a measure; those before a pickup are missing."""
    each, full = beat_length(measure.time), Fraction(4 * measure.time[0], measure.time[1])
    place = -(-measure.offset // each) * each
    while place < measure.offset + measure.length:
        yield Beat(measure.onset + place - measure.offset, place % full == 0)
        place += each


def counted_in(measure: Measure) -> tuple[Beat, ...]:
    """The beats counted from 0 on before a measure: a whole one, and what is missing before a pickup."""
    each, full = beat_length(measure.time), Fraction(4 * measure.time[0], measure.time[1])
    length = full + measure.offset
    count = -(-length // each)
    return tuple(Beat(k * each, (k * each) % full == 0) for k in range(int(count)))


def count_in_length(measure: Measure) -> Fraction:
    """How many quarter notes pass before a measure that is counted in."""
    return Fraction(4 * measure.time[0], measure.time[1]) + measure.offset
