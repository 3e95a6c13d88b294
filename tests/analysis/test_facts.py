"""Facts of a school string class, planted in invented lines, each with its opposite where the rule must stay silent.

All of them: common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from analysis.fingering.passages import passage_ways
from analysis.fingering.placements import Lie
from analysis.fingering.plan import make_plan
from analysis.fingering.rules.files import preset
from analysis.fingering.rules.house import HouseRules
from analysis.instruments import BASS, CELLO, VIOLA, VIOLIN
from analysis.music import Pitch
from tests.analysis.lines import line


def fingers(text, rules="first", instrument=VIOLIN, **kind):
    part = line(text, **kind)
    plan = make_plan(part, instrument, preset(rules))
    return [plan.choice(note.id).finger for note in part]


def placements(text, rules, instrument=VIOLIN):
    part = line(text)
    plan = make_plan(part, instrument, preset(rules) if isinstance(rules, str) else rules)
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


@pytest.mark.parametrize("length", ["1/8", "1/4", "1/2", "1", "2"])
@pytest.mark.parametrize(
    ("text", "instrument"),
    [("G4/{0} F#4 A4 F#4 G4", VIOLIN), ("D5/{0} C#5 E5 C#5 D5", VIOLIN), ("Eb4/{0} F4 A4 F4", VIOLIN),
     ("C4/{0} Bb3 D4 C4", VIOLIN), ("G4/{0} F#4 A4 F#4 G4", VIOLA), ("F3/{0} E3 G3 E3", VIOLA)],
)  # fmt: skip
def test_the_fourth_finger_saves_a_crossing_for_a_single_note(text, instrument, length):
    assert fingers(text.format(length), instrument=instrument)[2] == 4


@pytest.mark.parametrize(
    ("text", "instrument"),
    [("G4 F#4 A4 B4 A4 F#4", VIOLIN), ("D5 C#5 E5 F#5 E5 C#5", VIOLIN), ("F3 E3 G3 A3 G3 E3", VIOLA)],
)
def test_for_two_notes_and_more_the_line_goes_over(text, instrument):
    """The second note of them lies on the next string whatever is done, so the crossing is not for one note."""
    on_its_string = placements(text, "first", instrument)[0].string
    assert placements(text, "first", instrument)[3].string == on_its_string - 1


@pytest.mark.parametrize("length", ["1/4", "1/2", "1"])
def test_where_the_rule_is_off_the_open_string_may_be_crossed_to(length):
    """Nothing else speaks for the fourth finger once open strings are liked."""
    rules = HouseRules(positions=(1,), fourth_saves_crossing=False, open_or_fourth="open",
                       weights=(("crossing", 0.0), ("crossing_down", 0.0), ("quick_crossing", 0.0)))  # fmt: skip
    assert placements(f"G4/{length} F#4 A4 F#4 G4", rules)[2].finger == 0
    saving = replace(rules, fourth_saves_crossing=True)
    assert placements(f"G4/{length} F#4 A4 F#4 G4", saving)[2].finger == 4


@pytest.mark.parametrize("text", ["F#4 G4 A4 B4 C#5", "B3 C4 D4 E4 F#4", "C#5 B4 A4 B4 C#5"])
def test_a_line_that_goes_on_across_the_strings_may_use_the_open_string(text):
    assert fingers(text)[2] == 0


@pytest.mark.parametrize("text", ["C#5 D5 E5 D5", "D5 E5 F#5 G5", "F#5 E5 D5 C#5", "C5 E5 D5 B4"])
def test_the_open_e_is_avoided_where_a_stopped_e_is_in_reach(text):
    part = line(text)
    plan = make_plan(part, VIOLIN, preset("first"))
    assert [plan.choice(note.id).finger for note in part if note.pitch.name == "E5"] == [4]


@pytest.mark.parametrize("text", ["C#5 D5 E5 D5", "G5 F#5 E5 F#5 G5", "D5 E5 F#5 G5", "B4 E5/2 B4/1"])
def test_the_louder_the_passage_the_worse_the_open_e(text):
    def extra(dynamic):
        part = line(f"{{{dynamic}}} {text}")
        plan = make_plan(part, VIOLIN, preset("first"))
        (note,) = [note for note in part if note.pitch.name == "E5"]
        ways = {way.placement.finger: way.extra for way in plan.ways(note.id)}
        return ways[0] - ways[4]

    assert extra("mf") < extra("f") < extra("ff")


def test_a_short_open_e_inside_a_line_on_the_e_string_stays():
    assert fingers("G5 F#5 E5 F#5 G5")[2] == 0


@pytest.mark.parametrize(
    ("low", "high", "instrument"),
    [("C5", "C#5", VIOLIN), ("F4", "F#4", VIOLIN), ("Bb3", "B3", VIOLIN), ("G5", "G#5", VIOLIN),
     ("C5", "C#5", VIOLA), ("F4", "F#4", VIOLA), ("Bb3", "B3", VIOLA), ("Eb3", "E3", VIOLA)],
)  # fmt: skip
def test_the_second_finger_is_low_a_half_step_from_the_first_and_high_a_whole_step(low, high, instrument):
    for name, lie, place in ((low, Lie.LOW, 3), (high, Lie.HIGH, 4)):
        (placement,) = (p for p in placements(name, "first", instrument) if p.finger == 2)
        assert (placement.lie, placement.place) == (lie, place)


@pytest.mark.parametrize("string", [1, 2, 3, 4])
@pytest.mark.parametrize("instrument", [VIOLIN, VIOLA], ids=lambda one: one.key)
def test_the_tapes_stand_at_the_first_finger_the_high_second_the_third_and_the_fourth(instrument, string):
    """A major scale from the open string puts a finger on every tape and none between them."""
    base = int(instrument.string(string).pitch.midi)
    sharps = [Pitch(step, alter, octave) for octave in range(3, 7) for step in "CDEFGAB" for alter in (0, 1)]
    scale = [next(p.name for p in sharps if p.midi == base + steps) for steps in (2, 4, 5)]
    found = placements(" ".join(scale), "first", instrument)
    assert [(p.string, p.finger, p.place) for p in found] == [(string, 1, 2), (string, 2, 4), (string, 3, 5)]


@pytest.mark.parametrize("text", ["F3 F#3 G3 F3", "C4 C#4 D4 C4", "G4 Ab4 A4 G4", "D5 D#5 E5 D5"])
def test_on_the_viola_too_the_half_step_up_to_the_fourth_finger_is_high_third_then_fourth(text):
    _, raised, fourth, _ = placements(text, "first", VIOLA)
    assert (raised.finger, fourth.finger) == (3, 4)


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


@pytest.mark.parametrize(
    ("names", "string", "instrument"),
    [("D5 E5 F#5 G5", 2, VIOLIN), ("G4 A4 B4 C5", 3, VIOLIN), ("D5 E5 F#5 G5", 1, VIOLA), ("G4 A4 B4 C5", 2, VIOLA),
     ("C4 D4 E4 F4", 4, VIOLIN), ("F3 G3 A3 Bb3", 4, VIOLA)],
)  # fmt: skip
def test_third_position_puts_the_second_finger_on_the_fourth_finger_tape(names, string, instrument):
    found = placements(names, "third", instrument)
    assert [(p.string, p.finger, p.place) for p in found] == [
        (string, f, s) for f, s in ((1, 5), (2, 7), (3, 9), (4, 10))
    ]


@pytest.mark.parametrize("rules", ["two-homes", "whole-board"])
def test_a_slurred_line_that_turns_round_an_open_string_goes_to_third_position(rules):
    turning = "(D5/1/2 E5 F#5 E5) (D5 E5 G5 E5) (D5 E5 F#5 G5) (E5 D5 E5 G5)"
    assert {p.position for p in placements(turning, rules)} == {3}


TURNING = "B4/1 A4 G4 r (D5/1/2 E5 F#5 E5) (D5 E5 G5 E5) (D5 E5 F#5 G5) (E5 D5 E5 G5) r/1 G4 A4 B4"


def first_over_third(tempo, dynamic="mf"):
    """How much more a line that turns round the open E costs in first position than where the hand goes to third."""
    part = line(f"{{{dynamic}}} {TURNING}", tempo=tempo)
    ways = passage_ways(make_plan(part, VIOLIN, preset("two-homes")), 1, 2)
    assert {placement.position for placement in ways[0].placements.values()} == {3}
    return next(way.extra for way in ways if way.name == "All in 1st position")


def test_third_position_pays_the_more_the_faster_the_line():
    pays = [first_over_third(tempo) for tempo in (50, 70, 90, 110, 130, 150)]
    assert pays == sorted(pays)
    assert pays[-1] > 1.5 * pays[0]


def test_third_position_pays_no_less_the_louder_the_line():
    assert first_over_third(96, "p") <= first_over_third(96, "f") <= first_over_third(96, "ff")


@pytest.mark.parametrize("rules", ["two-homes", "whole-board"])
def test_the_hand_comes_back_down_where_the_line_leaves_that_range(rules):
    turning = "(D5/1/2 E5 F#5 E5) (D5 E5 G5 E5) (D5 E5 F#5 G5) (E5 D5 E5 G5)"
    found = [p.position for p in placements(f"{turning} r/2 F#4/1 E4 D4 E4 F#4 G4 F#4 E4", rules)]
    assert set(found[:16]) == {3}
    assert set(found[16:]) == {1}


@pytest.mark.parametrize("rules", ["two-homes", "whole-board"])
@pytest.mark.parametrize("text", ["F#4/1 G4 A4 B4 C#5 D5 E5 D5", "A4/1 B4 C#5 D5 E5 F#5 E5 D5 C#5 B4 A4"])
def test_an_unconnected_line_that_passes_an_open_string_stays_in_first_position(text, rules):
    assert {p.position for p in placements(text, rules)} == {1}


def test_a_fourth_that_rocks_on_the_bass_and_a_fifth_on_the_cello_are_held_with_one_finger():
    assert fingers("B3/1/2 E3 B3 E3 B3 E3", "two-homes", CELLO) == [1] * 6
    assert fingers("A2/1/2 E2 A2 E2 A2 E2", "first", BASS) == [1] * 6


def test_a_fifth_that_rocks_on_the_bass_takes_two_fingers():
    """Strings a fourth apart put the upper note of a fifth a whole tone higher on the neck."""
    found = fingers("B2/1/2 E2 B2 E2 B2 E2", "first", BASS)
    assert found[::2] == [found[0]] * 3
    assert set(found[::2]) != set(found[1::2])


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


@pytest.mark.parametrize("rules", ["first", "two-homes"])
@pytest.mark.parametrize(
    ("here", "lower", "instrument"),
    [("B4 C#5 D5 E5 D5 C#5 B4", "E4 F#4 G4 A4 G4 F#4 E4", VIOLIN), ("E4 F4 G4 A4 G4 E4", "A3 Bb3 C4 D4 C4 A3", VIOLIN),
     ("E4 F#4 G4 A4 G4 F#4 E4", "A3 B3 C4 D4 C4 B3 A3", VIOLA), ("A3 Bb3 C4 D4 C4 A3", "D3 Eb3 F3 G3 F3 D3", VIOLA)],
)  # fmt: skip
def test_a_passage_that_comes_back_a_fifth_lower_keeps_its_fingers_one_string_over(here, lower, instrument, rules):
    """In one line, so that the second is a return of the first; it goes down or up."""
    count = len(here.split())
    falling = placements(f"{here} r/4 {lower.replace(' ', '/1 ', 1)}", rules, instrument)
    rising = placements(f"{lower} r/4 {here.replace(' ', '/1 ', 1)}", rules, instrument)
    for up, down in ((falling[:count], falling[count:]), (rising[count:], rising[:count])):
        assert [(p.string + 1, p.position, p.finger) for p in up] == [(p.string, p.position, p.finger) for p in down]


@pytest.mark.parametrize(
    ("here", "lower"),
    [("B4 C#5 D5 E5 D5 C#5 B4", "E4 F#4 G4 A4 G4 F#4 E4"), ("E4 F4 G4 A4 G4 E4", "A3 Bb3 C4 D4 C4 A3")],
)
def test_two_passages_a_fifth_apart_are_fingered_alike_each_by_itself(here, lower):
    up, down = placements(here, "first"), placements(lower, "first")
    assert [p.finger for p in up] == [p.finger for p in down]
    assert [p.position for p in up] == [p.position for p in down]
    assert [p.string + 1 for p in up] == [p.string for p in down]


def test_a_passage_that_comes_back_by_another_interval_does_not():
    assert fingers("B4 C#5 D5 E5 D5") != fingers("A4 B4 C5 D5 C5")
