"""From effort terms to whole numbers: the effort of every grip, pair of grips and three grips in a row.

Effort is kept in thousandths of a unit as integers, so that sums are exact and equal efforts are really equal. Each
term is rounded by itself: the terms of one path add up to its effort to the last thousandth.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from analysis.fingering.grips import Grip
from analysis.fingering.hands import departing, hands
from analysis.fingering.line import Line, Seam
from analysis.fingering.moments import moments
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.stages import Stage
from analysis.fingering.terms import TERMS, Term, Window, spreads
from analysis.fingering.ticking import Tick, no_tick, part_of

Effort = npt.NDArray[np.int32]
Index = npt.NDArray[np.intp]
Weights = npt.NDArray[np.float64]

UNIT = 1000
MOST_THOUSANDTHS = 2_000_000
_MOVED_WHILE_HELD = 500 * UNIT
_CELLS_AT_ONCE = 400_000
# The numbers of grips that tables are padded to while they are worked out.
_WIDTHS = np.array([5, 8, 12, 20, 40])
_NOTHING = np.zeros(1)
# What departs from how a figure is played elsewhere is known only when everything else has been worked out.
_DEPARTING = next(term for term in TERMS if term.name == "same_again")
_TERMS_OF_SPAN = {span: [term for term in TERMS if term.span == span and term is not _DEPARTING] for span in (1, 2, 3)}


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
        return self.effort_around(path, 0, len(path))

    def effort_around(self, path: Sequence[int], start: int, stop: int) -> int:
        """As much of the effort of ``path`` as stages ``start`` to before ``stop`` have a part in, and all links."""
        total = sum(int(self.single[k][path[k]]) for k in range(start, stop))
        pairs = range(max(start - 1, 0), min(stop, len(self.pair)))
        total += sum(int(self.pair[k][path[k], path[k + 1]]) for k in pairs)
        triples = range(max(start - 2, 0), min(stop, len(self.triple)))
        total += sum(int(self.triple[k][path[k], path[k + 1], path[k + 2]]) for k in triples)
        return total + sum(int(link.effort[path[link.first], path[link.last]]) for link in self.links)


def build_costs(line: Line, grips: Sequence[Sequence[Grip]], tick: Tick = no_tick) -> Costs:
    """The effort tables of ``line`` when stage k may use ``grips[k]``; every stage needs a grip."""
    if not line.stages:
        return Costs((), (), ())
    facts = _Facts(line, grips)
    single, pair, triple = (facts.tables(span, part_of(tick, span - 1, 3)) for span in (1, 2, 3))
    _part(line, pair, triple)
    _hold_ties(line.stages, grips, pair)
    links = tuple(Link(seam.first, seam.last, _seam_effort(line, seam, grips)) for seam in line.seams)
    return Costs(tuple(single), tuple(pair), tuple(triple), links)


def single_efforts(line: Line, grips: Sequence[Sequence[Grip]], single: Sequence[Effort]) -> list[Effort]:
    """The tables of single stages with what a figure costs that is played otherwise than elsewhere."""
    where = np.array([k for k, usual in enumerate(line.standing) if usual is not None], dtype=np.intp)
    found = list(single)
    if len(where):
        total = _departures(line, [grips[k] for k in where], where)
        for k, more in zip(where, total, strict=True):
            found[k] = found[k] + more[: len(found[k])]
    return found


def _departures(line: Line, grips: Sequence[Sequence[Grip]], where: Index) -> Effort:
    """The effort of departing from the standing ways at the stages ``where``, padded: [stages, grips]."""
    usual, rules = [line.standing[k] for k in where], [line.rules[k] for k in where]
    what, when = departing(grips, usual), moments([line.stages[k] for k in where], rules)
    window = Window((what.at(slice(None), None, 0, 1),), (when.at(slice(None), 1),), spreads(line.instrument.frame))
    total: Effort = np.zeros(what.departs.shape, dtype=np.int32)
    _add_effort(total, _DEPARTING, window, _weights(rules, _DEPARTING))
    return total


class _Facts:
    """The grips and moments of a line as arrays, from which the tables of each span are worked out."""

    def __init__(self, line: Line, grips: Sequence[Sequence[Grip]]) -> None:
        self.line = line
        # Stages of one pitch share their grips, as one object; stages of one kind of moment look alike to every term.
        _, examples, alike = np.unique([id(choices) for choices in grips], return_index=True, return_inverse=True)
        self.alike = alike.reshape(-1)
        self.what = hands(line.instrument, [grips[k] for k in examples])
        self.when = moments(line.stages, line.rules)
        self.sizes = np.array([len(choices) for choices in grips])

    @cached_property
    def moment(self) -> Index:
        """The kind of moment of every stage."""
        return _kinds([*self.when.columns(), np.array([id(rules) for rules in self.line.rules])])

    def tables(self, span: int, tick: Tick) -> list[Effort]:
        """The summed terms of one span for every first stage: arrays [grips of it, of the next ...]."""
        count = len(self.sizes) - span + 1
        if count <= 0:
            return []
        weights = {term.name: _weights(self.line.rules[span - 1 :], term) for term in _TERMS_OF_SPAN[span]}
        examples, kind_of = self._stretches(span, count)
        found: dict[int, Effort] = {}
        for rows, widths in _batches(self.sizes, span, examples):
            tick(len(found) / len(examples))
            effort = self.summed(rows, widths, weights)
            for first, table in zip(rows, effort, strict=True):
                cut = tuple(slice(size) for size in self.sizes[first : first + span])
                found[int(first)] = np.ascontiguousarray(table[cut])
        return [found[int(examples[kind])] for kind in kind_of]

    def _stretches(self, span: int, count: int) -> tuple[Index, Index]:
        """One first stage for every kind of stretch, and the kind of each: those of a kind share their table."""
        told = [self.alike[axis : axis + count] for axis in range(span)]
        told += [self.moment[axis : axis + count] for axis in arrivals(span)]
        kind_of = _kinds(told)
        return np.unique(kind_of, return_index=True)[1], kind_of

    def summed(self, rows: Index, widths: Sequence[int], weights: Mapping[str, Weights]) -> Effort:
        """The terms of one span added up for the stretches that begin at ``rows``, padded: [rows, *widths]."""
        window = self._window(rows, widths)
        total: Effort = np.zeros((len(rows), *widths), dtype=np.int32)
        for term in TERMS:
            weight = weights[term.name][rows] if term.name in weights else _NOTHING
            if weight.any():
                _add_effort(total, term, window, weight)
        return total

    def along(self, terms: Sequence[Term]) -> dict[str, Effort]:
        """Each of some ``terms`` of one span by itself, where every stage has one grip: arrays over first stages."""
        span = terms[0].span
        rows = np.arange(len(self.sizes) - span + 1)
        window = self._window(rows, [1] * span)
        found: dict[str, Effort] = {}
        for term in terms:
            total: Effort = np.zeros((len(rows), *[1] * span), dtype=np.int32)
            weights = _weights(self.line.rules[span - 1 :], term)
            if weights.any():
                _add_effort(total, term, window, weights)
            found[term.name] = total.reshape(-1)
        return found

    def _window(self, rows: Index, widths: Sequence[int]) -> Window:
        span = len(widths)
        return Window(
            tuple(self.what.at(self.alike[rows + axis], width, axis, span) for axis, width in enumerate(widths)),
            tuple(self.when.at(rows + axis, span) for axis in arrivals(span)),
            spreads(self.line.instrument.frame),
        )


def arrivals(span: int) -> range:
    """Which of ``span`` stages are arrived at: the only one, or all but the first."""
    return range(min(1, span - 1), span)


def _kinds(columns: Sequence[npt.NDArray[Any]]) -> Index:
    """A number for each row of some columns, the same for equal rows."""
    kinds = np.zeros(len(columns[0]), dtype=np.intp)
    for column in columns:
        values, here = np.unique(column, return_inverse=True)
        if len(values) > 1:
            # Column by column the numbers stay small enough to be joined in one.
            kinds = np.unique(kinds * len(values) + here, return_inverse=True)[1]
    return kinds


def _batches(sizes: Index, span: int, firsts: Index) -> Iterator[tuple[Index, tuple[int, ...]]]:
    """Stretches of ``span`` stages that are worked out together: first stages, and the widths they are padded to.

    Those whose stages have about as many grips go together, so that little is worked out in vain.
    """
    steps = _WIDTHS[np.searchsorted(_WIDTHS, np.minimum(sizes, _WIDTHS[-1]))]
    steps = np.minimum(np.maximum(steps, sizes), sizes.max())
    widths = np.stack([steps[firsts + axis] for axis in range(span)], axis=1)
    kinds, kind_of = np.unique(widths, axis=0, return_inverse=True)
    order = np.argsort(kind_of.reshape(-1), kind="stable")
    ends = np.cumsum(np.bincount(kind_of.reshape(-1)))
    for kind, rows in zip(kinds, np.split(firsts[order], ends[:-1]), strict=True):
        most = max(1, _CELLS_AT_ONCE // int(np.prod(kind)))
        for start in range(0, len(rows), most):
            yield rows[start : start + most], tuple(map(int, kind))


def term_efforts(line: Line, path: Sequence[Grip]) -> dict[str, Effort]:
    """Each term's effort along one path, in thousandths: an array over the stages at which the term begins."""
    if not line.stages:
        return {}
    facts = _Facts(line, [(grip,) for grip in path])
    found = {_DEPARTING.name: _departures(line, [(grip,) for grip in path], np.arange(len(path))).reshape(-1)}
    for span in range(1, min(3, len(path)) + 1):
        for name, effort in facts.along(_TERMS_OF_SPAN[span]).items():
            for k in line.parted:
                effort[max(k - span + 2, 0) : k + 1] = 0
            found[name] = effort
    return found


def seam_term_efforts(line: Line, path: Sequence[Grip], seams: Sequence[Seam]) -> dict[str, int]:
    """Each term's effort over some ``seams`` of a line along one path of the whole line, in thousandths."""
    found: dict[str, int] = {}
    for seam in seams:
        first, last = (path[seam.first],), (path[seam.last],)
        over, sides = _over_seam(line, seam, (first, last))
        for name, effort in _Facts(over, sides).along(_TERMS_OF_SPAN[2]).items():
            found[name] = found.get(name, 0) + int(effort[0])
    return found


def _weights(rules: Sequence[HouseRules], term: Term) -> Weights:
    """The weight of a term at each stage arrived at; rules that are one object are looked up once."""
    if all(rule is rules[0] for rule in rules):
        return np.full(len(rules), rules[0].weight(term.name))
    known = {id(rule): rule for rule in rules}
    weight = {key: rule.weight(term.name) for key, rule in known.items()}
    return np.array([weight[id(rule)] for rule in rules])


def _add_effort(total: Effort, term: Term, window: Window, weights: Weights) -> None:
    """Add one term in thousandths to ``total``, checked: finite, never negative, not beyond every measure."""
    factor = (weights * UNIT).reshape(-1, *[1] * term.span)
    measured = term.measure(window)
    if not isinstance(measured, tuple):
        total += _thousandths(term, np.asarray(measured, dtype=np.float64) * factor)
        return
    for part in measured:
        each = _thousandths(term, np.asarray(part.each, dtype=np.float64) * factor)
        if each.any():
            total += part.times * each


def _thousandths(term: Term, effort: npt.NDArray[np.float64]) -> Effort:
    """Efforts rounded to whole thousandths; ArithmeticError when one of them is none."""
    # A comparison with NaN is never true.
    if not (effort.min() >= 0 and effort.max() <= MOST_THOUSANDTHS):
        raise ArithmeticError(f"effort term {term.name} gives a number that is not an effort")
    return np.rint(effort).astype(np.int32)


def _part(line: Line, pair: list[Effort], triple: list[Effort]) -> None:
    """No effort between stages that never follow one another."""
    for k in line.parted:
        pair[k] = np.zeros_like(pair[k])
        for first in (k - 1, k):
            if 0 <= first < len(triple):
                triple[first] = np.zeros_like(triple[first])


def _seam_effort(line: Line, seam: Seam, grips: Sequence[Sequence[Grip]]) -> Effort:
    """The effort over one seam: [grips of its first stage, grips of its last]."""
    over, sides = _over_seam(line, seam, (grips[seam.first], grips[seam.last]))
    (effort,) = _Facts(over, sides).tables(2, no_tick)
    return effort.T if seam.back else effort


def _over_seam(
    line: Line, seam: Seam, ends: tuple[Sequence[Grip], Sequence[Grip]]
) -> tuple[Line, tuple[Sequence[Grip], Sequence[Grip]]]:
    """The two stages of a seam as a line of their own, in the order they are played, and the grips of both."""
    before, after = (seam.last, seam.first) if seam.back else (seam.first, seam.last)
    rules = (line.rules[before], line.rules[after])
    over = Line(line.instrument, (line.stages[before], seam.arrival), rules, (None, None))
    return over, ends[::-1] if seam.back else ends


def held_effort(line: Line, path: Sequence[Grip]) -> int:
    """What one path pays for moving notes that a tie still holds, in thousandths; only a lock can ask for that."""
    return _MOVED_WHILE_HELD * len(moved_while_held(line, path.__getitem__))


def moved_while_held(line: Line, grip_at: Callable[[int], Grip]) -> list[tuple[int, int]]:
    """The (stage, head) of every note that is moved while a tie still holds it, with ``grip_at`` every stage."""
    return [
        (index, head)
        for index in line.holding
        for before, head in _held_heads(line.stages[index - 1], line.stages[index])
        if grip_at(index - 1)[before].as_played != grip_at(index)[head].as_played
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
            moved = [
                [first[before].as_played != second[head].as_played for second in grips[index]]
                for first in grips[index - 1]
            ]
            # The table may be another stretch's too.
            pairs[index - 1] = pairs[index - 1] + _MOVED_WHILE_HELD * np.array(moved, dtype=np.int32)


def with_links(costs: Costs, line: Line, grips: Sequence[Sequence[Grip]], changed: Sequence[int]) -> Costs:
    """The tables with the seams at the ``changed`` stages worked out again."""
    links = tuple(
        Link(seam.first, seam.last, _seam_effort(line, seam, grips)) if {seam.first, seam.last} & set(changed) else link
        for seam, link in zip(line.seams, costs.links, strict=True)
    )
    return replace(costs, links=links)
