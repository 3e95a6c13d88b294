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
        """A path of least effort that uses ``grip`` at stage ``index``; where it can, it keeps to the chosen path."""
        if len(self.path) == 1:
            return (grip,)
        k = min(index, len(self.path) - 2)
        least = self.before[k] + self.after[k]
        pair = (grip, int(np.argmin(least[grip]))) if k == index else (int(np.argmin(least[:, grip])), grip)
        path = list(self.path)
        path[k : k + 2] = pair
        for later in range(k, len(costs.triple)):
            i, j = path[later], path[later + 1]
            if later > k and (i, j) == self.path[later : later + 2]:
                break
            path[later + 2] = _onward_grip(costs, self.after, later, i, j)
        for earlier in range(k, 0, -1):
            i, j = path[earlier], path[earlier + 1]
            if earlier < k and (i, j) == self.path[earlier : earlier + 2]:
                break
            path[earlier - 1] = int(np.argmin(self.before[earlier - 1][:, i] + costs.triple[earlier - 1][:, i, j]))
        return tuple(path)


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
    first, second = np.unravel_index(int(np.argmin(before[0] + after[0])), before[0].shape)
    path = [int(first), int(second)]
    for k in range(len(costs.triple)):
        path.append(_onward_grip(costs, after, k, path[k], path[k + 1]))
    return tuple(path)


def _onward_grip(costs: Costs, after: Sequence[Table], k: int, i: int, j: int) -> int:
    """The best grip of stage k + 2 when stages k and k + 1 have grips i and j."""
    return int(np.argmin(costs.triple[k][i, j] + costs.pair[k + 1][j] + costs.single[k + 2] + after[k + 1][j]))
