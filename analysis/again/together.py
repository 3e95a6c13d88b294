"""To which earlier place a passage points, and which passages belong together."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from analysis.again.lines import Likeness, Lines
from analysis.again.passages import Passage
from analysis.again.returns import Return
from analysis.again.suffixes import Numbers

# A source that itself repeats so much of an earlier one gives way to it (our own figure).
_MOSTLY = 0.8
# Passages stay together over so many measures of other music (our own figure).
_TOGETHER = 4
# So many groups of others may stand between (our own figure).
_BETWEEN = 2
_OCTAVE_LETTERS, _OCTAVE = 7, 1200


def pointed_at_the_first(lines: Lines, passages: Sequence[Passage]) -> Iterator[Passage]:
    """The passages, in order; one whose source repeats earlier music just as well points at that."""
    first: dict[int, int] = {}
    for passage in passages:
        earlier = None if passage.period else _through(lines, passage, first)
        first.update((earlier or passage).pairs())
        yield earlier or passage


def _through(lines: Lines, passage: Passage, first: dict[int, int]) -> Passage | None:
    """The passage beside what its source repeats; ``None`` where that is less of it, or less alike."""
    pairs = [(row, first[source]) for row, source in passage.pairs() if source in first]
    if len(pairs) < _MOSTLY * passage.size or any(b <= a for (_, a), (_, b) in itertools.pairwise(pairs)):
        return None
    rows, sources = np.array(pairs, dtype=np.int64).T
    likeness = lines.likeness(rows, sources)
    if likeness is None or likeness > passage.likeness:
        return None
    cuts = np.flatnonzero((np.diff(rows) != 1) | (np.diff(sources) != 1)) + 1
    starts, stops = [0, *cuts.tolist()], [*cuts.tolist(), len(rows)]
    blocks = [Return(*pairs[low], high - low) for low, high in zip(starts, stops, strict=True)]
    return replace(passage, likeness=likeness, blocks=tuple(blocks))


def pointed_along(lines: Lines, passages: Sequence[Passage], tokens: Sequence[Numbers]) -> list[Passage]:
    """The passages, in order; one that is as well the next of what its neighbour repeats points there."""
    found = list(passages)
    for index, passage in enumerate(found):
        for other in found[max(0, index - 1) : index + 2]:
            if other is passage or passage.period or _goes_on(lines, *_in_order(passage, other)):
                continue
            moved = _moved_along(lines, passage, _apart(lines, other), tokens[passage.likeness])
            if moved is not None and _goes_on(lines, *_in_order(moved, other)):
                found[index] = moved
                break
    return found


def _in_order(one: Passage, other: Passage) -> tuple[Passage, Passage]:
    return (one, other) if one.start < other.start else (other, one)


def _apart(lines: Lines, passage: Passage) -> int:
    """How much later than its source a passage is, in ticks."""
    block = passage.blocks[0]
    return int(lines.onset[block.start] - lines.onset[block.source])


def _aparts(lines: Lines, passage: Passage) -> set[int]:
    """How much later than their sources the blocks of a passage are, in ticks."""
    return {int(lines.onset[block.start] - lines.onset[block.source]) for block in passage.blocks}


def _moved_along(lines: Lines, passage: Passage, apart: int, tokens: Numbers) -> Passage | None:
    """The passage beside the music that lies ``apart`` ticks before it in its voice, if it is alike."""
    blocks = []
    for block in passage.blocks:
        begin = int(np.searchsorted(lines.voice, lines.voice[block.source]))
        end = int(lines.end[block.source])
        source = begin + int(np.searchsorted(lines.onset[begin:end], lines.onset[block.start] - apart))
        steps = block.length - 1
        if source + block.length > min(end, passage.start) or not np.array_equal(
            tokens[source : source + steps], tokens[block.start : block.start + steps]
        ):
            return None
        blocks.append(Return(block.start, source, block.length))
    moved = replace(passage, blocks=tuple(blocks))
    rows, sources = np.array(list(moved.pairs()), dtype=np.int64).T
    likeness = lines.likeness(rows, sources)
    if likeness is None or likeness > passage.likeness:
        return None
    return replace(moved, likeness=likeness)


class Along:
    """Whether passages go on with what one of the ``chosen`` ones repeats."""

    def __init__(self, lines: Lines, chosen: Sequence[Passage]) -> None:
        self.lines = lines
        self._chosen: dict[int, list[Passage]] = {}
        for passage in chosen:
            for apart in _aparts(lines, passage):
                self._chosen.setdefault(apart, []).append(passage)

    def goes_on(self, passage: Passage) -> bool:
        """Whether the passage goes on after or before one of them, with as much time between and no less alike."""
        aparts = _aparts(self.lines, passage)
        near = self._chosen.get(next(iter(aparts)), ()) if len(aparts) == 1 else ()
        return any(
            (passage.likeness is not Likeness.IN_KEY or other.likeness is Likeness.IN_KEY)
            and _goes_on(self.lines, *_in_order(passage, other))
            for other in near
        )


def together(lines: Lines, passages: Sequence[Passage]) -> list[tuple[Passage, ...]]:
    """Passages in order, those that go on with the same earlier music in one group, whatever comes between."""
    groups: list[list[Passage]] = []
    for passage in passages:
        near = (group for group in groups[: -_BETWEEN - 2 : -1] if _goes_on(lines, group[-1], passage))
        group = next(near, None)
        if group is None:
            groups.append([passage])
        else:
            group.append(passage)
    return [tuple(group) for group in groups]


def _goes_on(lines: Lines, one: Passage, other: Passage) -> bool:
    """Whether two passages repeat the same music, with as much time between, in the same notes or in other octaves."""
    before, after = one.blocks[-1], other.blocks[0]
    if one.period or other.period or other.start < one.stop or after.source < before.source + before.length:
        return False
    rows, sources = np.array([before.start, after.start]), np.array([before.source, after.source])
    same_voice = lines.voice[rows[0]] == lines.voice[rows[1]] and lines.voice[sources[0]] == lines.voice[sources[1]]
    first = lines.heads[before.start + before.length - 1][0].measure
    if not same_voice or lines.heads[after.start][0].measure - first > _TOGETHER:
        return False
    letters = int(np.diff(lines.letter[rows] - lines.letter[sources])[0])
    pitches = int(np.diff(lines.pitch[rows] - lines.pitch[sources])[0])
    by_letters = Likeness.IN_KEY in (one.likeness, other.likeness)
    octave = letters % _OCTAVE_LETTERS == 0 and (by_letters or pitches % _OCTAVE == 0)
    return octave and int(np.diff(lines.onset[rows] - lines.onset[sources])[0]) == 0
