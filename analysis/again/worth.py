"""Whether music that comes again is worth telling: long enough, and not alike by chance."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from analysis.again.lines import Likeness, Lines
from analysis.again.passages import Passage
from analysis.again.suffixes import Numbers
from analysis.music import Part

# So many notes at the least, and where half and whole steps may differ. All figures here are our own.
_ROWS, _ROWS_IN_KEY = 8, 12
# So many steps between notes, by letter and rhythm, that are not the same one: in a passage, and in music that follows
# itself, where a broken chord has two. So many by pitch and rhythm will do as well.
_UNLIKE, _UNLIKE_IN_PERIOD, _UNLIKE_BY_PITCH = 4, 3, 6
# How rare its steps are in the part, all together, beyond what a pair of places has by chance, in bits: a scale in even
# notes says less than a tune.
_BITS = 20.0


class Worth:
    """Judges passages in the rows that are ``mine``; ``tokens`` are those of the lines in each likeness."""

    def __init__(
        self,
        lines: Lines,
        parts: Sequence[Part],
        mine: NDArray[np.bool_],
        tokens: Sequence[Numbers],
    ) -> None:
        self.lines, self.parts, self.tokens = lines, parts, tokens
        self.bits = [_bits(numbers, mine) for numbers in tokens]
        # Of n notes there are about n * n pairs.
        self.least_bits = _BITS + 2 * math.log2(max(int(mine.sum()), 1))

    def is_worth_telling(self, passage: Passage, measures: float) -> bool:
        """Whether a teacher would say it; ``measures``: how long the passage has to be at the least.

        What another part has is only told when it is at least a measure ahead: who plays at once is no matter of this.
        """
        least = _ROWS_IN_KEY if passage.likeness is Likeness.IN_KEY else _ROWS
        if passage.size < least or self._place(passage.stop - 1) - self._place(passage.start) < measures:
            return False
        if self._is_ending_beside_ending(passage) or self._is_at_once(passage):
            return False
        steps = np.concatenate([np.arange(block.start, block.start + block.length - 1) for block in passage.blocks])
        return self._is_varied(passage, steps) and float(self.bits[passage.likeness][steps].sum()) >= self.least_bits

    def _is_varied(self, passage: Passage, steps: Numbers) -> bool:
        unlike = len(np.unique(self.tokens[Likeness.IN_KEY][steps]))
        if passage.period or unlike >= _UNLIKE:
            return unlike >= _UNLIKE_IN_PERIOD
        exact = passage.likeness is Likeness.EXACT
        return exact and len(np.unique(self.tokens[Likeness.EXACT][steps])) >= _UNLIKE_BY_PITCH

    def _is_at_once(self, passage: Passage) -> bool:
        source = passage.blocks[0].source
        own = self.lines.part[source] == self.lines.part[passage.start]
        return not own and self._place(passage.start) - self._place(source) < 1

    def _place(self, row: int) -> Fraction:
        """Where a row is struck, in measures from the beginning."""
        note = self.lines.heads[row][0]
        measure = self.parts[self.lines.part[row]].measures[note.measure]
        return note.measure + ((note.onset - measure.onset) / measure.length if measure.length else Fraction(0))

    def _is_ending_beside_ending(self, passage: Passage) -> bool:
        """Whether two endings of a section are alike, which are never both played at once."""
        block = passage.blocks[0]
        rows = block.start, block.source
        return all(self.parts[self.lines.part[row]].measures[self.lines.heads[row][0].measure].endings for row in rows)


def _bits(tokens: Numbers, mine: NDArray[np.bool_]) -> NDArray[np.float64]:
    """How rare each token is among the rows that are ``mine``, in bits; 0 for other rows."""
    found = np.zeros(len(tokens))
    if mine.any():
        _, number, often = np.unique(tokens[mine], return_inverse=True, return_counts=True)
        found[mine] = np.log2(mine.sum() / often[number])
    return found
