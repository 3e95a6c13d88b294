"""Every way of playing one note: stopped, open, as a harmonic or under a trill, by the instrument's hand frame."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from functools import lru_cache
from math import gcd, log2
from types import MappingProxyType

from analysis.fingering.frames.bass import BASS_FRAME
from analysis.fingering.frames.cello import CELLO_FRAME
from analysis.fingering.frames.letters import (
    HIGHEST_LOWER_POSITION,
    HIGHEST_OPEN_POSITION,
    HIGHEST_POSITION,
    LetterFrame,
    ordinal,
)
from analysis.fingering.frames.semitones import THUMB_POSITION
from analysis.fingering.frames.stops import (
    THUMB,
    Frame,
    HandPlace,
    Lie,
    Placement,
    along_string,
    finger_in,
    finger_text,
)
from analysis.fingering.position_words import full_position, in_position, short_position
from analysis.instruments import Instrument
from analysis.language import _
from analysis.music import Pitch
from analysis.pitch_names import plain_pitch_name

__all__ = [
    "HIGHEST_LOWER_POSITION",
    "HIGHEST_OPEN_POSITION",
    "HIGHEST_POSITION",
    "THUMB",
    "THUMB_POSITION",
    "HandPlace",
    "Lie",
    "Placement",
    "along_string",
    "finger_in",
    "finger_text",
    "frame_named",
    "hand_name",
    "hand_places",
    "hand_words",
    "harmonic_placements",
    "in_hand_words",
    "in_position_words",
    "placements",
    "position_name",
    "trill_placements",
]

_FRAMES: Mapping[str, Frame] = MappingProxyType({"letters": LetterFrame(), "cello": CELLO_FRAME, "bass": BASS_FRAME})
_HIGHEST_PARTIAL = 6
_NOTES = (
    ("C", 0), ("C", 1), ("D", 0), ("E", -1), ("E", 0), ("F", 0),
    ("F", 1), ("G", 0), ("G", 1), ("A", 0), ("B", -1), ("B", 0),
)  # fmt: skip


def frame_named(name: str) -> Frame:
    """The hand frame that instruments name in ``Instrument.frame``."""
    return _FRAMES[name]


def hand_places(instrument: Instrument) -> tuple[HandPlace, ...]:
    """Every place of the hand on an instrument, with its names, from the nut up; thumb position last."""
    return frame_named(instrument.frame).hand_places


def position_name(position: int, instrument: Instrument | None = None) -> str:
    """The trade name of a position's number in the user's language, without the noun: ``half``, ``1st``, ``2nd`` ...

    Two places of a cellist's hand may share a number; :func:`hand_name` tells them apart.

    >>> position_name(0), position_name(3), position_name(11)
    ('half', '3rd', '11th')
    """
    return short_position(_name(position, instrument))


def in_position_words(position: int, instrument: Instrument) -> str:
    """Where the hand lies, by a position's number: ``in 3rd position``."""
    return in_position(_name(position, instrument))


def _name(position: int, instrument: Instrument | None) -> str:
    if instrument is not None and not instrument.letter_frame and position == THUMB_POSITION:
        return "thumb"
    return ordinal(position)


def hand_name(placement: Placement, instrument: Instrument) -> str:
    """The name of where the hand lies, as its :class:`HandPlace` has it: ``3rd``, ``lower 2nd``, ``thumb``."""
    here = (placement.position, placement.hand)
    names = {(hand.number, hand.place): hand.name for hand in hand_places(instrument)}
    return names.get(here) or _name(placement.position, instrument)


def hand_words(placement: Placement, instrument: Instrument) -> str:
    """Where the hand lies in full: ``3rd position``; in thumb position the thumb's note for the other fingers.

    >>> from analysis.instruments import CELLO
    >>> hand_words(Placement(1, THUMB_POSITION, 1, 14, Lie.NORMAL, hand=12.0), CELLO)
    'thumb on A'
    """
    thumb = _thumb_on(placement, instrument)
    return _("thumb on {pitch}").format(pitch=thumb) if thumb else full_position(hand_name(placement, instrument))


def in_hand_words(placement: Placement, instrument: Instrument) -> str:
    """The same to follow a finger or a verb: ``in 3rd position``."""
    thumb = _thumb_on(placement, instrument)
    return _("in thumb on {pitch}").format(pitch=thumb) if thumb else in_position(hand_name(placement, instrument))


def _thumb_on(placement: Placement, instrument: Instrument) -> str:
    """The thumb's note where another finger plays in thumb position, else ""."""
    if placement.position != THUMB_POSITION or instrument.letter_frame or placement.finger == THUMB:
        return ""
    note = int(instrument.string(placement.string).pitch.midi + placement.hand)
    return plain_pitch_name(*_NOTES[note % 12])


@lru_cache(maxsize=4096)
def placements(instrument: Instrument, pitch: Pitch, *, any_spelling: bool = False) -> tuple[Placement, ...]:
    """Every placement of a sounding ``pitch``, in a fixed order: high string first, low position first.

    ``any_spelling``: natural notes too may take the finger of their other spelling (B as C flat), as chords ask.
    """
    if pitch.alter != int(pitch.alter):
        return ()
    frame = frame_named(instrument.frame)
    found: dict[tuple[int, int, float, int], Placement] = {}
    for string in instrument.strings:
        for way in frame.stops(string, pitch, any_spelling=any_spelling):
            found.setdefault((way.string, way.position, way.hand, way.finger), way)
    return tuple(sorted(found.values()))


@lru_cache(maxsize=1024)
def harmonic_placements(instrument: Instrument, pitch: Pitch, *, touched: bool) -> tuple[Placement, ...]:
    """Every way of playing a natural harmonic: second to sixth partial of a string, in the order of :func:`placements`.

    ``pitch`` is what sounds, or where ``touched`` the place at which the finger touches the string.
    """
    frame = frame_named(instrument.frame)
    found: dict[tuple[int, int, float, int], Placement] = {}
    for string in instrument.strings:
        above = pitch.midi - string.pitch.midi
        for place, sounding in _nodes():
            if above == (place if touched else sounding):
                for way in frame.touches(string, place):
                    found.setdefault((way.string, way.position, way.hand, way.finger), replace(way, harmonic=True))
    return tuple(sorted(found.values()))


@lru_cache(maxsize=1)
def _nodes() -> tuple[tuple[int, int], ...]:
    """The nodes at which one partial alone speaks: (place, sounding pitch), in whole semitones above the open string.

    Partial n has nodes at k/n of the string; where k and n share a factor, a lower partial speaks there.
    """
    return tuple(
        (round(-12 * log2(1 - k / n)), round(12 * log2(n)))
        for n in range(2, _HIGHEST_PARTIAL + 1)
        for k in range(1, n)
        if gcd(k, n) == 1
    )


@lru_cache(maxsize=1024)
def trill_placements(instrument: Instrument, pitch: Pitch, upper: Pitch) -> tuple[Placement, ...]:
    """The placements of ``pitch`` from which ``upper`` can be trilled: the upper note in the same hand.

    The upper note falls to the finger that players trill with, the next one as a rule; where no hand gives that, to
    any finger above. Over an open string the hand lies where a finger reaches the upper note, and waits nowhere else.
    Empty where no hand reaches both.
    """
    frame = frame_named(instrument.frame)
    below = placements(instrument, pitch)
    above = [way for way in placements(instrument, upper) if not way.is_open]

    def under(fits: Callable[[Placement, Placement], bool]) -> tuple[Placement, ...]:
        return tuple(
            low
            for low in below
            if any(_one_hand(low, high) and fits(low, high) for high in above if high.place > low.place)
        )

    return under(frame.trills) or under(frame.together)


def _one_hand(low: Placement, high: Placement) -> bool:
    """Whether both lie on one string in one hand, with fingers in this order along it."""
    same = (low.string, low.position, low.hand) == (high.string, high.position, high.hand)
    return same and along_string(low.finger) < along_string(high.finger)
