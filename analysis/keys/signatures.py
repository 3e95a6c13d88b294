"""What it costs to read music in a key, and the keys of least cost measure by measure.

A key costs what its notes are unlikely to be in it: minus the natural logarithm of how often their degree of the scale
sounds, in whole thousandths. So long as that is cheaper than a change of key, music stays in its key, and notes that
only decorate make no new one. How often the degrees sound: Aarden, "Dynamic Melodic Expectancy" (2003), counted in the
Essen collection of folk songs; where the figures for minor come from is less sure. What a change costs and what a
cadence is worth was fitted on every other one of 66 annotated scores, what a line alone counts for on planted keys as
well (``tests/benchmarks/key_agreement.py``); rounded, since the agreement hardly changes near by.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType
from typing import Literal

import numpy as np

from analysis.keys.evidence import LOWEST, SPAN, Evidence
from analysis.language import _, later

Mode = Literal["major", "minor"]

SIGNATURES = range(-7, 8)
# By their signatures, from seven flats to seven sharps.
_NAMES: Mapping[Mode, tuple[str, ...]] = MappingProxyType(
    {
        "major": (
            later("C♭ major"), later("G♭ major"), later("D♭ major"), later("A♭ major"), later("E♭ major"),
            later("B♭ major"), later("F major"), later("C major"), later("G major"), later("D major"),
            later("A major"), later("E major"), later("B major"), later("F♯ major"), later("C♯ major"),
        ),
        "minor": (
            later("A♭ minor"), later("E♭ minor"), later("B♭ minor"), later("F minor"), later("C minor"),
            later("G minor"), later("D minor"), later("A minor"), later("E minor"), later("B minor"),
            later("F♯ minor"), later("C♯ minor"), later("G♯ minor"), later("D♯ minor"), later("A♯ minor"),
        ),
    }
)  # fmt: skip
# How often each degree sounds, in percent, by its place on the line of fifths from the tonic.
_MAJOR = (
    0.160186,
    0.232998,
    11.3587,
    17.7661,
    22.062,
    14.9265,
    8.15494,
    19.8049,
    4.95122,
    0.291248,
    0.145624,
    0.145624,
)
_MINOR = (0.737619, 4.56621, 16.8599, 7.37619, 14.4362, 18.2648, 18.6161, 14.0499, 1.93186, 0.702494, 1.75623, 0.702494)
# From the minor third in major, from the minor second in minor.
_DEGREES: Mapping[Mode, Mapping[int, float]] = MappingProxyType(
    {"major": dict(enumerate(_MAJOR, -3)), "minor": dict(enumerate(_MINOR, -5))}
)
# A note that is no degree of the key; no degree costs more.
_FOREIGN = 9.0
# A change of key: to another signature, and for every sharp or flat in which it differs; to the other mode of the
# signature; to the other mode of the tonic at the most.
_CHANGE, _CHANGE_BY_FIFTH, _RELATIVE, _PARALLEL = 6.0, 3.0, 3.0, 12.0
# To begin in a key of another signature than the printed one.
_BEGINNING = 3.0
# All other parts together count for so many like the one that is read, each for no more than it.
_OTHERS = 3.0
# A line alone is all there is to go by, so it counts for as much as a line and one other part.
_ALONE = 2.0
_THOUSANDTHS = 1000


@dataclass(frozen=True, slots=True)
class Key:
    """A key: its signature, sharps above 0 and flats below, and its mode."""

    fifths: int
    mode: Mode

    @property
    def tonic(self) -> int:
        """The tonic on the line of fifths, C = 0."""
        return self.fifths + (3 if self.mode == "minor" else 0)

    @property
    def words(self) -> str:
        """The key as one says it.

        >>> Key(-1, "minor").words
        'D minor'
        """
        return _(_NAMES[self.mode][SIGNATURES.index(self.fifths)])

    def holds(self, fifth: int) -> bool:
        """Whether a pitch belongs to the scale; in minor also with its sixth and seventh raised."""
        degree = fifth - self.fifths
        return -1 <= degree <= 5 or (self.mode == "minor" and degree in (6, 8))


KEYS: tuple[Key, ...] = tuple(Key(fifths, mode) for mode in ("major", "minor") for fifths in SIGNATURES)


def key_costs(own: Evidence, others: Sequence[Evidence] = ()) -> np.ndarray:
    """What each measure costs in each of ``KEYS``, measures × keys, in thousandths."""
    share = min(1.0, _OTHERS / len(others)) if others else 0.0
    sounding, tonics = own.sounding.copy(), own.tonics.copy()
    for other in others:
        sounding += share * other.sounding
        tonics += share * other.tonics
    alone = max(1.0, _ALONE / (1 + share * len(others)))
    spoken_for = tonics[:, [key.tonic - LOWEST for key in KEYS]]
    return np.asarray(np.rint(_THOUSANDTHS * alone * (sounding @ _degree_costs() - spoken_for)), dtype=np.int64)


@lru_cache(maxsize=1)
def _degree_costs() -> np.ndarray:
    """The cost of each place on the line of fifths in each key, places × keys."""
    costs = np.full((SPAN, len(KEYS)), _FOREIGN)
    for column, key in enumerate(KEYS):
        for degree, percent in _DEGREES[key.mode].items():
            place = key.tonic + degree - LOWEST
            if 0 <= place < SPAN:
                costs[place, column] = min(_FOREIGN, -np.log(percent / 100))
    return costs


def change_costs(printed: Sequence[int]) -> np.ndarray:
    """What it costs to come to each key as a measure begins, measures × keys before × keys, in thousandths.

    ``printed``: the signature of every measure. A newly printed signature costs nothing to come to. At the first
    measure music comes from nowhere: every row holds what it costs to begin in a key that is not the printed one.
    """
    usual = _usual_changes()
    costs = np.repeat(usual[None], len(printed), axis=0)
    signatures = np.array([key.fifths for key in KEYS])
    for measure, fifths in enumerate(printed):
        if not measure:
            costs[measure] = np.where(signatures == fifths, 0, round(_THOUSANDTHS * _BEGINNING))
        elif fifths != printed[measure - 1]:
            costs[measure][:, signatures == fifths] = 0
    return costs


@lru_cache(maxsize=1)
def _usual_changes() -> np.ndarray:
    """What a change costs where no new signature is printed, keys before × keys."""
    return np.array([[_change(before, key) for key in KEYS] for before in KEYS], dtype=np.int64)


def _change(before: Key, after: Key) -> int:
    if before == after:
        return 0
    if before.fifths == after.fifths:
        cost = _RELATIVE
    else:
        cost = _CHANGE + _CHANGE_BY_FIFTH * abs(before.fifths - after.fifths)
        if before.tonic == after.tonic:
            cost = min(cost, _PARALLEL)
    return round(_THOUSANDTHS * cost)


def least_cost_keys(costs: np.ndarray, changes: np.ndarray) -> list[int]:
    """The keys, one a measure, for which costs and changes add up to the least; dynamic programming, so exactly.

    ``costs`` measures × keys, ``changes`` measures × keys before × keys, whole numbers. Where several are as cheap, a
    key changes as late as it can, and the first of ``KEYS`` is taken.
    """
    keys = np.arange(costs.shape[1])
    least = costs[0] + changes[0, 0]
    came_from = np.empty(costs.shape, dtype=np.intp)
    for measure in range(1, len(costs)):
        total = least[:, None] + changes[measure]
        staying = total[keys, keys].copy()
        # Coming from another key is tried first, so that of equals the later change is taken.
        total[keys, keys] = np.iinfo(np.int64).max
        other = total.argmin(axis=0)
        changing = total[other, keys]
        came_from[measure] = np.where(changing <= staying, other, keys)
        least = np.minimum(changing, staying) + costs[measure]
    path = [int(least.argmin())]
    for measure in range(len(costs) - 1, 0, -1):
        path.append(int(came_from[measure, path[-1]]))
    return path[::-1]
