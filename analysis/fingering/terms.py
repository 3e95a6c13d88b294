"""The effort terms: what each thing asked of the hand, the bow or the ear costs, one small function a thing.

Unit: 1.0 = crossing to the neighbouring string between two quarter notes at 60. A term looks at one, two or three
stages next to each other (its *span*) and returns an array that broadcasts to [stages, grips of the first, of the
second, ...]. Each has the words a teacher would use, and its source: R1-R22 are rules of thumb with the publication
named, the rest is common practice. Sizes of the numbers are our own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from analysis.fingering.hands import Hands, Moments, Numbers, Whole
from analysis.fingering.placements import Lie

if TYPE_CHECKING:
    from analysis.fingering.rules import HouseRules


@dataclass(frozen=True, slots=True)
class Window:
    """As many neighbouring stages as a term spans, shaped for broadcasting, and the rules in force."""

    hands: tuple[Hands, ...]
    moments: tuple[Moments, ...]
    rules: HouseRules


@dataclass(frozen=True, slots=True)
class Term:
    """One effort term: ``says`` names the effort in words that follow "it costs"; ``source`` says where it is from."""

    name: str
    span: int
    says: str
    source: str
    measure: Callable[[Window], Numbers]


def _pace(moments: Moments) -> Numbers:
    """How much harder a move is for coming fast: 1 with a second between the notes, 2 with a quarter of one."""
    pace: Numbers = np.clip(moments.since**-0.5, 0.7, 2.2)
    return pace


def _by(index: Whole, values: list[float]) -> Numbers:
    """``values[index]`` for whole arrays of indices."""
    return np.asarray(values, dtype=np.float64).take(index)


def _apart(a: Hands, b: Hands) -> Whole:
    """How many strings lie between one grip and the next, 0 when they share or touch one."""
    strings: Whole = np.maximum(0, np.maximum(b.high - a.low, a.high - b.low))
    return strings


def weak_finger(window: Window) -> Numbers:
    """The fourth finger is the weakest; the third a little weaker than first and second."""
    (a,) = window.hands
    return _by(a.finger, [0.0, 0.0, 0.0, 0.05, 0.45])


def out_of_shape(window: Window) -> Numbers:
    """A finger drawn back, pulled low or reaching up from where it falls by itself in the hand frame."""
    (a,) = window.hands
    low = _by(a.finger, [0.0, 0.3, 0.0, 0.25, 0.4]) * (a.lie == Lie.LOW) * (a.position <= 1)
    high = _by(a.finger, [0.0, 0.3, 0.0, 0.25, 0.3]) * (a.lie == Lie.HIGH)
    effort: Numbers = low + high + 0.3 * a.respelled
    return effort


def extension(window: Window) -> Numbers:
    """A finger that leaves the hand frame."""
    (a,) = window.hands
    return 1.4 * a.extensions


def fifth_in_chord(window: Window) -> Numbers:
    """One finger stops a perfect fifth on two strings of a chord; worst with the fourth."""
    (a,) = window.hands
    return _by(a.across, [0.0, 0.5, 0.5, 0.7, 1.6])


def open_string(window: Window) -> Numbers:
    """An open string sounds unlike its neighbours and takes no vibrato."""
    (a,) = window.hands
    return 0.2 * a.opens


def long_open(window: Window) -> Numbers:
    """A long note on an open string, longer than the rules allow."""
    (a,), (moment,) = window.hands, window.moments
    over = moment.quarters > float(window.rules.longest_open)
    return 6.0 * over * (a.opens > 0) * a.single


def shrill_open(window: Window) -> Numbers:
    """The violin's open E."""
    (a,) = window.hands
    return 2.0 * a.shrill * window.rules.avoid_shrill_open


def away_from_home(window: Window) -> Numbers:
    """Every note the hand spends away from its home position."""
    (a,) = window.hands
    effort: Numbers = 0.12 * np.minimum(np.abs(a.position - window.rules.home), 4) * (1 + 0.25 * (a.position % 2 == 0))
    return effort


def thick_string(window: Window) -> Numbers:
    """High positions on the lower strings speak slowly and lie far from the hand."""
    (a,) = window.hands
    return 0.06 * np.maximum(0, a.position - 1) * (a.low - 1)


def crossing(window: Window) -> Numbers:
    """The bow goes to another string; down is harder than up, and skipping a string harder still."""
    (a, b), (_, moment) = window.hands, window.moments
    strings = _apart(a, b)
    reach = strings + 0.8 * np.maximum(0, strings - 1)
    downwards = np.where(b.high > a.low, 1.2, 1.0)
    return reach * downwards * _pace(moment) * np.where(moment.rest > 0.3, 0.5, 1.0)


def slurred_crossing(window: Window) -> Numbers:
    """A crossing inside a slur."""
    (a, b), (_, moment) = window.hands, window.moments
    return 0.4 * moment.slurred * (_apart(a, b) > 0)


def shift(window: Window) -> Numbers:
    """The hand moves to another position; easier after a rest, around an open string, and by a half step."""
    (a, b), (_, moment) = window.hands, window.moments
    effort = 2.4 + np.abs(a.hand_mm - b.hand_mm) / 40.0
    free = (a.opens > 0) | (b.opens > 0)
    creeping = (a.finger == b.finger) & (a.high == b.high) & (np.abs(a.place - b.place) == 1) & a.stopped
    ease = np.where(moment.rest > 0.3, 0.35, np.where(free, 0.6, np.where(creeping, 0.6, 1.0)))
    moved: Numbers = (a.position != b.position) * effort * ease * _pace(moment)
    return moved


def slurred_shift(window: Window) -> Numbers:
    """A shift that is heard because the bow does not stop for it."""
    (a, b), (_, moment) = window.hands, window.moments
    effort: Numbers = 0.5 * moment.slurred * (a.position != b.position) * a.stopped * b.stopped
    return effort


def sliding_finger(window: Window) -> Numbers:
    """The same finger moves along the string from low to high or back without the hand."""
    (a, b), (_, moment) = window.hands, window.moments
    moved: Numbers = np.zeros(np.broadcast_shapes(a.finger.shape, b.finger.shape))
    for finger in (1, 2, 3, 4):
        here, there = a.down(finger), b.down(finger)
        same_string = (here // 100 == there // 100) & (here > 0)
        moved = moved + (same_string & (here != there))
    effort: Numbers = 1.0 * moved * (a.position == b.position) * _pace(moment) * np.where(moment.rest > 0.3, 0.4, 1.0)
    return effort


def hopping_finger(window: Window) -> Numbers:
    """The same finger hops to another string, to a place it must find anew."""
    (a, b), (_, moment) = window.hands, window.moments
    hops: Numbers = np.zeros(np.broadcast_shapes(a.finger.shape, b.finger.shape))
    for finger in (1, 2, 3, 4):
        here, there = a.down(finger), b.down(finger)
        other_string = (here // 100 != there // 100) & (here > 0) & (there > 0)
        hops = hops + (other_string & (here % 100 != there % 100))
    effort: Numbers = 0.8 * hops * (a.position == b.position) * _pace(moment) * np.where(moment.rest > 0.3, 0.4, 1.0)
    return effort


def fifth_across(window: Window) -> Numbers:
    """One finger stops a perfect fifth across two strings; worst with the fourth."""
    (a, b), (_, moment) = window.hands, window.moments
    fifths: Numbers = np.zeros(np.broadcast_shapes(a.finger.shape, b.finger.shape))
    for finger, effort in ((1, 0.3), (2, 0.3), (3, 0.4), (4, 0.8)):
        here, there = a.down(finger), b.down(finger)
        across = (np.abs(here - there) >= 100) & (here % 100 == there % 100) & (here > 0) & (there > 0)
        fifths = fifths + effort * across
    return fifths * np.where(moment.rest > 0.3, 0.4, 1.0)


def span_of_hand(window: Window) -> Numbers:
    """Two fingers one after the other lie wider apart, or closer, than the hand does by itself."""
    (a, b) = window.hands
    both = (a.finger > 0) & (b.finger > 0) & (a.finger != b.finger) & (a.position == b.position)
    fingers = np.abs(b.finger - a.finger)
    places = np.where(b.finger > a.finger, b.place - a.place, a.place - b.place)
    wide = np.maximum(0, places - _by(fingers, [0, 2, 4, 5, 0]))
    narrow = np.maximum(0, _by(fingers, [0, 1, 2, 4, 0]) - places)
    effort: Numbers = both * (0.7 * wide + 0.6 * narrow)
    return effort


def single_crossing(window: Window) -> Numbers:
    """The bow goes to another string for one note only and comes back."""
    (a, b, c), (_, there, back) = window.hands, window.moments
    alone = (a.high == c.high) & (a.low == c.low) & (_apart(a, b) > 0) & (_apart(b, c) > 0)
    joined = (there.rest <= 0.3) & (back.rest <= 0.3)
    # A figure that rocks over a fifth under one finger is played across both strings as it stands.
    rocking = (a.finger == b.finger) & (a.place == b.place) & (a.finger > 0)
    effort: Numbers = 1.6 * alone * joined * ~rocking * window.rules.fourth_saves_crossing
    return effort


def single_shift(window: Window) -> Numbers:
    """The hand leaves its position for one note only and comes back."""
    (a, b, c), (_, there, back) = window.hands, window.moments
    alone = (a.position == c.position) & (a.position != b.position)
    effort: Numbers = 1.5 * alone * (there.rest <= 0.3) * (back.rest <= 0.3)
    return effort


TERMS = (
    Term("weak_finger", 1, "a weaker finger", "common practice, no source", weak_finger),
    Term("out_of_shape", 1, "a finger low or high", "R14: Giray, Lesson 10 (abstract); common practice", out_of_shape),
    Term("extension", 1, "an extension", "R14; violin-works.com on widening, not forcing", extension),
    Term(
        "fifth_in_chord",
        1,
        "one finger across two strings of a chord",
        "R15: Flesch, cited in Strings 2021",
        fifth_in_chord,
    ),
    Term("open_string", 1, "an open string", "R1: Suzuki-teacher handout; UNCW orchestration page", open_string),
    Term("long_open", 1, "a long open string", "common practice, no source; R22", long_open),
    Term("shrill_open", 1, "the open E", "R22: common practice", shrill_open),
    Term("away_from_home", 1, "notes away from the home position", "common practice, no source", away_from_home),
    Term("thick_string", 1, "a high position on a low string", "common practice, no source", thick_string),
    Term("crossing", 2, "a string crossing", "R4: kevin-bell-alnm.squarespace.com; R5: UNCW page", crossing),
    Term("slurred_crossing", 2, "a crossing inside a slur", "R4: violinbowtechnique.com", slurred_crossing),
    Term("shift", 2, "a shift", "R5, R9-R12: cellofun.eu; Galamian 1985 as quoted", shift),
    Term("slurred_shift", 2, "a shift inside a slur", "R10: idoublebass.com; common practice", slurred_shift),
    Term("sliding_finger", 2, "one finger sliding along the string", "R12: Galamian 1985 as quoted", sliding_finger),
    Term(
        "hopping_finger",
        2,
        "one finger hopping to another string",
        "R15 in general form; common practice",
        hopping_finger,
    ),
    Term("fifth_across", 2, "one finger across two strings", "R15: Flesch, cited in Strings 2021", fifth_across),
    Term("span_of_hand", 2, "fingers spread or squeezed", "baylakeyes.com, left-hand frame", span_of_hand),
    Term("single_crossing", 3, "a crossing for one note only", "R3: aywren.com 2019; common practice", single_crossing),
    Term("single_shift", 3, "a shift for one note only", "R5: UNCW page; common practice", single_shift),
)
TERM_NAMES = tuple(term.name for term in TERMS)
