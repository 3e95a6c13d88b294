"""Music that comes again in a part: the same stretch of events, as it was or moved to another string.

Two stretches are the same when their pitches (spelled), lengths, and the slurs and rests between their events agree.
How the first event is reached does not count, nor what follows the last. A move by a number of tuning intervals keeps
every finger where it is, so it can count as the same music too.

Every pair of neighbouring events becomes a whole number that such a move leaves alone. The suffix array of these
numbers, with the lengths its neighbours share, holds every stretch that comes again.
"""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from analysis.again.suffixes import Numbers, Suffixes

Shift = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Event:
    """One attack of a voice.

    ``pitches`` are (letter steps, midi) from high to low, at least one. ``quarters`` is the length and ``rest_before``
    the silence before it, in quarter notes. ``slurred``: a slur leads into it.
    """

    pitches: tuple[tuple[int, int], ...]
    quarters: Fraction
    slurred: bool
    rest_before: Fraction

    def __post_init__(self) -> None:
        if not self.pitches:
            raise ValueError("an event needs at least one pitch")


@dataclass(frozen=True, slots=True)
class Repeat:
    """A stretch of ``length`` events that comes again, and where.

    ``places`` are in order: the index of the first event, and how many tuning intervals above the first place.
    """

    length: int
    places: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """A repeat whose events belong to no other figure; fields as in ``Repeat``."""

    length: int
    places: tuple[tuple[int, int], ...]


def repeats(events: Sequence[Event], shift: Shift | None, least: int) -> tuple[Repeat, ...]:
    """All maximal repeats of ``least`` (2 or more) events and up: longest first, then most places, then earliest.

    ``shift`` is the tuning interval in (letter steps, semitones), ``(4, 7)`` for fifths; None keeps to one pitch.
    A repeat is maximal when one event more on either side would lose one of the places. Where a stretch overlaps
    itself, it is cut on the right until two of its places stand apart, and a place that runs into the place before it
    is left out: so the places of n equal events come to about n log n.
    ValueError for a ``least`` under 2 or a shift that does not go up.
    """
    music = _Music(events, shift, least)
    free = np.arange(len(events), 0, -1)
    found = [music.longest(node, free) for node in music.nodes if node.begins]
    made = [Repeat(one[0], music.places(one[1])) for one in found if one]
    return tuple(sorted(made, key=lambda one: (-one.length, -len(one.places), one.places[0])))


def figures(events: Sequence[Event], shift: Shift | None, least: int) -> tuple[Figure, ...]:
    """Repeats that share no event with each other: always the longest still free, then most places, then earliest.

    Arguments and errors as in ``repeats``. Where a longer figure has taken a part of a stretch, what is left of it
    counts, if it still comes twice.
    """
    music = _Music(events, shift, least)
    chosen: list[Figure] = []
    taken = np.zeros(len(events), dtype=bool)
    free = _free(taken)
    # What is free only shrinks, so an entry never promises too little: the best one that still holds is the best.
    heap = [(-node.longest, node.low - node.high, 0, number) for number, node in enumerate(music.nodes)]
    heapq.heapify(heap)
    while heap:
        promised = heapq.heappop(heap)
        number = promised[3]
        found = music.longest(music.nodes[number], free)
        if found is None:
            continue
        length, starts = found
        held = (-length, -len(starts), starts[0], number)
        heapq.heappush(heap, held)
        if held == promised:
            chosen.append(Figure(length, music.places(starts)))
            for start in starts:
                taken[start : start + length] = True
            free = _free(taken)
    return tuple(chosen)


@dataclass(frozen=True, slots=True)
class _Node:
    """Stretches with one and the same set of starts: ``order[low:high]``.

    Their lengths go from ``shortest`` to ``longest`` events. ``begins``: not every start has the same music before it.
    """

    longest: int
    shortest: int
    low: int
    high: int
    begins: bool


class _Music:
    """The events as numbers, in suffix order, with every set of starts that share a stretch."""

    def __init__(self, events: Sequence[Event], shift: Shift | None, least: int) -> None:
        if least < 2:
            raise ValueError(f"a stretch that comes again has at least 2 events, not {least}")
        if shift is not None and shift[0] < 1:
            raise ValueError(f"a tuning interval goes up by at least one letter step, not {shift[0]}")
        self.levels = [event.pitches[0][0] // shift[0] if shift else 0 for event in events]
        suffixes = Suffixes(_tokens(events, self.levels, shift or (0, 0)))
        self.order = suffixes.order
        self.nodes = tuple(_nodes(suffixes, least))

    def longest(self, node: _Node, free: Numbers) -> tuple[int, list[int]] | None:
        """The longest stretch of the node that comes twice without overlap, with its starts; None when none does.

        ``free`` tells for every event how many events from it on may be used.
        """
        starts = self.order[node.low : node.high]
        starts = starts[free[starts] >= node.shortest]
        if len(starts) < 2 or np.ptp(starts) < node.shortest:
            return None
        room = np.minimum(free[starts], node.longest)
        roomiest = np.argsort(-room, kind="stable")
        ranked = starts[roomiest]
        apart = np.maximum.accumulate(ranked) - np.minimum.accumulate(ranked)
        length = int(np.minimum(room[roomiest], apart).max())
        if length < node.shortest:
            return None
        return length, _apart(np.sort(starts[room >= length], kind="stable"), length)

    def places(self, starts: list[int]) -> tuple[tuple[int, int], ...]:
        """The starts, each with its tuning intervals above the first."""
        return tuple((start, self.levels[start] - self.levels[starts[0]]) for start in starts)


def _tokens(events: Sequence[Event], levels: Sequence[int], shift: Shift) -> Numbers:
    """A number for each pair of neighbours; equal pairs, and those moved by whole shifts, have the same number."""
    numbers: dict[tuple[object, ...], int] = {}
    tokens: list[int] = []
    for (here, after), level in zip(itertools.pairwise(events), levels, strict=False):
        steps, semitones = level * shift[0], level * shift[1]
        pitches = [tuple((step - steps, midi - semitones) for step, midi in one.pitches) for one in (here, after)]
        pair = (*pitches, here.quarters, after.quarters, after.slurred, after.rest_before)
        tokens.append(numbers.setdefault(pair, len(numbers)))
    return np.array(tokens, dtype=np.int64)


def _nodes(suffixes: Suffixes, least: int) -> Iterator[_Node]:
    """Every set of two or more starts that share a stretch of ``least`` events which no other start shares."""
    order, shared = suffixes.order, suffixes.shared.tolist()
    before = np.where(order > 0, suffixes.tokens[order - 1], -1)
    changes = np.concatenate(([0], np.cumsum(np.diff(before) != 0)))
    open_sets: list[tuple[int, int]] = []  # (tokens shared, low), ever longer
    for high, length in enumerate([*shared[1:], 0], start=1):
        low = high - 1
        while open_sets and open_sets[-1][0] > length:
            tokens_shared, low = open_sets.pop()
            wider = max(length, open_sets[-1][0] if open_sets else 0)
            if tokens_shared + 1 >= least:
                begins = bool(changes[high - 1] > changes[low])
                yield _Node(tokens_shared + 1, max(least, wider + 2), low, high, begins)
        if length > (open_sets[-1][0] if open_sets else 0):
            open_sets.append((length, low))


def _apart(starts: Numbers, length: int) -> list[int]:
    """From the left, the sorted ``starts`` that lie at least ``length`` events after the one kept before."""
    if np.diff(starts).min(initial=length) >= length:
        return [int(start) for start in starts]
    kept: list[int] = []
    index = 0
    while index < len(starts):
        kept.append(int(starts[index]))
        index = int(np.searchsorted(starts, kept[-1] + length))
    return kept


def _free(taken: NDArray[np.bool_]) -> Numbers:
    """For every event, how many events from it on are not taken."""
    index = np.arange(len(taken))
    ends = np.where(taken, index, len(taken))
    return np.asarray(np.minimum.accumulate(ends[::-1])[::-1] - index, dtype=np.int64)
