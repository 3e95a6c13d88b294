"""One page on which digits and marks are set: the shelves of its systems, filled as things find their places.

The shelf of a system on which nothing finds a place anew is never filled.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence

from analysis.fingering.ticking import Tick, no_tick
from engraving.ink import InkFinder
from engraving.metrics import FontMetrics
from engraving.page import NotePlace, PageMap, Rect
from engraving.placing.figures import Placed, Wanted
from engraving.placing.ground import Asked, Ground, SetSystem
from engraving.placing.names import with_names
from engraving.placing.rows import SHIFTS, row
from engraving.placing.shelves import CLEARANCE, Box, Shelf, whole_shelf
from engraving.placing.stacks import Stack, stacks_of

# How far beside its note a stack may stand for which there is no room nearer, in staff spaces.
_FAR_SHIFTS = (-1.2, 1.2, -1.6, 1.6, -2.0, 2.0, -2.4, 2.4)
# A line to be drawn upright at a system: its number, and x.
Upright = tuple[int, float]


class Board:
    """The page while it is being filled; what its ``ground`` knows is not worked out again."""

    def __init__(
        self,
        page: PageMap,
        metrics: FontMetrics,
        ground: Ground | None = None,
        uprights: Sequence[Upright] = (),
        tick: Tick = no_tick,
    ) -> None:
        self.page, self.metrics, self.space = page, metrics, page.staff_space
        self.ink = InkFinder(metrics)
        self._ground = ground or Ground(page)
        self._bare = self._ground.survey(tick)
        self._filled: dict[int, Shelf] = {}
        self._taken: list[Box] = []
        self._standing: list[list[Box]] = [[] for _ in self._bare]
        self._looked_beyond = False
        self._uprights = tuple(uprights)

    def shelf(self, system: int) -> Shelf:
        """What stands round a system, with all that has been set there."""
        if system not in self._filled:
            shelf = self._filled[system] = self._bare[system].copied()
            for box in self._standing[system]:
                shelf.add(box)
        return self._filled[system]

    def uprights(self, system: int) -> tuple[float, ...]:
        """Where lines will stand upright at a system."""
        return tuple(x for number, x in self._uprights if number == system)

    def take(self, boxes: Sequence[Box]) -> None:
        """Take the room of boxes that lie together, anywhere on the page."""
        if not boxes:
            return
        around = (0.0, min(box[1] for box in boxes), 0.0, max(box[3] for box in boxes))
        reached = {system for system, shelf in enumerate(self._bare) if shelf.reached_by(around)}
        near = sorted({other for system in reached for other in self._near(system)})
        for box in boxes:
            self._take(box, near)

    def set_digits(
        self, wanted: Sequence[Wanted], levels: Mapping[str, float], tick: Tick = no_tick
    ) -> tuple[Placed, ...]:
        """A place for every digit whose note lies on the page; see :func:`engraving.placing.place`."""
        placed: list[Placed] = []
        by_system: dict[int, list[Wanted]] = defaultdict(list)
        for one in wanted:
            if one.note_id in self.page.notes:
                by_system[self.page.notes[one.note_id].system].append(one)
        for system in range(len(self._bare)):
            tick(system / len(self._bare))
            placed.extend(self._set_system(system, by_system[system], levels))
        return tuple(placed)

    def _set_system(self, system: int, wanted: Sequence[Wanted], levels: Mapping[str, float]) -> tuple[Placed, ...]:
        asked = self._asked(system, wanted, levels)
        known = self._ground.known(system, asked)
        if known is not None:
            for box in known.boxes:
                self._take(box, self._near(system))
            return known.placed
        before, self._looked_beyond = len(self._taken), False
        placed = tuple(self._set_anew(system, wanted, levels))
        if not self._looked_beyond:
            self._ground.keep(system, SetSystem(asked, placed, tuple(self._taken[before:])))
        return placed

    def _asked(self, system: int, wanted: Sequence[Wanted], levels: Mapping[str, float]) -> Asked:
        standing, shelf = self._standing[system], self._bare[system]
        uprights = self.uprights(system)
        if not any(one.hand for one in wanted):
            # Only the name of a position is ever set beyond the band, or minds an upright.
            uprights = ()
            standing = [box for box in standing if shelf.reached_by(box)]
        heights = tuple((one.note_id, levels[one.note_id]) for one in wanted if one.note_id in levels)
        return Asked(tuple(wanted), heights, tuple(standing), uprights)

    def _set_anew(self, system: int, wanted: Sequence[Wanted], levels: Mapping[str, float]) -> list[Placed]:
        here: list[Placed] = []
        shelf, own = self.shelf(system), stacks_of(self.page, wanted, self.metrics)
        sides = [(below, [stack for stack in own if stack.below is below]) for below in (False, True)]
        for below, side in sides:
            for stack, spot in zip(side, row(side, shelf, below=below, levels=levels), strict=True):
                at = (spot.x, spot.y) if spot is not None and shelf.is_free(spot.box) else self._elsewhere(stack)
                here.extend(self._set(stack, at))
        return with_names(sorted(here, key=self._reading_order), wanted, self)

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

    def add(self, system: int, rect: Rect) -> None:
        """Take the room of something that stands beside a system."""
        self._take(rect.corners, self._near(system))

    def _near(self, system: int) -> range:
        """The systems whose shelves what stands beside a system may reach into."""
        return range(max(system - 1, 0), min(system + 2, len(self._bare)))

    def _set(self, stack: Stack, at: tuple[float, float]) -> list[Placed]:
        placed = stack.set_at(*at)
        self._take(stack.box(*at, below=stack.below), self._near(stack.system))
        return placed

    def _take(self, box: Box, systems: Iterable[int]) -> None:
        self._taken.append(box)
        for system in systems:
            self._standing[system].append(box)
            if system in self._filled:
                self._filled[system].add(box)

    def _elsewhere(self, stack: Stack) -> tuple[float, float]:
        """Where a stack stands that found no room in its row: further out, on the other side, or off the band."""
        shelf = self.shelf(stack.system)
        # Beyond another staff it would be read there: rather a little away from its note.
        found = _first_free(stack, shelf, (0.0, *SHIFTS)) or _first_free(stack, shelf, _FAR_SHIFTS)
        if found is None:
            self._looked_beyond = True
            whole = whole_shelf(self.page, self._taken)
            found = _first_free(stack, whole, (0.0, *SHIFTS))
            if found is None:
                below, start = stack.below, stack.start(below=stack.below)
                x = stack.centre
                found = x, whole.slide(x - stack.left, x + stack.right, stack.height, start, below=below)
        return found


def _first_free(stack: Stack, shelf: Shelf, shifts: Sequence[float]) -> tuple[float, float] | None:
    for below in (stack.below, not stack.below):
        for shift in shifts:
            x = stack.centre + shift * shelf.space
            start = stack.start(below=below)
            y = shelf.slide(x - stack.left, x + stack.right, stack.height, start, below=below)
            box = stack.box(x, y, below=below)
            if shelf.holds(box[1], box[3]):
                stack.turn(below=below)
                return x, y
    return None
