"""Plans: what must hold of every one of them, after every kind of edit."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analysis.fingering.locks import Lock
from analysis.fingering.plan import make_plan
from analysis.fingering.rules import PRESETS, HouseRules, preset
from analysis.instruments import BASS, CELLO, VIOLA, VIOLIN
from tests import strategies
from tests.analysis.invariants import INVARIANTS, extra_is_not_what_the_plan_pays, lone_notes, offenders
from tests.analysis.lines import line, plan, played


def examples(count: int) -> settings:
    quiet = [HealthCheck.too_slow, HealthCheck.data_too_large]
    return settings(max_examples=count, deadline=None, suppress_health_check=quiet)


@examples(100)
@given(strategies.parts(most=14, voices=2), strategies.rules(), st.sampled_from((VIOLIN, VIOLA)))
def test_a_fresh_plan_breaks_no_rule(part, rules, instrument):
    assert offenders(make_plan(part, instrument, rules)) == []


@examples(80)
@given(strategies.parts(most=10, voices=2), strategies.rules(), st.data())
def test_a_plan_breaks_no_rule_after_any_row_of_edits(part, rules, data):
    """Locks laid on, changed, laid beyond the rules, against the instrument, and taken off again."""
    made = make_plan(part, VIOLIN, rules)
    for _ in range(data.draw(st.integers(1, 4))):
        made = made.with_locks(data.draw(strategies.locked(part, most=4)))
        assert offenders(made) == []


@examples(60)
@given(strategies.parts(least=2, most=8), strategies.rules(), st.data())
def test_a_way_costs_what_the_plan_pays_when_it_is_locked_so(part, rules, data):
    made = make_plan(part, VIOLIN, rules, data.draw(strategies.locked(part, most=2)))
    ids = lone_notes(made)
    if ids:
        note_id = data.draw(st.sampled_from(ids))
        assert [extra_is_not_what_the_plan_pays(made, note_id, way) for way in made.ways(note_id)] == [None] * len(
            made.ways(note_id)
        )
