"""What a fingering asks of the hand and the bow, counted: the table by which two ways are compared."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields

from analysis.fingering.grips import Grip
from analysis.fingering.placements import Placement
from analysis.fingering.stages import Stage
from analysis.instruments import Instrument
from analysis.language import later


@dataclass(frozen=True, slots=True)
class Counts:
    """Counts over a passage; ``hand_travel_mm`` is the way of the first finger's place along the string."""

    notes: int = 0
    shifts: int = 0
    hand_travel_mm: float = 0.0
    crossings: int = 0
    single_crossings: int = 0
    open_strings: int = 0
    fourth_fingers: int = 0
    extensions: int = 0
    low_high_changes: int = 0
    effort: float = 0.0

    def __add__(self, other: Counts) -> Counts:
        return Counts(*(getattr(self, item.name) + getattr(other, item.name) for item in fields(self)))


# What each count is called, in the order in which a table shows them.
COUNT_NAMES = {
    "notes": later("Notes fingered"),
    "shifts": later("Shifts"),
    "hand_travel_mm": later("Hand travel, mm"),
    "crossings": later("String crossings"),
    "single_crossings": later("Crossings for a single note"),
    "open_strings": later("Open strings"),
    "fourth_fingers": later("Fourth fingers"),
    "extensions": later("Extensions"),
    "low_high_changes": later("Low/high changes"),
    "effort": later("Effort"),
}


def count(instrument: Instrument, voices: Iterable[tuple[Sequence[Stage], Sequence[Grip]]], effort: float) -> Counts:
    """Count what happens along each voice's stages with their chosen grips; ``effort`` in units is passed through."""
    total = Counts(effort=effort)
    for _, path in voices:
        total = total + _count_notes(path) + _count_moves(instrument, path)
    return total


def _count_notes(path: Sequence[Grip]) -> Counts:
    every = [placement for grip in path for placement in grip]
    return Counts(
        notes=len(every),
        open_strings=sum(placement.is_open for placement in every),
        fourth_fingers=sum(placement.finger == 4 for placement in every),
        extensions=sum(placement.is_extension for placement in every),
        low_high_changes=_low_high_changes(every),
    )


def _count_moves(instrument: Instrument, path: Sequence[Grip]) -> Counts:
    hands = [instrument.distance_mm(grip[0].hand) for grip in path]
    crossed = [_crosses(here, there) for here, there in itertools.pairwise(path)]
    single = [
        out and back and {p.string for p in a} == {p.string for p in c}
        for out, back, a, c in zip(crossed, crossed[1:], path, path[2:], strict=False)
    ]
    return Counts(
        shifts=sum(here[0].hand != there[0].hand for here, there in itertools.pairwise(path)),
        hand_travel_mm=sum(abs(there - here) for here, there in itertools.pairwise(hands)),
        crossings=sum(crossed),
        single_crossings=sum(single),
    )


def _crosses(here: Grip, there: Grip) -> bool:
    return not {placement.string for placement in here} & {placement.string for placement in there}


def _low_high_changes(every: Sequence[Placement]) -> int:
    """How often a finger comes back to a string in the same hand at another place than it last had there."""
    last: dict[tuple[int, float, int], int] = {}
    changes = 0
    for placement in every:
        if placement.finger:
            key = (placement.string, placement.hand, placement.finger)
            changes += last.get(key, placement.place) != placement.place
            last[key] = placement.place
    return changes
