"""What the hand is asked: shifts, and where on the neck it stays."""

from __future__ import annotations

import numpy as np

from analysis.fingering.hands import Flags, Hands, Moments, Numbers
from analysis.fingering.terms.window import Counted, Window, hand_pace, joined, paused

_SETTLED = 2.0
# What is left of a shift's effort where it is covered or creeps, and after a pause.
_EASED, _AFTER_PAUSE = 0.6, 0.35


def away_from_home(window: Window) -> Numbers:
    """Every note the hand spends away from its home position."""
    (a,), (moment,) = window.hands, window.moments
    effort: Numbers = 0.12 * np.minimum(np.abs(a.position - moment.home), 4)
    return effort


def start_away(window: Window) -> Numbers:
    """The hand begins, or begins again after a long silence, away from its home position."""
    (a,), (moment,) = window.hands, window.moments
    effort: Numbers = 0.5 * (moment.rest > _SETTLED) * np.minimum(np.abs(a.position - moment.home), 4)
    return effort


def between_positions(window: Window) -> Numbers:
    """Second, fourth and sixth position are less at home in the hand than first, third and fifth."""
    (a,), (moment,) = window.hands, window.moments
    effort: Numbers = 0.08 * ((a.position % 2 == 0) & (a.position > 0) & (a.position != moment.home))
    return effort


def half_position(window: Window) -> Numbers:
    """Half position draws the whole hand back to the nut."""
    (a,) = window.hands
    effort: Numbers = 0.15 * (a.position == 0)
    return effort


def high_position(window: Window) -> Numbers:
    """Above third position the places lie closer and are harder to find."""
    (a,) = window.hands
    effort: Numbers = 0.05 * np.maximum(0, a.position - 3)
    return effort


def shift(window: Window) -> tuple[Counted, ...]:
    """The hand moves to another position; easier after a rest, around an open string, and by a half step."""
    (a, b), (moment,) = window.hands, window.moments
    moved, easy = a.hand != b.hand, _eased(a, b, moment)
    pace = 2.4 * hand_pace(moment)
    return (
        Counted(moved & ~easy, pace * paused(moment, _AFTER_PAUSE)),
        Counted(moved & easy, pace * np.minimum(_EASED, paused(moment, _AFTER_PAUSE))),
    )


def shift_travel(window: Window) -> Numbers:
    """The further the hand moves, the less sure it arrives."""
    (a, b), (moment,) = window.hands, window.moments
    ease = np.minimum(np.where(_eased(a, b, moment), _EASED, 1.0), paused(moment, _AFTER_PAUSE))
    effort: Numbers = np.abs(a.hand_mm - b.hand_mm) / 40.0 * ease * hand_pace(moment)
    return effort


def slurred_shift(window: Window) -> tuple[Counted, ...]:
    """A shift that is heard because the bow does not stop for it."""
    (a, b), (moment,) = window.hands, window.moments
    return (Counted((a.hand != b.hand) & a.stopped & b.stopped, 0.5 * moment.slurred),)


def no_guide_finger(window: Window) -> tuple[Counted, ...]:
    """A shift from one finger to another has no finger that leads the way."""
    (a, b), (moment,) = window.hands, window.moments
    lost = (a.hand != b.hand) & a.stopped & b.stopped & (a.finger != b.finger)
    return (Counted(lost, 0.3 * joined(moment)),)


def single_shift(window: Window) -> tuple[Counted, ...]:
    """The hand leaves its position for one note only and comes back."""
    (a, b, c), (there, back) = window.hands, window.moments
    alone = (a.hand != b.hand) & (a.hand == c.hand)
    return (Counted(alone, 1.5 * joined(there) * joined(back)),)


def _eased(a: Hands, b: Hands, moment: Moments) -> Flags:
    """Whether an open string covers the shift, or the same finger creeps by a half step.

    A trill over an open string covers nothing: its finger is in the hand's place from beginning to end.
    """
    free = ((a.opens > 0) & ~moment.after_trill) | ((b.opens > 0) & ~moment.trilled)
    found: Flags = free | ((a.finger == b.finger) & (a.high == b.high) & (np.abs(a.place - b.place) == 1) & a.stopped)
    return found
