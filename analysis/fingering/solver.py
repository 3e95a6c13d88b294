"""The exact solver: the path of least effort through all stages, and what any other grip would cost.

Effort reaches over three neighbouring stages, so the state is a pair of grips. Two passes of dynamic programming
give, for each pair, the least effort before it and after it; their sum gives the least effort of a whole path through
any grip (its min-marginal). Where a seam brings together two stages that lie far apart, the tables between them have
one more axis: what of the first stage the last one has to remember (:class:`Memory`). Some stages on, what is
remembered mostly adds the same effort everywhere; then one table and one number for each thing remembered tell all
(:class:`Table`). Tables are kept relative to their least entry, so that a change can stop spreading as soon as a table
comes out equal to the old one. Ties between paths are broken by the order of the grips, first stage first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from analysis.fingering.costs import Costs
from analysis.fingering.memories import Remembered, Table, along, remembered

Entries = npt.NDArray[np.int32]
# Called as often as there are stages: without the detour of the method min.
_least = np.minimum.reduce
_PAIR = 2
State = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Solution:
    """The solved chain of n stages.

    ``path[k]`` is the chosen grip of stage k, ``effort`` the whole path's in thousandths. ``before[k]`` and
    ``after[k]`` hold, for every pair of grips of stages k and k + 1 and everything remembered there, the least effort
    up to and including both stages, and beyond them, each less its least entry. ``walked``: the tables it was read off.
    """

    path: tuple[int, ...]
    effort: int
    before: tuple[Table, ...]
    after: tuple[Table, ...]
    walked: Remembered = field(repr=False, compare=False)

    def extra(self, costs: Costs, index: int) -> Entries:
        """For every grip of stage ``index`` the extra effort of the best path through it, in thousandths."""
        if len(self.path) == 1:
            least = self._tables(costs).single[0]
        else:
            k = min(index, len(self.path) - 2)
            table = self.before[k].joined(self.after[k])
            over = table.min(axis=tuple(range(table.ndim - 2))) if table.ndim > 2 else table
            least = over.min(axis=1 if k == index else 0)
        extra: Entries = least - least.min()
        return extra

    def through(self, costs: Costs, index: int, grip: int) -> tuple[int, ...]:
        """A path of least effort that uses ``grip`` at stage ``index``; where it can, it keeps to the chosen path."""
        if len(self.path) == 1:
            return (grip,)
        k = min(index, len(self.path) - 2)
        least = self.before[k].joined(self.after[k])
        fixed = least[..., grip, :] if k == index else least[..., :, grip]
        *memory, other = (int(axis) for axis in np.unravel_index(int(np.argmin(fixed)), fixed.shape))
        pair = (grip, other) if k == index else (other, grip)
        return _Trace(self._tables(costs), self).path_through(k, tuple(memory), pair)

    def _tables(self, costs: Costs) -> Remembered:
        """The tables of ``costs``, which mostly are those it was solved from."""
        return self.walked if self.walked.costs is costs else remembered(costs)


def solve(costs: Costs) -> Solution:
    """The path of least effort, exactly; ``costs`` of an empty chain gives an empty path."""
    whole = remembered(costs)
    before = _pass_before(whole, 0, None)
    after = _pass_after(whole, len(costs.pair) - 1, None)
    if len(costs.single) < _PAIR:
        path: tuple[int, ...] = tuple(int(np.argmin(single)) for single in whole.single)
    else:
        path = _path(whole, before[0], after)
    return Solution(path, costs.path_effort(path), before, after, whole)


def best_path(costs: Costs) -> tuple[int, ...]:
    """Only the path of ``solve``: without the tables that tell what any other grip would cost."""
    whole = remembered(costs)
    if len(costs.single) < _PAIR:
        return tuple(int(np.argmin(single)) for single in whole.single)
    after = _pass_after(whole, len(costs.pair) - 1, None)
    first = Table(whole.pair[0] + whole.single[1] + whole.single[0][:, None])
    return _path(whole, first, after)


def solve_again(costs: Costs, old: Solution, first: int, last: int) -> Solution:
    """The same as ``solve(costs)`` when only tables touching stages ``first`` to ``last`` differ from the old ones."""
    if len(costs.single) < _PAIR:
        return solve(costs)
    whole, touched = remembered(costs), (first, last)
    # What is remembered of a changed stage may look the same and mean something else: go on to where it is forgotten.
    reaching = [memory for memory in whole.memories if memory.touches(first, last)]
    first = min([first, *(memory.first for memory in reaching)])
    last = max([last, *(memory.last for memory in reaching)])
    before = _pass_before(whole, max(first - 1, 0), old.before, settled_from=last)
    after = _pass_after(whole, min(last, len(costs.pair) - 1), old.after, settled_from=first - 1)
    path = _path_again(Solution(old.path, 0, before, after, whole), old, first, last)
    return Solution(path, _effort_again(costs, path, old, *touched), before, after, whole)


def _effort_again(costs: Costs, path: Sequence[int], old: Solution, first: int, last: int) -> int:
    """The effort of ``path`` from that of the old one: unlike where the paths are, or the tables from first to last."""
    others = np.flatnonzero(np.array(path) != np.array(old.path))
    start = min([first, *others[:1].tolist()])
    stop = max([last, *others[-1:].tolist()]) + 1
    before = old.walked.costs.effort_around(old.path, start, stop)
    return old.effort - before + costs.effort_around(path, start, stop)


def _path(whole: Remembered, first: Table, after: tuple[Table, ...]) -> tuple[int, ...]:
    """The best path, read off the tables from the first pair on."""
    least = first.joined(after[0])
    i, j = (int(axis) for axis in np.unravel_index(int(np.argmin(least)), least.shape))
    return _Trace(whole, Solution((), 0, (), after, whole)).onwards(0, (), (i, j))


def _path_again(new: Solution, old: Solution, first: int, last: int) -> tuple[int, ...]:
    """The best path by the ``new`` tables: the old one up to where its tables differ, and on from where they do not.

    Nothing of stages before ``first`` or after ``last`` has changed, nor what is remembered of them or till them.
    """
    pairs = zip(new.after, old.after, strict=True)
    changed = next((k for k, (mine, theirs) in enumerate(pairs) if mine is not theirs), len(new.after))
    start = min(changed - 1, first - 2)
    if start < 0:
        least = new.before[0].joined(new.after[0])
        i, j = (int(axis) for axis in np.unravel_index(int(np.argmin(least)), least.shape))
        return _Trace(new.walked, new).onwards(0, (), (i, j), known_from=last + 1)
    trace, pair = _Trace(new.walked, new), (old.path[start], old.path[start + 1])
    return (*old.path[:start], *trace.onwards(start, trace.chosen_memory(start), pair, known_from=last + 1))


def _pass_before(
    whole: Remembered, start: int, old: Sequence[Table] | None, *, settled_from: int = 0
) -> tuple[Table, ...]:
    """The ``before`` tables from pair ``start`` on; stops where they meet the old ones past ``settled_from``."""
    tables = list(old[:start]) if old else []
    for k in range(start, len(whole.pair)):
        step = whole.pair[k] + whole.single[k + 1]
        table = Table(step + whole.single[0][:, None]) if k == 0 else _arrive(whole, k, tables[k - 1], step)
        table = table.levelled()
        tables.append(table)
        if old and k > settled_from and table.equals(old[k]):
            tables.extend(old[k + 1 :])
            break
    return tuple(tables)


def _arrive(whole: Remembered, k: int, table: Table, step: Entries) -> Table:
    """The table of pair k from that of pair k - 1: stage k - 1 forgotten, stage k + 1 added."""
    entries = table.entries[..., None] + whole.triple[k - 1]
    if not whole.memories:
        return Table(_least(entries, axis=0) + step)
    memory, apart, held = whole.opened_at(k - 1), table.apart, whole.held_arriving(k)
    if not held:
        return Table(_least(entries, axis=0) + step)
    if memory is None:
        entries = _least(entries, axis=-3)
    else:
        kinds = [entries[..., memory.kind_of == kind, :, :].min(axis=-3) for kind in range(memory.kinds)]
        entries, apart = np.stack(kinds, axis=-3), (*apart, np.zeros(memory.kinds, np.int32))
    found = Table(entries + step, apart)
    for axis in reversed(range(len(held))):
        cost = held[axis].ends.get(k + 1)
        if cost is not None:
            found = found.told(axis, cost)
            if held[axis].last == k + 1:
                found = found.forgotten(axis)
    return found.merged()


def _pass_after(
    whole: Remembered, start: int, old: Sequence[Table] | None, *, settled_from: int = 0
) -> tuple[Table, ...]:
    """The ``after`` tables from pair ``start`` back; stops where they meet the old ones before ``settled_from``."""
    tables = list(old) if old else [Table(np.zeros((1, 1), np.int32))] * len(whole.pair)
    for k in range(start, -1, -1):
        if k == len(whole.pair) - 1:
            table = Table(np.zeros(whole.pair[k].shape, dtype=np.int32))
        else:
            onward = _onward(whole, tables[k + 1], k)
            table = Table(_least(whole.triple[k] + onward.entries, axis=-1), onward.apart)
            table = table.merged().levelled() if whole.memories else table.levelled()
        if old and k < settled_from and table.equals(old[k]):
            break
        tables[k] = table
    return tuple(tables)


def _onward(whole: Remembered, after: Table, k: int) -> Table:
    """The effort from pair k on to each next grip and beyond, without three-stage terms.

    ``after`` is the table of pair k + 1. Entries [memories held at pair k, grips of k or 1, of k + 1, of k + 2];
    without memories [grips of k + 1, of k + 2].
    """
    entries: Entries = after.entries + (whole.pair[k + 1] + whole.single[k + 2])
    if not whole.memories:
        return Table(entries)
    memory, apart = whole.opened_at(k), after.apart
    if memory is None:
        entries = entries[..., None, :, :]
    else:
        opened = entries + apart[-1][:, None, None]
        entries, apart = np.take(opened, memory.kind_of, axis=-3), apart[:-1]
    found = Table(entries, apart)
    for axis, held in enumerate(whole.held_at(k)):
        cost = held.ends.get(k + 2)
        if cost is not None:
            if held.last == k + 2:
                apart = (*found.apart[:axis], np.zeros(held.kinds, np.int32), *found.apart[axis:])
                found = Table(np.expand_dims(found.entries, axis), apart)
            found = found.told(axis, cost)
    return found


class _Trace:
    """Paths read off the tables."""

    def __init__(self, whole: Remembered, solution: Solution) -> None:
        self.whole, self.solution = whole, solution

    def path_through(self, k: int, memory: State, pair: tuple[int, int]) -> tuple[int, ...]:
        """The best path through ``pair`` at stages k and k + 1 with that ``memory``."""
        return (*self.backwards(k, memory, pair), *self.onwards(k, memory, pair, known_from=k + 1))

    def onwards(self, k: int, memory: State, pair: tuple[int, int], known_from: int = 0) -> tuple[int, ...]:
        """``pair`` and the best grips of every stage after it.

        Where it meets the solution's path, at stage ``known_from`` or later, it goes on as that one does.
        """
        path, chosen = list(pair), self.solution.path
        for here in range(k, len(self.whole.triple)):
            i, j = path[-2:]
            if (
                chosen
                and here >= known_from
                and (i, j) == chosen[here : here + 2]
                and memory == self.chosen_memory(here)
            ):
                return (*path, *chosen[here + 2 :])
            whole, onwards = self.whole, self.whole.memory_onwards(here, memory, i)
            least = whole.triple[here][i, j] + whole.pair[here + 1][j] + whole.single[here + 2]
            least += self.solution.after[here + 1].at(onwards)[j]
            for kind, held in zip(memory, whole.held_at(here), strict=True):
                cost = held.ends.get(here + 2)
                if cost is not None:
                    least += cost[kind]
            path.append(int(np.argmin(least)))
            memory = onwards
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
        least = self.solution.before[k - 1].spread()[..., i] + self.whole.triple[k - 1][:, i, j]
        opened = self.whole.opened_at(k - 1)
        rest = list(memory)
        if opened is not None:
            least = np.where(opened.kind_of == rest.pop(), least, np.iinfo(np.int32).max // 2)
        axes = []
        for axis, held in enumerate(self.whole.held_at(k - 1)):
            cost = held.ends.get(k + 1)
            if cost is not None:
                least = least + along(cost[:, j : j + 1], axis, least.ndim + 1)[..., 0]
            axes.append(slice(None) if held.last == k + 1 else slice(rest[0], rest.pop(0) + 1))
        fixed = least[tuple(axes)]
        found = np.unravel_index(int(np.argmin(fixed)), fixed.shape)
        starts = [axis.start or 0 for axis in axes]
        return int(found[-1]), tuple(int(at) + start for at, start in zip(found[:-1], starts, strict=True))

    def chosen_memory(self, k: int) -> State:
        """What the chosen path remembers at pair k."""
        path = self.solution.path
        return tuple(int(memory.kind_of[path[memory.first]]) for memory in self.whole.held_at(k))
