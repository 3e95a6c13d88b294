"""What of a part comes again, told as a teacher tells it: long stretches, each beside the place where it came first."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from analysis.again.choosing import choose
from analysis.again.lines import Likeness, Lines, lines
from analysis.again.passages import Passage, Search
from analysis.again.together import Along, pointed_along, pointed_at_the_first, together
from analysis.again.worth import Worth
from analysis.music import Part

# How many measures are worth telling: about two; four of what another part has had. Our own figures.
_MEASURES, _MEASURES_OF_ANOTHER = 1.5, 3.5


@dataclass(frozen=True)
class Recurrence:
    """Later music beside the earlier music that it repeats: passages in order, all with the same time between.

    More than one where some of it goes on in another octave, or other music stands between.
    """

    lines: Lines
    passages: tuple[Passage, ...]

    @property
    def likeness(self) -> Likeness:
        """That of the least alike of its passages."""
        return max(passage.likeness for passage in self.passages)

    @property
    def period(self) -> int:
        """As in :class:`Passage`."""
        return self.passages[0].period

    def pairs(self) -> list[tuple[int, int]]:
        """Every later row with the earlier one it repeats."""
        return [pair for passage in self.passages for pair in passage.pairs()]

    def skips(self) -> Iterator[tuple[range, range]]:
        """Gap by gap the later and the earlier rows that stand between what is alike; either may be none."""
        blocks = [block for passage in self.passages for block in passage.blocks]
        for one, other in itertools.pairwise(blocks):
            yield range(one.start + one.length, other.start), range(one.source + one.length, other.source)


def recurrences(part: Part, others: Sequence[Part] = ()) -> tuple[Recurrence, ...]:
    """What comes again in ``part``, and what it has from ``others``, where it has not had it itself.

    No note is in two of them as the later one. Those of the part itself come first, each in the order of their notes.
    """
    parts = (part, *others)
    every = lines(parts)
    search = Search(every)
    mine = every.part == 0
    worth = Worth(every, parts, mine, search.tokens)
    taken = np.zeros(len(every), dtype=bool)
    heard = search.passages(mine, mine)
    chosen = choose(heard, taken, lambda one: worth.is_worth_telling(one, _MEASURES))
    # What goes on with it may be shorter.
    along = Along(every, chosen)
    chosen = sorted((*chosen, *choose(heard, taken, along.goes_on)), key=lambda one: one.start)
    chosen = pointed_along(every, list(pointed_at_the_first(every, chosen)), search.tokens)
    found = [Recurrence(every, group) for group in together(every, chosen)]
    if others:
        heard = search.passages(mine & ~taken, ~mine)
        for one in choose(heard, taken, lambda one: worth.is_worth_telling(one, _MEASURES_OF_ANOTHER)):
            found.append(Recurrence(every, (one,)))
    return tuple(found)
