"""Facts of a school string class, planted in invented lines, each with its opposite where the rule must stay silent.

All of them: common practice, no source.
"""

from __future__ import annotations

import pytest

from analysis.fingering.placements import Lie
from analysis.fingering.plan import make_plan
from analysis.fingering.rules.files import preset
from analysis.instruments import VIOLA, VIOLIN
from tests.analysis.lines import line


def fingers(text, rules="first", instrument=VIOLIN, **kind):
    part = line(text, **kind)
    plan = make_plan(part, instrument, preset(rules))
    return [plan.choice(note.id).finger for note in part]


def placements(text, rules, instrument=VIOLIN):
    part = line(text)
    plan = make_plan(part, instrument, preset(rules))
    return [plan.choice(note.id) for note in part]


LONG = [
    ("F#4 A4/{} G4/1", VIOLIN),
    ("B4 A4/{} B4/1", VIOLIN),
    ("C#5 E5/{} D5/1", VIOLIN),
    ("G5 E5/{} F#5/1", VIOLIN),
    ("B3 D4/{} C4/1", VIOLIN),
    ("Bb3 D4/{} Eb4/1", VIOLIN),
    ("B3 D4/{} C4/1", VIOLA),
    ("E4 A4/{} B4/1", VIOLA),
    ("E3 G3/{} F3/1", VIOLA),
]


@pytest.mark.parametrize(("text", "instrument"), LONG)
@pytest.mark.parametrize("length", ["3", "5/2", "4"])
def test_a_long_note_is_not_played_open(text, instrument, length):
    assert fingers(text.format(length), instrument=instrument)[1] == 4


@pytest.mark.parametrize(
    ("text", "instrument"), [("B4 A4/{} B4/1", VIOLIN), ("E4 D4/{} E4/1", VIOLIN), ("B4 A4/{} C5/1", VIOLA)]
)
@pytest.mark.parametrize("length", ["2", "1", "1/2"])
def test_two_beats_exactly_may_stay_open(text, instrument, length):
    assert fingers(text.format(length), instrument=instrument)[1] == 0


def test_the_lowest_open_string_stays_open_however_long_for_want_of_another_way():
    assert fingers("A3 G3/4 A3/1")[1] == 0
    assert fingers("D3 C3/4 D3/1", instrument=VIOLA)[1] == 0


@pytest.mark.parametrize("length", ["1/4", "1/2", "1", "2"])
@pytest.mark.parametrize(
    ("text", "instrument"),
    [("G4/{0} F#4 A4 F#4 G4", VIOLIN), ("D5/{0} C#5 E5 C#5 D5", VIOLIN), ("Eb4/{0} F4 A4 F4", VIOLIN),
     ("C4/{0} Bb3 D4 C4", VIOLIN), ("G4/{0} F#4 A4 F#4 G4", VIOLA), ("F3/{0} E3 G3 E3", VIOLA)],
)  # fmt: skip
def test_the_fourth_finger_saves_a_crossing_for_a_single_note(text, instrument, length):
    assert fingers(text.format(length), instrument=instrument)[2] == 4


@pytest.mark.parametrize("text", ["F#4 G4 A4 B4 C#5", "B3 C4 D4 E4 F#4", "C#5 B4 A4 B4 C#5"])
def test_a_line_that_goes_on_across_the_strings_may_use_the_open_string(text):
    assert fingers(text)[2] == 0


@pytest.mark.parametrize("text", ["C#5 D5 E5 D5", "D5 E5 F#5 G5", "F#5 E5 D5 C#5", "C5 E5 D5 B4"])
def test_the_open_e_is_avoided_where_a_stopped_e_is_in_reach(text):
    part = line(text)
    plan = make_plan(part, VIOLIN, preset("first"))
    assert [plan.choice(note.id).finger for note in part if note.pitch.name == "E5"] == [4]


def test_a_short_open_e_inside_a_line_on_the_e_string_stays():
    assert fingers("G5 F#5 E5 F#5 G5")[2] == 0


@pytest.mark.parametrize(("low", "high"), [("C5", "C#5"), ("F4", "F#4"), ("Bb3", "B3"), ("G5", "G#5")])
def test_the_second_finger_is_low_a_half_step_from_the_first_and_high_a_whole_step(low, high):
    for name, lie, place in ((low, Lie.LOW, 3), (high, Lie.HIGH, 4)):
        (placement,) = (p for p in placements(name, "first") if p.finger == 2)
        assert (placement.lie, placement.place) == (lie, place)


@pytest.mark.parametrize(
    "text", ["D5 D#5 E5 D5", "D5 Eb5 E5 D5", "G4 G#4 A4 G4", "G4 Ab4 A4 G4", "C4 C#4 D4 C4", "C4 Db4 D4 C4"]
)
def test_the_half_step_up_to_the_fourth_finger_is_high_third_then_fourth(text):
    _, raised, fourth, _ = placements(text, "first")
    assert (raised.finger, fourth.finger) == (3, 4)


def test_a_flat_that_goes_down_again_is_not_turned_into_a_high_third():
    assert placements("F4/1 Ab4 F4 Ab4", "first")[1].finger == 4


@pytest.mark.parametrize("rules", ["two-homes", "whole-board"])
@pytest.mark.parametrize(
    "text", ["D5 E5 F#5 E5 D5", "G4 A4 B4 C#5 D5 C#5 B4 A4 G4", "E4 F#4 G4 A4 B4 A4", "A3 B3 C4 D4 E4 G4 B4 D5 G5 B5"]
)
def test_no_shift_is_made_that_nothing_pays_for(text, rules):
    positions = {placement.position for placement in placements(f"B4 {text} B4", rules)}
    assert len(positions) == 1


def test_a_shift_is_made_for_what_first_position_does_not_reach():
    assert [p.position for p in placements("A5 B5 C#6 D6 C#6 B5 A5", "two-homes")] == [3] * 7


@pytest.mark.parametrize(("names", "string"), [("D5 E5 F#5 G5", 2), ("G4 A4 B4 C5", 3)])
def test_third_position_puts_the_second_finger_on_the_fourth_finger_tape(names, string):
    found = placements(names, "third")
    assert [(p.string, p.finger, p.place) for p in found] == [
        (string, f, s) for f, s in ((1, 5), (2, 7), (3, 9), (4, 10))
    ]


@pytest.mark.parametrize("rules", ["two-homes", "whole-board"])
def test_a_slurred_line_that_turns_round_an_open_string_goes_to_third_position(rules):
    turning = "(D5/1/2 E5 F#5 E5) (D5 E5 G5 E5) (D5 E5 F#5 G5) (E5 D5 E5 G5)"
    assert {p.position for p in placements(turning, rules)} == {3}


def test_a_fifth_that_rocks_across_two_strings_is_held_with_one_finger():
    assert fingers("B4/1/2 F#5 B4 F#5 B4 F#5") == [1] * 6
    assert fingers("E4/1/2 B4 E4 B4", instrument=VIOLA) == [1] * 4


def test_a_fifth_of_two_open_strings_is_not_stopped_with_the_fourth_finger():
    for instrument in (VIOLIN, VIOLA):
        assert fingers("r/1 [D4 A4]/1 [D4 A4] [E4 B4]", instrument=instrument) == [0, 0, 0, 0, 1, 1]


@pytest.mark.parametrize("rules", ["two-homes", "whole-board"])
@pytest.mark.parametrize(
    "text", ["B4/1/2 E4 B4 E4 B4 E4 B4 E4", "F#5/1/2 B4 F#5 B4 F#5 B4", "A3/1/2 E4 A3 E4 A3 E4", "Bb4/1 F5 Bb4 F5"]
)
def test_a_rocking_fifth_is_no_reason_to_leave_the_position_or_take_another_finger(text, rules):
    found = placements(text, rules)
    assert {p.finger for p in found} == {1}
    assert len({p.position for p in found}) == 1


def test_a_rocking_figure_that_is_no_fifth_takes_two_fingers():
    assert fingers("B4/1/2 F4 B4 F4 B4 F4") == [1, 2] * 3


@pytest.mark.parametrize(
    ("here", "lower"),
    [("B4 C#5 D5 E5 D5 C#5 B4", "E4 F#4 G4 A4 G4 F#4 E4"), ("E4 F4 G4 A4 G4 E4", "A3 Bb3 C4 D4 C4 A3")],
)
def test_a_passage_that_comes_back_a_fifth_lower_keeps_its_fingers_one_string_over(here, lower):
    up, down = placements(here, "first"), placements(lower, "first")
    assert [p.finger for p in up] == [p.finger for p in down]
    assert [p.position for p in up] == [p.position for p in down]
    assert [p.string + 1 for p in up] == [p.string for p in down]


def test_a_passage_that_comes_back_by_another_interval_does_not():
    assert fingers("B4 C#5 D5 E5 D5") != fingers("A4 B4 C5 D5 C5")
