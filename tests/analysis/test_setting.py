"""What holds for a part: sizes and reach in mm, transposition, other spellings, trills and harmonics, passages."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from analysis.errors import UnknownNameError
from analysis.fingering.hands import reach_mm
from analysis.fingering.locks import Lock
from analysis.fingering.placements import THUMB, THUMB_POSITION, Lie, Placement
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.setting import Setting
from analysis.fingering.stages import stages
from analysis.instruments import BASS, CELLO, VIOLA, VIOLIN
from analysis.music import Pitch, Transposition
from tests.analysis.lines import line, plan, played


def setting_of(text, instrument=VIOLIN, **rules):
    part = line(text) if isinstance(text, str) else text
    return Setting(part, instrument, HouseRules(**({"positions": tuple(range(13))} | rules)))


def ways(text, instrument=VIOLIN, **options):
    """The ways of the first note, as string letter, finger and position."""
    setting = setting_of(text, instrument)
    found = setting.ways_of(setting.part.notes[0], **options)
    return {(instrument.string(way.string).letter, way.finger, way.position) for way in found}


def hold(instrument, *stops, position=1, hand=2.0):
    """A grip in one hand of (string, finger, place)."""
    return tuple(Placement(string, position, finger, place, Lie.NORMAL, hand=hand) for string, finger, place in stops)


# Spans in mm from the distances of equal temperament: reference table of stops and spans (our own arithmetic).
@pytest.mark.parametrize(
    ("instrument", "size", "grip", "mm"),
    [
        (VIOLIN, "4/4", hold(VIOLIN, (1, 4, 7)), 73.3),
        (VIOLIN, "3/4", hold(VIOLIN, (1, 4, 7)), 68.6),
        (VIOLIN, "1/2", hold(VIOLIN, (1, 4, 7)), 64.1),
        (VIOLIN, "1/4", hold(VIOLIN, (1, 4, 7)), 59.7),
        (VIOLIN, "4/4", hold(VIOLIN, (1, 4, 8)), 85.6),
        (VIOLIN, "4/4", hold(VIOLIN, (1, 4, 10), position=3, hand=5.0), 61.6),
        (VIOLA, "16 in", hold(VIOLA, (1, 4, 7)), 83.8),
        (VIOLA, "16 in", hold(VIOLA, (1, 4, 10), position=3, hand=5.0), 70.5),
        (CELLO, "4/4", hold(CELLO, (1, 4, 5)), 97.8),
        (CELLO, "4/4", hold(CELLO, (1, 4, 6)), 126.8),
        (BASS, "3/4", hold(BASS, (1, 4, 3), position=0, hand=1.0), 109.9),
        (BASS, "3/4", hold(BASS, (1, 4, 4)), 103.7),
    ],
)
def test_the_span_of_a_hand_is_measured_on_the_size_that_is_played(instrument, size, grip, mm):
    setting = setting_of("G4", instrument, size=size)
    assert setting.played_on.size == size
    assert reach_mm(setting.played_on, grip) == pytest.approx(mm, abs=0.15)


def test_a_chord_reaches_from_its_lowest_finger_or_the_place_of_the_first():
    assert reach_mm(VIOLIN, hold(VIOLIN, (1, 1, 1), (2, 4, 7))) == pytest.approx(109.1 - 18.4, abs=0.15)
    assert reach_mm(VIOLIN, hold(VIOLIN, (1, 3, 5), (2, 2, 4))) == pytest.approx(82.3 - 35.8, abs=0.15)
    assert reach_mm(VIOLIN, hold(VIOLIN, (1, 0, 0))) == 0


def test_with_the_thumb_on_the_string_the_reach_is_no_matter():
    grip = hold(CELLO, (1, 3, 17), position=THUMB_POSITION, hand=12.0)
    assert reach_mm(CELLO, grip) == 0


@pytest.mark.parametrize(
    ("reach", "extended", "drawn_back"), [("small", False, False), ("usual", True, True), ("large", True, True)]
)
@pytest.mark.parametrize("size", ["4/4", "3/4", "1/4"])
def test_small_hands_do_not_reach_an_extended_fourth_whatever_the_size(size, reach, extended, drawn_back):
    """A hand goes with the size of the instrument it plays."""
    setting = setting_of("G4", size=size, reach=reach)
    assert setting.is_in_reach(hold(VIOLIN, (1, 4, 7)), setting.own)
    assert setting.is_in_reach(hold(VIOLIN, (1, 4, 8)), setting.own) == extended
    assert setting.is_in_reach(hold(VIOLIN, (1, 1, 1), (2, 4, 7)), setting.own) == drawn_back


def test_the_reach_of_small_usual_and_large_hands_goes_up():
    limits = [
        setting_of("G4", reach=reach).reach_limit(HouseRules(reach=reach)) for reach in ("small", "usual", "large")
    ]
    assert limits == sorted(set(limits))


def test_a_note_beyond_the_players_reach_is_left_and_a_lock_brings_it_back():
    rules = HouseRules(positions=(1,), reach="small")
    made = plan("B5 C6", rules)
    assert played(made) == "E4 -"
    assert made.problems == {"n2": "measure 1, beat 2: C6 is out of reach under the house rules"}
    assert played(plan("B5 C6", HouseRules(positions=(1,)))) == "E4 E4"
    (way,) = [one for one in made.other_placements("n2") if (one.position, one.finger) == (1, 4)]
    assert played(made.with_locks({"n2": Lock.on(way)})) == "E4 E4"


def test_a_size_that_the_instrument_is_not_built_in_counts_as_the_full_one():
    assert setting_of("G4", VIOLA, size="3/4").played_on == VIOLA
    assert setting_of("G4", VIOLIN, size="15 in").played_on == VIOLIN
    with pytest.raises(UnknownNameError):
        VIOLA.in_size("3/4")


def test_a_size_for_one_part_only_leaves_the_others():
    rules = HouseRules(part={"Violin II": {"size": "1/2"}})
    sizes = [Setting(line("G4", name=name), VIOLIN, rules).played_on.size for name in ("Violin I", "Violin II")]
    assert sizes == ["4/4", "1/2"]


def test_a_change_of_transposition_holds_from_its_place_on():
    part = line("A5/4 A5")
    low = Transposition(Fraction(4), -12)
    setting = setting_of(replace(part, transpositions=(low,)))
    first, second = (setting.ways_of(note) for note in setting.part.notes)
    assert {way.place + VIOLIN.string(way.string).pitch.midi for way in first} == {81}
    assert {way.place + VIOLIN.string(way.string).pitch.midi for way in second} == {69}


@pytest.mark.parametrize(
    ("written", "semitones", "sounding"),
    [("D5", -2, "C5"), ("F#5", -2, "E5"), ("Eb5", -2, "Db5"), ("C5", 3, "Eb5"), ("B4", 3, "D5"), ("G4", 12, "G5"),
     ("C#5", -9, "E4"), ("C5", 7, "G5"), ("D4", 14, "E5")],
)  # fmt: skip
def test_a_transposed_note_takes_the_fingers_of_the_note_that_sounds(written, semitones, sounding):
    assert ways(line(written, transpose=semitones)) == ways(sounding)


def test_b_and_f_as_a_double_stop_on_the_viola_take_another_spelling():
    """B3 and F4 lie beside each other once one of them is spelled otherwise; alone, each keeps its own."""
    setting = setting_of("[B3 F4] B3", VIOLA, positions=(1,))
    chord, alone = stages(setting.part, setting.part.notes, 60.0)
    assert setting.grips_of(chord)
    assert any(way.respelled for grip in setting.grips_of(chord) for way in grip)
    assert not any(way.respelled for grip in setting.grips_of(alone) for way in grip)
    made = plan("[B3 F4] B3", HouseRules(positions=(1,)), VIOLA)
    assert made.problems == {}


def test_a_chord_that_lies_well_as_it_is_spelled_is_not_respelled():
    setting = setting_of("[E4 B4]")
    (stage,) = stages(setting.part, setting.part.notes, 60.0)
    assert not any(way.respelled for grip in setting.grips_of(stage) for way in grip)


@pytest.mark.parametrize("rules", ["first", "two-homes"])
@pytest.mark.parametrize("text", ["B4/1 A4/1^B4 B4", "G4/1 D4/1^Eb4 G4", "G5/1 E5/1^F#5 G5", "A3/1 G3/1^A3 A3"])
def test_in_first_position_a_trill_on_the_pitch_of_an_open_string_is_played_on_it(text, rules):
    """Above the fourth finger there is none to trill with, and nobody shifts for it. Common practice, no source."""
    made = plan(text, rules)
    assert (made.choice("n2").finger, made.choice("n2").position) == (0, 1)
    assert made.problems == {}


def test_in_third_position_the_trill_is_stopped():
    """There the second finger has the note and the third trills: the hand stays. Common practice, no source."""
    third = Lock(position=3)
    made = plan("D5/1 A4/1^B4 D5", "two-homes", locks={"n1": third, "n3": third})
    assert (made.choice("n2").finger, made.choice("n2").position) == (2, 3)


def test_the_hand_stays_for_the_notes_that_close_a_trill():
    """Though home is in first position: the trill lasts until they begin. Common practice, no source."""
    made = plan("D4/4^E4 *C4 *D4 C4/4 C4", "two-homes", locks={"n1": Lock(string=4, position=3, finger=2)})
    assert [made.choice(name).position for name in ("n1", "n2", "n3")] == [3, 3, 3]


def test_a_string_that_is_never_played_open_is_where_nothing_else_trills():
    never = HouseRules(positions=(1,), never_open=(2,))
    made = plan("B4/1 A4/1^B4 A4", never)
    assert [made.choice(name).finger for name in ("n2", "n3")] == [0, 4]
    assert made.problems == {}


def test_an_open_lock_on_a_trill_is_kept_and_goes_with_first_position_only():
    made = plan("B4/1 A4/1^B4 B4", "two-homes", locks={"n2": Lock(finger=0)})
    assert made.choice("n2").is_open
    assert made.problems == {}
    third = plan("B4/1 A4/1^B4 B4", "two-homes", locks={"n2": Lock(position=3, finger=0)})
    assert third.problems == {"n2": "measure 1, beat 2: A4 cannot be played in 3rd position and open"}


def test_the_ways_of_a_trill_name_the_open_string_once():
    made = plan("B4/1 A4/1^B4 B4", "whole-board")
    opens = [way for way in made.ways("n2") if way.placement.is_open]
    assert len(opens) == 1


def test_a_trill_that_the_rules_leave_no_finger_for_is_told_and_its_note_fingered():
    """On the lowest string in first position D is the fourth finger: none is left to trill above it."""
    only = {"positions": (1,), "keep_on": (4,)}
    made = plan("B3/1 D4/1^E4 B3", HouseRules(**only))
    assert (made.choice("n2").string, made.choice("n2").finger) == (4, 4)
    assert made.problems == {
        "n2": "measure 1, beat 2: D4 is fingered without its trill, for which the house rules or a lock leave no finger"
    }
    assert plan("B3/1 D4/1^E4 B3", "whole-board").problems == {}


@pytest.mark.parametrize(
    ("text", "instrument", "way"),
    [("A5/1o", VIOLIN, ("A", 4, 3)), ("E6/1o", VIOLIN, ("A", 4, 1)), ("A4/1o", CELLO, ("A", 4, 4)),
     ("A5/1x", VIOLIN, ("A", 4, 3)), ("D5/1x", VIOLIN, ("A", 3, 1))],
)  # fmt: skip
def test_a_natural_harmonic_is_touched_at_its_nodes(text, instrument, way):
    setting = setting_of(text, instrument)
    found = setting.ways_of(setting.part.notes[0])
    assert way in ways(text, instrument)
    assert all(one.harmonic for one in found)


@pytest.mark.parametrize(
    ("chord", "instrument", "fingers"),
    [("[E5 B4]", VIOLIN, (4, 1)), ("[A4 E4]", VIOLA, (4, 1)), ("[F4 C4]", CELLO, (3, THUMB))],
)
def test_an_artificial_harmonic_is_stopped_and_touched_on_one_string(chord, instrument, fingers):
    """Common practice, no source: first finger stops, fourth touches a fourth above; on the cello thumb and third."""
    part = line(f"{chord}/2")
    part = replace(part, notes=tuple(replace(note, artificial=True) for note in part.notes))
    grips = setting_of(part, instrument).grips_of(stages(part, part.notes, 88)[0])
    assert fingers in {tuple(placement.finger for placement in grip) for grip in grips}
    for touched, stopped in grips:
        assert touched.string == stopped.string
        assert touched.place - stopped.place == 5
        assert touched.harmonic
        assert not stopped.harmonic


def test_a_harmonic_that_no_string_has_is_stopped():
    setting = setting_of("F#4/1o")
    assert not any(way.harmonic for way in setting.ways_of(setting.part.notes[0]))
    assert ways("F#4/1o") == ways("F#4")


def test_the_rules_of_a_passage_hold_in_its_measures():
    rules = HouseRules(passage=[{"measures": "2-3", "keep_on": [2]}, {"measures": 3, "part": "Viola", "home": 3}])
    setting = Setting(line("A4/4 " * 4), VIOLIN, rules)
    found = [setting.rules_at(stage) for stage in stages(setting.part, setting.part.notes, 60.0)]
    assert [rules.keep_on for rules in found] == [(), (2,), (2,), ()]
    assert [rules.home for rules in found] == [1, 1, 1, 1]


def test_a_note_with_a_quarter_tone_has_no_way():
    bent = replace(setting_of("A4").part.notes[0], pitch=Pitch("A", Fraction(1, 2), 4))
    assert setting_of("A4").ways_of(bent) == ()
