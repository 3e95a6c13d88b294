"""What other house rules would do: counted note by note, in passages that add up to the part, told in one sentence."""

from __future__ import annotations

import itertools
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.errors import HouseRuleError
from analysis.fingering.locks import Lock
from analysis.fingering.plan import make_plan
from analysis.fingering.rules.files import preset, rules_from
from analysis.fingering.rules.house import HouseRules
from analysis.instruments import VIOLIN
from app.job.paper.digits import digits_on_paper
from app.job.rules.effect import counts_in, effect_of
from app.job.teacher.work import PartWork
from tests import strategies
from tests.analysis.lines import line

# Long open A, single touches of A, then a line round E5.
LINE = "F#4/1 G4 A4 G4 F#4 A4/3 D5/1 E5 F#5 G5 E5 D5 E5 G5 F#4/1 G4 A4 G4"
HOME = preset("home-ground")


def effect(rules, text=LINE, work=None, measures=None):
    part = line(text)
    work = work or PartWork(VIOLIN, preset("two-homes"))
    return effect_of(work.plan(part), work, rules, measures)


@settings(max_examples=30)
@given(strategies.parts(most=16, voices=2, seams=True), strategies.rules(tables=False), strategies.rules(tables=False))
def test_the_efforts_of_passages_add_up_to_that_of_the_part_by_any_rules(part, rules, by):
    plan = make_plan(part, VIOLIN, rules)
    ends = sorted({0, len(part.measures) // 3, len(part.measures) // 2, len(part.measures)})
    passages = [(first, last - 1) for first, last in itertools.pairwise(ends)]
    parts = [counts_in(plan, passage, by) for passage in passages]
    whole = counts_in(plan, (0, len(part.measures) - 1), by)
    assert sum(found.effort for found in parts) == pytest.approx(plan.effort_by(by), abs=1e-6)
    assert whole == replace(plan.counts, effort=pytest.approx(plan.effort_by(by), abs=1e-6))
    for name in ("notes", "open_strings", "fourth_fingers", "extensions"):
        assert sum(getattr(found, name) for found in parts) == getattr(plan.counts, name)
    assert sum(found.shifts for found in parts) <= plan.counts.shifts


@settings(max_examples=30)
@given(strategies.parts(most=12), strategies.rules(), st.data())
def test_the_same_rules_change_nothing_anywhere(part, rules, data):
    plan = make_plan(part, VIOLIN, rules)
    last = data.draw(st.integers(0, len(part.measures) - 1))
    found = effect_of(plan, PartWork(VIOLIN, rules), rules, (data.draw(st.integers(0, last)), last))
    assert (found.digits, found.moved) == (0, 0)
    assert found.before == found.after
    assert found.text == "No digit changes."


@settings(max_examples=30)
@given(strategies.parts(most=12), strategies.rules(), strategies.rules())
def test_digits_that_change_are_those_that_two_plans_do_not_share(part, now, then):
    old, new = make_plan(part, VIOLIN, now), make_plan(part, VIOLIN, then)
    found = effect_of(old, PartWork(VIOLIN, now), then)
    notes = [note.id for note in part.notes if old.struck(note.id) or new.struck(note.id)]
    both = [(old.choice(note_id), new.choice(note_id)) for note_id in notes]
    other = [pair for pair in both if None in pair or pair[0].finger != pair[1].finger]
    assert (found.notes, found.digits) == (len(notes), len(other))
    moved = [a for a, b in both if a and b and a.finger == b.finger and a.as_played != b.as_played]
    assert found.moved == len(moved)
    assert found.missing == tuple(sum(note.id not in plan for note in part.notes) for plan in (old, new))
    assert found.printed == tuple(len(digits_on_paper(plan)) for plan in (old, new))


def test_both_efforts_are_measured_by_the_rules_of_now():
    """By rules under which nothing costs, the new effort would be none."""
    free = replace(preset("two-homes"), weights=tuple((name, 0.0) for name in WEIGHTS))
    part, work = line(LINE), PartWork(VIOLIN, preset("two-homes"))
    found = effect(free)
    assert found.after.effort == pytest.approx(make_plan(part, VIOLIN, free).effort_by(work.rules))
    assert found.after.effort >= found.before.effort == pytest.approx(work.plan(part).effort)


WEIGHTS = ("shift", "crossing", "open_string", "long_open", "ringing_open", "weak_finger", "away_from_home")


def test_what_is_fixed_by_hand_stays_under_other_rules():
    part = line(LINE)
    fixed = {note.id: Lock(finger=0) for note in part.notes if note.pitch.name == "A4"}
    work = PartWork(VIOLIN, preset("two-homes")).with_locks(fixed)
    found = effect(rules_from({"never_open": [2]}), work=work)
    assert found.digits == 0
    assert effect(rules_from({"never_open": [2], "positions": [1]})).after.open_strings == 0


def test_the_sentence_names_what_differs_and_nothing_else():
    found = effect(HouseRules(positions=(1,), never_open=(2,)), "A4/1 B4 A4 B4", PartWork(VIOLIN, HOME))
    assert found.text == (
        "2 of 4 digits change; string crossings 0 → 3, crossings for a single note 0 → 2, open strings 2 → 0, "
        f"fourth fingers 0 → 2, effort {found.before.effort:.0f} → {found.after.effort:.0f}, digits on paper 4 → "
        f"{found.printed[1]}."
    )


def test_notes_that_keep_their_digit_elsewhere_and_notes_left_out_are_told():
    found = effect(rules_from({"positions": [1], "keep_on": [3]}), "D5/1", PartWork(VIOLIN, HOME))
    assert found.text.startswith("1 of 1 digits change; notes fingered 1 → 0")
    assert "notes without a finger 0 → 1" in found.text
    moved = effect(rules_from({"positions": [5], "home": 5, "keep_on": [2]}), "F#5/1", PartWork(VIOLIN, HOME))
    assert moved.text.startswith("No digit changes, 1 note keeps its digit in another place")


def test_rules_that_do_not_go_together_for_the_part_raise():
    part = line(LINE)
    work = PartWork(VIOLIN, HOME)
    rules = rules_from({"instrument": {"violin": {"positions": [1]}}, "part": {part.name: {"home": 3}}})
    with pytest.raises(HouseRuleError, match="home is 3rd position"):
        effect_of(work.plan(part), work, rules)
