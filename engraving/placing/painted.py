"""A mark painted by us, as a value: what is drawn, where it lies, and which room it takes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from engraving.drawing import UNITS_A_MM, Drawing, Mark, moved
from engraving.ink import InkFinder
from engraving.marks.teacher import MARK_KINDS, TeacherMark
from engraving.outlines import Floats
from engraving.page import Rect
from engraving.placing.shelves import Box

# A courtesy accidental is engraved wherever it was moved to: its sign follows from the music.
_ALWAYS_ENGRAVED = ("courtesy",)
# What the engraver sets as words is lifted over the digits; moved by hand it starts from there.
LIFTED_KINDS = frozenset(("text", "position", "held-position"))
_FLAT_MM, _LONGEST_MM = 0.02, 3.0
_NO_GLYPHS: Mapping[str, tuple[()]] = MappingProxyType({})


@dataclass(frozen=True, slots=True, eq=False)
class PaintedMark:
    """One of the teacher's marks, or as much of it as lies beside one system.

    ``drawn`` in the units of :mod:`engraving.drawing`; ``boxes`` [n, 4] are its ink in mm.
    """

    mark: TeacherMark
    drawn: tuple[Mark, ...]
    boxes: Floats

    @property
    def rect(self) -> Rect:
        """The box around all of it, in mm."""
        x0, y0 = self.boxes[:, :2].min(axis=0)
        x1, y1 = self.boxes[:, 2:].max(axis=0)
        return Rect(float(x0), float(y0), float(x1), float(y1))

    @property
    def room(self) -> list[Box]:
        """The corners of boxes around all its ink, in mm: of a long flat line there are fewer than of its ink."""
        found: list[Box] = []
        for x0, y0, x1, y1 in self.boxes.tolist():
            if found and found[-1][0] <= x0 <= found[-1][2] + _FLAT_MM:
                before = found[-1]
                box = before[0], min(y0, before[1]), max(x1, before[2]), max(y1, before[3])
                if box[3] - box[1] <= max(y1 - y0, before[3] - before[1]) + _FLAT_MM and box[2] - box[0] <= _LONGEST_MM:
                    found[-1] = box
                    continue
            found.append((x0, y0, x1, y1))
        return found

    @property
    def rects(self) -> tuple[Rect, ...]:
        """Its ink, box by box."""
        return tuple(Rect(*box) for box in self.boxes.tolist())

    def moved(self, dx: float, dy: float) -> PaintedMark:
        """The same so many mm to the right and down."""
        drawn = tuple(moved(one, dx * UNITS_A_MM, dy * UNITS_A_MM) for one in self.drawn)
        return replace(self, drawn=drawn, boxes=self.boxes + np.array([dx, dy, dx, dy]))


def is_painted(mark: TeacherMark) -> bool:
    """Whether a mark is painted over the page: the engraver does not draw its kind, or it was moved by hand."""
    was_moved = bool(mark.dx or mark.dy) and mark.kind not in _ALWAYS_ENGRAVED
    return was_moved or not MARK_KINDS[mark.kind].engraved


def painted(mark: TeacherMark, sign: tuple[Mark, ...], ink: InkFinder) -> PaintedMark:
    """A sign as a painted mark, with its ink measured."""
    nothing = Drawing(0.0, 0.0, (), _NO_GLYPHS)
    boxes = [ink.boxes(one, nothing) for one in sign]
    return PaintedMark(mark, sign, np.concatenate(boxes) / UNITS_A_MM if boxes else np.empty((0, 4)))
