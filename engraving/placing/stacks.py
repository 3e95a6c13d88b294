"""Digits that stand over one another, at one note or chord on one side of the staff."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field

from engraving.metrics import FontMetrics
from engraving.page import NotePlace, PageMap, Rect
from engraving.placing.figures import DIGIT_FACE, DIGIT_SPACES, DOWN, FIGURE_HEIGHT, REACH, UP, Figure, Placed, Wanted
from engraving.placing.shelves import CLEARANCE, Box

# Heights and widths in staff spaces.
_NUMERAL = 1.2
_STACK_GAP = 0.25  # between the digits of a chord
_ARROW_WIDTH, _REACH_SIZE, _BESIDE = 0.6, 0.7, 0.16


@dataclass(slots=True)
class Stack:
    """The figures of one note or chord on one side of the staff, the one nearest the staff first.

    ``left`` and ``right`` of the digits' middle, and ``height``: the room of all of them, in mm.
    """

    wanted: list[Wanted]
    below: bool
    page: PageMap
    metrics: FontMetrics
    places: list[NotePlace] = field(init=False)
    left: float = 0.0
    right: float = 0.0
    height: float = 0.0

    def __post_init__(self) -> None:
        self.turn(below=self.below)
        for rect in (figure.rect for placed in self.set_at(0.0, 0.0) for figure in placed.figures):
            self.left, self.right = max(self.left, -rect.x0), max(self.right, rect.x1)
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

    @property
    def centre(self) -> float:
        """The middle of the head it stands over."""
        return self.places[0].head.centre[0]

    def start(self, *, below: bool) -> float:
        """The nearest y its edge may have: outside the staff and the notes with their stems."""
        gap = CLEARANCE * self.page.staff_space
        if below:
            return gap + max(max(place.staff_bottom, place.column.y1) for place in self.places)
        return min(min(place.staff_top, place.column.y0) for place in self.places) - gap

    def box(self, x: float, y: float, *, below: bool) -> Box:
        """The box of the whole stack, centred on ``x``, its edge nearest the staff at ``y``."""
        top, bottom = (y, y + self.height) if below else (y - self.height, y)
        return x - self.left, top, x + self.right, bottom

    def set_at(self, x: float, y: float) -> list[Placed]:
        """The figures centred on ``x``, the stack's edge nearest the staff at ``y``; position names come later."""
        placed = []
        for item in self.wanted:
            digit = self._figure(item.text, DIGIT_SPACES, x, y)
            y = self._beyond(digit)
            numeral = self._figure(item.string, _NUMERAL, x, y) if item.string else None
            y = self._beyond(numeral) if numeral else y
            reach = self._reach(digit) if item.reach else None
            arrow = self._arrow(digit, UP if item.arrow == "up" else DOWN) if item.arrow else None
            placed.append(Placed(item.note_id, digit, numeral, None, reach, arrow))
        return placed

    def _figure(self, text: str, height: float, x: float, y: float) -> Figure:
        space = self.page.staff_space
        size = height * space / FIGURE_HEIGHT
        half = self.metrics.width(text, DIGIT_FACE, size) / 2
        top, bottom = (y, y + height * space) if self.below else (y - height * space, y)
        return Figure(text, Rect(x - half, top, x + half, bottom), size)

    def _reach(self, digit: Figure) -> Figure:
        space = self.page.staff_space
        right = digit.rect.x0 - _BESIDE * space
        corner = Rect(right - _REACH_SIZE * space, digit.rect.y1 - _REACH_SIZE * space, right, digit.rect.y1)
        return Figure(REACH, corner, digit.size)

    def _arrow(self, digit: Figure, sign: str) -> Figure:
        space = self.page.staff_space
        left = digit.rect.x1 + _BESIDE * space
        return Figure(sign, Rect(left, digit.rect.y0, left + _ARROW_WIDTH * space, digit.rect.y1), digit.size)

    def _beyond(self, figure: Figure) -> float:
        gap = _STACK_GAP * self.page.staff_space
        return figure.rect.y1 + gap if self.below else figure.rect.y0 - gap


def stacks_of(page: PageMap, wanted: Iterable[Wanted], metrics: FontMetrics) -> list[Stack]:
    """The stacks of a page, system by system from left to right."""
    gathered: dict[tuple[str, bool], list[Wanted]] = defaultdict(list)
    for item in wanted:
        note = page.notes.get(item.note_id)
        if note is not None:
            below = note.lower_voice if item.below is None else item.below
            gathered[note.chord or item.note_id, below].append(item)
    stacks = [Stack(items, below, page, metrics) for (_, below), items in gathered.items()]
    return sorted(stacks, key=lambda stack: (stack.system, stack.centre, stack.places[0].head.y0))
