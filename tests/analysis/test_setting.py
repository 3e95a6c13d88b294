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


@pytest.mark.parametrize(("text", "open_letter"), [("A4/1^B4", "A"), ("D4/1^Eb4", "D"), ("E5/1^F#5", "E")])
def test_a_trill_is_not_over_an_open_string_where_a_stopped_one_will_do(text, open_letter):
    stopped = ways(text)
    assert stopped
    assert all(finger > 0 for _, finger, _ in stopped)
    assert (open_letter, 0, 1) in ways(text.split("/")[0])


def test_a_trill_that_the_rules_leave_no_finger_for_is_told_and_its_note_fingered():
    """D over the open string: the upper note would need a finger above the fourth on the string below."""
    made = plan("G4/1 D4/1^E4 G4", "first")
    assert (made.choice("n2").string, made.choice("n2").finger) == (4, 4)
    assert made.problems == {
        "n2": "measure 1, beat 2: D4 is fingered without its trill, for which the house rules or a lock leave no finger"
    }
    assert plan("G4/1 D4/1^E4 G4", "whole-board").problems == {}


def test_a_trill_over_the_lowest_open_string_is_played_as_the_note_it_is_on():
    assert ("G", 0, 1) in ways("G3/1^A3")


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
