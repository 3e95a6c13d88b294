"""The room around a system in which boxes are drawn: what stands there, and whose it is. Millimetres."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from engraving.outlines import Floats
from engraving.page import PageMap
from engraving.placing.figures import Placed
from engraving.placing.page import Overlay
from engraving.placing.runs import boxes_of

_FROM_STAFF, _FROM_EDGE = 0.6, 0.5  # kept free at the next staff, in staff spaces, and at the page's edge, in mm
_FLIP = np.array([1.0, -1.0, 1.0, -1.0])
_FAR = 1e4  # what lies in no system's ink is nearest to some staff


@dataclass(slots=True, eq=False)
class Room:
    """``boxes`` [n, 4] around one system, ``own`` [n] of them its own, from the ``staff``'s edge to ``outer``.

    Outwards is up; for the room below all heights are negative.
    """

    boxes: Floats
    own: NDArray[np.bool_]
    staff: float
    outer: float
    below: tuple[float, float]

    def flipped(self) -> Room:
        """The room below, upside down."""
        boxes = (self.boxes * _FLIP)[:, (0, 3, 2, 1)]
        return Room(boxes, self.own, -self.below[0], -self.below[1], (-self.staff, -self.outer))

    @property
    def walls(self) -> Floats:
        """What a line keeps clear of: its own system's boxes, another's and all beyond these."""
        walls = self.boxes[self.boxes[:, 1] < self.staff]
        walls[~self.own[self.boxes[:, 1] < self.staff], 1] = -np.inf
        return walls

    def edge(self, x0: float, x1: float) -> float:
        """The outermost height of what belongs to the system between two x."""
        here = self.boxes[self.own & (self.boxes[:, 0] < x1) & (self.boxes[:, 2] > x0)]
        return min(float(here[:, 1].min(initial=self.staff)), self.staff)

    def take(self, boxes: Floats, *, own: bool) -> None:
        """Take the room of more boxes."""
        self.boxes = np.concatenate([self.boxes, boxes])
        self.own = np.concatenate([self.own, np.full(len(boxes), own)])


def rooms_of(page: PageMap, overlay: Sequence[Overlay]) -> list[Room]:
    """The room around every system of a page, with its ink and what lies over it."""
    boxes = np.concatenate([page.ink, boxes_of(overlay)])
    owners = np.concatenate([_owners(page, page.ink), *(_owners_over(page, one) for one in overlay)])
    in_music = (boxes[:, 3] > page.music_top) & (boxes[:, 1] < page.music_bottom)
    owners = np.where(in_music, owners, -1)
    return [_room(page, number, boxes, owners) for number in range(len(page.systems))]


def _room(page: PageMap, number: int, boxes: Floats, owners: NDArray[np.int_]) -> Room:
    systems, space = page.systems, page.staff_space
    here = systems[number]
    free = _FROM_STAFF * space
    top = systems[number - 1].staff_bottom + free if number else _under_the_edge(page)
    last = number + 1 == len(systems)
    bottom = min(page.height - _FROM_EDGE, page.music_bottom) if last else systems[number + 1].staff_top - free
    near = (boxes[:, 3] > top - free) & (boxes[:, 1] < bottom + free)
    return Room(boxes[near], owners[near] == number, here.staff_top, top, (here.staff_bottom, bottom))


def _under_the_edge(page: PageMap) -> float:
    """How high something may lie over the first system: beside the heading, but no higher than that."""
    heading = page.ink[page.ink[:, 3] <= page.music_top]
    return min(page.music_top + _FROM_EDGE, float(heading[:, 1].min(initial=np.inf)))


def _owners(page: PageMap, boxes: Floats) -> NDArray[np.int_]:
    """The system of each box: the one in whose ink it lies, the nearer staff of two."""
    middle = (boxes[:, 1] + boxes[:, 3]) / 2
    away = [
        _FAR * _outside(middle, system.rect.y0, system.rect.y1)
        + _outside(middle, system.staff_top, system.staff_bottom)
        for system in page.systems
    ]
    nearest: NDArray[np.int_] = np.argmin(away, axis=0) if away else np.full(len(boxes), -1)
    return nearest


def _outside(y: Floats, top: float, bottom: float) -> Floats:
    far: Floats = np.maximum(np.maximum(top - y, y - bottom), 0.0)
    return far


def _owners_over(page: PageMap, one: Overlay) -> NDArray[np.int_]:
    boxes = boxes_of([one])
    note = page.notes.get(one.note_id if isinstance(one, Placed) else one.mark.first)
    alone = note is not None and (isinstance(one, Placed) or not one.mark.last)
    return np.full(len(boxes), note.system) if note is not None and alone else _owners(page, boxes)
