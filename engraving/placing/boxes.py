"""Boxes round named passages: a line over and one under their measures, sides at their ends, the name at the left.

Nothing of a box touches the page or what lies over it: its lines lie beyond all that belongs to its measures, and are
broken where there is no room, its sides most of all at the staff. A box that reaches over systems is open where it
goes on. Passages within another lie inside its box. The lines of neighbouring boxes differ: whole, in dashes, in dots;
so do their colours, where there are any.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby

import numpy as np

from analysis.language import _
from engraving.drawing import UNITS_A_MM, Drawing, Group, Lettering, Mark, Shape, Typeface
from engraving.errors import EngravingError
from engraving.ink import InkFinder
from engraving.metrics import TEXT_FAMILY, FontMetrics
from engraving.oneline import cut_to, line_width, one_line
from engraving.outlines import Floats
from engraving.page import PageMap, Rect
from engraving.placing.boxroom import Room, rooms_of
from engraving.placing.figures import FIGURE_HEIGHT
from engraving.placing.page import Overlay
from engraving.placing.runs import Run, level_runs, upright_runs

# In staff spaces.
_INSET = 0.5  # from a bar line to the side beside it
_LEAD = 1.2  # of the line before the name
_NAME_HEIGHT, _BESIDE_NAME, _NAME_GAP = 1.25, 0.45, 0.4  # beside a name, over and under it
_GAP = 0.25  # around lines
_UNDER = 1.4  # from the staff to the line under it
_SHORTEST = 0.5  # of a piece of a line or a side
_STEP, _STEPS = 0.25, 40  # from one level to the next
# Whole, in dashes, in dots: width, then the lengths of stroke and pause.
_LINES: tuple[tuple[float, tuple[float, ...]], ...] = ((0.16, ()), (0.18, (0.9, 0.55)), (0.22, (0.22, 0.4)))
# What a level costs: a space of line lost, of way out or in, of way of the name to the right; a name over it; no name.
_LOST, _FAR, _ASIDE, _OVER, _NAMELESS = 4.0, 2.0, 0.3, 4.0, 500.0
_LONGEST_NAME = 0.6  # of the page's width
_FACE = Typeface(TEXT_FAMILY, bold=True)
_PASSAGE = Group("passage", "")


@dataclass(frozen=True, slots=True)
class PassageBox:
    """A named passage of a part: the indices of its ``first`` and ``last`` measure, both included.

    The name is one line. EngravingError for a name that is empty or cannot be printed, and for measures that cannot be.
    """

    name: str
    first: int
    last: int

    def __post_init__(self) -> None:
        object.__setattr__(self, "name", one_line(self.name, _("Passage")))
        if not self.name:
            raise EngravingError(_("Passage: it has no name"))
        if not 0 <= self.first <= self.last:
            raise EngravingError(
                _("Passage: there are no measures from index {first} to {last}").format(
                    first=self.first, last=self.last
                )
            )


@dataclass(frozen=True, slots=True, eq=False)
class PaintedBox:
    """As much of a passage's box as lies at one system.

    ``number`` is its place among all passages, which its lines and its colour go by. ``drawn`` in the units of
    :mod:`engraving.drawing`; ``boxes`` [n, 4] are its ink in mm.
    """

    passage: PassageBox
    system: int
    number: int
    drawn: tuple[Mark, ...]
    boxes: Floats

    @property
    def rects(self) -> tuple[Rect, ...]:
        """Its ink, box by box."""
        return tuple(Rect(*box) for box in self.boxes.tolist())


Overlaid = Overlay | PaintedBox


def boxes_on(
    page: PageMap, boxes: Sequence[PassageBox], overlay: Sequence[Overlay], metrics: FontMetrics
) -> tuple[PaintedBox, ...]:
    """The boxes of passages on a page, one for each system they reach, touching neither ink nor ``overlay``.

    In the order of ``boxes``, then of systems. A line that has no room lies as near as it can, or is broken.
    """
    rooms = rooms_of(page, overlay)
    frames = [frame for number, box in enumerate(boxes) for frame in _frames(page, number, box)]
    setter = _Setter(page, metrics, rooms)
    inside_first = sorted(frames, key=lambda frame: (frame.passage.last - frame.passage.first, frame.number))
    for frame in inside_first:
        setter.set_top(frame)
    for frame in inside_first:
        setter.set_bottom(frame)
    return tuple(
        PaintedBox(one.passage, one.system, one.number, tuple(one.drawn), setter.ink_of(one.drawn)) for one in frames
    )


def uprights_of(page: PageMap, boxes: Sequence[PassageBox]) -> tuple[tuple[int, float], ...]:
    """Where the sides of the boxes will stand: the system, and x."""
    frames = [frame for number, box in enumerate(boxes) for frame in _frames(page, number, box)]
    return tuple((one.system, x) for one in frames for x, closed in one.sides if closed)


@dataclass(slots=True, eq=False)
class _Frame:
    """A box at one system: its ends, and what was drawn of it so far; at ``begins`` and ``ends`` it is closed."""

    passage: PassageBox
    number: int
    system: int
    x0: float
    x1: float
    begins: bool
    ends: bool
    drawn: list[Mark] = field(default_factory=list)

    @property
    def sides(self) -> tuple[tuple[float, bool], tuple[float, bool]]:
        """Left and right end, and whether a line stands there."""
        return (self.x0, self.begins), (self.x1, self.ends)


def _frames(page: PageMap, number: int, box: PassageBox) -> Iterator[_Frame]:
    inset = _INSET * page.staff_space
    own = (measure for measure in page.measures if measure.first <= box.last and box.first <= measure.last)
    for system, group in groupby(own, key=lambda measure: measure.system):
        measures = list(group)
        begins, ends = measures[0].first <= box.first, box.last <= measures[-1].last
        x0, x1 = measures[0].rect.x0, measures[-1].rect.x1
        yield _Frame(box, number, system, x0 + inset * begins, x1 - inset * ends, begins, ends)


@dataclass(slots=True)
class _Level:
    """A height for a line, what it costs, and where the name stands with it (its left end and its baseline)."""

    y: float
    cost: float
    name: tuple[float, float] | None = None


class _Setter:
    """Sets lines, sides and names one after the other; each takes its room."""

    def __init__(self, page: PageMap, metrics: FontMetrics, rooms: Sequence[Room]) -> None:
        self.page, self.metrics, self.space, self.rooms = page, metrics, page.staff_space, rooms
        self.gap = _GAP * self.space
        self.finder = InkFinder(metrics)
        # As far from the right edge of the paper as the staves are from the left.
        self.right = page.width - min((measure.rect.x0 for measure in page.measures), default=0.0)

    def set_top(self, frame: _Frame) -> None:
        """The line over the measures with the name, and the sides down to the staff."""
        room, half = self.rooms[frame.system], self._half(frame)
        name = _Name.of(frame.passage.name, self.page, self.metrics)
        walls, wanted = room.walls, room.edge(frame.x0, frame.x1) - name.half - _NAME_GAP * self.space
        levels = [self._with_name(level, frame, room, walls, name) for level in self._levels(frame, room, half, wanted)]
        best = min(levels, key=lambda level: level.cost, default=None)
        if best is None:
            return
        if best.name is not None:
            self._add(frame, [name.at(*best.name)], beside=_BESIDE_NAME * self.space - self.gap)
        self._draw(frame, self._runs(frame, room.walls, best.y, half), best.y, (best.y + half, room.staff))

    def set_bottom(self, frame: _Frame) -> None:
        """The line under the measures, and the sides up to the staff."""
        room, half = self.rooms[frame.system], self._half(frame)
        flipped = room.flipped()  # upside down, and so the line over them
        wanted = min(flipped.edge(frame.x0, frame.x1) - self.gap - half, flipped.staff - _UNDER * self.space)
        best = min(self._levels(frame, flipped, half, wanted), key=lambda level: level.cost, default=None)
        if best is not None:
            runs = self._runs(frame, flipped.walls, best.y, half)
            self._draw(frame, runs, -best.y, (-flipped.staff, -best.y - half))

    def ink_of(self, drawn: Iterable[Mark]) -> Floats:
        """The boxes of what was drawn, in mm."""
        nothing = Drawing(0.0, 0.0, (), {})
        boxes = [self.finder.boxes(mark, nothing) for mark in drawn]
        ink: Floats = np.concatenate(boxes) / UNITS_A_MM if boxes else np.empty((0, 4))
        return ink

    def _half(self, frame: _Frame) -> float:
        return _LINES[frame.number % len(_LINES)][0] * self.space / 2

    def _levels(self, frame: _Frame, room: Room, half: float, wanted: float) -> Iterator[_Level]:
        """Heights beyond all that belongs to the measures, and some within, where the line will be broken.

        ``half``: of the line's width; ``wanted``: where it would lie if there were room.
        """
        edge, walls = room.edge(frame.x0, frame.x1), room.walls
        nearest, step = edge - self.gap - half, _STEP * self.space
        heights = {wanted, *(nearest + step * number for number in range(-_STEPS, _STEPS // 4))}
        for y in sorted(heights):
            if room.outer + half <= y <= room.staff - self.gap - half:
                free = sum(right - left for left, right in self._runs(frame, walls, y, half))
                lost = frame.x1 - frame.x0 - free
                yield _Level(y, (_LOST * max(lost, 0.0) + _FAR * abs(y - wanted)) / self.space)

    def _runs(self, frame: _Frame, walls: Floats, y: float, half: float) -> list[Run]:
        """The pieces of a line at that height; it goes round the corner at a closed end."""
        ends = frame.x0 - half * frame.begins, frame.x1 + half * frame.ends
        runs = level_runs(walls, (y - half - self.gap, y + half + self.gap), ends, self.gap)
        return [run for run in runs if run[1] - run[0] >= _SHORTEST * self.space]

    def _with_name(self, level: _Level, frame: _Frame, room: Room, walls: Floats, name: _Name) -> _Level:
        """The level with the name in a gap of the line, or over it where the measures are narrow or full."""
        lead, beside = _LEAD * self.space, _BESIDE_NAME * self.space
        in_line = level.y + name.capitals / 2
        gap = _NAME_GAP * self.space
        over = level.y - self._half(frame) - gap - name.descent
        found: list[_Level] = []
        ends = frame.x0 + lead, frame.x1 - beside
        anywhere = min(frame.x0, self.right - name.width), self.right
        for baseline, limits, extra in ((in_line, ends, 0.0), (over, anywhere, _OVER)):
            strip = baseline - name.ascent - gap, baseline + name.descent + gap
            runs = level_runs(walls, strip, limits, beside) if strip[0] >= room.outer else []
            x = next((left for left, right in runs if right - left >= name.width), None)
            if x is not None:
                aside = _ASIDE * (x - limits[0]) / self.space
                found.append(_Level(level.y, level.cost + aside + extra, (x, baseline)))
        return min(found, key=lambda one: one.cost, default=_Level(level.y, level.cost + _NAMELESS))

    def _draw(self, frame: _Frame, line: Sequence[Run], y: float, side: Run) -> None:
        """The pieces of a line at that height, and the sides between two heights where they touch nothing."""
        taken, half = self.rooms[frame.system].boxes, self._half(frame)
        pieces = [((left, y), (right, y)) for left, right in line]
        for x, closed in frame.sides:
            if closed:
                runs = upright_runs(taken, (x - half - self.gap, x + half + self.gap), side, self.gap)
                pieces += [((x, top), (x, end)) for top, end in runs if end - top >= _SHORTEST * self.space]
        width, dash = _LINES[frame.number % len(_LINES)]
        self._add(frame, [_line(*piece, width=width, dash=dash, space=self.space) for piece in pieces])

    def _add(self, frame: _Frame, marks: list[Mark], beside: float = 0.0) -> None:
        frame.drawn += marks
        boxes = self.ink_of(marks) + np.array([-beside, 0.0, beside, 0.0])
        for number, room in enumerate(self.rooms):
            room.take(boxes, own=number == frame.system)


@dataclass(frozen=True, slots=True)
class _Name:
    """A name as it is set: its width, and how far it reaches over and under its baseline. Millimetres."""

    text: str
    size: float
    width: float
    ascent: float
    descent: float

    @classmethod
    def of(cls, text: str, page: PageMap, metrics: FontMetrics) -> _Name:
        """The name, cut where it is longer than any line has room for."""
        size = _NAME_HEIGHT * page.staff_space / FIGURE_HEIGHT
        text = cut_to(text, _LONGEST_NAME * page.width, _FACE, size, metrics)
        box = metrics.box(Lettering(_PASSAGE, text, 0.0, 0.0, size, _FACE)) or (0.0, 0.0, 0.0, 0.0)
        return cls(text, size, line_width(text, _FACE, size, metrics), -box[1], max(box[3], 0.0))

    @property
    def capitals(self) -> float:
        """The height of a capital."""
        return self.size * FIGURE_HEIGHT

    @property
    def half(self) -> float:
        """From the middle of its capitals to its lowest point."""
        return self.capitals / 2 + self.descent

    def at(self, x: float, baseline: float) -> Lettering:
        """The name with its left end there."""
        return Lettering(_PASSAGE, self.text, x * UNITS_A_MM, baseline * UNITS_A_MM, self.size * UNITS_A_MM, _FACE)


def _line(
    start: tuple[float, float], end: tuple[float, float], *, width: float, dash: tuple[float, ...], space: float
) -> Shape:
    unit = space * UNITS_A_MM
    points = [tuple(value * UNITS_A_MM for value in point) for point in (start, end)]
    return Shape(
        _PASSAGE, (("M", points[0]), ("L", points[1])), False, width * unit, dash=tuple(part * unit for part in dash)
    )
