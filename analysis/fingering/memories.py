"""What the solver has to remember of a stage until a seam brings another one to it.

A seam over one or two stages is an effort of neighbours; a longer one is a memory. Grips of the first stage that cost
the same towards every later end of their seams need not be told apart: they are of one kind.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from analysis.fingering.costs import Costs, Effort, Link


@dataclass(frozen=True, slots=True)
class Memory:
    """What is remembered of stage ``first`` up to stage ``last``.

    ``kind_of`` gives the kind of every grip of the first stage, one of ``kinds``; ``ends`` the effort at each stage
    that a seam leads to: [kinds, grips of that stage].
    """

    first: int
    last: int
    kinds: int
    kind_of: npt.NDArray[np.intp]
    ends: Mapping[int, Effort]

    def touches(self, first: int, last: int) -> bool:
        """Whether the memory's first stage or one of its ends is among stages ``first`` to ``last``."""
        return any(first <= stage <= last for stage in (self.first, *self.ends))


@dataclass(frozen=True, slots=True)
class Table:
    """Efforts for pairs of grips and for everything remembered beside them.

    ``entries``: one axis for each memory, then the two grips. ``apart``: for each memory what each kind adds wherever
    it is; an axis of length one in the entries stands for all kinds. The effort is the sum of both.
    """

    entries: Effort
    apart: tuple[Effort, ...] = ()

    def levelled(self) -> Table:
        """The table less its least entry, and each memory's additions less theirs."""
        apart = tuple(added - added.min() for added in self.apart) if self.apart else ()
        return Table(self.entries - np.minimum.reduce(self.entries, axis=None), apart)

    def merged(self) -> Table:
        """The table with a memory's axis folded where its kinds differ by the same effort everywhere."""
        if self.entries[..., 0, 0].size == 1:
            return self
        entries, apart = self.entries, list(self.apart)
        for axis, added in enumerate(apart):
            if entries.shape[axis] > 1:
                kinds = np.moveaxis(entries, axis, 0).reshape(len(added), -1)
                differ = kinds - kinds[:1]
                if (differ == differ[:, :1]).all():
                    apart[axis] = added + differ[:, 0]
                    entries = entries.take([0], axis=axis)
        return Table(entries, tuple(apart))

    def told(self, axis: int, cost: Effort) -> Table:
        """The table with the ``cost`` [kinds, grips of the last axis] of one memory added; its axis is spread again."""
        entries = self.entries + along(cost + self.apart[axis][:, None], axis, self.entries.ndim)
        apart = list(self.apart)
        apart[axis] = np.zeros_like(apart[axis])
        return Table(entries, tuple(apart))

    def forgotten(self, axis: int) -> Table:
        """The least over one memory, whose additions are in the entries."""
        return Table(self.entries.min(axis=axis), (*self.apart[:axis], *self.apart[axis + 1 :]))

    def spread(self) -> Effort:
        """The efforts with every memory's axis at its full length."""
        entries = self.entries
        for axis, added in enumerate(self.apart):
            shape = [1] * entries.ndim
            shape[axis] = len(added)
            entries = entries + added.reshape(shape)
        return entries

    def joined(self, other: Table) -> Effort:
        """The sum of two tables of one pair of stages, with every memory's axis at its full length."""
        both = tuple(mine + theirs for mine, theirs in zip(self.apart, other.apart, strict=True))
        return Table(self.entries + other.entries, both).spread()

    def at(self, memory: tuple[int, ...]) -> Effort:
        """The entries for one state of memory, up to what it adds everywhere."""
        entries: Effort = self.entries[tuple(min(kind, self.entries.shape[n] - 1) for n, kind in enumerate(memory))]
        return entries

    def equals(self, other: Table) -> bool:
        """Whether the two tables say the same in the same way."""
        return np.array_equal(self.entries, other.entries) and all(
            np.array_equal(mine, theirs) for mine, theirs in zip(self.apart, other.apart, strict=True)
        )


def along(cost: Effort, axis: int, axes: int) -> Effort:
    """A table [kinds, grips of the last stage] shaped to be added along a memory axis and the last axis."""
    shape = [1] * axes
    shape[axis], shape[-1] = cost.shape
    return cost.reshape(shape)


class Remembered:
    """Effort tables of a chain with its short seams folded in and its long ones as ``memories``, by first stage."""

    def __init__(
        self,
        costs: Costs,
        single: Sequence[Effort],
        pair: Sequence[Effort],
        triple: Sequence[Effort],
        memories: tuple[Memory, ...] = (),
    ) -> None:
        self.costs = costs
        self.single, self.pair, self.triple, self.memories = single, pair, triple, memories
        self._opened = {memory.first: memory for memory in memories}
        self._held, self._arriving = (_beside(memories, beyond) for beyond in (1, 0))

    def opened_at(self, stage: int) -> Memory | None:
        """The memory of what is played at ``stage``, if one is kept."""
        return self._opened.get(stage)

    def held_at(self, k: int) -> tuple[Memory, ...]:
        """The memories beside the grips of stages k and k + 1: of earlier stages, for later ones."""
        return self._held.get(k, ())

    def held_arriving(self, k: int) -> tuple[Memory, ...]:
        """Those and the ones that end at stage k + 1."""
        return self._arriving.get(k, ())

    def memory_onwards(self, k: int, memory: tuple[int, ...], grip: int) -> tuple[int, ...]:
        """What is remembered at pair k + 1 after ``memory`` at pair k with ``grip`` at stage k."""
        kept = [kind for kind, held in zip(memory, self.held_at(k), strict=True) if held.last > k + 2]
        opened = self.opened_at(k)
        return (*kept, *([] if opened is None else [int(opened.kind_of[grip])]))


def _beside(memories: Sequence[Memory], beyond: int) -> dict[int, tuple[Memory, ...]]:
    """By pair k the memories that are kept from before stage k until after stage k + ``beyond``, if there are any."""
    found: dict[int, tuple[Memory, ...]] = {}
    for memory in memories:
        for k in range(memory.first + 1, memory.last - beyond):
            found[k] = (*found.get(k, ()), memory)
    return found


def remembered(costs: Costs) -> Remembered:
    """The tables of ``costs`` as the solver walks them."""
    if not costs.links:
        return Remembered(costs, costs.single, costs.pair, costs.triple)
    single, pair, triple = list(costs.single), list(costs.pair), list(costs.triple)
    long: dict[int, list[Link]] = {}
    for link in costs.links:
        match link.last - link.first:
            case 0:
                single[link.first] = single[link.first] + np.diagonal(link.effort)
            case 1:
                pair[link.first] = pair[link.first] + link.effort
            case 2:
                triple[link.first] = triple[link.first] + link.effort[:, None, :]
            case _:
                long.setdefault(link.first, []).append(link)
    return Remembered(costs, single, pair, triple, tuple(_memory(first, long[first]) for first in sorted(long)))


def _memory(first: int, links: Sequence[Link]) -> Memory:
    ends: dict[int, Effort] = {}
    for link in links:
        ends[link.last] = ends[link.last] + link.effort if link.last in ends else link.effort
    order = sorted(ends)
    joined = np.concatenate([ends[last] for last in order], axis=1)
    _, example, kind_of = np.unique(joined, axis=0, return_index=True, return_inverse=True)
    kind_of = kind_of.reshape(-1)
    return Memory(first, order[-1], len(example), kind_of, {last: ends[last][example] for last in order})
