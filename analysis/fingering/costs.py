"""From effort terms to whole numbers: the effort of every grip, pair of grips and three grips in a row.

Effort is kept in thousandths of a unit as integers, so that sums are exact and equal efforts are really equal. Each
term is rounded by itself: the terms of one path add up to its effort to the last thousandth.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from analysis.fingering.grips import Grip
from analysis.fingering.hands import Hands, Moments, hands
from analysis.fingering.line import Line, Seam
from analysis.fingering.moments import moments
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.stages import Stage
from analysis.fingering.terms import TERMS, Spreads, Term, Window, spreads
from analysis.fingering.ticking import Tick, no_tick

Effort = npt.NDArray[np.int32]

UNIT = 1000
MOST_THOUSANDTHS = 2_000_000
_MOVED_WHILE_HELD = 500 * UNIT
_ROWS_AT_ONCE = 48
_CELLS_AT_ONCE = 400_000


@dataclass(frozen=True, slots=True)
class Link:
    """The effort between two stages that a seam brings together: [grips of ``first``, grips of ``last``]."""

    first: int
    last: int
    effort: Effort


@dataclass(frozen=True, slots=True)
class Costs:
    """The effort tables of a chain of n stages, in thousandths.

    ``single[k]`` has shape [grips of k]; ``pair[k]`` [grips of k, of k + 1]; ``triple[k]`` [grips of k, of k + 1, of
    k + 2]. ``links`` are the seams.
    """

    single: tuple[Effort, ...]
    pair: tuple[Effort, ...]
    triple: tuple[Effort, ...]
    links: tuple[Link, ...] = ()

    def path_effort(self, path: Sequence[int]) -> int:
        """The whole effort of choosing grip ``path[k]`` at each stage k."""
        total = sum(int(table[i]) for table, i in zip(self.single, path, strict=True))
        total += sum(int(table[i, j]) for table, i, j in zip(self.pair, path, path[1:], strict=False))
        total += sum(int(t[i, j, k]) for t, i, j, k in zip(self.triple, path, path[1:], path[2:], strict=False))
        return total + sum(int(link.effort[path[link.first], path[link.last]]) for link in self.links)


def build_costs(line: Line, grips: Sequence[Sequence[Grip]], tick: Tick = no_tick) -> Costs:
    """The effort tables of ``line`` when stage k may use ``grips[k]``; every stage needs a grip."""
    if not line.stages:
        return Costs((), (), ())
    when = moments(line.stages, line.rules)
    sizes = [len(choices) for choices in grips]
    tables: tuple[list[Effort], list[Effort], list[Effort]] = ([], [], [])
    start, count = 0, len(line.stages)
    while start < count:
        tick(start / count)
        block = _block(sizes, start)
        stop = min(start + block + 2, count)
        what = hands(line.instrument, grips[start:stop], line.standing[start:stop])
        for span, table in zip((1, 2, 3), tables, strict=True):
            rows = min(block, count - span + 1 - start)
            if rows > 0:
                effort = _span_effort(what, when.rows(start, stop), line, span, start, rows)
                table.extend(_cut(effort, sizes[start:], span))
        start += block
    _part(line, tables)
    _hold_ties(line.stages, grips, tables[1])
    links = tuple(Link(seam.first, seam.last, _seam_effort(line, seam, grips)) for seam in line.seams)
    return Costs(tuple(tables[0]), tuple(tables[1]), tuple(tables[2]), links)


def single_efforts(line: Line, grips: Sequence[Sequence[Grip]]) -> list[Effort]:
    """What each stage costs by itself with any of its grips."""
    when, what = moments(line.stages, line.rules), hands(line.instrument, grips, line.standing)
    return list(_cut(_span_effort(what, when, line, 1, 0, len(grips)), [len(choices) for choices in grips], 1))


def term_efforts(line: Line, path: Sequence[Grip]) -> dict[str, Effort]:
    """Each term's effort along one path, in thousandths: an array over the stages at which the term begins."""
    if not line.stages:
        return {}
    what = hands(line.instrument, [(grip,) for grip in path], line.standing)
    when = moments(line.stages, line.rules)
    found = {}
    for term in TERMS:
        rows = len(line.stages) - term.span + 1
        if rows > 0:
            weights = _weights(line.rules[term.span - 1 :], term)
            window = _window(what, when, line, term.span, rows)
            effort = _term_effort(term, window, weights, rows, 1).reshape(rows).copy()
            for k in line.parted:
                effort[max(k - term.span + 2, 0) : k + 1] = 0
            found[term.name] = effort
    return found


def seam_term_efforts(line: Line, path: Sequence[Grip]) -> dict[str, int]:
    """Each term's effort over all seams along one path of the whole line, in thousandths."""
    found: dict[str, int] = {}
    for seam in line.seams:
        ends = [(path[seam.first],), (path[seam.last],)]
        for term, effort in _seam_terms(line, seam, ends):
            found[term.name] = found.get(term.name, 0) + int(effort.sum())
    return found


def _block(sizes: Sequence[int], start: int) -> int:
    """How many stages are worked out at once: fewer where stages have many grips, so that memory stays small."""
    widest = max(sizes[start : start + _ROWS_AT_ONCE + 2])
    return max(1, min(_ROWS_AT_ONCE, _CELLS_AT_ONCE // widest**3))


def _span_effort(what: Hands, when: Moments, line: Line, span: int, start: int, rows: int) -> Effort:
    """The summed terms of one span for ``rows`` first stages from ``start``, padded: shape [rows, width, ...]."""
    window = _window(what, when, line, span, rows)
    width = what.high.shape[1]
    total: Effort = np.zeros((rows, *[width] * span), dtype=np.int32)
    arrived = line.rules[start + span - 1 : start + span - 1 + rows]
    for term in TERMS:
        if term.span == span:
            weights = _weights(arrived, term)
            if weights.any():
                total += _term_effort(term, window, weights, rows, width)
    return total


def _window(what: Hands, when: Moments, line: Line, span: int, rows: int) -> Window:
    return Window(
        tuple(what.rows(axis, axis + rows).seen_as(axis, span) for axis in range(span)),
        tuple(when.rows(axis, axis + rows).seen_as(span) for axis in range(span)),
        _spreads(line),
    )


def _spreads(line: Line) -> Spreads:
    return spreads(line.instrument.frame)


def _weights(rules: Sequence[HouseRules], term: Term) -> npt.NDArray[np.float64]:
    """The weight of a term at each stage arrived at; rules that are one object are looked up once."""
    known = {id(rule): rule for rule in rules}
    weight = {key: rule.weight(term.name) for key, rule in known.items()}
    return np.array([weight[id(rule)] for rule in rules])


def _term_effort(term: Term, window: Window, weights: npt.NDArray[np.float64], rows: int, width: int) -> Effort:
    """One term in thousandths, checked: finite, never negative, of the right shape, not beyond every measure."""
    effort = np.asarray(term.measure(window), dtype=float) * (weights * UNIT).reshape(-1, *[1] * term.span)
    if not np.all(np.isfinite(effort)) or np.any(effort < 0) or np.any(effort > MOST_THOUSANDTHS):
        raise ArithmeticError(f"effort term {term.name} gives a number that is not an effort")
    return np.broadcast_to(np.rint(effort).astype(np.int32), (rows, *[width] * term.span))


def _cut(effort: Effort, sizes: Sequence[int], span: int) -> Iterator[Effort]:
    """The rows of a padded table without their padding."""
    for row in range(len(effort)):
        index = tuple(slice(sizes[row + axis]) for axis in range(span))
        yield np.ascontiguousarray(effort[row][index])


def _part(line: Line, tables: tuple[list[Effort], list[Effort], list[Effort]]) -> None:
    """No effort between stages that never follow one another."""
    for k in line.parted:
        tables[1][k] = np.zeros_like(tables[1][k])
        for first in (k - 1, k):
            if 0 <= first < len(tables[2]):
                tables[2][first] = np.zeros_like(tables[2][first])


def _seam_effort(line: Line, seam: Seam, grips: Sequence[Sequence[Grip]]) -> Effort:
    """The effort over one seam: [grips of its first stage, grips of its last]."""
    ends = [grips[seam.first], grips[seam.last]]
    sizes = [len(choices) for choices in ends]
    total: Effort = np.zeros(sizes, dtype=np.int32)
    for _, effort in _seam_terms(line, seam, ends):
        total = total + effort[: sizes[0], : sizes[1]]
    return total


def _seam_terms(line: Line, seam: Seam, ends: Sequence[Sequence[Grip]]) -> Iterator[tuple[Term, Effort]]:
    """Each two-stage term over a seam, as [grips of the first stage, grips of the last], padded."""
    order = (1, 0) if seam.back else (0, 1)
    places = (seam.first, seam.last)
    leaving, arriving = places[order[0]], places[order[1]]
    stages = (line.stages[leaving], seam.arrival)
    rules = (line.rules[leaving], line.rules[arriving])
    what = hands(line.instrument, [ends[order[0]], ends[order[1]]])
    window = _window(what, moments(stages, rules), line, 2, 1)
    width = what.high.shape[1]
    for term in TERMS:
        if term.span == 2:
            effort = _term_effort(term, window, _weights(rules[1:], term), 1, width)[0]
            yield term, effort.T if seam.back else effort


def held_effort(stages: Sequence[Stage], path: Sequence[Grip]) -> int:
    """What one path pays for moving notes that a tie still holds, in thousandths; only a lock can ask for that."""
    return _MOVED_WHILE_HELD * len(moved_while_held(stages, path))


def moved_while_held(stages: Sequence[Stage], path: Sequence[Grip]) -> list[tuple[int, int]]:
    """The (stage, head) of every note on a path that is moved while a tie still holds it."""
    return [
        (index, head)
        for index, stage in enumerate(stages[1:], start=1)
        for before, head in _held_heads(stages[index - 1], stage)
        if path[index - 1][before].as_played != path[index][head].as_played
    ]


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


def with_links(costs: Costs, line: Line, grips: Sequence[Sequence[Grip]], changed: Sequence[int]) -> Costs:
    """The tables with the seams at the ``changed`` stages worked out again."""
    links = tuple(
        Link(seam.first, seam.last, _seam_effort(line, seam, grips)) if {seam.first, seam.last} & set(changed) else link
        for seam, link in zip(line.seams, costs.links, strict=True)
    )
    return replace(costs, links=links)
