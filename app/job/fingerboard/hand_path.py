"""The way of the hand through a passage: where on the string each note is stopped, and where the hand lies for it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from analysis.fingering.placements import hand_name
from analysis.fingering.plan import Plan


@dataclass(frozen=True, slots=True)
class Stop:
    """One note from ``onset`` to ``end`` in quarter notes: its string, and how far from the nut it is stopped, in mm.

    ``hand_mm``: where the first finger's place is, the thumb's in thumb position. ``hand``: the position's name. An
    open string is stopped at the nut.
    """

    onset: Fraction
    end: Fraction
    string: int
    stop_mm: float
    hand_mm: float
    hand: str


def hand_path(plan: Plan) -> tuple[Stop, ...]:
    """The notes of a plan in the order of their onsets, on the instrument in the size that is played."""
    instrument = plan.setting.played_on
    found = [
        Stop(
            stage.onset,
            stage.onset + stage.quarters,
            placement.string,
            instrument.distance_mm(placement.place),
            instrument.distance_mm(placement.hand),
            hand_name(placement, instrument),
        )
        for chain in plan.chains
        for stage, grip in zip(chain.stages, chain.chosen_path(), strict=True)
        for placement in grip
    ]
    return tuple(sorted(found, key=lambda stop: (stop.onset, stop.string)))


def furthest_mm(paths: Sequence[Sequence[Stop]]) -> float:
    """How far from the nut the hand comes in any of the ways; 0 where nothing is played."""
    return max((max(stop.stop_mm, stop.hand_mm) for path in paths for stop in path), default=0.0)
