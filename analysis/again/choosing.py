"""Which of many overlapping passages are worth telling: the longest and most alike, each row in one of them."""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterable, Mapping
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from analysis.again.lines import Likeness
from analysis.again.passages import Passage

# How much a row counts for: of two passages the looser one has to be that much longer (our own figures).
_COUNTS: Mapping[Likeness, float] = MappingProxyType({Likeness.EXACT: 1.0, Likeness.MOVED: 0.9, Likeness.IN_KEY: 0.8})


def choose(
    found: Iterable[Passage], taken: NDArray[np.bool_], is_worth_telling: Callable[[Passage], bool]
) -> list[Passage]:
    """Passages that share no later row with each other nor with those ``taken``, in the order of their rows.

    Always the one that counts most is next; of one that has lost rows to others its longest piece is left. The rows
    chosen are marked in ``taken``.
    """
    chosen = []
    heap = [(-_weight(passage), passage.start, number, passage) for number, passage in enumerate(found)]
    heapq.heapify(heap)
    while heap:
        _, start, number, passage = heapq.heappop(heap)
        left = _longest_free(passage, taken)
        if left is None or not is_worth_telling(left):
            continue
        if left.size < passage.size:
            heapq.heappush(heap, (-_weight(left), start, number, left))
            continue
        chosen.append(left)
        for block in left.blocks:
            taken[block.start : block.start + block.length] = True
    return sorted(chosen, key=lambda passage: passage.start)


def _weight(passage: Passage) -> float:
    return _COUNTS[passage.likeness] * passage.size


def _longest_free(passage: Passage, taken: NDArray[np.bool_]) -> Passage | None:
    """The longest piece of a passage of which no row is taken."""
    rows = taken[passage.start : passage.stop]
    if not rows.any():
        return passage
    edges = np.concatenate(([-1], np.flatnonzero(rows), [len(rows)])) + passage.start
    pieces = [passage.within(low + 1, high) for low, high in zip(edges[:-1].tolist(), edges[1:].tolist(), strict=True)]
    return max((piece for piece in pieces if piece is not None), key=lambda piece: piece.size, default=None)
