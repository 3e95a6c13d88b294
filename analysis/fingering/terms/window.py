"""What an effort term is given and what it is; small helpers that several terms share."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from analysis.fingering.hands import Flags, Hands, Moments, Numbers, Whole
from analysis.fingering.placements import THUMB, along_string, frame_named

FINGERS = (1, 2, 3, 4, THUMB)
# A silence after which the hand has had time to get ready, in seconds.
_PAUSE = 0.3


@dataclass(frozen=True, slots=True)
class Spreads:
    """Semitones that lie at ease between two fingers: arrays of shape [6, 6], low finger first along the string.

    ``fingers``: those that are put down on the instrument.
    """

    least: Whole
    most: Whole
    fingers: tuple[int, ...]


@lru_cache(maxsize=8)
def spreads(frame: str) -> Spreads:
    """The spreads of a hand frame; fingers that never meet have room for everything."""
    least, most = np.zeros((6, 6), dtype=np.int16), np.full((6, 6), 99, dtype=np.int16)
    for low in FINGERS:
        for high in FINGERS:
            found = frame_named(frame).spread(low, high) if along_string(low) < along_string(high) else None
            if found is not None:
                least[low, high], most[low, high] = found
    return Spreads(least, most, FINGERS[:-1] if (most[THUMB] == 99).all() else FINGERS)


@dataclass(frozen=True, slots=True)
class Window:
    """As many neighbouring stages as a term spans, shaped for broadcasting, with the rules in force there.

    A term over several stages is told the ``moments`` of those arrived at: all but the first.
    """

    hands: tuple[Hands, ...]
    moments: tuple[Moments, ...]
    spreads: Spreads


@dataclass(frozen=True, slots=True)
class Counted:
    """How often something happens, and what each time costs at a stage.

    ``times``: whole numbers or flags that broadcast like any effort; ``each``: shape [stages, 1, ...]. Cheaper to work
    out than the product, which matters over three stages.
    """

    times: Numbers
    each: Numbers

    @property
    def effort(self) -> Numbers:
        """The product."""
        product: Numbers = self.times * self.each
        return product


Measured = Numbers | tuple[Counted, ...]


@dataclass(frozen=True, slots=True)
class Term:
    """One effort term.

    ``says`` names the effort in words that follow "it costs"; ``source`` says where it is from. ``because`` is the verb
    of "2, because 3 would ..." where this effort speaks against the other way; ``{time}`` is how long the note lasts.
    Both are put into the user's language where they are said.
    """

    name: str
    span: int
    says: str
    because: str
    source: str
    measure: Callable[[Window], Measured]


def effort_of(measured: Measured) -> Numbers:
    """What a term measured, as one array."""
    if not isinstance(measured, tuple):
        return measured
    total: Numbers = sum((part.effort for part in measured[1:]), start=measured[0].effort)
    return total


def pace(moments: Moments) -> Numbers:
    """How much harder a move of a finger is for coming fast: 1 with a second between the notes, 2 with a quarter."""
    found: Numbers = np.clip(moments.since**-0.5, 0.5, 2.2)
    return found


def hand_pace(moments: Moments) -> Numbers:
    """How much harder a move of the whole hand is for coming fast: the arm needs its time."""
    found: Numbers = np.clip(moments.since**-0.75, 0.4, 3.0)
    return found


def bow_pace(moments: Moments) -> Numbers:
    """How much harder a move of the bow is for coming fast: little, until the notes are quick."""
    found: Numbers = np.clip(moments.since**-0.2, 0.5, 2.2)
    return found


def paused(moments: Moments, easier: float) -> Numbers:
    """``easier`` after a silence that lets the hand get ready, 1 elsewhere."""
    found: Numbers = np.where(moments.rest > _PAUSE, easier, 1.0)
    return found


def joined(moments: Moments) -> Flags:
    """Whether no silence comes before a stage that would let the hand get ready."""
    found: Flags = moments.rest <= _PAUSE
    return found


def by(index: Whole, values: list[float]) -> Numbers:
    """``values[index]`` for whole arrays of finger numbers, 0 to 5."""
    return np.asarray(values, dtype=np.float64).take(index)


def apart(a: Hands, b: Hands) -> Whole:
    """How many strings lie between one grip and the next, 0 when they share or touch one."""
    strings: Whole = np.maximum(0, np.maximum(b.high - a.low, a.high - b.low))
    return strings


def bowed(moments: Moments) -> Numbers:
    """1 where the bow plays; less where strings are plucked, and crossing or ringing matters little."""
    found: Numbers = np.where(moments.plucked, 0.3, 1.0)
    return found
