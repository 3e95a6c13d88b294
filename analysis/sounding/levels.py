"""How loud each note sounds, 0 to 1, by the dynamic in force and the hairpins over it.

A step from one dynamic to the next is a tenth. A hairpin leads to the dynamic at its end if that lies the right way,
otherwise a step and a half: common practice, no source.
"""

from __future__ import annotations

from bisect import bisect_right
from fractions import Fraction

from analysis.music import Hairpin, Part

_USUAL = "mf"
_MIDDLE, _STEP = 0.55, 0.1
_SWELL, _SOFTEST = 0.15, 0.05
# A dynamic so few quarter notes behind a hairpin is where it leads.
_NEAR = 1


def level_of(dynamic: str) -> float:
    """The loudness of a printed dynamic; that of mezzo forte where it is none.

    >>> [round(level_of(dynamic), 2) for dynamic in ("pp", "mp", "", "f", "fff")]
    [0.25, 0.45, 0.55, 0.7, 0.9]
    """
    letters = dynamic or _USUAL
    if letters == "mf":
        return _MIDDLE
    if letters == "mp":
        return _MIDDLE - _STEP
    loud = letters.endswith("f")
    steps = (0.5 if loud else 1) + len(letters)
    return min(max(_MIDDLE + (_STEP if loud else -_STEP) * steps, _SOFTEST), 1.0)


class Levels:
    """The loudness of a straight part from place to place."""

    def __init__(self, part: Part) -> None:
        self._marks = [(float(mark.onset), level_of(mark.level)) for mark in part.dynamics]
        # From an onset to an end in quarter notes the loudness goes from one level to another, and stays there.
        self._slopes: list[tuple[float, float, float, float]] = []
        for onset, hairpin, level in self._events(part):
            if hairpin is None:
                self._slopes.append((onset, onset, level, level))
            elif hairpin.end > hairpin.onset:
                start = self._level(onset)
                self._slopes.append((onset, float(hairpin.end), start, self._target(hairpin, start)))

    def at(self, dynamic: str, onset: Fraction) -> float:
        """The loudness at ``onset`` of a note whose own dynamic in force is that."""
        own, place = level_of(dynamic), float(onset)
        return min(max(own + self._level(place) - self._marked(place), _SOFTEST), 1.0)

    def _events(self, part: Part) -> list[tuple[float, Hairpin | None, float]]:
        marks: list[tuple[float, Hairpin | None, float]] = [(onset, None, level) for onset, level in self._marks]
        pins: list[tuple[float, Hairpin | None, float]] = [(float(pin.onset), pin, 0.0) for pin in part.hairpins]
        return sorted([*marks, *pins], key=lambda event: (event[0], event[1] is not None))

    def _marked(self, onset: float) -> float:
        index = bisect_right(self._marks, onset, key=lambda mark: mark[0])
        return self._marks[index - 1][1] if index else level_of("")

    def _level(self, onset: float) -> float:
        index = bisect_right(self._slopes, onset, key=lambda slope: slope[0])
        if not index:
            return level_of("")
        begin, end, low, high = self._slopes[index - 1]
        if onset >= end:
            return high
        return low + (high - low) * (onset - begin) / (end - begin)

    def _target(self, hairpin: Hairpin, start: float) -> float:
        """Where a hairpin leads from ``start``."""
        index = bisect_right(self._marks, float(hairpin.onset), key=lambda mark: mark[0])
        if index < len(self._marks):
            onset, level = self._marks[index]
            if onset <= hairpin.end + _NEAR and (level > start) == hairpin.grows and level != start:
                return level
        return min(max(start + (_SWELL if hairpin.grows else -_SWELL), _SOFTEST), 1.0)
