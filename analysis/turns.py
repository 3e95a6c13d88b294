"""Page turns: how long the hands are free at every barline, and where pages end so that they turn in rests.

Odd pages are right-hand ones, so a player turns after an odd page; from an even page to the odd one beside it the eyes
move freely. That a part of two pages lies open, both side by side, and that one player of a desk turns while the
other plays on: common practice, no source.

The pages are those of least cost. What counts, next to a turn in the middle of playing, which costs 1:

==========================================  =========================================================
a turn with too short a rest                half of it, and the more the shorter the rest is
a page that is left partly empty            nothing up to a tenth, 1 for two fifths; never more than half
a page that begins elsewhere than usual     0.05
a page more than usual                      0.3
a line that breaks elsewhere than usual     what the caller says
==========================================  =========================================================
"""

from __future__ import annotations

import bisect
import itertools
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from analysis.language import _
from analysis.music import Part
from analysis.wording import decimal

# Seconds in which a page is turned and the hand is back: common practice, no source.
ENOUGH = 3.0
_TOO_SHORT = 0.5
_FREELY_EMPTY, _EMPTY_COSTS_1, _EMPTIEST = 0.1, 0.4, 0.5
_MOVED, _MORE_PAGE = 0.05, 0.3

_Costs = NDArray[np.float64]
_Numbers = NDArray[np.int32]


@dataclass(frozen=True, slots=True)
class Turn:
    """The turn after an odd ``page``, before the measure of index ``measure``, printed as ``label``.

    ``seconds``: how long the part rests around the turn. ``enough``: the page can be turned in that time.
    """

    page: int
    measure: int
    label: str
    seconds: float
    enough: bool

    @property
    def text(self) -> str:
        """What the teacher has to know of a hard turn, in one sentence; "" for an easy one."""
        if self.enough:
            return ""
        if not round(self.seconds, 1):
            words = _("Page {page} turns before measure {measure} with no rest: let one player of the desk turn.")
            return words.format(page=self.page, measure=self.label)
        return _(
            "Page {page} turns before measure {measure} with only {seconds} seconds of rest: "
            "let one player of the desk turn."
        ).format(page=self.page, measure=self.label, seconds=decimal(f"{self.seconds:.1f}"))


@dataclass(frozen=True, slots=True)
class Line:
    """One way to make a line of music: bars ``first`` to ``last``, counted from 0, its ``height``, and its ``cost``."""

    first: int
    last: int
    height: int
    cost: float = 0.0


@dataclass(frozen=True, slots=True)
class Paper:
    """The height of the first page and of later ones, in the units of ``Line.height``; how many pages are usual.

    ``starts``: the bars with which pages usually begin. One page more than usual is the most.
    """

    first_room: int
    room: int
    pages: int
    starts: Collection[int] = field(default_factory=frozenset)

    def room_on(self, page: int) -> int:
        """The height of a page, counted from 1."""
        return self.first_room if page == 1 else self.room


def rest_seconds(part: Part, tempo: float) -> tuple[float, ...]:
    """For every measure, how many seconds the part rests around the barline before it; 0 where a note ends there and
    another begins. ``tempo``, in quarter notes a minute, holds where the part gives none.

    Before a later ending the player comes from the measure before the first one, not from the ending before it.
    """
    onsets = sorted(note.onset for note in part.notes)
    sounding = sorted(part.notes, key=lambda note: note.onset)
    ends = list(itertools.accumulate((note.onset + note.duration for note in sounding), max))
    close = max((measure.onset + measure.length for measure in part.measures), default=Fraction(0))
    seconds = []
    for index, measure in enumerate(part.measures):
        left = part.measures[_after_first_time(part, index)].onset
        begun = bisect.bisect_left(onsets, left)
        silent_from = ends[begun - 1] if begun else Fraction(0)
        coming = bisect.bisect_left(onsets, measure.onset)
        silent_to = onsets[coming] if coming < len(onsets) else close
        free = silent_from <= left
        rests = ((silent_from, left), (measure.onset, silent_to)) if free else ()
        seconds.append(sum(_seconds(part, *rest, tempo) for rest in rests))
    return tuple(float(each) for each in seconds)


def _after_first_time(part: Part, index: int) -> int:
    """The measure that stands where the player leaves for this one: a later ending is reached from before the first."""
    measures = part.measures
    later = bool(index and measures[index].endings and measures[index - 1].endings and measures[index - 1].repeat_back)
    while later and index and measures[index - 1].endings:
        index -= 1
    return index


def _seconds(part: Part, start: Fraction, end: Fraction, tempo: float) -> float:
    """How long it takes from one onset to another, through all changes of tempo."""
    first = bisect.bisect_right(part.tempi, start, key=lambda mark: mark.onset)
    last = bisect.bisect_left(part.tempi, end, key=lambda mark: mark.onset)
    times = [start, *(mark.onset for mark in part.tempi[first:last]), end]
    return sum(60 * float(to - since) / part.tempo_at(since, tempo) for since, to in itertools.pairwise(times))


def turn_cost(seconds: float, least: float = ENOUGH) -> float:
    """What a turn in a rest of so many seconds costs, if ``least`` are enough: 0 for enough, 1 for none at all."""
    return 0.0 if seconds >= least else 1 - _TOO_SHORT * seconds / least


def empty_cost(empty: float) -> float:
    """What a page costs of which this share is empty; infinite where it may not be."""
    beyond = max(0.0, empty - _FREELY_EMPTY) / (_EMPTY_COSTS_1 - _FREELY_EMPTY)
    return beyond * beyond if empty <= _EMPTIEST else float("inf")


def best_pages(lines: Sequence[Line], turns: Sequence[float], paper: Paper) -> tuple[tuple[Line, ...], ...] | None:
    """The pages of least cost, each as its lines; ``None`` where the lines fit on no such pages.

    ``lines`` are all ways to make a line; ``turns[i]`` is the cost of a turn before bar ``i``, for every bar. Exact:
    shortest path over the bar, the page and the height that is filled there (Bellman, "On a routing problem", 1958,
    from memory). Linear in the lines.
    """
    return _Search(lines, turns, paper).pages()


class _Search:
    """The least cost at every bar, page and filled height, and how it was come by."""

    def __init__(self, lines: Sequence[Line], turns: Sequence[float], paper: Paper) -> None:
        self.lines, self.turns, self.paper = lines, turns, paper
        self.bars, self.most = len(turns), paper.pages + 1
        self.shape = (self.most, max(paper.first_room, paper.room) + 1)
        self.costs: dict[int, _Costs] = {}
        # The line that leads to each bar, page and height; the height at which each page before a bar was left.
        self.came: dict[int, _Numbers] = {}
        self.left: dict[int, list[int]] = {}
        self.closing = [self._closing(page) for page in range(1, self.most + 1)]

    def pages(self) -> tuple[tuple[Line, ...], ...] | None:
        starting: dict[int, list[int]] = {}
        for number, line in enumerate(self.lines):
            starting.setdefault(line.first, []).append(number)
        self._open(0)
        self.costs[0][0, 0] = 0.0
        for bar in range(self.bars):
            if bar in self.costs:
                self._turn(bar)
                for number in starting.get(bar, ()):
                    self._set(number)
                del self.costs[bar]
        return self._best()

    def _closing(self, page: int) -> _Costs:
        """What it costs to leave a page at each height."""
        room = self.paper.room_on(page)
        return np.array(
            [empty_cost((room - height) / room) if 0 < height <= room else np.inf for height in range(self.shape[1])]
        )

    def _open(self, bar: int) -> None:
        if bar not in self.costs:
            self.costs[bar] = np.full(self.shape, np.inf)
            self.came[bar] = np.full(self.shape, -1, dtype=np.int32)

    def _turn(self, bar: int) -> None:
        """Begin each next page at this bar."""
        moved = 0.0 if bar in self.paper.starts else _MOVED
        self.left[bar] = [0] * self.most
        for page in range(1, self.most):
            leaving = self.costs[bar][page - 1] + self.closing[page - 1]
            height = int(leaving.argmin())
            if bar and np.isfinite(leaving[height]):
                self.left[bar][page] = height
                self.costs[bar][page, 0] = leaving[height] + moved + (self.turns[bar] if page % 2 else 0.0)

    def _set(self, number: int) -> None:
        """Put one line on every page that has room for it."""
        line = self.lines[number]
        self._open(line.last + 1)
        reach = self.shape[1] - line.height
        if reach <= 0:
            return
        before = self.costs[line.first][:, :reach] + line.cost
        before[0, max(0, self.paper.first_room + 1 - line.height) :] = np.inf
        before[1:, max(0, self.paper.room + 1 - line.height) :] = np.inf
        after, came = self.costs[line.last + 1][:, line.height :], self.came[line.last + 1][:, line.height :]
        better = before < after
        after[better] = before[better]
        came[better] = number

    def _best(self) -> tuple[tuple[Line, ...], ...] | None:
        if self.bars not in self.costs:
            return None
        ends = self.costs[self.bars].copy()
        ends[self.paper.pages :] += _MORE_PAGE
        row, height = (int(each) for each in np.unravel_index(int(ends.argmin()), ends.shape))
        if not np.isfinite(ends[row, height]):
            return None
        pages = [tuple(page) for page in self._back(row, height)]
        return tuple(reversed(pages))

    def _back(self, row: int, height: int) -> Iterator[list[Line]]:
        """The pages, the last one first."""
        bar = self.bars
        while True:
            page: list[Line] = []
            while height:
                line = self.lines[self.came[bar][row, height]]
                page.insert(0, line)
                bar, height = line.first, height - line.height
            yield page
            if row == 0:
                return
            height, row = self.left[bar][row], row - 1
