"""Places for fingering digits: as near to their notes as clear space allows, touching no ink and no other digit.

Digits stand above the staff, those of a lower voice below (common practice for bowed strings, no source). They stay
outside the note's own stem, beam and articulations, but come under a slur where there is room.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from engraving.drawing import Typeface
from engraving.metrics import TEXT_FAMILY, FontMetrics
from engraving.page import NotePlace, PageMap, Rect

DIGIT_FACE = Typeface(TEXT_FAMILY)
_FIGURE_HEIGHT = 0.676  # of digits and capitals in that face, in parts of the em
_DIGIT, _NUMERAL = 1.3, 1.0  # heights in staff spaces
_CLEARANCE = 0.3  # around every digit, in staff spaces
_STACK_GAP = 0.4  # between the digits of a chord, in staff spaces
_SHIFTS = (0.0, -0.4, 0.4, -0.8, 0.8)  # sideways, in staff spaces, when there is no room straight above
_CELL = 3.0  # width in mm of the cells in which boxes are looked up

_Box = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True)
class Wanted:
    """A digit for a note, with a string numeral such as ``III`` beyond it if given.

    ``below`` says on which side of the staff; ``None`` lets a lower voice have its digits below, all others above.
    """

    note_id: str
    text: str
    string: str | None = None
    below: bool | None = None


@dataclass(frozen=True, slots=True)
class Figure:
    """Text at its place: ``rect`` is as wide as the text's advance, from the top of a digit down to the baseline.

    ``size`` is the em of the face in millimetres.
    """

    text: str
    rect: Rect
    size: float


@dataclass(frozen=True, slots=True)
class Placed:
    """Where the digit of a note stands, and its string numeral if it has one."""

    note_id: str
    digit: Figure
    string: Figure | None = None

    @property
    def figures(self) -> tuple[Figure, ...]:
        """The digit, then the numeral if there is one."""
        return (self.digit,) if self.string is None else (self.digit, self.string)


def place(page: PageMap, wanted: Sequence[Wanted], metrics: FontMetrics) -> tuple[Placed, ...]:
    """A place for every wanted digit whose note lies on this page; those of other pages are passed over.

    The digits of a chord stand over each other in the order of its notes.
    """
    shelves = [_shelf(page, number) for number in range(len(page.systems))]
    whole = _Shelf(page.staff_space, 0.0, page.height)
    placed: list[Placed] = []
    for stack in _stacks(page, wanted, metrics):
        found = shelves[stack.system].find(stack)
        if found is None:
            _fill(whole, page, placed)
            found = whole.find(stack) or whole.straight(stack)
        placed.extend(stack.set_at(*found))
        for shelf in shelves[max(stack.system - 1, 0) : stack.system + 2]:
            shelf.add(stack.box(*found))
    return tuple(placed)


def _stacks(page: PageMap, wanted: Iterable[Wanted], metrics: FontMetrics) -> list[_Stack]:
    """Digits that stand over one another, stack by stack from left to right."""
    gathered: dict[tuple[str, bool], list[Wanted]] = defaultdict(list)
    for item in wanted:
        note = page.notes.get(item.note_id)
        if note is not None:
            below = note.lower_voice if item.below is None else item.below
            gathered[note.chord or item.note_id, below].append(item)
    stacks = [_Stack(items, below, page, metrics) for (_, below), items in gathered.items()]
    return sorted(stacks, key=lambda stack: (stack.system, stack.places[0].head.x0))


@dataclass(slots=True)
class _Stack:
    """The figures of one note or chord on one side of the staff, the one nearest the staff first."""

    wanted: list[Wanted]
    below: bool
    page: PageMap
    metrics: FontMetrics
    places: list[NotePlace] = field(init=False)
    width: float = 0.0
    height: float = 0.0

    def __post_init__(self) -> None:
        self.turn(below=self.below)
        for rect in (figure.rect for placed in self.set_at(0.0, 0.0) for figure in placed.figures):
            self.width = max(self.width, rect.width)
            self.height = max(self.height, abs(rect.y0), abs(rect.y1))

    def turn(self, *, below: bool) -> None:
        """Stand on this side of the staff, the figures in its order."""
        self.below = below
        notes = self.page.notes
        self.wanted.sort(key=lambda item: notes[item.note_id].head.centre[1], reverse=not below)
        self.places = [notes[item.note_id] for item in self.wanted]

    @property
    def system(self) -> int:
        """The system it belongs to, on this page."""
        return self.places[0].system

    def set_at(self, x: float, y: float) -> list[Placed]:
        """The figures centred on ``x``, the stack's edge nearest the staff at ``y``."""
        placed = []
        for item in self.wanted:
            digit = self._figure(item.text, _DIGIT, x, y)
            y = self._beyond(digit)
            numeral = self._figure(item.string, _NUMERAL, x, y) if item.string else None
            y = self._beyond(numeral) if numeral else y
            placed.append(Placed(item.note_id, digit, numeral))
        return placed

    def _figure(self, text: str, height: float, x: float, y: float) -> Figure:
        space = self.page.staff_space
        size = height * space / _FIGURE_HEIGHT
        half = self.metrics.width(text, DIGIT_FACE, size) / 2
        top, bottom = (y, y + height * space) if self.below else (y - height * space, y)
        return Figure(text, Rect(x - half, top, x + half, bottom), size)

    def _beyond(self, figure: Figure) -> float:
        gap = _STACK_GAP * self.page.staff_space
        return figure.rect.y1 + gap if self.below else figure.rect.y0 - gap

    def box(self, x: float, y: float) -> _Box:
        """The box of the whole stack."""
        top, bottom = (y, y + self.height) if self.below else (y - self.height, y)
        return x - self.width / 2, top, x + self.width / 2, bottom


@dataclass(slots=True)
class _Shelf:
    """The ink around one system in cells from left to right, and the band digits of that system may stand in."""

    space: float
    top: float
    bottom: float
    cells: dict[int, list[_Box]] = field(default_factory=lambda: defaultdict(list))

    def add(self, box: _Box) -> None:
        """Take the room of a box."""
        for cell in range(int(box[0] // _CELL), int(box[2] // _CELL) + 1):
            self.cells[cell].append(box)

    def find(self, stack: _Stack) -> tuple[float, float] | None:
        """Where the stack stands: straight over its notes if it can be, else a little beside, else on the other side.

        ``None`` when there is no such place in the band.
        """
        centre = stack.places[0].head.centre[0]
        for below in (stack.below, not stack.below):
            for shift in _SHIFTS:
                x = centre + shift * self.space
                y = self._slide(stack, x, below=below)
                top, bottom = (y, y + stack.height) if below else (y - stack.height, y)
                if self.top <= top and bottom <= self.bottom:
                    stack.turn(below=below)
                    return x, y
        return None

    def straight(self, stack: _Stack) -> tuple[float, float]:
        """Straight over or under its notes, even off the paper."""
        centre = stack.places[0].head.centre[0]
        return centre, self._slide(stack, centre, below=stack.below)

    def _slide(self, stack: _Stack, x: float, *, below: bool) -> float:
        """The y of the edge towards the notes when the stack is slid away from them until it touches nothing."""
        gap = _CLEARANCE * self.space
        obstacles = self._obstacles(x - stack.width / 2 - gap, x + stack.width / 2 + gap)
        if below:
            y = gap + max(max(place.staff_bottom, place.column.y1) for place in stack.places)
            for _, y0, _, y1 in sorted(obstacles, key=lambda box: box[1]):
                if y1 + gap > y and y0 - gap < y + stack.height:
                    y = y1 + gap
            return y
        y = min(min(place.staff_top, place.column.y0) for place in stack.places) - gap
        for _, y0, _, y1 in sorted(obstacles, key=lambda box: -box[3]):
            if y0 - gap < y and y1 + gap > y - stack.height:
                y = y0 - gap
        return y

    def _obstacles(self, x0: float, x1: float) -> set[_Box]:
        cells = range(int(x0 // _CELL), int(x1 // _CELL) + 1)
        return {box for cell in cells for box in self.cells.get(cell, ()) if box[0] < x1 and box[2] > x0}


def _shelf(page: PageMap, number: int) -> _Shelf:
    """The ink between the staff of the system before and that of the system after; each staff counts as one box."""
    systems = page.systems
    own = systems[number].rect
    top = systems[number - 1].staff_bottom if number else page.music_top
    bottom = systems[number + 1].staff_top if number + 1 < len(systems) else page.height
    shelf = _Shelf(page.staff_space, top, bottom)
    ink = page.ink
    margin = _CLEARANCE * page.staff_space
    seen = (ink[:, 3] > top - margin) & (ink[:, 1] < bottom + margin)
    for staff_top, staff_bottom in {(n.staff_top, n.staff_bottom) for n in page.notes.values() if n.system == number}:
        seen &= (ink[:, 1] < staff_top) | (ink[:, 3] > staff_bottom)
        shelf.add((own.x0, staff_top, own.x1, staff_bottom))
    for x0, y0, x1, y1 in ink[seen].tolist():
        shelf.add((x0, y0, x1, y1))
    return shelf


def _fill(whole: _Shelf, page: PageMap, placed: Iterable[Placed]) -> None:
    """Take all ink of the page and all digits so far: for the rare stack that has no room beside its own system."""
    whole.cells.clear()
    for x0, y0, x1, y1 in page.ink.tolist():
        whole.add((x0, y0, x1, y1))
    for rect in (figure.rect for one in placed for figure in one.figures):
        whole.add((rect.x0, rect.y0, rect.x1, rect.y1))
