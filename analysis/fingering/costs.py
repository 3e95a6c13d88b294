"""From effort terms to whole numbers: the effort of every grip, pair of grips and three grips in a row.

Effort is kept in thousandths of a unit as integers, so that sums are exact and equal efforts are really equal. Each
term is rounded by itself: the terms of one path add up to its effort to the last thousandth.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from analysis.fingering.grips import Grip
from analysis.fingering.hands import Hands, Moments, hands, moments
from analysis.fingering.rules import HouseRules
from analysis.fingering.stages import Stage
from analysis.fingering.terms import TERMS, Term, Window
from analysis.fingering.ticking import Tick, no_tick
from analysis.instruments import Instrument

Effort = npt.NDArray[np.int32]

UNIT = 1000
MOST_THOUSANDTHS = 2_000_000
_MOVED_WHILE_HELD = 500 * UNIT
_ROWS_AT_ONCE = 48


@dataclass(frozen=True, slots=True)
class Costs:
    """The effort tables of a chain of n stages, in thousandths.

    ``single[k]`` has shape [grips of k]; ``pair[k]`` [grips of k, of k + 1]; ``triple[k]`` [grips of k, of k + 1, of
    k + 2].
    """

    single: tuple[Effort, ...]
    pair: tuple[Effort, ...]
    triple: tuple[Effort, ...]

    def path_effort(self, path: Sequence[int]) -> int:
        """The whole effort of choosing grip ``path[k]`` at each stage k."""
        total = sum(int(table[i]) for table, i in zip(self.single, path, strict=True))
        total += sum(int(table[i, j]) for table, i, j in zip(self.pair, path, path[1:], strict=False))
        return total + sum(int(t[i, j, k]) for t, i, j, k in zip(self.triple, path, path[1:], path[2:], strict=False))


def build_costs(
    instrument: Instrument,
    rules: HouseRules,
    stages: Sequence[Stage],
    grips: Sequence[Sequence[Grip]],
    tick: Tick = no_tick,
) -> Costs:
    """The effort tables of ``stages`` when stage k may use ``grips[k]``; every stage needs a grip."""
    if not stages:
        return Costs((), (), ())
    when = moments(stages)
    sizes = [len(choices) for choices in grips]
    tables: tuple[list[Effort], list[Effort], list[Effort]] = ([], [], [])
    for start in range(0, len(stages), _ROWS_AT_ONCE):
        tick(start / len(stages))
        stop = min(start + _ROWS_AT_ONCE + 2, len(stages))
        what = hands(instrument, grips[start:stop])
        for span, table in zip((1, 2, 3), tables, strict=True):
            rows = min(_ROWS_AT_ONCE, len(stages) - span + 1 - start)
            if rows > 0:
                effort = _span_effort(what, when.rows(start, stop), rules, span, rows)
                table.extend(_cut(effort, sizes[start:], span))
    _hold_ties(stages, grips, tables[1])
    return Costs(*(tuple(table) for table in tables))


def term_efforts(
    instrument: Instrument, rules: HouseRules, stages: Sequence[Stage], path: Sequence[Grip]
) -> dict[str, npt.NDArray[np.int32]]:
    """Each term's effort along one path, in thousandths: an array over the stages at which the term begins."""
    if not stages:
        return {}
    what, when = hands(instrument, [(grip,) for grip in path]), moments(stages)
    found = {}
    for term in TERMS:
        rows = len(stages) - term.span + 1
        if rows > 0:
            found[term.name] = _term_effort(term, _window(what, when, rules, term.span, rows), rows, 1).reshape(rows)
    return found


def _span_effort(what: Hands, when: Moments, rules: HouseRules, span: int, rows: int) -> Effort:
    """The summed terms of one span for ``rows`` first stages, padded: shape [rows, width, ...]."""
    window = _window(what, when, rules, span, rows)
    width = what.high.shape[1]
    total: Effort = np.zeros((rows, *[width] * span), dtype=np.int32)
    for term in TERMS:
        if term.span == span and rules.weight(term.name):
            total += _term_effort(term, window, rows, width)
    return total


def _window(what: Hands, when: Moments, rules: HouseRules, span: int, rows: int) -> Window:
    return Window(
        tuple(what.rows(axis, axis + rows).seen_as(axis, span) for axis in range(span)),
        tuple(when.rows(axis, axis + rows).seen_as(span) for axis in range(span)),
        rules,
    )


def _term_effort(term: Term, window: Window, rows: int, width: int) -> Effort:
    """One term in thousandths, checked: finite, never negative, of the right shape, not beyond every measure."""
    effort = np.asarray(term.measure(window), dtype=float) * (window.rules.weight(term.name) * UNIT)
    if not np.all(np.isfinite(effort)) or np.any(effort < 0) or np.any(effort > MOST_THOUSANDTHS):
        raise ArithmeticError(f"effort term {term.name} gives a number that is not an effort")
    return np.broadcast_to(np.rint(effort).astype(np.int32), (rows, *[width] * term.span))


def _cut(effort: Effort, sizes: Sequence[int], span: int) -> Iterator[Effort]:
    """The rows of a padded table without their padding."""
    for row in range(len(effort)):
        index = tuple(slice(sizes[row + axis]) for axis in range(span))
        yield np.ascontiguousarray(effort[row][index])


def held_effort(stages: Sequence[Stage], path: Sequence[Grip]) -> int:
    """What one path pays for moving notes that a tie still holds, in thousandths; only a lock can ask for that."""
    moved = 0
    for index, stage in enumerate(stages[1:], start=1):
        for before, head in _held_heads(stages[index - 1], stage):
            moved += path[index - 1][before].as_played != path[index][head].as_played
    return _MOVED_WHILE_HELD * moved


def _held_heads(before: Stage, stage: Stage) -> Iterator[tuple[int, int]]:
    """The heads of ``stage`` that go on sounding from the one before, as (head before, head)."""
    for head in stage.held:
        pitch = stage.heads[head].pitch
        yield next(n for n, note in enumerate(before.heads) if note.pitch == pitch), head


def _hold_ties(stages: Sequence[Stage], grips: Sequence[Sequence[Grip]], pairs: list[Effort]) -> None:
    """Make it out of the question to move a note that is still held by a tie while others are struck."""
    for index, stage in enumerate(stages[1:], start=1):
        for before, head in _held_heads(stages[index - 1], stage):
            for i, first in enumerate(grips[index - 1]):
                for j, second in enumerate(grips[index]):
                    if first[before].as_played != second[head].as_played:
                        pairs[index - 1][i, j] += _MOVED_WHILE_HELD
