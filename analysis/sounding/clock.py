"""From quarter notes to seconds and back, through every change of tempo."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from analysis.music import Tempo


@dataclass(frozen=True, slots=True)
class Clock:
    """A tempo from each of the ``onsets`` on (quarter notes, the first is 0), reached after so many ``seconds``.

    ``pace`` holds the seconds that a quarter note lasts from there on.
    """

    onsets: tuple[Fraction, ...]
    seconds: tuple[float, ...]
    pace: tuple[float, ...]

    @classmethod
    def of(cls, tempi: Sequence[Tempo], default: float, factor: float = 1.0) -> Clock:
        """The clock of tempi in the order of time, ``factor`` times as fast; ``default`` holds before the first."""
        marks = {Fraction(0): default} | {max(tempo.onset, Fraction(0)): tempo.quarters_a_minute for tempo in tempi}
        rising = sorted(marks)
        onsets = tuple(
            onset
            for before, onset in zip([None, *rising], rising, strict=False)
            if before is None or marks[before] != marks[onset]
        )
        pace = tuple(60.0 / (marks[onset] * factor) for onset in onsets)
        seconds = [0.0]
        for before, after, each in zip(onsets, onsets[1:], pace, strict=False):
            seconds.append(seconds[-1] + float(after - before) * each)
        return cls(onsets, tuple(seconds), pace)

    def at(self, quarters: Fraction) -> float:
        """The second at which so many quarter notes have passed."""
        index = max(0, bisect_right(self.onsets, quarters) - 1)
        return self.seconds[index] + float(quarters - self.onsets[index]) * self.pace[index]

    def quarters(self, seconds: float) -> float:
        """How many quarter notes have passed after so many seconds."""
        index = max(0, bisect_right(self.seconds, seconds) - 1)
        return float(self.onsets[index]) + (seconds - self.seconds[index]) / self.pace[index]
