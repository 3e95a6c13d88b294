"""What the proofs of the solver share: every sequence of grips there is, and short passages to try them on."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, settings
from hypothesis import strategies as st

from analysis.fingering.chain import Chain
from analysis.fingering.costs import UNIT, Costs, seam_term_efforts, term_efforts
from analysis.fingering.plan import Plan, make_plan
from analysis.fingering.stages import Stage
from analysis.instruments import BASS, CELLO, VIOLA, VIOLIN, Instrument
from tests import strategies
from tests.amounts import cases

FOUR = (VIOLIN, VIOLA, CELLO, BASS)

MOST_SEQUENCES = 20_000

HELD = 500 * UNIT


def examples(count: int) -> settings:
    """So many random cases; most of the time goes into trying every sequence, not into the solver."""
    quiet = [HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large]
    return settings(max_examples=count, deadline=None, suppress_health_check=quiet)


def on_four_instruments(*, some: int, many: int) -> pytest.MarkDecorator:
    """``instrument`` and ``count``: some random cases in every run, or many."""
    count = cases(some, many)
    each = [pytest.param(instrument, count, id=f"{instrument.key}-{count}") for instrument in FOUR]
    return pytest.mark.parametrize(("instrument", "count"), each)


def every_sequence(costs: Costs, free: tuple[np.ndarray, ...]) -> np.ndarray:
    """The effort of every sequence of grips there is: one axis a stage."""
    sizes = [len(single) for single in free]
    total = np.zeros(sizes, dtype=np.int64)
    for span, tables in ((1, free), (2, costs.pair), (3, costs.triple)):
        for first, table in enumerate(tables):
            shape = [1] * len(sizes)
            shape[first : first + span] = table.shape
            total = total + table.astype(np.int64).reshape(shape)
    for link in costs.links:
        shape = [1] * len(sizes)
        shape[link.first], shape[link.last] = sizes[link.first], sizes[link.last]
        over = np.diagonal(link.effort) if link.first == link.last else link.effort
        total = total + over.astype(np.int64).reshape(shape)
    return total


def kept_grips(stage: Stage, grips, locks) -> list[int]:
    """The grips of a stage that meet the most of what the locks on its notes ask for."""
    asked = [
        (head, name, value)
        for head, ids in enumerate(stage.ids)
        for one in ids
        for name in ("string", "position", "finger", "hand")
        if one in locks and (value := getattr(locks[one], name)) is not None
    ]
    unmet = [sum(getattr(grip[head], name) != value for head, name, value in asked) for grip in grips]
    return [number for number, count in enumerate(unmet) if count == min(unmet)]


def least_with(total: np.ndarray, kept: list[list[int]], stage: int, grip: int) -> int:
    """The least effort of the sequences that use ``grip`` at ``stage`` and keep the locks everywhere else."""
    return int(total[np.ix_(*(*kept[:stage], [grip], *kept[stage + 1 :]))].min())


def moved_while_held(stages, path) -> int:
    """How often a note that is still held by a tie is moved along a path of grips."""
    moved = 0
    for (before, first), (stage, second) in itertools.pairwise(zip(stages, path, strict=True)):
        for head in stage.held:
            same = [note.pitch for note in before.heads].index(stage.heads[head].pitch)
            moved += first[same].as_played != second[head].as_played
    return moved


def effort_along(chain: Chain, path) -> int:
    """The effort of a path of grips, added up term by term, with the seams."""
    efforts = sum(int(effort.sum()) for effort in term_efforts(chain.line, path).values())
    return (
        efforts
        + sum(seam_term_efforts(chain.line, path, chain.line.seams).values())
        + HELD * moved_while_held(chain.stages, path)
    )


def cut(made: Plan, stages: int) -> Plan:
    """The plan of a part's first ``stages`` stages."""
    kept = {note_id for stage in made.chains[0].stages[:stages] for ids in stage.ids for note_id in ids}
    notes = tuple(note for note in made.part if note.id in kept)
    locks = {note_id: lock for note_id, lock in made.locks.items() if note_id in kept}
    return make_plan(replace(made.part, notes=notes), made.setting.instrument, made.setting.rules, locks)


@st.composite
def small_plans(draw, instrument: Instrument, *, most=9, sequences=MOST_SEQUENCES):
    """A short passage under random rules and locks, cut where there would be too many sequences to try."""
    part = draw(strategies.parts(least=4, most=most, instrument=instrument, seams=draw(st.integers(0, 3)) > 0))
    locks = draw(strategies.locked(part, instrument=instrument))
    made = make_plan(part, instrument, draw(strategies.rules(positions=2)), locks)
    assume(made.chains)
    many = np.cumprod([float(len(grips)) for grips in made.chains[0].grips])
    fitting = min(int((many <= sequences).sum()), 24)
    return made if fitting == len(many) else cut(made, fitting)


def is_exact(chain: Chain, made: Plan) -> None:
    """The solution of a short chain against every sequence."""
    if not chain.stages:
        assert chain.solution.path == ()
        return
    total = every_sequence(chain.costs, chain.free)
    kept = [kept_grips(stage, grips, made.locks) for stage, grips in zip(chain.stages, chain.grips, strict=True)]
    least = int(total[np.ix_(*kept)].min())
    assert chain.solution.effort == least
    assert int(total[chain.solution.path]) == least
    for index, grips in enumerate(chain.grips):
        extra = chain.solution.extra(chain.costs, index)
        for grip in kept[index]:
            assert int(extra[grip]) == least_with(total, kept, index, grip) - least
        for grip in range(len(grips)):
            through = chain.solution.through(chain.costs, index, grip)
            assert through[index] == grip
            assert int(total[through]) == least_with(total, kept, index, grip)


def everything(made, *, ways=True):
    """All that a plan says, as plain values."""
    return {
        "choices": list(made.choices()),
        "effort": made.effort,
        "problems": dict(made.problems),
        "locks": dict(made.locks),
        "counts": made.counts,
        "ways": {note.id: made.ways(note.id) for note in made.part if ways},
        "struck": [note.id for note in made.part if made.struck(note.id)],
    }


def same_tables(mine, theirs) -> bool:
    pairs = [*zip(mine.before, theirs.before, strict=True), *zip(mine.after, theirs.after, strict=True)]
    return all(a.equals(b) for a, b in pairs)


def assert_same(made: Plan, afresh: Plan, *, ways: bool = True) -> None:
    """Two plans are the same to the last table."""
    assert everything(made, ways=ways) == everything(afresh, ways=ways)
    for chain, other in zip(made.chains, afresh.chains, strict=True):
        assert chain.grips == other.grips
        assert chain.line.standing == other.line.standing
        assert chain.solution.path == other.solution.path
        assert same_tables(chain.solution, other.solution)
