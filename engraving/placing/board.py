"""One page on which digits and marks are set: the shelves of its systems, filled as things find their places."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from engraving.ink import InkFinder
from engraving.metrics import FontMetrics
from engraving.page import NotePlace, PageMap, Rect
from engraving.placing.figures import Placed, Wanted
from engraving.placing.names import with_names
from engraving.placing.rows import SHIFTS, row
from engraving.placing.shelves import CLEARANCE, Box, Shelf, shelf_of, whole_shelf
from engraving.placing.stacks import Stack, stacks_of


class Board:
    """The page while it is being filled."""

    def __init__(self, page: PageMap, metrics: FontMetrics) -> None:
        self.page, self.metrics, self.space = page, metrics, page.staff_space
        self.ink = InkFinder(metrics)
        self.shelves: list[Shelf] = [shelf_of(page, number) for number in range(len(page.systems))]
        self._taken: list[Box] = []

    def take(self, boxes: Iterable[Rect]) -> None:
        """Take the room of boxes anywhere on the page."""
        for rect in boxes:
            self._take((rect.x0, rect.y0, rect.x1, rect.y1), self.shelves)

    def set_digits(self, wanted: Sequence[Wanted], levels: Mapping[str, float]) -> tuple[Placed, ...]:
        """A place for every digit whose note lies on the page; see :func:`engraving.placing.place`."""
        placed: list[Placed] = []
        stacks = stacks_of(self.page, wanted, self.metrics)
        for system, shelf in enumerate(self.shelves):
            here: list[Placed] = []
            own = [stack for stack in stacks if stack.system == system]
            sides = [(below, [stack for stack in own if stack.below is below]) for below in (False, True)]
            for below, side in sides:
                for stack, spot in zip(side, row(side, shelf, below=below, levels=levels), strict=True):
                    at = (spot.x, spot.y) if spot is not None and shelf.is_free(spot.box) else self._elsewhere(stack)
                    here.extend(self._set(stack, at))
            placed.extend(with_names(sorted(here, key=self._reading_order), wanted, self))
        return tuple(placed)

    def _reading_order(self, one: Placed) -> tuple[bool, float]:
        """Over the staff from left to right, then under it: one of a lower voice may have found its room above."""
        return one.digit.rect.y0 > self.page.notes[one.note_id].staff_bottom, one.digit.rect.x0

    def start(self, note: NotePlace, *, below: bool) -> float:
        """The nearest y to the staff at which something outside a note and its stem may begin."""
        gap = CLEARANCE * self.space
        outer = max(note.staff_bottom, note.column.y1) if below else min(note.staff_top, note.column.y0)
        return outer + gap if below else outer - gap

    def is_taken(self, rect: Rect) -> bool:
        """Whether ink of the page or something set lies there."""
        ink = self.page.ink
        inked = (ink[:, 0] < rect.x1) & (ink[:, 2] > rect.x0) & (ink[:, 1] < rect.y1) & (ink[:, 3] > rect.y0)
        return bool(inked.any()) or any(rect.touches(Rect(*box)) for box in self._taken)

    def near(self, system: int) -> list[Shelf]:
        """The shelves that what stands beside a system may reach into."""
        return self.shelves[max(system - 1, 0) : system + 2]

    def add(self, system: int, rect: Rect) -> None:
        """Take the room of something that stands beside a system."""
        self._take((rect.x0, rect.y0, rect.x1, rect.y1), self.near(system))

    def _set(self, stack: Stack, at: tuple[float, float]) -> list[Placed]:
        placed = stack.set_at(*at)
        self._take(stack.box(*at, below=stack.below), self.near(stack.system))
        return placed

    def _take(self, box: Box, shelves: Iterable[Shelf]) -> None:
        self._taken.append(box)
        for shelf in shelves:
            shelf.add(box)

    def _elsewhere(self, stack: Stack) -> tuple[float, float]:
        """Where a stack stands that found no room in its row: further out, on the other side, or off the band."""
        shelf = self.shelves[stack.system]
        found = _first_free(stack, shelf)
        if found is None:
            whole = whole_shelf(self.page, self._taken)
            found = _first_free(stack, whole)
            if found is None:
                below, start = stack.below, stack.start(below=stack.below)
                x = stack.centre
                found = x, whole.slide(x - stack.left, x + stack.right, stack.height, start, below=below)
        return found


def _first_free(stack: Stack, shelf: Shelf) -> tuple[float, float] | None:
    for below in (stack.below, not stack.below):
        for shift in (0.0, *SHIFTS):
            x = stack.centre + shift * shelf.space
            start = stack.start(below=below)
            y = shelf.slide(x - stack.left, x + stack.right, stack.height, start, below=below)
            box = stack.box(x, y, below=below)
            if shelf.holds(box[1], box[3]):
                stack.turn(below=below)
                return x, y
    return None
