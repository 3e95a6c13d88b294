"""A *grip*: one placement for each note struck together, all in one hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from analysis.fingering.frames.stops import THUMB, Frame, Lie, Placement, along_string
from analysis.fingering.placements import frame_named
from analysis.music import Pitch

Grip = tuple[Placement, ...]

# The finger that touches an artificial harmonic, by the one that stops its ground note.
_TOUCHING = {1: 4, THUMB: 3}


def grips(choices: Sequence[Sequence[Placement]], frame: str) -> tuple[Grip, ...]:
    """Every grip for a chord from the placements of its notes, high to low: one hand, neighbouring strings, fingers in
    order along the string. One finger may lie across neighbouring strings at one place (a perfect fifth; on the bass a
    fourth). Chords of three and four notes are rolled or broken by the bow; the hand holds them as one grip.

    A single note's grips are its placements. ``frame``: the instrument's, which says how far fingers spread.
    """
    if len(choices) == 1:
        return tuple((placement,) for placement in choices[0])
    if not choices:
        return ()
    # Note by note, so that a chord of many notes does not try every combination of their placements.
    known = frame_named(frame)
    found: list[Grip] = [(placement,) for placement in choices[0]]
    for choice in choices[1:]:
        by_hand: dict[tuple[int, float], list[Placement]] = {}
        for placement in choice:
            by_hand.setdefault((placement.position, placement.hand), []).append(placement)
        found = [
            (*grip, placement)
            for grip in found
            for placement in by_hand.get((grip[0].position, grip[0].hand), ())
            if all(_lie_together(known, other, placement) for other in grip)
        ]
    return tuple(grip for grip in found if _on_neighbouring_strings(grip))


def _on_neighbouring_strings(grip: Grip) -> bool:
    strings = [placement.string for placement in grip]
    return max(strings) - min(strings) < len(strings)


def _lie_together(frame: Frame, one: Placement, other: Placement) -> bool:
    """Whether two placements of one hand can be held at once, each on a string of its own."""
    if one.string == other.string:
        return False
    if one.is_open or other.is_open:
        return True
    if one.finger == other.finger:
        return one.place == other.place and abs(one.string - other.string) == 1
    low, high = sorted((one, other), key=lambda placement: along_string(placement.finger))
    return frame.together(low, high)


def artificial_grips(touched: Pitch, stops: Sequence[Placement], stopped: Pitch) -> tuple[Grip, ...]:
    """The grips of an artificial harmonic, the touched note first: one finger stops, another touches above it.

    ``stops`` are the placements of the stopped note. One string, one hand; fourth finger over first, third over thumb.
    """
    above = int(touched.midi - stopped.midi)
    return tuple(
        (replace(stop, finger=_TOUCHING[stop.finger], place=stop.place + above, lie=Lie.NORMAL, harmonic=True), stop)
        for stop in stops
        if stop.finger in _TOUCHING and not stop.respelled and above > 0
    )
