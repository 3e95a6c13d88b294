"""Every way of stopping one note on a violin or a viola, by the letter-step frame.

Finger n in position p takes the letter p + n - 1 steps above the open string, and an accidental moves that finger
low or high. Positions count as Grove's Dictionary (1900, "Positions") does: first finger a second above the open
string is first position, a fourth above is third. Half position puts the first finger a semitone above the open string
and gives fingers 2, 3, 4 the letters of 1, 2, 3. Low and high second finger, low first, and the stretched fourth
follow the first-position chart (common practice).
"""

from __future__ import annotations

import enum
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from analysis.instruments import Instrument, OpenString
from analysis.music import Pitch

HIGHEST_POSITION = 12
HIGHEST_OPEN_POSITION = 7

# Where the first finger lies in each position, in semitones above the open string. Where the scale has two places for
# that letter (second, fifth, sixth, ninth, twelfth position) the hand lies between them.
_HAND = (1.0, 2.0, 3.5, 5.0, 7.0, 8.5, 10.5, 12.0, 14.0, 15.5, 17.0, 19.0, 20.5)

# How far above the hand's place each finger reaches, in semitones: least and most.
_REACH = {1: (-1.0, 1.0), 2: (0.5, 3.0), 3: (2.0, 4.5), 4: (4.0, 6.0)}
_DRAWN_BACK = (-1.5, -0.5)
_STRETCHED = (5.5, 6.0)

# Semitones above the open string of the finger's usual place for each letter step; a third has no middle place.
_USUAL = (0.0, 2.0, 3.5, 5.0, 7.0, 9.0, 10.0)


class Lie(enum.IntEnum):
    """How a finger lies in the hand frame."""

    OPEN = 0
    LOW = 1
    NORMAL = 2
    HIGH = 3
    EXTENDED = 4

    @property
    def word(self) -> str:
        """The word for it, lower case."""
        return self.name.lower()


def hand_place(position: int) -> float:
    """Semitones above the open string at which the first finger lies in ``position`` (0 = half position)."""
    return _HAND[position]


def position_name(position: int) -> str:
    """The trade name of a position: ``half``, ``1st``, ``2nd`` ...

    >>> position_name(0), position_name(3), position_name(11)
    ('half', '3rd', '11th')
    """
    if position == 0:
        return "half"
    return f"{position}{ {1: 'st', 2: 'nd', 3: 'rd'}.get(position, 'th') }"


@dataclass(frozen=True, slots=True, order=True)
class Placement:
    """One way of stopping one note: string (1 = highest), position of the hand, finger, and how the finger lies.

    ``place`` is the stop in semitones above the open string. For an open string ``position`` is where the hand waits.
    ``respelled``: the finger is the one the note would get under its other spelling (D sharp for E flat).
    """

    string: int
    position: int
    finger: int
    place: int
    lie: Lie
    respelled: bool = False

    @property
    def is_open(self) -> bool:
        """Whether the string sounds open."""
        return self.finger == 0

    @property
    def as_played(self) -> tuple[int, int | None, int]:
        """String, position and finger; no position for an open string, over which the hand may wait anywhere."""
        return self.string, None if self.is_open else self.position, self.finger

    @property
    def is_extension(self) -> bool:
        """Whether the finger leaves the hand frame: a stretched fourth or a first finger drawn back."""
        return self.lie is Lie.EXTENDED or (self.finger == 4 and self.place - hand_place(self.position) >= 6)


@lru_cache(maxsize=4096)
def placements(instrument: Instrument, pitch: Pitch) -> tuple[Placement, ...]:
    """Every placement of a sounding ``pitch``, in a fixed order: high string first, low position first."""
    if pitch.alter != int(pitch.alter):
        return ()
    found: dict[tuple[int, int, int], Placement] = {}
    for string in instrument.strings:
        for placement in _on_string(string, pitch):
            found.setdefault((placement.string, placement.position, placement.finger), placement)
    return tuple(sorted(found.values()))


def _on_string(string: OpenString, pitch: Pitch) -> Iterator[Placement]:
    place = int(pitch.midi - string.pitch.midi)
    if place == 0:
        for position in range(HIGHEST_OPEN_POSITION + 1):
            yield Placement(string.number, position, 0, 0, Lie.OPEN)
    if place <= 0:
        return
    steps = pitch.letter - string.pitch.letter
    yield from _stopped(string.number, place, steps, respelled=False)
    if pitch.alter != 0:
        yield from _stopped(string.number, place, steps + (1 if pitch.alter > 0 else -1), respelled=True)


def _stopped(string: int, place: int, steps: int, *, respelled: bool) -> Iterator[Placement]:
    """The stops of one string for a note ``steps`` letters above it: in the frame first, then out of it."""
    highest = HIGHEST_POSITION if string == 1 else HIGHEST_OPEN_POSITION
    for finger, position, reach, lie in _stops(steps, place):
        if 0 <= position <= highest and reach[0] <= place - hand_place(position) <= reach[1]:
            yield Placement(string, position, finger, place, lie, respelled)


def _stops(steps: int, place: int) -> Iterator[tuple[int, int, tuple[float, float], Lie]]:
    """Finger, position, reach and lie of each stop that the letter allows, whether or not the hand gets there."""
    usual = _USUAL[steps % 7] + 12 * (steps // 7)
    lie = Lie.NORMAL if place == usual else Lie.LOW if place < usual else Lie.HIGH
    if place == 1 and steps in (0, 1):
        # A semitone above the open string: half position, or first position with the first finger low.
        yield 1, 0, _REACH[1], Lie.NORMAL
        yield 1, 1, _REACH[1], Lie.LOW
    for finger in (1, 2, 3, 4):
        yield finger, steps - finger + 1, _REACH[finger], lie
    if steps > 4:
        yield 4, steps - 4, _STRETCHED, Lie.EXTENDED
    if steps > 0:
        yield 1, steps + 1, _DRAWN_BACK, Lie.EXTENDED
