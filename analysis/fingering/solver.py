"""The exact solver: the path of least effort through all stages, and what any other grip would cost.

Effort reaches over three neighbouring stages, so the state is a pair of grips. Two passes of dynamic programming
give, for each pair, the least effort before it and after it; their sum gives the least effort of a whole path through
any grip (its min-marginal). Where a seam brings together two stages that lie far apart, the tables between them have
one more axis: what of the first stage the last one has to remember (:class:`Memory`). Tables are kept relative to their
least entry, so that a change can stop spreading as soon as a table comes out equal to the old one. Ties between paths
are broken by the order of the grips, first stage first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from analysis.fingering.costs import Costs
from analysis.fingering.memories import Remembered, remembered

Table = npt.NDArray[np.int32]
State = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Solution:
    """The solved chain of n stages.

    ``path[k]`` is the chosen grip of stage k, ``effort`` the whole path's in thousandths. ``before[k]`` and
    ``after[k]``, shape [one axis for each memory held, grips of k, of k + 1], hold the least effort up to and including
    stages k and k + 1, and beyond them, each less its least entry.
    """

    path: tuple[int, ...]
    effort: int
    before: tuple[Table, ...]
    after: tuple[Table, ...]

    def extra(self, costs: Costs, index: int) -> Table:
        """For every grip of stage ``index`` the extra effort of the best path through it, in thousandths."""
        if len(self.path) == 1:
            least = remembered(costs).single[0]
        else:
            k = min(index, len(self.path) - 2)
            table = _over_memories(self.before[k] + self.after[k])
            least = table.min(axis=1 if k == index else 0)
        extra: Table = least - least.min()
        return extra

    def through(self, costs: Costs, index: int, grip: int) -> tuple[int, ...]:
        """A path of least effort that uses ``grip`` at stage ``index``; where it can, it keeps to the chosen path."""
        if len(self.path) == 1:
            return (grip,)
        k = min(index, len(self.path) - 2)
        least = self.before[k] + self.after[k]
        fixed = least[..., grip, :] if k == index else least[..., :, grip]
        *memory, other = (int(axis) for axis in np.unravel_index(int(np.argmin(fixed)), fixed.shape))
        pair = (grip, other) if k == index else (other, grip)
        trace = _Trace(remembered(costs), self)
        return trace.path_through(k, tuple(memory), pair)


def solve(costs: Costs) -> Solution:
    """The path of least effort, exactly; ``costs`` of an empty chain gives an empty path."""
    whole = remembered(costs)
    before = _pass_before(whole, 0, None)
    return _assemble(costs, whole, before, _pass_after(whole, len(costs.pair) - 1, None))


def solve_again(costs: Costs, old: Solution, first: int, last: int) -> Solution:
    """The same as ``solve(costs)`` when only tables touching stages ``first`` to ``last`` differ from the old ones."""
    if len(costs.single) < 2:
        return solve(costs)
    whole = remembered(costs)
    # What is remembered of a changed stage may look the same and mean something else: go on to where it is forgotten.
    reaching = [memory for memory in whole.memories if memory.touches(first, last)]
    first = min([first, *(memory.first for memory in reaching)])
    last = max([last, *(memory.last for memory in reaching)])
    before = _pass_before(whole, max(first - 1, 0), old.before, settled_from=last)
    after = _pass_after(whole, min(last, len(costs.pair) - 1), old.after, settled_from=first - 1)
    return _assemble(costs, whole, before, after)


def _assemble(costs: Costs, whole: Remembered, before: tuple[Table, ...], after: tuple[Table, ...]) -> Solution:
    if len(costs.single) < 2:
        path: tuple[int, ...] = tuple(int(np.argmin(single)) for single in whole.single)
        return Solution(path, costs.path_effort(path), before, after)
    unfinished = Solution((), 0, before, after)
    least = before[0] + after[0]
    first, second = (int(axis) for axis in np.unravel_index(int(np.argmin(least)), least.shape))
    path = _Trace(whole, unfinished).onwards(0, (), (first, second))
    return Solution(path, costs.path_effort(path), before, after)


def _over_memories(table: Table) -> Table:
    """The least over every memory axis."""
    least: Table = table.min(axis=tuple(range(table.ndim - 2))) if table.ndim > 2 else table
    return least


def _pass_before(
    whole: Remembered, start: int, old: Sequence[Table] | None, *, settled_from: int = 0
) -> tuple[Table, ...]:
    """The ``before`` tables from pair ``start`` on; stops where they meet the old ones past ``settled_from``."""
    tables = list(old[:start]) if old else []
    for k in range(start, len(whole.pair)):
        step = whole.pair[k] + whole.single[k + 1]
        if k == 0:
            table = step + whole.single[0][:, None]
        else:
            table = _forget_stage(whole, k - 1, tables[k - 1][..., None] + whole.triple[k - 1])
            table += step
            if whole.memories:
                table = _close_before(whole, k, table)
        table -= table.min()
        tables.append(table)
        if old and k > settled_from and np.array_equal(table, old[k]):
            tables.extend(old[k + 1 :])
            break
    return tuple(tables)


def _forget_stage(whole: Remembered, stage: int, table: Table) -> Table:
    """Take the least over the grips of ``stage``, third axis from the end, keeping apart what must be remembered."""
    memory = whole.opened_at(stage)
    if memory is None:
        forgotten: Table = table.min(axis=-3)
        return forgotten
    kinds = [table[..., memory.kind_of == kind, :, :].min(axis=-3) for kind in range(memory.kinds)]
    return np.stack(kinds, axis=-3)


def _close_before(whole: Remembered, k: int, table: Table) -> Table:
    """Add what the memories cost that end at stage k + 1 (last axis), and drop those not needed any more."""
    held = whole.held_arriving(k)
    for axis in reversed(range(len(held))):
        cost = held[axis].ends.get(k + 1)
        if cost is not None:
            table = table + _along(cost, axis, table.ndim)
            if held[axis].last == k + 1:
                table = table.min(axis=axis)
    return table


def _along(cost: npt.NDArray[np.int32], axis: int, axes: int) -> npt.NDArray[np.int32]:
    """A table [kinds, grips of the last stage] shaped to be added along a memory axis and the last axis."""
    shape = [1] * axes
    shape[axis], shape[-1] = cost.shape
    return cost.reshape(shape)


def _pass_after(
    whole: Remembered, start: int, old: Sequence[Table] | None, *, settled_from: int = 0
) -> tuple[Table, ...]:
    """The ``after`` tables from pair ``start`` back; stops where they meet the old ones before ``settled_from``."""
    tables = list(old) if old else [np.zeros(pair.shape, dtype=np.int32) for pair in whole.pair]
    for k in range(start, -1, -1):
        if k == len(whole.pair) - 1:
            table: Table = np.zeros(whole.pair[k].shape, dtype=np.int32)
        else:
            table = (whole.triple[k] + onward(whole, tables[k + 1], k)).min(axis=-1)
            table -= table.min()
        if old and k < settled_from and np.array_equal(table, old[k]):
            break
        tables[k] = table
    return tuple(tables)


def onward(whole: Remembered, after: Table, k: int) -> Table:
    """The effort from pair k on to each next grip and beyond, without three-stage terms.

    ``after`` is the table of pair k + 1. Shape [memories held at pair k, grips of k or 1, of k + 1, of k + 2]; without
    memories [grips of k + 1, of k + 2].
    """
    step: Table = after + (whole.pair[k + 1] + whole.single[k + 2])
    if not whole.memories:
        return step
    memory = whole.opened_at(k)
    step = step[..., None, :, :] if memory is None else np.take(step, memory.kind_of, axis=-3)
    for axis, held in enumerate(whole.held_at(k)):
        cost = held.ends.get(k + 2)
        if cost is not None:
            if held.last == k + 2:
                step = np.expand_dims(step, axis)
            step = step + _along(cost, axis, step.ndim)
    return step


class _Trace:
    """Paths read off the tables."""

    def __init__(self, whole: Remembered, solution: Solution) -> None:
        self.whole, self.solution = whole, solution

    def path_through(self, k: int, memory: State, pair: tuple[int, int]) -> tuple[int, ...]:
        """The best path through ``pair`` at stages k and k + 1 with that ``memory``."""
        return (*self.backwards(k, memory, pair), *self.onwards(k, memory, pair))

    def onwards(self, k: int, memory: State, pair: tuple[int, int]) -> tuple[int, ...]:
        """``pair`` and the best grips of every stage after it."""
        path, chosen = list(pair), self.solution.path
        for here in range(k, len(self.whole.triple)):
            i, j = path[-2:]
            if here > k and chosen and (i, j) == chosen[here : here + 2] and memory == self.chosen_memory(here):
                return (*path, *chosen[here + 2 :])
            step = onward(self.whole, self.solution.after[here + 1], here)[memory]
            if step.ndim > 2:
                step = step[i if len(step) > 1 else 0]
            least = self.whole.triple[here][i, j] + step[j]
            path.append(int(np.argmin(least)))
            memory = self.whole.memory_onwards(here, memory, i)
        return tuple(path)

    def backwards(self, k: int, memory: State, pair: tuple[int, int]) -> tuple[int, ...]:
        """The best grips of every stage before ``pair``."""
        path: list[int] = []
        chosen, (i, j) = self.solution.path, pair
        for here in range(k, 0, -1):
            if here < k and (i, j) == chosen[here : here + 2] and memory == self.chosen_memory(here):
                return (*chosen[:here], *path)
            grip, memory = self._before(here, memory, i, j)
            path.insert(0, grip)
            i, j = grip, i
        return tuple(path)

    def _before(self, k: int, memory: State, i: int, j: int) -> tuple[int, State]:
        """The best grip of stage k - 1 before grips i and j, and the memory held at pair k - 1."""
        least = self.solution.before[k - 1][..., i] + self.whole.triple[k - 1][:, i, j]
        opened = self.whole.opened_at(k - 1)
        rest = list(memory)
        if opened is not None:
            least = np.where(opened.kind_of == rest.pop(), least, np.iinfo(np.int32).max // 2)
        axes = []
        for axis, held in enumerate(self.whole.held_at(k - 1)):
            cost = held.ends.get(k + 1)
            if cost is not None:
                least = least + _along(cost[:, j : j + 1], axis, least.ndim + 1)[..., 0]
            axes.append(slice(None) if held.last == k + 1 else slice(rest[0], rest.pop(0) + 1))
        fixed = least[tuple(axes)]
        found = np.unravel_index(int(np.argmin(fixed)), fixed.shape)
        starts = [axis.start or 0 for axis in axes]
        return int(found[-1]), tuple(int(at) + start for at, start in zip(found[:-1], starts, strict=True))

    def chosen_memory(self, k: int) -> State:
        """What the chosen path remembers at pair k."""
        path = self.solution.path
        return tuple(int(memory.kind_of[path[memory.first]]) for memory in self.whole.held_at(k))
