"""Where everything lies on an engraved page: notes, measures, systems and ink. Millimetres, y downwards.

In a full score every staff counts as a system of its own: digits and marks stand between it and its neighbours.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import inf
from typing import Literal

from engraving.outlines import Floats

Stem = Literal["up", "down"]
_REACH = 1.0  # how far beside a notehead a pointer still means it, in staff spaces


@dataclass(frozen=True, slots=True)
class Rect:
    """A box with its corners at ``x0``, ``y0`` (top left) and ``x1``, ``y1``."""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def corners(self) -> tuple[float, float, float, float]:
        """Left, top, right and bottom."""
        return self.x0, self.y0, self.x1, self.y1

    @property
    def width(self) -> float:
        """From left to right."""
        return self.x1 - self.x0

    @property
    def height(self) -> float:
        """From top to bottom."""
        return self.y1 - self.y0

    @property
    def centre(self) -> tuple[float, float]:
        """The middle point."""
        return (self.x0 + self.x1) / 2, (self.y0 + self.y1) / 2

    def distance(self, x: float, y: float) -> float:
        """How far a point lies outside; 0 within."""
        dx = max(self.x0 - x, 0.0, x - self.x1)
        dy = max(self.y0 - y, 0.0, y - self.y1)
        return float((dx * dx + dy * dy) ** 0.5)

    def touches(self, other: Rect) -> bool:
        """Whether the two share some area."""
        return self.x0 < other.x1 and other.x0 < self.x1 and self.y0 < other.y1 and other.y0 < self.y1


@dataclass(frozen=True, slots=True)
class NotePlace:
    """Where one notehead lies.

    ``column`` also holds its stem, flag, articulations and the beam above or below it, ``body`` the same without
    articulations. ``system`` counts on this page, ``measure`` in the part, both from 0. ``staff_top`` and
    ``staff_bottom`` are the outer lines of its staff.
    ``chord`` is the same for all notes on one stem, ``None`` for a single note. ``lower_voice``: another voice stands
    above this one on the staff.
    """

    head: Rect
    column: Rect
    body: Rect
    system: int
    measure: int
    staff_top: float
    staff_bottom: float
    stem: Stem | None
    chord: str | None
    lower_voice: bool = False


@dataclass(frozen=True, slots=True)
class MeasurePlace:
    """The staves of one measure. ``last`` is greater than ``first`` for a long rest that stands for several."""

    first: int
    last: int
    system: int
    rect: Rect


@dataclass(frozen=True, slots=True)
class SystemPlace:
    """One line of music: ``rect`` holds all its ink, ``first`` and ``last`` are measures of the part."""

    first: int
    last: int
    rect: Rect
    staff_top: float
    staff_bottom: float


@dataclass(frozen=True, eq=False)
class PageMap:
    """All places on one page. ``ink`` [n, 4] are boxes x0, y0, x1, y1 around everything drawn.

    ``music_top`` is where the heading ends, 0 without one, ``music_bottom`` where the foot begins. ``marks``: the
    teacher's marks that the engraver drew, by their number, a box for every system.
    """

    width: float
    height: float
    staff_space: float
    notes: Mapping[str, NotePlace]
    measures: tuple[MeasurePlace, ...]
    systems: tuple[SystemPlace, ...]
    ink: Floats
    music_top: float = 0.0
    marks: tuple[tuple[int, Rect], ...] = ()
    music_bottom: float = inf

    def note_at(self, x: float, y: float) -> str | None:
        """The id of the note whose head is at a point or at most a staff space beside it, the nearest if several."""
        reach = _REACH * self.staff_space
        near = ((place.head.distance(x, y), note_id) for note_id, place in self.notes.items())
        return min(((far, note_id) for far, note_id in near if far <= reach), default=(0.0, None))[1]

    def measure_at(self, x: float, y: float) -> MeasurePlace | None:
        """The measure at a point on its staves or in the ink of its system above and below."""
        for measure in self.measures:
            system = self.systems[measure.system].rect
            top, bottom = min(system.y0, measure.rect.y0), max(system.y1, measure.rect.y1)
            if measure.rect.x0 <= x < measure.rect.x1 and top <= y <= bottom:
                return measure
        return None
