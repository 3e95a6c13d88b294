"""The room above and below one system: what stands there, and where something else finds a place."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field
from itertools import pairwise
from operator import itemgetter

import numpy as np

from engraving.outlines import Floats
from engraving.page import PageMap

CLEARANCE = 0.3  # around everything that is placed, in staff spaces
_CELL = 3.0  # width in mm of the cells in which boxes are looked up

Box = tuple[float, float, float, float]


@dataclass(slots=True)
class Shelf:
    """The ink around one system in cells from left to right, and the band in which its digits and marks may stand.

    ``space`` is the staff space; all lengths are in mm.
    """

    space: float
    top: float
    bottom: float
    cells: dict[int, list[Box]] = field(default_factory=lambda: defaultdict(list))

    @property
    def gap(self) -> float:
        """The clearance that everything keeps."""
        return CLEARANCE * self.space

    def add(self, box: Box) -> None:
        """Take the room of a box."""
        for cell in range(int(box[0] // _CELL), int(box[2] // _CELL) + 1):
            self.cells[cell].append(box)

    def add_ink(self, ink: Floats) -> None:
        """Take the room of boxes [n, 4]."""
        first, last = (np.floor(ink[:, edge] / _CELL).astype(int) for edge in (0, 2))
        order = np.argsort(first, kind="stable")
        narrow = order[first[order] == last[order]]
        cells, starts = np.unique(first[narrow], return_index=True)
        boxes: list[Box] = [(x0, y0, x1, y1) for x0, y0, x1, y1 in ink[narrow].tolist()]
        for cell, (start, stop) in zip(cells.tolist(), pairwise([*starts.tolist(), len(boxes)]), strict=True):
            self.cells[cell].extend(boxes[start:stop])
        for x0, y0, x1, y1 in ink[first != last].tolist():
            self.add((x0, y0, x1, y1))

    def copied(self) -> Shelf:
        """The same shelf, to be filled by itself."""
        cells = defaultdict(list, {cell: list(boxes) for cell, boxes in self.cells.items()})
        return Shelf(self.space, self.top, self.bottom, cells)

    def holds(self, top: float, bottom: float) -> bool:
        """Whether that height lies in the band."""
        return self.top <= top and bottom <= self.bottom

    def is_free(self, box: Box) -> bool:
        """Whether a box may stand there, clear of all that stands."""
        x0, y0, x1, y1 = box
        gap = self.gap
        return self.holds(y0, y1) and not any(
            one[1] - gap < y1 and one[3] + gap > y0 for one in self._beside(x0 - gap, x1 + gap)
        )

    def reached_by(self, box: Box) -> bool:
        """Whether a box is so near the band that something in it may have to keep clear of it."""
        return box[3] + 2 * self.gap > self.top and box[1] - 2 * self.gap < self.bottom

    def meets(self, box: Box) -> bool:
        """Whether a box shares area with something that stands."""
        x0, y0, x1, y1 = box
        return any(one[1] < y1 and one[3] > y0 for one in self._beside(x0, x1))

    def slide(self, x0: float, x1: float, height: float, start: float, *, below: bool) -> float:
        """The y of the near edge when something so high is slid outwards from ``start`` until it touches nothing."""
        gap, y = self.gap, start
        beside = self._beside(x0 - gap, x1 + gap)
        if below:
            for _, y0, _, y1 in sorted((box for box in beside if box[3] + gap > start), key=itemgetter(1)):
                if y1 + gap > y and y0 - gap < y + height:
                    y = y1 + gap
            return y
        for _, y0, _, y1 in sorted((box for box in beside if box[1] - gap < start), key=itemgetter(3), reverse=True):
            if y0 - gap < y and y1 + gap > y - height:
                y = y0 - gap
        return y

    def _beside(self, x0: float, x1: float) -> list[Box]:
        """The boxes between two edges; a wide one may come more than once."""
        cells = range(int(x0 // _CELL), int(x1 // _CELL) + 1)
        return [box for cell in cells for box in self.cells.get(cell, ()) if box[0] < x1 and box[2] > x0]


def shelf_of(page: PageMap, number: int) -> Shelf:
    """The ink between the staff of the system before and that of the system after; each staff counts as one box."""
    systems = page.systems
    own = systems[number].rect
    top = systems[number - 1].staff_bottom if number else page.music_top
    bottom = systems[number + 1].staff_top if number + 1 < len(systems) else min(page.height, page.music_bottom)
    shelf = Shelf(page.staff_space, top, bottom)
    ink = page.ink
    margin = CLEARANCE * page.staff_space
    seen = (ink[:, 3] > top - margin) & (ink[:, 1] < bottom + margin)
    for staff_top, staff_bottom in {(n.staff_top, n.staff_bottom) for n in page.notes.values() if n.system == number}:
        seen &= (ink[:, 1] < staff_top) | (ink[:, 3] > staff_bottom)
        shelf.add((own.x0, staff_top, own.x1, staff_bottom))
    shelf.add_ink(ink[seen])
    return shelf


def whole_shelf(page: PageMap, taken: Iterable[Box]) -> Shelf:
    """The whole page with all its ink and what else is taken: for what has no room beside its own system."""
    whole = Shelf(page.staff_space, 0.0, page.height)
    whole.add_ink(page.ink)
    for box in taken:
        whole.add(box)
    return whole
