"""Frames in which the fingers stand so many semitones above the hand, whatever the note is called: cello and bass.

Such a frame is data: for each shape of the hand the places it lies at and the semitones each finger reaches there.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType

from analysis.fingering.frames.stops import OVER_OPEN, THUMB, HandPlace, Lie, Pair, Placement
from analysis.instruments import OpenString
from analysis.music import Pitch

THUMB_POSITION = 8
_OCTAVE = 12


@dataclass(frozen=True, slots=True)
class Shape:
    """One shape of the hand.

    ``hands``: the places it lies at; the numbers of their positions belong to no other shape. ``reach``: for each
    finger the semitones above the hand's place that it stops, and how it lies then. ``apart``: for two fingers in
    their order along the string the least and most semitones between them. ``trills``: the fingers that trill together.
    """

    hands: tuple[HandPlace, ...]
    reach: Mapping[int, Mapping[int, Lie]]
    apart: Mapping[Pair, Pair]
    trills: frozenset[Pair]


@dataclass(frozen=True, slots=True)
class SemitoneFrame:
    """A frame of one or more shapes.

    ``highest``: the highest stop of each string from the highest string down, in semitones; lower strings than are
    named have the last. ``closed_span``: semitones from first to fourth finger in the closed hand. ``octave_hand``: the
    place of the hand from which the stretched fourth finger touches the middle of the string.
    """

    shapes: tuple[Shape, ...]
    highest: tuple[int, ...]
    closed_span: int
    octave_hand: float | None = None

    @property
    def hand_places(self) -> tuple[HandPlace, ...]:
        """Every place of the hand, shape after shape."""
        return tuple(hand for shape in self.shapes for hand in shape.hands)

    def spread(self, low: int, high: int) -> Pair | None:
        """What any of the shapes allows between the two fingers."""
        known = [shape.apart[low, high] for shape in self.shapes if (low, high) in shape.apart]
        return (min(least for least, _ in known), max(most for _, most in known)) if known else None

    def stops(self, string: OpenString, pitch: Pitch, *, any_spelling: bool) -> Iterator[Placement]:
        """Every way of playing ``pitch`` on one string; how it is spelled changes nothing."""
        place = int(pitch.midi - string.pitch.midi)
        if place > 0:
            yield from self._stopped(string.number, place)
        elif place == 0:
            for hand in self.hand_places:
                if hand.place <= _OCTAVE:
                    yield Placement(string.number, hand.number, 0, 0, Lie.OPEN, hand=hand.place)

    def touches(self, string: OpenString, place: int) -> Iterator[Placement]:
        """The fingers at a node, and the stretched fourth at the middle of the string."""
        yield from self._stopped(string.number, place)
        if place == _OCTAVE and self.octave_hand is not None:
            position = next(hand.number for hand in self.hand_places if hand.place == self.octave_hand)
            yield Placement(string.number, position, 4, place, Lie.EXTENDED, hand=self.octave_hand)

    def together(self, low: Placement, high: Placement) -> bool:
        """Whether the shape of the hand lets the two fingers stand so far apart."""
        if low.is_open:
            return True
        least, most = self._shape(low).apart[low.finger, high.finger]
        return least <= high.place - low.place <= most

    def trills(self, low: Placement, high: Placement) -> bool:
        """Whether the shape of the hand has these two fingers trill together."""
        if low.is_open:
            return high.finger in OVER_OPEN
        return (low.finger, high.finger) in self._shape(low).trills and self.together(low, high)

    def _stopped(self, string: int, place: int) -> Iterator[Placement]:
        if place > self.highest[min(string, len(self.highest)) - 1]:
            return
        for shape in self.shapes:
            for hand in shape.hands:
                for finger, offsets in shape.reach.items():
                    lie = offsets.get(int(place - hand.place))
                    if lie is not None:
                        yield Placement(string, hand.number, finger, place, lie, hand=hand.place)

    def _shape(self, placement: Placement) -> Shape:
        return next(shape for shape in self.shapes if any(hand.number == placement.position for hand in shape.hands))


def thumb_shape(first: int, last: int) -> Shape:
    """Thumb position with the thumb ``first`` to ``last`` semitones above the open string.

    First to third finger follow above it in whole and half steps, up to a fourth in all (common practice, no source).
    """
    normal = Lie.NORMAL
    return Shape(
        hands=tuple(HandPlace(float(place), THUMB_POSITION, "thumb") for place in range(first, last + 1)),
        reach=MappingProxyType(
            {
                THUMB: {0: normal},
                1: {1: normal, 2: normal},
                2: {2: normal, 3: normal, 4: normal},
                3: {3: normal, 4: normal, 5: normal},
            }
        ),
        apart=MappingProxyType(
            {
                (THUMB, 1): (1, 2),
                (THUMB, 2): (2, 4),
                (THUMB, 3): (3, 5),
                (1, 2): (1, 2),
                (1, 3): (2, 4),
                (2, 3): (1, 2),
            }
        ),
        trills=frozenset({(THUMB, 1), (1, 2), (2, 3)}),
    )
