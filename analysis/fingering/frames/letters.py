"""The letter-step frame of violin and viola.

Finger n in position p takes the letter p + n - 1 steps above the open string, and an accidental moves that finger
low or high. Positions count as Grove's Dictionary (1900, "Positions") does: first finger a second above the open
string is first position, a fourth above is third. Half position puts the first finger a semitone above the open string
and gives fingers 2, 3, 4 the letters of 1, 2, 3. Low and high second finger, low first, and the stretched fourth
follow the first-position chart (common practice).
"""

from __future__ import annotations

from collections.abc import Iterator

from analysis.fingering.frames.stops import OVER_OPEN, HandPlace, Lie, Pair, Placement
from analysis.instruments import OpenString
from analysis.music import Pitch

# The highest string is played up to the end of the fingerboard, the others up to tenth position.
HIGHEST_POSITION = 12
HIGHEST_LOWER_POSITION = 10
# Over an open string the hand waits in one of the positions that are in common use.
HIGHEST_OPEN_POSITION = 7

# Where the first finger lies in each position, in semitones above the open string. Where the scale has two places for
# that letter (second, fifth, sixth, ninth, twelfth position) the hand lies between them.
HANDS = (1.0, 2.0, 3.5, 5.0, 7.0, 8.5, 10.5, 12.0, 14.0, 15.5, 17.0, 19.0, 20.5)

# How far above the hand's place each finger reaches, in semitones: least and most.
_REACH = {1: (-1.0, 1.0), 2: (0.5, 3.0), 3: (2.0, 4.5), 4: (4.0, 6.0)}
# The semitones that lie at ease between two fingers so many apart: least and most.
_AT_EASE = {1: (1, 2), 2: (2, 4), 3: (4, 5)}
_DRAWN_BACK = (-1.5, -0.5)
_STRETCHED = (5.5, 6.0)

# Semitones above the open string of the finger's usual place for each letter step; a third has no middle place.
_USUAL = (0.0, 2.0, 3.5, 5.0, 7.0, 9.0, 10.0)

# Letter steps to the other spelling of a natural note: B is C flat, C is B sharp, E is F flat, F is E sharp.
_OTHER_NATURAL = {"B": 1, "C": -1, "E": 1, "F": -1}

# Letter steps of a node above the open string: the intervals of the harmonic series.
_NODE_STEPS = {3: 2, 4: 2, 5: 3, 7: 4, 9: 5, 12: 7, 16: 9, 19: 11, 24: 14, 28: 16, 31: 18}
_OCTAVE, _OCTAVE_POSITION = 12, 3


def ordinal(position: int) -> str:
    """The number of a position in words for the eye: ``half`` for 0, ``1st``, ``2nd`` ..."""
    if position == 0:
        return "half"
    return f"{position}{ {1: 'st', 2: 'nd', 3: 'rd'}.get(position, 'th') }"


class LetterFrame:
    """The frame of violin and viola; see the module."""

    closed_span = 5

    @property
    def hand_places(self) -> tuple[HandPlace, ...]:
        """Half position to the twelfth."""
        return tuple(HandPlace(place, position, ordinal(position)) for position, place in enumerate(HANDS))

    def spread(self, low: int, high: int) -> Pair | None:
        """Half or whole steps between neighbours; a fourth, at most, from first to fourth."""
        return _AT_EASE.get(high - low)

    def stops(self, string: OpenString, pitch: Pitch, *, any_spelling: bool) -> Iterator[Placement]:
        """Every way of playing ``pitch`` on one string; see :class:`Frame`."""
        place = int(pitch.midi - string.pitch.midi)
        if place == 0:
            for position in range(HIGHEST_OPEN_POSITION + 1):
                yield Placement(string.number, position, 0, 0, Lie.OPEN, False, HANDS[position])
        if place <= 0:
            return
        steps = pitch.letter - string.pitch.letter
        yield from _stopped(string.number, place, steps, respelled=False)
        if pitch.alter != 0:
            yield from _stopped(string.number, place, steps + (1 if pitch.alter > 0 else -1), respelled=True)
        elif any_spelling and pitch.step in _OTHER_NATURAL:
            yield from _stopped(string.number, place, steps + _OTHER_NATURAL[pitch.step], respelled=True)

    def touches(self, string: OpenString, place: int) -> Iterator[Placement]:
        """The fingers at a node, and the fourth stretched from third position to the middle of the string."""
        yield from _stopped(string.number, place, _NODE_STEPS[place], respelled=False)
        if place == _OCTAVE:
            yield Placement(string.number, _OCTAVE_POSITION, 4, place, Lie.EXTENDED, hand=HANDS[_OCTAVE_POSITION])

    def together(self, low: Placement, high: Placement) -> bool:
        """Neighbouring fingers lie up to an augmented second apart, first and fourth up to a fifth."""
        return 0 <= high.place - low.place <= 2 * (high.finger - low.finger) + 1

    def trills(self, low: Placement, high: Placement) -> bool:
        """A trill is played with the next finger, over an open string with the first or second in its frame."""
        if low.is_open:
            return high.finger in OVER_OPEN and not high.is_extension
        return high.finger == low.finger + 1 and self.together(low, high)


def _stopped(string: int, place: int, steps: int, *, respelled: bool) -> Iterator[Placement]:
    """The stops of one string for a note ``steps`` letters above it: in the frame first, then out of it."""
    highest = HIGHEST_POSITION if string == 1 else HIGHEST_LOWER_POSITION
    for finger, position, reach, lie in _stops(steps, place):
        if 0 <= position <= highest and reach[0] <= place - HANDS[position] <= reach[1]:
            yield Placement(string, position, finger, place, lie, respelled, HANDS[position])


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
