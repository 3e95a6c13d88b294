"""A score, or some measures of it, as it is heard: tones, clicks, and which written notes sound when."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

from analysis.instruments import Instrument
from analysis.music import Measure, Part, Score
from analysis.sounding.beats import Click, beat_length, beats, count_in_length, counted_in
from analysis.sounding.clock import Clock
from analysis.sounding.order import played_order
from analysis.sounding.tones import Head, Tone, tones_of
from analysis.sounding.unfolding import Run, runs, unfold

USUAL_TEMPO = 88.0


@dataclass(frozen=True, slots=True)
class Metre:
    """A time signature (beats, beat type) from ``onset`` quarter notes on."""

    onset: Fraction
    time: tuple[int, int]


@dataclass(frozen=True, slots=True)
class Performance:
    """What is heard. Seconds count from the first click or tone; the music itself lasts from ``begin`` to ``end``.

    ``tones`` of all parts and ``clicks`` are in the order of time; ``heads`` tells by part which notes are being
    played. ``clock`` turns quarter notes into seconds; ``metres`` are the time signatures.
    """

    tones: tuple[Tone, ...]
    clicks: tuple[Click, ...]
    heads: Mapping[str, tuple[Head, ...]]
    clock: Clock
    metres: tuple[Metre, ...]
    begin: float
    end: float


def perform(
    score: Score,
    measures: tuple[int, int] | None = None,
    *,
    factor: float = 1.0,
    count_in: bool = False,
    instruments: Mapping[str, Instrument | None] | None = None,
    default_tempo: float = USUAL_TEMPO,
) -> Performance:
    """Perform a score as it is written, or the measures from one index to another, ``factor`` times as fast.

    Repeats are played (see ``played_order``). ``count_in``: a measure of clicks comes first. ``instruments`` by part
    tell what a touched string gives. ``default_tempo``, in quarter notes a minute, holds before the first tempo mark.
    """
    grid = max((part.measures for part in score.parts), key=len)
    first, last = measures or (0, len(grid) - 1)
    order = played_order(grid, first, last)
    lead = _lead(score, grid[first], count_in=count_in)
    every = runs(grid, order, lead)
    straight = {part.id: unfold(part, every) for part in score.parts}
    longest = max(straight.values(), key=lambda part: len(part.measures))
    clock = Clock.of(longest.tempi, longest.tempo_at(lead, default_tempo), factor)
    played = {part.id: tones_of(part, clock, (instruments or {}).get(part.id)) for part in straight.values()}
    tones = sorted((tone for found, _ in played.values() for tone in found), key=lambda tone: tone.start)
    clicks = [Click(clock.at(beat.onset), beat.first) for measure in longest.measures for beat in beats(measure)]
    if count_in:
        clicks = [*(Click(clock.at(beat.onset), beat.first) for beat in counted_in(grid[first])), *clicks]
    return Performance(
        tuple(tones),
        tuple(clicks),
        MappingProxyType({part_id: heads for part_id, (_, heads) in played.items()}),
        clock,
        tuple(_metres(longest.measures, count_in=count_in)),
        clock.at(lead),
        clock.at(_end(grid, every)),
    )


def written_tempo(score: Score, measure: int = 0, default_tempo: float = USUAL_TEMPO) -> float:
    """The tempo in quarter notes a minute in which a measure (index) begins."""
    grid = max((part.measures for part in score.parts), key=len)
    return score.parts[0].tempo_at(grid[measure].onset, default_tempo)


def _lead(score: Score, first: Measure, *, count_in: bool) -> Fraction:
    """The quarter notes before the music: the count-in, or a silent beat where grace notes come before the first."""
    if count_in:
        return count_in_length(first)
    graced = any(_begins_with_grace(part, first) for part in score.parts)
    return beat_length(first.time) if graced else Fraction(0)


def _begins_with_grace(part: Part, first: Measure) -> bool:
    return any(note.grace and note.onset == first.onset for note in part.notes_in(first.index))


def _end(grid: Sequence[Measure], every: Sequence[Run]) -> Fraction:
    last = every[-1]
    return grid[last.last].onset + grid[last.last].length + last.shift


def _metres(measures: Sequence[Measure], *, count_in: bool) -> list[Metre]:
    found: list[Metre] = []
    for measure in measures:
        if not found or found[-1].time != measure.time:
            found.append(Metre(measure.onset if found or not count_in else Fraction(0), measure.time))
    return found
