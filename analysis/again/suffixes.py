"""The suffixes of a row of numbers in sorted order, and how much of their beginnings they share.

Method: prefixes that double in length, as in Manber and Myers (SIAM Journal on Computing 22, 1993), from memory.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Numbers = NDArray[np.int64]


class Suffixes:
    """The suffixes of ``tokens``, whole numbers, sorted with at most log n sorts of n numbers.

    ``order`` holds their starts. ``shared`` tells how many tokens each, in that order, has in common with the one
    before it; 0 for the first.
    """

    def __init__(self, tokens: Numbers) -> None:
        self.tokens = tokens
        # ``_ranks[k]`` sorts the suffixes by their first 2 ** k tokens; there are no more ranks than suffixes.
        self._ranks: list[Numbers] = [np.unique(tokens, return_inverse=True)[1].astype(np.int64)]
        self.order = self._sorted()
        self.shared = np.zeros(len(tokens), dtype=np.int64)
        if len(tokens) > 1:
            self.shared[1:] = self.common(self.order[1:], self.order[:-1])

    def _sorted(self) -> Numbers:
        count = len(self.tokens)
        order = np.argsort(self._ranks[0], kind="stable")
        known = 1
        while count > 1:
            rank = self._ranks[-1]
            key = rank * (count + 1)
            key[:-known] += rank[known:] + 1
            order = np.argsort(key, kind="stable")
            steps = np.concatenate(([0], np.cumsum(np.diff(key[order]) != 0)))
            if steps[-1] == count - 1:
                break
            rank = np.empty_like(steps)
            rank[order] = steps
            self._ranks.append(rank)
            known *= 2
        return order

    def common(self, ones: Numbers, others: Numbers) -> Numbers:
        """How many tokens the suffixes at ``ones`` have in common with those at ``others``, pair by pair.

        The two starts of a pair must not be the same.
        """
        length = np.zeros(len(ones), dtype=np.int64)
        room = len(self.tokens) - np.maximum(ones, others)
        for power in range(len(self._ranks) - 1, -1, -1):
            rank, step = self._ranks[power], 1 << power
            fits = np.flatnonzero(length + step <= room)
            here, there = ones[fits] + length[fits], others[fits] + length[fits]
            length[fits[rank[here] == rank[there]]] += step
        return length
