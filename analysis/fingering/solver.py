"""The exact solver: the path of least effort through all stages, and what any other grip would cost.

Effort reaches over three neighbouring stages, so the state is a pair of grips. Two passes of dynamic programming
give, for each pair, the least effort before it and after it; their sum gives the least effort of a whole path through
any grip (its min-marginal). Tables are kept relative to their least entry, so that a change can stop spreading as
soon as a table comes out equal to the old one. Ties between paths are broken by the order of the grips, first stage
first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from analysis.fingering.costs import Costs

Table = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Solution:
    """The solved chain of n stages.

    ``path[k]`` is the chosen grip of stage k, ``effort`` the whole path's in thousandths. ``before[k]`` and
    ``after[k]``, shape [grips of k, of k + 1], hold the least effort up to and including stages k and k + 1, and
    beyond them, each less its least entry.
    """

    path: tuple[int, ...]
    effort: int
    before: tuple[Table, ...]
    after: tuple[Table, ...]

    def extra(self, costs: Costs, index: int) -> Table:
        """For every grip of stage ``index`` the extra effort of the best path through it, in thousandths."""
        if len(self.path) == 1:
            least = costs.single[0].astype(np.int64)
        elif index < len(self.path) - 1:
            least = (self.before[index] + self.after[index]).min(axis=1)
        else:
            least = (self.before[-1] + self.after[-1]).min(axis=0)
        extra: Table = least - least.min()
        return extra

    def through(self, costs: Costs, index: int, grip: int) -> tuple[int, ...]:
        """The path of least effort that uses ``grip`` at stage ``index``."""
        if len(self.path) == 1:
            return (grip,)
        if index == len(self.path) - 1:
            pair = (int(np.argmin((self.before[-1] + self.after[-1])[:, grip])), grip)
            return _backwards(costs, self.before, len(self.path) - 2, pair)
        pair = (grip, int(np.argmin((self.before[index] + self.after[index])[grip])))
        head = _backwards(costs, self.before, index, pair)
        return (*head, *_forwards(costs, self.after, index, pair))


def solve(costs: Costs) -> Solution:
    """The path of least effort, exactly; ``costs`` of an empty chain gives an empty path."""
    return _assemble(costs, _pass_before(costs, 0, None), _pass_after(costs, len(costs.pair) - 1, None))


def solve_again(costs: Costs, old: Solution, first: int, last: int) -> Solution:
    """The same as ``solve(costs)`` when only tables touching stages ``first`` to ``last`` differ from the old ones."""
    if len(costs.single) < 2:
        return solve(costs)
    before = _pass_before(costs, max(first - 1, 0), old.before, settled_from=last)
    after = _pass_after(costs, min(last, len(costs.pair) - 1), old.after, settled_from=first - 1)
    return _assemble(costs, before, after)


def _assemble(costs: Costs, before: tuple[Table, ...], after: tuple[Table, ...]) -> Solution:
    path = _best_path(costs, before, after)
    return Solution(path, costs.path_effort(path), before, after)


def _level(table: Table) -> Table:
    level: Table = table - table.min()
    return level


def _pass_before(costs: Costs, start: int, old: Sequence[Table] | None, *, settled_from: int = 0) -> tuple[Table, ...]:
    """The ``before`` tables from pair ``start`` on; stops where they meet the old ones past ``settled_from``."""
    tables = list(old[:start]) if old else []
    for k in range(start, len(costs.pair)):
        step = costs.pair[k] + costs.single[k + 1].astype(np.int64)
        if k == 0:
            table = _level(step + costs.single[0][:, None])
        else:
            table = _level(step + (tables[k - 1][:, :, None] + costs.triple[k - 1]).min(axis=0))
        tables.append(table)
        if old and k > settled_from and np.array_equal(table, old[k]):
            tables.extend(old[k + 1 :])
            break
    return tuple(tables)


def _pass_after(costs: Costs, start: int, old: Sequence[Table] | None, *, settled_from: int = 0) -> tuple[Table, ...]:
    """The ``after`` tables from pair ``start`` back; stops where they meet the old ones before ``settled_from``."""
    tables = list(old) if old else [np.zeros(pair.shape, dtype=np.int64) for pair in costs.pair]
    for k in range(start, -1, -1):
        if k == len(costs.pair) - 1:
            table: Table = np.zeros(costs.pair[k].shape, dtype=np.int64)
        else:
            table = _level((costs.triple[k] + _onward(costs, tables, k)).min(axis=2))
        if old and k < settled_from and np.array_equal(table, old[k]):
            break
        tables[k] = table
    return tuple(tables)


def _onward(costs: Costs, after: Sequence[Table], k: int) -> Table:
    """The effort from pair k on to each next grip and beyond, without three-stage terms: [grips of k + 1, of k + 2]."""
    onward: Table = costs.pair[k + 1] + (costs.single[k + 2] + after[k + 1])
    return onward


def _best_path(costs: Costs, before: Sequence[Table], after: Sequence[Table]) -> tuple[int, ...]:
    if len(costs.single) < 2:
        return tuple(int(np.argmin(single)) for single in costs.single)
    first = np.unravel_index(int(np.argmin(before[0] + after[0])), before[0].shape)
    return _forwards(costs, after, 0, (int(first[0]), int(first[1])), with_first=True)


def _forwards(
    costs: Costs, after: Sequence[Table], k: int, pair: tuple[int, int], *, with_first: bool = False
) -> tuple[int, ...]:
    """The best grips after pair k when it is ``pair``; with the pair itself in front if ``with_first``."""
    path = list(pair) if with_first else []
    i, j = pair
    for index in range(k, len(costs.triple)):
        onward = costs.triple[index][i, j] + costs.pair[index + 1][j] + costs.single[index + 2] + after[index + 1][j]
        i, j = j, int(np.argmin(onward))
        path.append(j)
    return tuple(path)


def _backwards(costs: Costs, before: Sequence[Table], k: int, pair: tuple[int, int]) -> tuple[int, ...]:
    """The best grips up to pair k when it is ``pair``, the pair included."""
    path = [pair[1], pair[0]]
    i, j = pair
    for index in range(k - 1, -1, -1):
        i, j = int(np.argmin(before[index][:, i] + costs.triple[index][:, i, j])), i
        path.append(i)
    return tuple(reversed(path))
