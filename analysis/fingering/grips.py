"""A *grip*: one placement for each note struck together, all in one position of the hand."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from analysis.fingering.placements import Placement

Grip = tuple[Placement, ...]


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
