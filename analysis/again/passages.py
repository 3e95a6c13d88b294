"""Passages that come again, whole or with a few notes left out, put in or changed."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analysis.again.lines import Likeness, Lines
from analysis.again.returns import Return, returns
from analysis.again.suffixes import Numbers, Suffixes

# Shorter stretches begin no passage, and shorter ones are not joined on over a gap: below these, chance joins more than
# composers do (our own figures).
_SEED, _FLANK = 6, 4
# The gaps on both sides may differ by so many quarter notes (our own figure).
_DIFFERENCE = 4
# How many notes may stand between stretches that belong together, later and earlier: the fewest are tried first.
_GAPS = tuple(sorted(itertools.product(range(3), repeat=2), key=lambda gaps: (sum(gaps), abs(gaps[0] - gaps[1]), gaps)))


@dataclass(frozen=True, slots=True)
class Passage:
    """A later passage beside the earlier one it repeats.

    ``blocks`` are in order on both sides and do not overlap. ``period`` is 0, or the number of rows after which music
    that follows itself begins again; then there is one block, whose source is the row a period before its start.
    """

    likeness: Likeness
    blocks: tuple[Return, ...]
    period: int = 0

    @property
    def size(self) -> int:
        """How many rows have a row to which they are alike."""
        return sum(block.length for block in self.blocks)

    @property
    def start(self) -> int:
        """The first later row."""
        return self.blocks[0].start

    @property
    def stop(self) -> int:
        """The row after the last later one."""
        return self.blocks[-1].start + self.blocks[-1].length

    def pairs(self) -> Iterator[tuple[int, int]]:
        """Every later row with the earlier one it repeats; of music that follows itself the one in its first period."""
        for block in self.blocks:
            for step in range(block.length):
                yield block.start + step, block.source + (step % self.period if self.period else step)

    def within(self, start: int, stop: int) -> Passage | None:
        """What of it begins and ends in these later rows; ``None`` where nothing does."""
        blocks = []
        for block in self.blocks:
            low, high = max(block.start, start), min(block.start + block.length, stop)
            if low < high:
                blocks.append(Return(low, block.source + low - block.start, high - low))
        if not blocks:
            return None
        overlaps = blocks[0].length > self.period
        return replace(self, blocks=tuple(blocks), period=self.period if overlaps else 0)


class Search:
    """Looks for passages in some lines; the suffixes are sorted once for all searches."""

    def __init__(self, lines: Lines) -> None:
        self.lines = lines
        self._suffixes = {likeness: Suffixes(lines.tokens(likeness)) for likeness in Likeness}

    @property
    def tokens(self) -> tuple[Numbers, ...]:
        """The tokens of the lines, by likeness."""
        return tuple(suffixes.tokens for suffixes in self._suffixes.values())

    def passages(self, wanted: NDArray[np.bool_], sources: NDArray[np.bool_]) -> list[Passage]:
        """Every passage of ``wanted`` rows that repeats earlier ``sources``, in each of the three likenesses.

        They overlap: one stretch may be a passage with notes left out and another one without. In no order.
        """
        found: list[Passage] = []
        for likeness, suffixes in self._suffixes.items():
            seeds = returns(suffixes, self.lines.onset, _SEED, wanted, sources)
            found += _Joiner(self.lines, likeness, suffixes.tokens).joined(seeds)
        return found


class _Joiner:
    """Joins stretches that go on close to each other on both sides."""

    def __init__(self, lines: Lines, likeness: Likeness, tokens: Numbers) -> None:
        by_pitch = likeness is not Likeness.IN_KEY
        self.likeness, self.tokens = likeness, tokens.tolist()
        self.voice, self.end = lines.voice.tolist(), lines.end.tolist()
        self.begin = np.searchsorted(lines.voice, lines.voice).tolist()
        self.letter, self.pitch = lines.letter.tolist(), (lines.pitch if by_pitch else lines.letter).tolist()
        self.chord = (lines.chord if by_pitch else lines.letters).tolist()
        self.onset, self.difference = lines.onset.tolist(), _DIFFERENCE * lines.ticks

    def joined(self, seeds: Iterable[Return]) -> Iterator[Passage]:
        """The passages that the seeds belong to, each seed in one of them."""
        used: set[Return] = set()
        for seed in seeds:
            if seed in used:
                continue
            apart = seed.start - seed.source
            if not self._in_one_voice(seed) or seed.length <= apart:
                blocks, period = self._around(seed), 0
            elif seed.length < 2 * apart:
                # What has begun for a third time is no more than the same music once again.
                blocks, period = self._around(replace(seed, length=apart)), 0
            else:
                blocks, period = [seed], apart
            used.update([seed, *blocks])
            yield Passage(self.likeness, tuple(blocks), period)

    def _in_one_voice(self, block: Return) -> bool:
        return bool(self.voice[block.start] == self.voice[block.source])

    def _around(self, seed: Return) -> list[Return]:
        blocks = [seed]
        while block := self._after(blocks):
            blocks.append(block)
        while block := self._before(blocks):
            blocks.insert(0, block)
        return blocks

    def _after(self, blocks: list[Return]) -> Return | None:
        """What goes on close after the last block; the source ends before the later passage begins."""
        last = blocks[-1]
        start, source = last.start + last.length, last.source + last.length
        stop = blocks[0].start if self._in_one_voice(last) else self.end[last.source]
        found = self._longest(start, source, 1, self.end[last.start] - start, stop - source)
        return found and Return(found[0], found[1], found[2])

    def _before(self, blocks: list[Return]) -> Return | None:
        """What goes before the first block."""
        first, last = blocks[0], blocks[-1]
        start, source = first.start - 1, first.source - 1
        floor = last.source + last.length if self._in_one_voice(first) else self.begin[first.start]
        found = self._longest(start, source, -1, first.start - floor, first.source - self.begin[first.source])
        return found and Return(found[0] - found[2] + 1, found[1] - found[2] + 1, found[2])

    def _longest(self, start: int, source: int, ahead: int, room: int, source_room: int) -> tuple[int, int, int] | None:
        """The longest stretch that goes on ``ahead`` (1 or -1) from near these rows, moved as the block is.

        ``room`` counts the rows to go on to. Its two rows next to the block, and its length.
        """
        edge, source_edge = start - ahead, source - ahead
        best: tuple[int, int, int] | None = None
        for skipped, skipped_of_source in _GAPS:
            there, here = start + ahead * skipped, source + ahead * skipped_of_source
            most = min(room - skipped, source_room - skipped_of_source)
            if most < _FLANK or not self._belongs(there, here, edge, source_edge):
                continue
            length = self._length(there, here, ahead, most)
            if length >= _FLANK and (best is None or length > best[2]):
                best = there, here, length
        return best

    def _belongs(self, there: int, here: int, edge: int, source_edge: int) -> bool:
        """Whether two rows are moved as the edges of the block are, and about as long after them or before."""
        longer = (self.onset[there] - self.onset[edge]) - (self.onset[here] - self.onset[source_edge])
        return bool(
            abs(longer) <= self.difference
            and self.letter[there] - self.letter[here] == self.letter[edge] - self.letter[source_edge]
            and self.pitch[there] - self.pitch[here] == self.pitch[edge] - self.pitch[source_edge]
            and self.chord[there] == self.chord[here]
        )

    def _length(self, there: int, here: int, ahead: int, most: int) -> int:
        tokens, length = self.tokens, 1
        # A token stands at the earlier of the two rows that it tells of.
        there, here = (there, here) if ahead > 0 else (there - 1, here - 1)
        while length < most and tokens[there] == tokens[here]:
            there, here, length = there + ahead, here + ahead, length + 1
        return length
