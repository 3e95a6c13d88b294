"""The few different ways to play a passage: each exact, none twice, the plan's own first."""

from __future__ import annotations

import pytest

from analysis.fingering.locks import Lock
from analysis.fingering.passages import passage_ways
from analysis.fingering.plan import Plan, make_plan
from analysis.fingering.rules.files import preset
from analysis.instruments import CELLO, VIOLIN
from tests.analysis.lines import line, plan

TURNING = "D5/1 C5 B4 A4 (D5/1/2 E5 F#5 E5) (D5 E5 G5 E5) (D5 E5 F#5 G5) D5/2 B4/1 A4 G4/2"


def names(made: Plan, first: int = 1, last: int = 2) -> list[str]:
    return [way.name for way in passage_ways(made, first, last)]


def locked_to(made: Plan, placements) -> Plan:
    """The plan with the notes of a way locked to it."""
    return made.with_locks({note_id: Lock.on(placement) for note_id, placement in placements.items()})


@pytest.mark.parametrize("rules", ["two-homes", "whole-board"])
def test_the_plans_own_way_comes_first_and_the_others_by_effort(rules):
    ways = passage_ways(plan(TURNING, rules), 1, 2)
    assert (ways[0].name, ways[0].extra) == ("Least effort", 0.0)
    assert [way.extra for way in ways[1:]] == sorted(way.extra for way in ways[1:])
    assert all(way.extra >= 0 for way in ways)


def test_first_and_third_position_and_one_string_are_among_the_ways():
    made = plan(TURNING, "whole-board")
    assert "All in 1st position" in names(made)
    found = {way.name: way for way in passage_ways(made, 1, 2)}
    assert {placement.position for placement in found["All in 1st position"].placements.values()} == {1}
    for name, way in found.items():
        if name.startswith("All on the"):
            assert len({placement.string for placement in way.placements.values()}) == 1


def test_no_two_ways_are_played_alike():
    ways = passage_ways(plan(TURNING, "whole-board"), 1, 2)
    played = [tuple(placement.as_played for placement in way.placements.values()) for way in ways]
    assert len(set(played)) == len(played)


def test_no_more_ways_than_a_teacher_would_weigh():
    assert len(passage_ways(plan(TURNING, "whole-board"), 1, 2)) <= 7


@pytest.mark.parametrize(("text", "instrument"), [(TURNING, VIOLIN), ("D3/1 E3 F3 G3 A3 Bb3 C4 D4 C4 A3 F3 D3", CELLO)])
def test_a_way_costs_what_the_part_costs_more_with_its_notes_locked(text, instrument):
    """The extra effort is exact: fixing every note of the passage so gives a plan that costs just that much more."""
    made = plan(text, "whole-board", instrument)
    for way in passage_ways(made, 1, 1):
        fixed = locked_to(made, way.placements)
        assert fixed.effort - made.effort <= way.extra + 1e-9
        assert not fixed.problems


def test_fewest_crossings_has_no_more_than_any_other_way():
    ways = {way.name: way for way in passage_ways(plan("G4/1 B4 G4 B4 D5 B4 F#5 D5", "two-homes"), 0, 1)}
    assert ways["Fewest crossings"].counts.crossings < ways["Least effort"].counts.crossings
    assert ways["Fewest crossings"].counts.crossings == min(way.counts.crossings for way in ways.values())


def test_a_position_that_cannot_play_the_passage_is_no_way():
    assert "All in 1st position" not in names(plan("A5/1 B5 C#6 D6 C#6 B5 A5 G5", "two-homes"), 0, 0)


def test_a_passage_without_notes_has_no_ways():
    assert passage_ways(plan("B4/4 r/4 B4/4"), 1, 1) == ()


def test_every_voice_of_the_passage_is_in_every_way():
    part = line("D5/1 E5 F#5 G5", "B4/2 A4")
    ways = passage_ways(make_plan(part, VIOLIN, preset("two-homes")), 0, 0)
    assert all(set(way.placements) == {note.id for note in part.notes} for way in ways)
