"""Room for a row of digits between the staff and the words over it.

The engraver sets tempo marks, words, rehearsal marks and ending brackets close above the staff and its notes. A digit
belongs between a note and such a mark, so all of them are lifted by the same distance: they keep their places to one
another, and the room for it comes from the distance of the systems.
"""

from __future__ import annotations

from dataclasses import replace

from engraving.drawing import Drawing, Glyph, Group, Lettering, Mark, Shape
from engraving.outlines import Matrix, bounds, transformed

LIFT_SPACES = 1.9  # a digit and its clearance on both sides, in staff spaces
_LIFTED = ("tempo", "dir", "reh", "voltaBracket")


def lifted(drawing: Drawing, *, staff_space: float) -> Drawing:
    """The drawing with the marks above each staff lifted; ``staff_space`` in units of the drawing."""
    up: Matrix = (1.0, 0.0, 0.0, 1.0, 0.0, -LIFT_SPACES * staff_space)
    tops = _staff_tops(drawing)
    bottoms = _lowest(drawing)
    moved = {group for group, bottom in bottoms.items() if bottom <= tops.get(_system(group), 0.0)}
    marks = tuple(_moved(mark, up) if _lifted_group(mark.group) in moved else mark for mark in drawing.marks)
    return replace(drawing, marks=marks)


def _lifted_group(group: Group) -> Group | None:
    return next((outer for outer in group.lineage() if outer.kind in _LIFTED), None)


def _system(group: Group) -> Group | None:
    return group.within("system")


def _staff_tops(drawing: Drawing) -> dict[Group | None, float]:
    """The uppermost staff line of every system."""
    tops: dict[Group | None, float] = {}
    for mark in drawing.marks:
        if mark.group.kind == "staff" and isinstance(mark, Shape):
            y = mark.outline[0][1][1]
            system = _system(mark.group)
            tops[system] = min(y, tops.get(system, y))
    return tops


def _lowest(drawing: Drawing) -> dict[Group, float]:
    """The lowest baseline or edge of every mark that may be lifted."""
    lowest: dict[Group, float] = {}
    for mark in drawing.marks:
        group = _lifted_group(mark.group)
        if group is not None:
            lowest[group] = max(_bottom(mark), lowest.get(group, _bottom(mark)))
    return lowest


def _bottom(mark: Mark) -> float:
    if isinstance(mark, Lettering):
        return mark.y
    if isinstance(mark, Glyph):
        return mark.matrix[5]
    box = bounds([mark.outline])
    return box[3] if box else 0.0


def _moved(mark: Mark, matrix: Matrix) -> Mark:
    if isinstance(mark, Lettering):
        return replace(mark, y=mark.y + matrix[5])
    if isinstance(mark, Glyph):
        return replace(mark, matrix=(*mark.matrix[:5], mark.matrix[5] + matrix[5]))
    return replace(mark, outline=transformed(mark.outline, matrix))
