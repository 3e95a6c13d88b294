"""What the strings and the bow are asked: open strings, crossings, the colour of a string."""

from __future__ import annotations

import numpy as np

from analysis.fingering.hands import Hands, Moments, Numbers
from analysis.fingering.terms.window import Counted, Window, apart, bow_pace, bowed, joined, paused

_QUICK = 0.5


def open_string(window: Window) -> Numbers:
    """An open string sounds unlike its neighbours and takes no vibrato; a trill over it sounds uneven throughout."""
    (a,), (moment,) = window.hands, window.moments
    liking = np.where(moment.favour_open > 0, 0.0, np.where(moment.favour_open < 0, 3.0, 1.0))
    effort: Numbers = 0.2 * a.opens * liking * np.where(moment.trilled, 3.0, 1.0) * bowed(moment)
    return effort


def ringing_open(window: Window) -> Numbers:
    """The longer an open string sounds, the more it stands out, and the more so in a soft passage."""
    (a,), (moment,) = window.hands, window.moments
    soft = np.where(moment.loud < 0, 1.5, 1.0)
    length = np.clip(moment.quarters - 0.5, 0.0, 2.0) * soft * bowed(moment)
    effort: Numbers = 0.2 * _rings(a, moment) * length
    return effort


def long_open(window: Window) -> Numbers:
    """A long note on an open string, longer than the rules allow; a plucked one dies away."""
    (a,), (moment,) = window.hands, window.moments
    effort: Numbers = 6.0 * (moment.quarters > moment.longest_open) * _rings(a, moment) * ~moment.plucked
    return effort


def _rings(a: Hands, moment: Moments) -> Numbers:
    """1 where one open string sounds by itself and no trilling finger stops it again and again."""
    found: Numbers = (a.opens > 0) * a.single * ~moment.trilled
    return found


def shrill_open(window: Window) -> Numbers:
    """The violin's open E; the louder, the worse."""
    (a,), (moment,) = window.hands, window.moments
    effort: Numbers = 2.0 * a.shrill * moment.spare_shrill * (1 + 0.15 * np.maximum(0, moment.loud)) * bowed(moment)
    return effort


def thick_string(window: Window) -> Numbers:
    """High positions on the lower strings speak slowly and lie far from the hand."""
    (a,) = window.hands
    effort: Numbers = 0.06 * np.maximum(0, a.position - 1) * (a.low - 1)
    return effort


def crossing(window: Window) -> tuple[Counted, ...]:
    """The bow goes to another string."""
    (a, b), (moment,) = window.hands, window.moments
    return (Counted(apart(a, b) > 0, bow_pace(moment) * paused(moment, 0.5) * bowed(moment)),)


def crossing_down(window: Window) -> tuple[Counted, ...]:
    """Going to a lower string is harder than going to a higher one."""
    (a, b), (moment,) = window.hands, window.moments
    return (Counted(b.high > a.low, 0.2 * bow_pace(moment) * paused(moment, 0.5) * bowed(moment)),)


def quick_crossing(window: Window) -> tuple[Counted, ...]:
    """A crossing between notes that follow each other in less than half a second."""
    (a, b), (moment,) = window.hands, window.moments
    return (Counted(apart(a, b) > 0, 0.8 * np.clip(_QUICK / moment.since - 1, 0.0, 3.0) * bowed(moment)),)


def skipped_string(window: Window) -> tuple[Counted, ...]:
    """The bow goes over a string that is not to sound."""
    (a, b), (moment,) = window.hands, window.moments
    skipped = np.maximum(0, apart(a, b) - 1)
    return (Counted(skipped, 1.8 * bow_pace(moment) * paused(moment, 0.5) * bowed(moment)),)


def slurred_crossing(window: Window) -> tuple[Counted, ...]:
    """A crossing inside a slur."""
    (a, b), (moment,) = window.hands, window.moments
    return (Counted(apart(a, b) > 0, 0.4 * moment.slurred),)


def single_crossing(window: Window) -> tuple[Counted, ...]:
    """The bow goes to another string for one note only and comes back."""
    (a, b, c), (there, back) = window.hands, window.moments
    # A figure that rocks over a fifth under one finger is played across both strings as it stands.
    rocking = (a.finger == b.finger) & (a.place == b.place) & (a.finger > 0)
    out, home = (apart(a, b) > 0) & ~rocking, apart(b, c) > 0
    alone = out & home & ((a.high == c.high) & (a.low == c.low))
    return (Counted(alone, 1.6 * joined(there) * joined(back) * there.spare_single * bowed(there)),)


def other_way_at_once(window: Window) -> tuple[Counted, ...]:
    """The same pitch twice in a row is played in two ways."""
    (a, b), (moment,) = window.hands, window.moments
    alike = (a.sounding == b.sounding) & (a.single > 0) & (b.single > 0)
    return (Counted(alike & ((a.high != b.high) | (a.finger != b.finger)), 0.8 * paused(moment, 0.4)),)


def broken_tremolo(window: Window) -> tuple[Counted, ...]:
    """The two notes of a tremolo lie on two strings or in two positions."""
    (a, b), (moment,) = window.hands, window.moments
    broken = (apart(a, b) > 0) | (a.hand != b.hand) | (a.opens > 0) | (b.opens > 0)
    return (Counted(broken, 9.0 * moment.alternates),)
