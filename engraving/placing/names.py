"""Names of positions over the digits: where the hand moves, in slanted words that begin at the digit.

They always stand above, beyond the digit and its numeral, or in its line where there is no room near above: common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from engraving.page import Rect
from engraving.placing.figures import FIGURE_HEIGHT, NAME_FACE, Figure, Placed, Wanted

if TYPE_CHECKING:
    from engraving.placing.board import Board

_HEIGHT = 1.1  # of its capitals, in staff spaces
_BEGIN = (0.0, -1.0, 1.0, -2.5)  # where it begins beside the digit, in staff spaces
_BESIDE, _BESIDE_COST = 0.45, 4.0  # how far before or behind the digit in its own line, and the cost of it
_SIDEWAYS = 0.5  # the cost of a space beside, in spaces further out
_CROSSING = 8.0  # the cost of standing across an upright line


def with_names(placed: Iterable[Placed], wanted: Sequence[Wanted], board: Board) -> list[Placed]:
    """The digits of one system, with the names of positions that go with them."""
    names = {item.note_id: item.hand for item in wanted if item.hand}
    return [replace(one, hand=_name(one, names[one.note_id], board)) if one.note_id in names else one for one in placed]


def _name(one: Placed, text: str, board: Board) -> Figure:
    page = board.page
    note, space = page.notes[one.note_id], page.staff_space
    shelf = board.shelf(note.system)
    size = _HEIGHT * space / FIGURE_HEIGHT
    width = board.metrics.width(text, NAME_FACE, size)
    drop = Figure(text, Rect(0, 0, 0, 0), size, slanted=True).box.y1
    height = _HEIGHT * space + drop
    line = min(note.staff_top - shelf.gap, one.digit.rect.y1 + drop)
    over = min([note.staff_top - shelf.gap, *(figure.rect.y0 - shelf.gap for figure in one.figures)])
    found: list[tuple[float, float, float]] = []
    for x, start, cost in _beginnings(one, width, over, line, space):
        x = min(x, page.width - width - shelf.gap)
        crosses = any(x - shelf.gap < upright < x + width + shelf.gap for upright in board.uprights(note.system))
        y = shelf.slide(x, x + width, height, start, below=False)
        out = 0.0 if shelf.holds(y - height, y) else page.height
        found.append((out + (over - y) / space + cost + _CROSSING * crosses, x, y))
    _, x, y = min(found)
    name = Figure(text, Rect(x, y - height, x + width, y - drop), size, slanted=True)
    board.add(note.system, name.box)
    return name


def _beginnings(
    one: Placed, width: float, over: float, line: float, space: float
) -> Iterator[tuple[float, float, float]]:
    """Where a name may begin, from which y it is slid outwards, and what it costs: over the digit, or beside it."""
    left, right = min(figure.rect.x0 for figure in one.figures), max(figure.rect.x1 for figure in one.figures)
    for shift in (*(begin * space for begin in _BEGIN), one.digit.rect.width - width):
        yield one.digit.rect.x0 + shift, over, abs(shift) / space * _SIDEWAYS
    yield left - _BESIDE * space - width, line, _BESIDE_COST
    yield right + _BESIDE * space, line, _BESIDE_COST
