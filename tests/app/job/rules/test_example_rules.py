"""The example of house rules: it reads, and the example suite played by it keeps every one of its tables."""

from __future__ import annotations

import pytest

from analysis.fingering.cautions import cautions
from analysis.fingering.rules.files import find_rules
from app.job.files.opening import open_any
from app.job.teacher.work import first_work
from app.job.words.finding import find_measures


@pytest.fixture(scope="module")
def plans(example):
    """The plan of every part by its name."""
    score = open_any(example).score
    work = first_work(score, find_rules(str(example.with_name("afternoon-strings.toml"))))
    return {part.name: work.parts[part.id].plan(part) for part in score.parts}


def stopped(plan, measures=None):
    """The placements of the notes that are stopped, in some measures or all."""
    first, last = find_measures(plan.part, measures) if measures else (0, len(plan.part.measures) - 1)
    every = [plan.choice(note.id) for note in plan.part.notes if first <= note.measure <= last]
    return [placement for placement in every if not placement.is_open]


def test_every_note_of_every_part_is_fingered(plans):
    assert {name: dict(plan.problems) for name, plan in plans.items()} == {name: {} for name in plans}
    assert all(note.id in plan for plan in plans.values() for note in plan.part.notes)


def test_what_holds_for_all_is_left_where_no_table_says_otherwise(plans):
    own = plans["Viola"].setting.own
    assert (own.positions, own.extensions, own.size) == ((1, 3), True, "4/4")
    assert own.weight("single_crossing") == 1.5


def test_the_second_violins_stay_in_first_position_and_take_open_strings(plans):
    plan = plans["Violin II"]
    assert {placement.position for placement in stopped(plan)} == {1}
    assert not any(placement.is_extension for placement in stopped(plan))
    assert plan.counts.open_strings > 50


def test_cellos_and_basses_have_positions_and_sizes_of_their_own(plans):
    cello, bass = plans["Violoncello"], plans["Double Bass"]
    assert (cello.setting.played_on.size, bass.setting.played_on.size) == ("3/4", "1/2")
    assert {placement.position for placement in stopped(cello)} <= {0, 1, 2, 3, 4}
    assert 2 in {placement.position for placement in stopped(cello)}
    assert {placement.position for placement in stopped(bass)} <= {0, 1, 2, 3}
    assert any(cautions(cello))
    assert not any(cautions(plans["Violin I"]))


def test_each_passage_is_played_by_its_own_rules(plans):
    first = plans["Violin I"]
    assert {placement.position for placement in stopped(first, "38-41")} == {3}
    assert {placement.position for placement in stopped(first, "42-45")} == {1}
    end = [first.choice(note.id) for index in range(57, 61) for note in first.part.notes_in(index)]
    assert (4, 4) in {(placement.string, placement.finger) for placement in end}
    assert not any(placement.is_open for placement in end)


def test_a_passage_without_a_part_holds_in_every_part(plans):
    for plan in plans.values():
        rules = plan.setting.own.in_measures(plan.part)
        assert {index: rules[index].open_or_fourth for index in rules if 49 <= index <= 52} == dict.fromkeys(
            range(49, 53), "fourth"
        )
