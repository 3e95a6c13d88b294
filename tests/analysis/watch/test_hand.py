"""Shifts and the time they have, fingers out of the hand frame, far reaches, the high third finger.

A half step up to the pitch of the fourth finger is high third and then fourth: common practice, no source. Old finger,
guide finger, open string: julianrossviolin.com; idoublebass.com; cellofun.eu. String lengths and the places of fingers,
d(s) = L (1 - 2^(-s/12)): equal temperament, with the string of a full-size violin 328 mm (makingtheviolin.com).
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from analysis.fingering.locks import Lock
from analysis.fingering.rules.files import preset
from analysis.instruments import CELLO, VIOLA, VIOLIN
from tests.analysis.lines import line, repeated
from tests.analysis.watch.studies import watched

FIRST, THIRD, FIFTH, FOURTH_FINGER = Lock(position=1), Lock(position=3), Lock(position=5), Lock(string=2, finger=4)


def _said(kind, music, *setting, **locks):
    return [finding.text for finding in watched(kind, music, *setting, **locks)]


def _shifts(music, *hands, rules="two-homes", tempo=60):
    locks = {f"n{number}": hand for number, hand in enumerate(hands, 1) if hand is not None}
    return _said("shift", line(music, tempo=tempo), rules, locks=locks)


# Shifts


def test_a_shift_in_a_rest_has_the_seconds_of_the_rest():
    (text,) = _shifts("B4/0.5 r/0.5 D5/1 D5/2", FIRST, THIRD)
    assert text == "In measure 1 shift from 1st to 3rd position in the rest with 0.5 s to spare."


def test_a_shift_over_an_open_string_has_its_length():
    finger_free = Lock(finger=0)
    (finding,) = watched(
        "shift", line("B4/0.5 A4 D5/1", tempo=120), "two-homes", locks={"n1": FIRST, "n2": finger_free, "n3": THIRD}
    )
    assert finding.text == "In measure 1 shift from 1st to 3rd position on the open A with 0.2 s to spare."
    assert finding.note_ids == ("n1", "n2", "n3")


def test_without_a_tempo_nothing_is_said_of_seconds():
    assert _shifts("B4/0.5 r/0.5 D5/1 D5/2", FIRST, THIRD, tempo=None) == [
        "In measure 1 shift from 1st to 3rd position in the rest."
    ]


def test_time_enough_is_not_told():
    assert _shifts("B4/1 r/1 D5/1", FIRST, THIRD) == []
    assert len(_shifts("B4/1 r/1 D5/1", FIRST, THIRD, tempo=120)) == 1


def test_the_same_finger_leads_a_shift_on_its_string():
    assert _shifts("B4/0.5 D5/1", FIRST, THIRD) == [
        "In measure 1 shift from 1st to 3rd position on the first finger with no time to spare."
    ]


def test_the_last_finger_leads_a_shift_to_another():
    assert _shifts("C5/0.5 D5/1", FIRST, THIRD) == [
        "In measure 1 shift from 1st to 3rd position led by the second finger with no time to spare."
    ]


def test_a_slow_shift_is_told_only_in_a_slur():
    assert _shifts("B4/0.75 D5/1", FIRST, THIRD) == []
    assert len(_shifts("(B4/0.75 D5/1)", FIRST, THIRD)) == 1
    assert _shifts("(B4/2 D5/1)", FIRST, THIRD) == []


def test_out_and_back_is_one_thing():
    assert _shifts("B4/0.5 D5 E5 C5 B4/2", FIRST, THIRD, THIRD, FIRST, FIRST) == [
        "In measure 1 shift from 1st to 3rd position on the first finger with no time to spare, "
        "and back on the second finger with no time to spare."
    ]


def test_out_and_back_in_several_ways_is_told_at_once():
    there = "B4/0.5 D5 E5 C5 B4/2 C5/0.5 D5 E5 C5 B4/2"
    hands = (FIRST, THIRD, THIRD, FIRST, FIRST) * 2
    assert _shifts(there, *hands) == ["In measures 1–2 shift from 1st to 3rd position and back in little time."]


def test_many_shifts_in_a_row_are_one_thing():
    assert _shifts("B4/0.5 D5 F5 B4 B4/2", FIRST, THIRD, FIFTH, FIRST, FIRST, rules="whole-board") == [
        "In measure 1 the hand shifts three times, between 1st, 3rd and 5th position: practise the shifts alone first."
    ]


def test_a_hand_that_stays_is_silent():
    assert _shifts("D5/0.5 E5 F5 G5 D5 E5 F5 G5", *[THIRD] * 8) == []


def test_endings_of_one_section_do_not_follow_one_another():
    music = line("B4/4 B4/0.5 B4 B4 B4 B4 B4 B4 B4 D5/0.5 D5 D5 D5 D5 D5 D5 D5", tempo=60)
    locks = {f"n{number}": FIRST if number < 10 else THIRD for number in range(1, 18)}
    twice = repeated(music, backs={1: 2}, endings={1: (1,), 2: (2,)})
    assert len(_said("shift", music, "two-homes", locks=locks)) == 1
    assert _said("shift", twice, "two-homes", locks=locks) == []


# Out of the frame


def test_a_fourth_finger_out_of_the_frame_is_an_extension():
    (finding,) = watched("extension", "D5/1 E5 F5 Ab5", "two-homes", locks={"n1": THIRD, "n4": FOURTH_FINGER})
    assert finding.text == (
        "In measure 1 the fourth finger extends for A♭: open the hand from its base joints, without force."
    )
    assert finding.note_ids == ("n4",)


def test_a_first_finger_drawn_back_is_an_extension():
    assert _said("extension", "Eb3/1 F3 G3 E3", "first", CELLO) == [
        "In measure 1 the first finger reaches back for E♭: leave the hand where it is."
    ]


def test_the_extended_hand_of_the_cello_is_told_once():
    assert _said("extension", "E3/1 G#3 E3 G#3 E3 G#3 E3 G#3", "first", CELLO) == [
        "In measures 1–2 the hand is extended for G♯: let the thumb go along with the second finger."
    ]


def test_a_note_that_sounds_on_is_not_reached_again():
    (finding,) = watched("extension", "[G2 Eb3~]/2 [G2 Eb3]", "first", CELLO)
    assert finding.note_ids == ("n2",)


def test_a_harmonic_is_only_touched():
    touched = {"n2": Lock(string=2, position=3, finger=4)}
    assert _said("extension", "D5/2 A5/2o", "two-homes", locks=touched) == []


def test_fingers_in_the_frame_are_silent():
    assert _said("extension", "E3/1 F3 F#3 G3", "first", CELLO) == []
    assert _said("extension", "B4/1 C#5 D5 E5", locks={"n4": FOURTH_FINGER}) == []


# Far reaches


@pytest.mark.parametrize(("size", "instrument", "mm"), [("4/4", VIOLIN, 86), ("1/2", VIOLIN, 75), ("14 in", VIOLA, 87)])
def test_a_far_reach_is_told_in_millimetres(size, instrument, mm):
    # From two to eight semitones above the open string.
    places = {"4/4": 328, "1/2": 287, "14 in": 333}[size]
    assert mm == round(places * (2 ** (-2 / 12) - 2 ** (-8 / 12)))
    rules = replace(preset("two-homes"), size=size)
    music = "B4/1 C5 D5 F5" if instrument is VIOLIN else "E4/1 F4 G4 Bb4"
    (text,) = _said("stretch", music, rules, instrument, locks={"n4": FOURTH_FINGER})
    note = "F" if instrument is VIOLIN else "B♭"
    assert text.startswith(f"In measure 1 the fourth finger reaches {mm} mm from the first for {note}: easier is ")


def test_a_far_reach_is_no_extension_too():
    assert _said("extension", "B4/1 C5 D5 F5", "two-homes", locks={"n4": FOURTH_FINGER}) == []


def test_a_far_reach_has_an_easier_way():
    assert _said("stretch", "B4/1 C5 D5 F5", "two-homes", locks={"n4": FOURTH_FINGER}) == [
        "In measure 1 the fourth finger reaches 86 mm from the first for F: easier is 3 on the A string, 3rd position."
    ]


def test_the_usual_reach_is_silent():
    assert _said("stretch", "B4/1 C5 D5 E5", "two-homes", locks={"n4": FOURTH_FINGER}) == []


def test_nobody_is_asked_to_force_a_reach():
    rules = replace(preset("first"), extensions=True, keep_on=(1,))
    (text,) = _said("stretch", "F#5/1 G5 A5 C6", rules)
    assert (
        text == "In measure 1 the fourth finger reaches 86 mm from the first for C: leave it out rather than force it."
    )


def test_several_far_reaches_are_told_at_once():
    locks = {"n4": FOURTH_FINGER, "n8": Lock(string=3, finger=4)}
    (text,) = _said("stretch", "B4/1 C5 D5 F5 E4 F4 G4 Bb4", "two-homes", locks=locks)
    assert text == (
        "In measures 1–2 the fourth finger reaches 86 mm from the first: "
        "open the hand without force, or take an easier way."
    )


# The high third


def test_a_half_step_up_to_the_fourth_finger_is_a_high_third():
    (finding,) = watched("high-finger", "B4/1 D#5 E5/2")
    assert finding.text == "In measure 1 the third finger is high for D♯, close to the fourth for E."
    assert finding.note_ids == ("n2", "n3")


def test_a_half_step_down_from_the_fourth_finger_is_one_too():
    assert len(_said("high-finger", "B4/1 E5 D#5/2")) == 1


@pytest.mark.parametrize("music", ["B4/1 D5 E5/2", "C5/1 B4 C5/2", "B4/1 D5 D#5/2"])
def test_other_steps_are_silent(music):
    assert _said("high-finger", music) == []


def test_an_open_string_is_not_close_to_a_finger():
    assert _said("high-finger", "B4/1 D#5 E5/2", locks={"n3": Lock(finger=0)}) == []


def test_what_the_key_signature_makes_high_is_told_the_first_time():
    locks = {f"n{number}": Lock(finger=4) for number in (2, 4, 6)}
    again = "{3#} G#4/2 A4 G#4 A4 G#4 A4"
    assert _said("high-finger", again, locks=locks) == [
        "From measure 1 on the third finger is high for G♯, close to the fourth for A."
    ]
    assert _said("high-finger", again.replace("{3#} ", ""), locks=locks) == [
        "In measures 1–3 the third finger is high for G♯, close to the fourth for A."
    ]


def test_a_third_finger_on_the_other_spelling_is_high_only_here():
    locks = {"n1": Lock(string=2, position=1, finger=3), "n2": Lock(string=2, position=1, finger=4)}
    assert _said("high-finger", "{2b} Eb5/1 E5 D5/2", locks=locks) == [
        "In measure 1 the third finger is high for E♭, close to the fourth for E."
    ]


def test_the_cello_has_no_high_third():
    assert _said("high-finger", "E3/1 F#3 G3/2", "first", CELLO) == []
