"""What every hand frame speaks of: fingers, places of the hand, placements, and what a frame has to answer."""

from __future__ import annotations

import enum
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Protocol

from analysis.instruments import OpenString
from analysis.music import Pitch

THUMB = 5
"""The finger number of the thumb, which lies below the first finger along the string."""

_FINGER_TEXTS = ("0", "1", "2", "3", "4", "T")


def finger_text(finger: int) -> str:
    """How a finger is written over a note: ``0`` to ``4``, ``T`` for the thumb.

    >>> finger_text(2), finger_text(THUMB)
    ('2', 'T')
    """
    return _FINGER_TEXTS[finger]


def finger_in(text: str) -> int | None:
    """The finger that a text over a note means, ``None`` when it means none."""
    return _FINGER_TEXTS.index(text) if text in _FINGER_TEXTS else None


def along_string(finger: int) -> int:
    """Where a finger comes in the order along the string: the thumb first, then 1 to 4."""
    return 0 if finger == THUMB else finger


Pair = tuple[int, int]

# The fingers that trill over an open string: the first as a rule, the second from half position (common practice).
OVER_OPEN = (1, 2)


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


@dataclass(frozen=True, slots=True)
class HandPlace:
    """One place of the hand on the string.

    ``place``: semitones of the first finger above the open string (of the thumb in thumb position). ``number``: the
    trade's number of the position, which two places may share. ``name`` goes before the word "position". ``aliases``:
    what others call it.
    """

    place: float
    number: int
    name: str
    aliases: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, order=True)
class Placement:
    """One way of stopping one note: string (1 = highest), position of the hand, finger, and how the finger lies.

    ``place`` is the stop in semitones above the open string. For an open string ``position`` is where the hand waits.
    ``respelled``: the finger is the one the note would get under its other spelling (D sharp for E flat). ``hand``:
    semitones of the first finger's place above the open string, of the thumb's in thumb position. ``harmonic``: the
    finger only touches the string at ``place``, a node, and the string sounds its harmonic.
    """

    string: int
    position: int
    finger: int
    place: int
    lie: Lie
    respelled: bool = False
    hand: float = 0.0
    harmonic: bool = False

    @property
    def is_open(self) -> bool:
        """Whether the string sounds open."""
        return self.finger == 0

    @property
    def as_played(self) -> tuple[int, float | None, int]:
        """String, place of the hand and finger; no hand for an open string, over which it may wait anywhere."""
        return self.string, None if self.is_open else self.hand, self.finger

    @property
    def is_extension(self) -> bool:
        """Whether the finger leaves the hand frame: stretched out of it or drawn back."""
        return self.lie is Lie.EXTENDED or (self.finger == 4 and self.place - self.hand >= 6)


class Frame(Protocol):
    """What a hand frame answers."""

    @property
    def hand_places(self) -> tuple[HandPlace, ...]:
        """Every place of the hand, from the nut up."""
        ...

    @property
    def closed_span(self) -> int:
        """Semitones from the first to the fourth finger when the hand lies at ease."""
        ...

    def spread(self, low: int, high: int) -> Pair | None:
        """The least and most semitones that lie at ease between two fingers; ``None`` where they never meet."""
        ...

    def stops(self, string: OpenString, pitch: Pitch, *, any_spelling: bool) -> Iterator[Placement]:
        """Every way of playing ``pitch`` on one string, open or stopped; a way may come twice, the better one first.

        ``any_spelling``: natural notes too may take the finger of their other spelling.
        """
        ...

    def touches(self, string: OpenString, place: int) -> Iterator[Placement]:
        """Every way of touching the string at a node so many semitones above it; not yet marked as harmonics."""
        ...

    def together(self, low: Placement, high: Placement) -> bool:
        """Whether two unlike fingers of one hand, in their order along the string, can be down at once.

        Below every finger the string may sound open.
        """
        ...

    def trills(self, low: Placement, high: Placement) -> bool:
        """Whether the finger of ``high`` is one that a player trills with over ``low``, in one hand on one string.

        ``low`` may be open: first and second finger trill over it.
        """
        ...
