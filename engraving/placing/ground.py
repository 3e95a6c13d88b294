"""A page as it is before anything is set on it, and how the digits of its systems were set last.

A page is set anew at every edit, which mostly touches one of its systems: the others find here what they had. Where a
digit stands depends on nothing but the page, what is wanted at its system, and what was set there before.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from analysis.fingering.ticking import Tick, no_tick
from engraving.page import PageMap
from engraving.placing.figures import Placed, Wanted
from engraving.placing.shelves import Box, Shelf, shelf_of


@dataclass(frozen=True, slots=True)
class Asked:
    """All that the places of one system's digits depend on: digits, their heights, what stands and will stand there."""

    wanted: tuple[Wanted, ...]
    levels: tuple[tuple[str, float], ...]
    standing: tuple[Box, ...]
    uprights: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class SetSystem:
    """The digits of one system as they were set for what was ``asked``, and the ``boxes`` they took, in their order."""

    asked: Asked
    placed: tuple[Placed, ...]
    boxes: tuple[Box, ...]


@dataclass(slots=True, eq=False)
class Ground:
    """What is known of one page; it may be asked from several threads, which at worst work something out twice."""

    page: PageMap
    _bare: tuple[Shelf, ...] | None = None
    _systems: dict[int, SetSystem] = field(default_factory=dict)

    def survey(self, tick: Tick = no_tick) -> tuple[Shelf, ...]:
        """The shelves of the bare page, none of them to be filled; ``tick`` is called before each that is not known."""
        bare = self._bare
        if bare is None:
            shelves: list[Shelf] = []
            for number in range(len(self.page.systems)):
                tick(number / len(self.page.systems))
                shelves.append(shelf_of(self.page, number))
            bare = self._bare = tuple(shelves)
        return bare

    def known(self, system: int, asked: Asked) -> SetSystem | None:
        """The digits of a system if it was last asked for the same."""
        last = self._systems.get(system)
        return last if last is not None and last.asked == asked else None

    def keep(self, system: int, made: SetSystem) -> None:
        """Keep the digits of a system in place of those it had."""
        self._systems[system] = made
