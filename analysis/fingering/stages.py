"""A voice as the hand meets it: stage after stage, each with the grips that play it.

A *stage* is what sounds from one attack on: a note or a chord, with whatever is tied to it. A *grip* is one placement
for each of its notes, all in one position of the hand.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from analysis.fingering.placements import Placement
from analysis.music import Note, Part, Pitch

Grip = tuple[Placement, ...]

GRACE_SECONDS = 0.12


@dataclass(frozen=True, slots=True)
class Stage:
    """One attack of a voice.

    ``heads`` are the notes struck, from high to low; ``ids`` holds for each of them its own id and those tied on to it.
    Times: ``onset`` and ``quarters`` (length with ties) in quarter notes; ``seconds_since`` the attack before and
    ``seconds_rest`` of silence before this one. ``slurred``: a slur leads into it. ``held`` numbers the heads that are
    tied from the stage before while others are struck anew.
    """

    heads: tuple[Note, ...]
    ids: tuple[tuple[str, ...], ...]
    onset: Fraction
    quarters: Fraction
    seconds_since: float
    seconds_rest: float
    slurred: bool
    held: tuple[int, ...] = ()


def voices(part: Part) -> dict[tuple[int, str], list[Note]]:
    """The notes of each (staff, voice), in the order in which they are played."""
    found: dict[tuple[int, str], list[Note]] = {}
    for note in part.notes:
        found.setdefault((note.staff, note.voice), []).append(note)
    for notes in found.values():
        # Grace notes stand at the onset of the note they lead to, written before it.
        notes.sort(key=lambda note: note.onset)
    return found


def stages(part: Part, notes: Iterable[Note], default_tempo: float) -> tuple[Stage, ...]:
    """The stages of one voice; ``default_tempo`` in quarter notes a minute holds before the first tempo mark."""
    made: list[_Open] = []
    for struck in _attacks(notes):
        if made and made[-1].ties_on_to(struck):
            made[-1].tie_on(struck)
        else:
            made.append(_Open(struck))
    result: list[Stage] = []
    for before, stage in zip([None, *made], made, strict=False):
        result.append(stage.close(before, 60.0 / part.tempo_at(stage.onset, default_tempo)))
    return tuple(result)


def _attacks(notes: Iterable[Note]) -> Iterator[tuple[Note, ...]]:
    """Notes grouped into chords, each from high to low."""
    for _, group in itertools.groupby(notes, key=lambda note: (note.onset, note.chord or note.id)):
        yield tuple(sorted(group, key=lambda note: (-note.pitch.midi, note.id)))


class _Open:
    """A stage still being put together."""

    def __init__(self, struck: tuple[Note, ...]) -> None:
        self.heads = struck
        self.ids = [[note.id] for note in struck]
        self.last = struck
        self.onset = struck[0].onset
        self.end = max(note.onset + note.duration for note in struck)
        self.slurred_on = any(note.slurred_on for note in struck)

    def ties_on_to(self, struck: tuple[Note, ...]) -> bool:
        """Whether all of ``struck`` only goes on sounding from this stage."""
        here = [note.pitch for note in self.last if note.tied_on]
        return len(struck) == len(self.last) and all(note.tied_from and note.pitch in here for note in struck)

    def tie_on(self, struck: tuple[Note, ...]) -> None:
        for ids, note in zip(self.ids, struck, strict=True):
            ids.append(note.id)
        self.last = struck
        self.end = max(note.onset + note.duration for note in struck)
        self.slurred_on = any(note.slurred_on for note in struck)

    def close(self, before: _Open | None, seconds_a_quarter: float) -> Stage:
        since = seconds_a_quarter * float(self.onset - before.onset) if before else 4.0
        rest = max(0.0, seconds_a_quarter * float(self.onset - before.end)) if before else 4.0
        sounding = {note.pitch for note in before.last if note.tied_on} if before else set[Pitch]()
        return Stage(
            heads=self.heads,
            ids=tuple(tuple(ids) for ids in self.ids),
            onset=self.onset,
            quarters=self.end - self.onset,
            seconds_since=max(since, GRACE_SECONDS),
            seconds_rest=rest,
            slurred=before is not None and before.slurred_on,
            held=tuple(n for n, note in enumerate(self.heads) if note.tied_from and note.pitch in sounding),
        )


def grips(choices: Sequence[Sequence[Placement]]) -> tuple[Grip, ...]:
    """Every grip for a chord from the placements of its notes, high to low: one position, neighbouring strings, fingers
    in order along the string. One finger may lie across neighbouring strings at one place (a perfect fifth).

    A single note's grips are its placements.
    """
    if len(choices) == 1:
        return tuple((placement,) for placement in choices[0])
    if not choices:
        return ()
    # Note by note, so that a chord of many notes does not try every combination of their placements.
    found: list[Grip] = [(placement,) for placement in choices[0]]
    for choice in choices[1:]:
        found = [(*grip, placement) for grip in found for placement in choice if _joins(grip, placement)]
    return tuple(grip for grip in found if _holds(grip))


def _joins(grip: Grip, placement: Placement) -> bool:
    """Whether a placement lies in the same position as the others, on a string they leave free."""
    return placement.position == grip[0].position and all(placement.string != other.string for other in grip)


def _holds(grip: Grip) -> bool:
    strings = [placement.string for placement in grip]
    if len(set(strings)) < len(strings) or max(strings) - min(strings) >= len(strings):
        return False
    if len({placement.position for placement in grip}) > 1:
        return False
    stopped = sorted((p for p in grip if not p.is_open), key=lambda p: (p.finger, p.place, p.string))
    return all(_lie_together(low, high) for low, high in itertools.combinations(stopped, 2))


def _lie_together(low: Placement, high: Placement) -> bool:
    """Whether two stops with fingers in this order can be down at once."""
    apart = high.finger - low.finger
    if apart == 0:
        return low.place == high.place and abs(low.string - high.string) == 1
    return 0 <= high.place - low.place <= 2 * apart + 1
