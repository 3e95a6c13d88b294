"""What the hand is asked: shifts, and where on the neck it stays."""

from __future__ import annotations

import numpy as np

from analysis.fingering.hands import Hands, Moments, Numbers
from analysis.fingering.terms.window import Window, hand_pace, joined, paused

_SETTLED = 2.0


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
    return 0.05 * np.maximum(0, a.position - 3)


def shift(window: Window) -> Numbers:
    """The hand moves to another position; easier after a rest, around an open string, and by a half step."""
    (a, b), (_, moment) = window.hands, window.moments
    effort: Numbers = 2.4 * (a.hand != b.hand) * _ease(a, b, moment)
    return effort


def shift_travel(window: Window) -> Numbers:
    """The further the hand moves, the less sure it arrives."""
    (a, b), (_, moment) = window.hands, window.moments
    effort: Numbers = np.abs(a.hand_mm - b.hand_mm) / 40.0 * _ease(a, b, moment)
    return effort


def slurred_shift(window: Window) -> Numbers:
    """A shift that is heard because the bow does not stop for it."""
    (a, b), (_, moment) = window.hands, window.moments
    effort: Numbers = 0.5 * moment.slurred * (a.hand != b.hand) * a.stopped * b.stopped
    return effort


def no_guide_finger(window: Window) -> Numbers:
    """A shift from one finger to another has no finger that leads the way."""
    (a, b), (_, moment) = window.hands, window.moments
    effort: Numbers = 0.3 * (a.hand != b.hand) * a.stopped * b.stopped * (a.finger != b.finger) * joined(moment)
    return effort


def single_shift(window: Window) -> Numbers:
    """The hand leaves its position for one note only and comes back."""
    (a, b, c), (_, there, back) = window.hands, window.moments
    alone = (a.hand == c.hand) & (a.hand != b.hand)
    effort: Numbers = 1.5 * alone * joined(there) * joined(back)
    return effort


def _ease(a: Hands, b: Hands, moment: Moments) -> Numbers:
    """How hard a shift is for its surroundings; 1 in the middle of a line at a note a second."""
    free = (a.opens > 0) | (b.opens > 0)
    creeping = (a.finger == b.finger) & (a.high == b.high) & (np.abs(a.place - b.place) == 1) & a.stopped
    ease: Numbers = np.minimum(np.where(free | creeping, 0.6, 1.0), paused(moment, 0.35)) * hand_pace(moment)
    return ease
