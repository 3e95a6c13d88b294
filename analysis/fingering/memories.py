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
class Remembered:
    """Effort tables of a chain with its short seams folded in and its long ones as ``memories``, by first stage."""

    single: Sequence[Effort]
    pair: Sequence[Effort]
    triple: Sequence[Effort]
    memories: tuple[Memory, ...]

    def opened_at(self, stage: int) -> Memory | None:
        """The memory of what is played at ``stage``, if one is kept."""
        return next((memory for memory in self.memories if memory.first == stage), None) if self.memories else None

    def held_at(self, k: int) -> tuple[Memory, ...]:
        """The memories beside the grips of stages k and k + 1: of earlier stages, for later ones."""
        if not self.memories:
            return ()
        return tuple(memory for memory in self.memories if memory.first < k and memory.last > k + 1)

    def held_arriving(self, k: int) -> tuple[Memory, ...]:
        """Those and the ones that end at stage k + 1."""
        if not self.memories:
            return ()
        return tuple(memory for memory in self.memories if memory.first < k and memory.last > k)

    def memory_onwards(self, k: int, memory: tuple[int, ...], grip: int) -> tuple[int, ...]:
        """What is remembered at pair k + 1 after ``memory`` at pair k with ``grip`` at stage k."""
        kept = [kind for kind, held in zip(memory, self.held_at(k), strict=True) if held.last > k + 2]
        opened = self.opened_at(k)
        return (*kept, *([] if opened is None else [int(opened.kind_of[grip])]))


def remembered(costs: Costs) -> Remembered:
    """The tables of ``costs`` as the solver walks them."""
    if not costs.links:
        return Remembered(costs.single, costs.pair, costs.triple, ())
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
    return Remembered(single, pair, triple, tuple(_memory(first, long[first]) for first in sorted(long)))


def _memory(first: int, links: Sequence[Link]) -> Memory:
    ends: dict[int, Effort] = {}
    for link in links:
        ends[link.last] = ends[link.last] + link.effort if link.last in ends else link.effort
    order = sorted(ends)
    joined = np.concatenate([ends[last] for last in order], axis=1)
    _, example, kind_of = np.unique(joined, axis=0, return_index=True, return_inverse=True)
    kind_of = kind_of.reshape(-1)
    return Memory(first, order[-1], len(example), kind_of, {last: ends[last][example] for last in order})
