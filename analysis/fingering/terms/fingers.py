"""What the fingers are asked: strength, reach, the shape of the hand, and the same finger at two places."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from analysis.fingering.hands import Numbers
from analysis.fingering.placements import Lie, along_string
from analysis.fingering.terms.window import Counted, Window, apart, by, joined, pace, paused

# By finger: how hard sliding along the string is, hopping to another, and lying across two.
_SLIDING = (0.0, 1.0, 1.0, 1.0, 1.3, 1.0)
_HOPPING = (0.0, 0.8, 0.8, 0.8, 0.8, 0.8)
_ACROSS = (0.0, 0.3, 0.3, 0.4, 0.8, 0.1)


def weak_finger(window: Window) -> Numbers:
    """The fourth finger is the weakest; the third a little weaker than first and second."""
    (a,), (moment,) = window.hands, window.moments
    effort: Numbers = by(a.finger, [0.0, 0.0, 0.0, 0.05, 0.45, 0.3]) * np.where(moment.favour_open < 0, 0.4, 1.0)
    return effort


def out_of_shape(window: Window) -> Numbers:
    """A finger drawn back, pulled low or reaching up from where it falls by itself in the hand frame."""
    (a,) = window.hands
    low = by(a.finger, [0.0, 0.3, 0.0, 0.25, 0.4, 0.0]) * (a.lie == Lie.LOW) * (a.position <= 1)
    high = by(a.finger, [0.0, 0.3, 0.0, 0.25, 0.3, 0.0]) * (a.lie == Lie.HIGH)
    effort: Numbers = low + high + 0.3 * a.respelled
    return effort


def extension(window: Window) -> Numbers:
    """A finger that leaves the hand frame."""
    (a,) = window.hands
    return 1.4 * a.extensions


def stretch(window: Window) -> Numbers:
    """The fingers spread further than the frame is wide."""
    (a,) = window.hands
    return 0.02 * a.stretch_mm


def fifth_in_chord(window: Window) -> Numbers:
    """One finger stops two strings of a chord; worst with the fourth."""
    (a,) = window.hands
    return by(a.across, [0.0, 0.5, 0.5, 0.7, 1.6, 0.2])


def sliding_finger(window: Window) -> Numbers:
    """The same finger moves along the string from low to high or back without the hand; worst with the fourth."""

    def slides(here: Numbers, there: Numbers) -> Numbers:
        found: Numbers = (here // 100 == there // 100) & (here != there)
        return found

    return _in_one_hand(window, _moves(window, _SLIDING, slides))


def hopping_finger(window: Window) -> Numbers:
    """The same finger hops to another string, to a place it must find anew."""

    def hops(here: Numbers, there: Numbers) -> Numbers:
        found: Numbers = (here // 100 != there // 100) & (here % 100 != there % 100)
        return found

    return _in_one_hand(window, _moves(window, _HOPPING, hops))


def fifth_across(window: Window) -> Numbers:
    """One finger stops a perfect fifth across two strings; worst with the fourth."""

    def lies_across(here: Numbers, there: Numbers) -> Numbers:
        found: Numbers = (np.abs(here - there) >= 100) & (here % 100 == there % 100)
        return found

    (moment,) = window.moments
    return _moves(window, _ACROSS, lies_across) * paused(moment, 0.4)


def _moves(window: Window, each: Sequence[float], happen: Callable[[Numbers, Numbers], Numbers]) -> Numbers:
    """What the moves of the fingers that are down in both grips cost, ``each`` by finger, where they ``happen``."""
    a, b = window.hands
    total: Numbers = np.zeros(np.broadcast_shapes(a.finger.shape, b.finger.shape))
    for finger in window.spreads.fingers:
        here, there = a.down(finger), b.down(finger)
        total = total + each[finger] * (happen(here, there) & (here > 0) & (there > 0))
    return total


def _in_one_hand(window: Window, effort: Numbers) -> Numbers:
    """The part of an effort that is made without moving the hand, harder for coming fast."""
    (a, b), (moment,) = window.hands, window.moments
    found: Numbers = effort * (a.hand == b.hand) * pace(moment) * paused(moment, 0.4)
    return found


def tritone_across(window: Window) -> tuple[Counted, ...]:
    """Two fingers side by side on neighbouring strings, a half step apart: a tritone, or a sixth, lies crooked."""
    (a, b), (moment,) = window.hands, window.moments
    close = (apart(a, b) == 1) & (np.abs(a.place - b.place) == 1) & a.stopped & b.stopped & (a.finger != b.finger)
    return (Counted(close & (a.hand == b.hand), 0.15 * paused(moment, 0.4)),)


def span_of_hand(window: Window) -> Numbers:
    """Two fingers one after the other lie wider apart, or closer, than the hand does by itself."""
    a, b = window.hands
    order = np.array([along_string(finger) for finger in range(6)])
    upwards = order.take(b.finger) > order.take(a.finger)
    both = (a.finger > 0) & (b.finger > 0) & (a.finger != b.finger) & (a.hand == b.hand)
    low, high = np.where(upwards, a.finger, b.finger), np.where(upwards, b.finger, a.finger)
    places = np.where(upwards, b.place - a.place, a.place - b.place)
    wide = np.maximum(0, places - window.spreads.most[low, high])
    narrow = np.maximum(0, window.spreads.least[low, high] - places)
    effort: Numbers = both * (0.7 * wide + 0.6 * narrow)
    return effort


def pattern_change(window: Window) -> tuple[Counted, ...]:
    """A finger that has just been lifted comes down again on its string at another place: the pattern has changed."""
    (a, b, c), (there, back) = window.hands, window.moments
    # One bit a finger: up in the middle, and at two places of one string before and after.
    lifted, moved = np.uint8(0), np.uint8(0)
    for bit, finger in enumerate(window.spreads.fingers):
        here, again = a.down(finger), c.down(finger)
        lifted = lifted | ((b.down(finger) == 0).astype(np.uint8) << bit)
        moved = moved | (((here // 100 == again // 100) & (here != again) & (here > 0)).astype(np.uint8) << bit)
    in_one_hand = np.where(a.hand == b.hand, lifted, np.uint8(0)), np.where(a.hand == c.hand, moved, np.uint8(0))
    changed = np.bitwise_count(in_one_hand[0] & in_one_hand[1])
    return (Counted(changed, 0.3 * joined(there) * joined(back)),)


def same_again(window: Window) -> tuple[Counted, ...]:
    """A note of a figure is played otherwise than where the figure comes elsewhere."""
    (a,), (moment,) = window.hands, window.moments
    return (Counted(a.departs, np.full_like(moment.quarters, 0.4)),)
