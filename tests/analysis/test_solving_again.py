"""A plan solved again after edits is the plan solved afresh."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from analysis.fingering.locks import Lock
from analysis.fingering.plan import make_plan
from tests import strategies
from tests.analysis.exactness import (
    assert_same,
    everything,
    examples,
    on_four_instruments,
)
from tests.analysis.lines import plan, played


@on_four_instruments(some=15, many=60)
def test_a_plan_solved_again_after_edits_is_the_plan_solved_afresh(instrument, count):
    @examples(count)
    @given(
        strategies.parts(least=1, most=12, voices=2, instrument=instrument, seams=True), strategies.rules(), st.data()
    )
    def holds(part, rules, data) -> None:
        made = make_plan(part, instrument, rules)
        for _ in range(data.draw(st.integers(1, 4))):
            locks = dict(made.locks)
            ids = [note.id for note in part]
            for note_id in data.draw(st.lists(st.sampled_from(ids), max_size=2)) if ids else []:
                if note_id in locks and data.draw(st.booleans()):
                    del locks[note_id]
                else:
                    locks[note_id] = data.draw(strategies.locks(instrument))
            made = made.with_locks(locks)
            assert_same(made, make_plan(part, instrument, rules, locks))

    holds()


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
