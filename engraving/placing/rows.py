"""A row of digits over one system, set as a whole: each near its note, neighbours on one line where that is near too.

Every digit has a few places it may take, each with what it costs: its way from the note, and how far it stands beside
it. Neighbours cost what their heights differ; small differences cost most for what they are, since a contour that
jumps by a little reads worse than one level line, while a long way follows the notes. The least of it all is found
exactly, from left to right. What an engraver does by eye: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from engraving.placing.shelves import Box, Shelf
from engraving.placing.stacks import Stack

# All in staff spaces; a cost of 1 is one staff space further from the note than need be.
SHIFTS = (-0.4, 0.4, -0.8, 0.8)
_SIDEWAYS = 2.2  # the cost of standing a space beside the note
_NEAR_ENOUGH = 0.4  # straight over the note and no further away than this: nothing beside it is tried
_JUMP, _LONGEST_JUMP = 0.95, 0.5  # the cost of a space of difference, and from where on more costs no more
_CLOSE, _FAR = 3.5, 8.0  # neighbours up to so far apart are read as one line; further ones not at all
_LIFTED = 1.2  # a digit may be lifted so far to the line of a neighbour
_NEIGHBOURS = 2
_TOUCH = 1000.0
_LEVEL = 3.0  # what standing at a line that begins at the digit is worth


@dataclass(frozen=True, slots=True)
class Spot:
    """A place a stack may take: the middle ``x``, the edge nearest the staff ``y``, and what it costs."""

    x: float
    y: float
    box: Box
    cost: float


def row(
    stacks: Sequence[Stack], shelf: Shelf, *, below: bool, levels: Mapping[str, float] | None = None
) -> list[Spot | None]:
    """The best spots of stacks on one side of a system, from left to right; ``None`` for one without room there.

    ``levels``: by note id, the y at which the stack of that note stands best.
    """
    found: list[Spot | None] = [None] * len(stacks)
    nearest = [_nearest(stack, shelf, below=below) for stack in stacks]
    choices = [
        (number, _choices(stacks, nearest, number, shelf, below=below, levels=levels or {}))
        for number, spots in enumerate(nearest)
        if spots
    ]
    for (number, _), spot in zip(choices, _best([spots for _, spots in choices], shelf), strict=True):
        found[number] = spot
    return found


def _nearest(stack: Stack, shelf: Shelf, *, below: bool) -> list[Spot]:
    """The nearest spot straight over the note, and those beside it that are better."""
    start, spots = stack.start(below=below), list[Spot]()
    for shift in (0.0, *SHIFTS):
        x = stack.centre + shift * shelf.space
        y = shelf.slide(x - stack.left, x + stack.right, stack.height, start, below=below)
        box = stack.box(x, y, below=below)
        cost = abs(y - start) / shelf.space + abs(shift) * _SIDEWAYS
        if shelf.holds(box[1], box[3]) and not any(spot.cost <= cost for spot in spots):
            spots.append(Spot(x, y, box, cost))
        if shift == 0.0 and cost <= _NEAR_ENOUGH and spots:
            break
    return spots


def _choices(
    stacks: Sequence[Stack],
    nearest: Sequence[list[Spot]],
    number: int,
    shelf: Shelf,
    *,
    below: bool,
    levels: Mapping[str, float],
) -> list[Spot]:
    """The spots of one stack: the nearest, beside a close neighbour, and lifted to the lines of its neighbours."""
    stack, spots = stacks[number], list(nearest[number])
    out = 1.0 if below else -1.0
    first = spots[0]
    around = range(max(number - _NEIGHBOURS, 0), min(number + _NEIGHBOURS + 1, len(stacks)))
    lines = {spot.y for other in around if other != number for spot in nearest[other][:1]}
    for other in (number - 1, number + 1):
        if other in around and nearest[other] and _touch(first, nearest[other][0], shelf):
            lines.add(_beyond(nearest[other][0], out, shelf))
            spots += _beside(stack, first, shelf, below=below)
    for y in lines:
        lift = (y - first.y) * out / shelf.space
        if 0.01 < lift <= _LIFTED + stack.height / shelf.space:
            _try(spots, shelf, stack, first.x, y, first.cost + lift, below=below)
    for one in stack.wanted:
        if one.note_id in levels:
            y = levels[one.note_id]
            cost = abs(y - stack.start(below=below)) / shelf.space - _LEVEL
            _try(spots, shelf, stack, stack.centre, y, cost, below=below)
    return spots


def _beside(stack: Stack, first: Spot, shelf: Shelf, *, below: bool) -> list[Spot]:
    """Spots a little to the left and right of the first, at its height or further out."""
    spots: list[Spot] = []
    start = stack.start(below=below)
    for shift in SHIFTS[:2]:
        x = first.x + shift * shelf.space
        y = shelf.slide(x - stack.left, x + stack.right, stack.height, start, below=below)
        cost = abs(y - start) / shelf.space + abs(x - stack.centre) / shelf.space * _SIDEWAYS
        _try(spots, shelf, stack, x, y, cost, below=below)
    return spots


def _try(spots: list[Spot], shelf: Shelf, stack: Stack, x: float, y: float, cost: float, *, below: bool) -> None:
    box = stack.box(x, y, below=below)
    if shelf.is_free(box):
        spots.append(Spot(x, y, box, cost))


def _beyond(spot: Spot, out: float, shelf: Shelf) -> float:
    return (spot.box[3] if out > 0 else spot.box[1]) + out * (shelf.gap + 0.001)


def _touch(one: Spot, other: Spot, shelf: Shelf) -> bool:
    gap = shelf.gap
    a, b = one.box, other.box
    return a[0] - gap < b[2] and b[0] - gap < a[2] and a[1] - gap < b[3] and b[1] - gap < a[3]


def _best(choices: Sequence[Sequence[Spot]], shelf: Shelf) -> list[Spot]:
    """One spot of each, with the least cost in all: dynamic programming over neighbours."""
    if not choices:
        return []
    costs = [[spot.cost for spot in choices[0]]]
    came: list[list[int]] = []
    for before, here in pairwise(choices):
        row_costs, row_came = [], []
        for spot in here:
            least, source = min(
                (costs[-1][index] + _between(one, spot, shelf), index) for index, one in enumerate(before)
            )
            row_costs.append(least + spot.cost)
            row_came.append(source)
        costs.append(row_costs)
        came.append(row_came)
    index = min(range(len(costs[-1])), key=lambda one: costs[-1][one])
    path = [index]
    for sources in reversed(came):
        index = sources[index]
        path.append(index)
    return [spots[index] for spots, index in zip(choices, reversed(path), strict=True)]


def _between(one: Spot, other: Spot, shelf: Shelf) -> float:
    """What two neighbours cost together."""
    if _touch(one, other, shelf):
        return _TOUCH
    apart = (other.x - one.x) / shelf.space
    weight = min(max((_FAR - apart) / (_FAR - _CLOSE), 0.0), 1.0)
    return weight * _JUMP * min(abs(other.y - one.y) / shelf.space, _LONGEST_JUMP)
