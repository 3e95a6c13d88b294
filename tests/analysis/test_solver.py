"""The solver is exact: against every sequence there is, against an independent graph library, and after every edit."""

from __future__ import annotations

import itertools
import subprocess
import sys

import networkx
import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from analysis.fingering.chain import Chain
from analysis.fingering.setting import Setting
from analysis.fingering.costs import UNIT, Costs, build_costs, term_efforts
from analysis.fingering.locks import Lock
from analysis.fingering.plan import make_plan
from analysis.fingering.rules.files import preset
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.solver import solve
from analysis.fingering.stages import Stage
from analysis.instruments import VIOLA, VIOLIN
from tests import strategies
from tests.analysis.invariants import as_played
from tests.analysis.lines import line, plan, played

MOST_SEQUENCES = 400_000
HELD = 500 * UNIT


def examples(count: int) -> settings:
    """So many random cases; most of the time goes into trying every sequence, not into the solver."""
    quiet = [HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large]
    return settings(max_examples=count, deadline=None, suppress_health_check=quiet)


def every_sequence(costs: Costs, free: tuple[np.ndarray, ...]) -> np.ndarray:
    """The effort of every sequence of grips there is: one axis a stage."""
    sizes = [len(single) for single in free]
    total = np.zeros(sizes, dtype=np.int64)
    for span, tables in ((1, free), (2, costs.pair), (3, costs.triple)):
        for first, table in enumerate(tables):
            shape = [1] * len(sizes)
            shape[first : first + span] = table.shape
            total = total + table.astype(np.int64).reshape(shape)
    return total


def kept_grips(stage: Stage, grips, locks) -> list[int]:
    """The grips of a stage that keep every lock on its notes; all of them where none does."""
    bound = [(head, locks[one]) for head, ids in enumerate(stage.ids) for one in ids if one in locks]
    kept = [
        number
        for number, grip in enumerate(grips)
        if all(
            (lock.string is None or lock.string == grip[head].string)
            and (lock.position is None or lock.position == grip[head].position)
            and (lock.finger is None or lock.finger == grip[head].finger)
            for head, lock in bound
        )
    ]
    return kept or list(range(len(grips)))


def least_with(total: np.ndarray, kept: list[list[int]], stage: int, grip: int) -> int:
    """The least effort of the sequences that use ``grip`` at ``stage`` and keep the locks everywhere else."""
    return int(total[np.ix_(*(*kept[:stage], [grip], *kept[stage + 1 :]))].min())


def moved_while_held(stages, path) -> int:
    """How often a note that is still held by a tie is moved along a path of grips."""
    moved = 0
    for (before, first), (stage, second) in itertools.pairwise(zip(stages, path, strict=True)):
        for head in stage.held:
            same = [note.pitch for note in before.heads].index(stage.heads[head].pitch)
            moved += as_played(first[same]) != as_played(second[head])
    return moved


def effort_along(setting: Setting, chain: Chain, path) -> int:
    """The effort of a path of grips, added up term by term."""
    efforts = term_efforts(setting.instrument, setting.rules, chain.stages, path)
    return sum(int(effort.sum()) for effort in efforts.values()) + HELD * moved_while_held(chain.stages, path)


@st.composite
def small_plans(draw, *, most=6):
    """A short passage under random rules and locks, small enough to try every sequence."""
    part = draw(strategies.parts(least=2, most=most))
    locks = draw(strategies.locked(part))
    made = make_plan(part, draw(st.sampled_from((VIOLIN, VIOLA))), draw(strategies.rules(positions=2)), locks)
    assume(made.chains)
    assume(np.prod([float(len(grips)) for grips in made.chains[0].grips]) <= MOST_SEQUENCES)
    assume(len(made.chains[0].stages) <= 24)
    return made


@examples(300)
@given(small_plans())
def test_the_solution_is_the_least_of_every_sequence_there_is_and_so_is_every_extra(made):
    chain = made.chains[0]
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


@examples(60)
@given(small_plans(most=4))
def test_every_way_costs_what_the_least_sequence_with_it_costs_more(made):
    chain = made.chains[0]
    assume(chain.stages)
    total = every_sequence(chain.costs, chain.free)
    kept = [kept_grips(stage, grips, made.locks) for stage, grips in zip(chain.stages, chain.grips, strict=True)]
    for index, stage in enumerate(chain.stages):
        for head, ids in enumerate(stage.ids):
            for way in made.ways(ids[0]):
                same = [
                    number
                    for number, grip in enumerate(chain.grips[index])
                    if grip[head] == way.placement or ((grip[head].is_open and way.placement.is_open)
                    and grip[head].string == way.placement.string)
                ]  # fmt: skip
                # Where some of the grips with it keep the other locks here, those are the ones that count.
                same = [number for number in same if number in kept[index]] or same
                least = min(least_with(total, kept, index, number) for number in same)
                if set(same) & set(kept[index]):
                    assert round(way.extra * UNIT) == least - chain.solution.effort
                else:
                    assert round(way.extra * UNIT) >= least - chain.solution.effort


@examples(40)
@given(strategies.parts(least=1, most=4), strategies.rules(positions=1))
def test_the_least_effort_is_that_of_terms_added_up_over_every_sequence(part, rules):
    """Without the tables of the solver: each sequence by itself, term by term."""
    made = make_plan(part, VIOLIN, rules)
    assume(made.chains)
    chain = made.chains[0]
    count = int(np.prod([len(grips) for grips in chain.grips]))
    assume(chain.stages and count <= 60)
    efforts = [effort_along(made.setting, chain, path) for path in itertools.product(*chain.grips)]
    assert chain.solution.effort == min(efforts)


def shortest(costs: Costs, sizes: list[list[int]]) -> int:
    """The least effort by Dijkstra's way through a graph whose states are pairs of neighbouring grips."""
    graph = networkx.DiGraph()
    single = [table.tolist() for table in costs.single]
    pair = [table.tolist() for table in costs.pair]
    triple = [table.tolist() for table in costs.triple]
    last = len(single) - 1
    for i, j in itertools.product(sizes[0], sizes[1]):
        graph.add_edge("start", (0, i, j), weight=single[0][i] + single[1][j] + pair[0][i][j])
    for k in range(last - 1):
        for i, j, n in itertools.product(sizes[k], sizes[k + 1], sizes[k + 2]):
            weight = single[k + 2][n] + pair[k + 1][j][n] + triple[k][i][j][n]
            graph.add_edge((k, i, j), (k + 1, j, n), weight=weight)
    for i, j in itertools.product(sizes[last - 1], sizes[last]):
        graph.add_edge((last - 1, i, j), "end", weight=0)
    return networkx.dijkstra_path_length(graph, "start", "end")


@examples(100)
@given(strategies.parts(least=30, most=80), strategies.rules(positions=2), st.data())
def test_the_least_effort_of_a_long_passage_is_that_of_a_shortest_path(part, rules, data):
    """Source: networkx, Dijkstra's algorithm on the expanded graph."""
    chain = make_plan(part, VIOLIN, rules).chains[0]
    assume(len(chain.stages) >= 20)
    grips = [list(range(len(choices))) for choices in chain.grips]
    assert chain.solution.effort == shortest(chain.costs, grips)
    index = data.draw(st.integers(0, len(grips) - 1))
    grip = data.draw(st.sampled_from(grips[index]))
    forced = shortest(chain.costs, [*grips[:index], [grip], *grips[index + 1 :]])
    assert chain.solution.effort + int(chain.solution.extra(chain.costs, index)[grip]) == forced


@examples(60)
@given(strategies.parts(least=1, most=70, voices=2), strategies.rules(), st.randoms(use_true_random=False))
def test_the_terms_along_a_path_add_up_to_its_effort(part, rules, random):
    """The chosen path and any other: the tables hold what the terms say, to the last thousandth."""
    made = make_plan(part, VIOLIN, rules)
    for chain in made.chains:
        chosen = chain.chosen_path()
        assert effort_along(made.setting, chain, chosen) == chain.solution.effort
        for _ in range(3):
            path = [random.randrange(len(grips)) for grips in chain.grips]
            assert effort_along(made.setting, chain, chain.on_path(path)) == chain.costs.path_effort(path)


def test_the_tables_are_the_same_whatever_lies_around_a_stage():
    """Tables are filled some rows at a time: a passage has the same ones wherever a row block begins."""
    part = line(" ".join(["(G4 A4/0.5 B4)", "[D4 A4]/1", "r/1 E5/2", "F#5/1"] * 20))
    made = make_plan(part, VIOLIN, preset("whole-board"))
    chain = made.chains[0]
    assert len(chain.stages) > 100
    for start in (0, 1, 45, 46, 47, 48, 49, 95, 96, 97):
        near = build_costs(VIOLIN, made.setting.rules, chain.stages[start : start + 3], chain.grips[start : start + 3])
        assert np.array_equal(near.triple[0], chain.costs.triple[start])
        for offset in (0, 1):
            assert np.array_equal(near.pair[offset], chain.costs.pair[start + offset])
        for offset in (0, 1, 2):
            assert np.array_equal(near.single[offset], chain.costs.single[start + offset])


def everything(made):
    """All that a plan says, as plain values."""
    return {
        "choices": list(made.choices()),
        "effort": made.effort,
        "problems": dict(made.problems),
        "locks": dict(made.locks),
        "counts": made.counts,
        "ways": {note.id: made.ways(note.id) for note in made.part},
        "struck": [note.id for note in made.part if made.struck(note.id)],
    }


@examples(80)
@given(strategies.parts(least=1, most=14, voices=2), strategies.rules(), st.data())
def test_a_plan_solved_again_after_edits_is_the_plan_solved_afresh(part, rules, data):
    made = make_plan(part, VIOLIN, rules)
    for _ in range(data.draw(st.integers(1, 5))):
        locks = dict(made.locks)
        for note_id in (
            data.draw(st.lists(st.sampled_from([note.id for note in part]), max_size=2)) if part.notes else []
        ):
            if note_id in locks and data.draw(st.booleans()):
                del locks[note_id]
            else:
                locks[note_id] = data.draw(strategies.locks())
        made = made.with_locks(locks)
        afresh = make_plan(part, VIOLIN, rules, locks)
        assert everything(made) == everything(afresh)
        for chain, other in zip(made.chains, afresh.chains, strict=True):
            assert chain.grips == other.grips
            assert chain.solution.path == other.solution.path
            for mine, theirs in zip(chain.solution.before, other.solution.before, strict=True):
                assert np.array_equal(mine, theirs)
            for mine, theirs in zip(chain.solution.after, other.solution.after, strict=True):
                assert np.array_equal(mine, theirs)


def test_a_lock_beyond_the_rules_is_kept_and_let_go_again():
    made = plan("G4 A4 B4 C5 B4 A4 G4")
    beyond = made.with_locks({"n4": Lock(string=3, position=3, finger=4)})
    assert played(beyond).split()[3] == "D4"
    assert played(beyond) != played(made)
    assert everything(beyond.with_locks({})) == everything(made)


def test_a_lock_on_a_note_out_of_reach_brings_it_into_the_plan_and_takes_it_out_again():
    made = plan("A5 B5 E6 B5 A5")
    assert made.choice("n3") is None
    with_it = made.with_locks({"n3": Lock(string=1, position=5)})
    assert with_it.choice("n3").position == 5
    assert everything(with_it.with_locks({})) == everything(made)


def test_a_part_far_from_an_edit_is_left_as_it_was():
    """What an edit does not touch keeps its very tables: only what changes is worked out again."""
    made = plan("G4 A4 B4 r/8 " * 30)
    edited = made.with_locks({"n3": Lock(finger=1, string=2)})
    before, after = made.chains[0], edited.chains[0]
    assert sum(a is b for a, b in zip(before.costs.triple, after.costs.triple, strict=True)) >= 80
    assert sum(a is b for a, b in zip(before.solution.before, after.solution.before, strict=True)) >= 60


def test_equal_efforts_are_decided_by_the_order_of_grips():
    zeros = Costs(
        single=tuple(np.zeros(3, dtype=np.int32) for _ in range(4)),
        pair=tuple(np.zeros((3, 3), dtype=np.int32) for _ in range(3)),
        triple=tuple(np.zeros((3, 3, 3), dtype=np.int32) for _ in range(2)),
    )
    assert solve(zeros).path == (0, 0, 0, 0)


@pytest.mark.parametrize("count", [0, 1, 2])
def test_a_passage_of_hardly_any_notes_is_solved(count):
    made = plan(" ".join(["B4"] * count) or "r/4")
    assert played(made) == " ".join(["A1"] * count)


_TELL = """
from analysis.instruments import VIOLIN
from analysis.fingering.plan import make_plan
from analysis.fingering.rules import preset
from analysis.fingering.locks import Lock
from tests.analysis.lines import line, played
part = line("G4 A4/2 (B4 C5) [D4 B4]/1 E5 F#5/0.5 G5 A5 E5/4", "G4/4 r/2 A4 B4/8")
made = make_plan(part, VIOLIN, preset("whole-board"), {"n4": Lock(string=3), "n6": Lock(position=2), "n1": Lock(string=1)})
print(played(made), made.effort, [made.ways(note.id) for note in part], dict(made.problems))
"""


def test_the_same_part_is_fingered_the_same_in_every_run():
    told = {
        subprocess.run(
            [sys.executable, "-c", _TELL], env={"PYTHONPATH": ":".join(sys.path), "PYTHONHASHSEED": seed},
            capture_output=True, check=True, text=True,
        ).stdout
        for seed in ("1", "2", "3")
    }  # fmt: skip
    assert len(told) == 1
    assert all(told)


@examples(20)
@given(strategies.parts(most=8), strategies.rules())
def test_two_plans_of_one_part_are_equal(part, rules: HouseRules):
    assert everything(make_plan(part, VIOLIN, rules)) == everything(make_plan(part, VIOLIN, rules))
