"""Why a note is played so, in one sentence; and silence where it is played as a player would expect."""

from __future__ import annotations

from fractions import Fraction

import pytest

from analysis.fingering.locks import Lock
from analysis.fingering.plan import make_plan
from analysis.fingering.rules.files import preset
from analysis.instruments import CELLO, VIOLA, VIOLIN
from tests.analysis.lines import line, plan


def reason(text: str, number: int, rules: str = "two-homes", instrument=VIOLIN, **options) -> str:
    return plan(text, rules, instrument, **options).reason(f"n{number}")


def test_a_long_open_string_is_the_reason_for_the_fourth_finger():
    assert reason("C5/1 D5 E5/3", 3) == "4 on the A string, because an open E would ring for three beats."


@pytest.mark.parametrize(
    ("length", "time", "words"),
    [("5/2", (4, 4), "2.5 beats"), ("4", (4, 4), "four beats"), ("3", (6, 8), "six beats"), ("4", (2, 2), "two beats")],
)
def test_how_long_it_would_ring_is_told_in_the_beats_of_the_metre(length, time, words):
    part = line(f"C5/1 D5 E5/{Fraction(length)}", time=time)
    assert make_plan(part, VIOLIN, preset("two-homes")).reason("n3").endswith(f"would ring for {words}.")


def test_a_crossing_for_one_note_is_the_reason_for_the_fourth_finger():
    words = reason("D4/1 E4 F#4 A4 F#4 E4", 4, "home-ground")
    assert words.startswith("4 on the D string, because an open A would ")
    assert "cross" in words


@pytest.mark.parametrize(
    ("text", "instrument"), [("G4 A4 B4 C5 D5 C5 B4", VIOLIN), ("C3 D3 E3 F3 E3", VIOLA), ("D3 E3 F3 G3", CELLO)]
)
def test_notes_played_as_expected_need_no_reason(text, instrument):
    made = plan(text, "two-homes", instrument)
    assert [made.reason(note.id) for note in made.part] == [""] * len(made.part.notes)


def test_a_shift_for_a_note_out_of_reach_names_that_note():
    found = [reason("G3/1 A3 B3 G3/2 A5/1 B5 C#6 D6", number) for number in range(1, 9)]
    assert any(words.endswith("C#6, which comes, is out of reach from 1st position.") for words in found)


def test_a_shift_that_could_be_spared_says_what_staying_would_ask():
    turning = "G3/1 B3 A3 G3/2 (D5/1/2 E5 F#5 E5) (D5 E5 G5 E5) (D5 E5 F#5 G5) (E5 D5 E5 G5) (F#5 E5 D5 E5)"
    made = plan(turning, "two-homes")
    told = [made.reason(note.id) for note in made.part]
    assert any("because staying in 1st position would " in words for words in told)
    assert not any("no beats" in words for words in told)


def test_what_the_teacher_has_fixed_needs_no_other_reason():
    assert reason("G4 A4 B4", 2, locks={"n2": Lock(finger=4)}) == "So, because it is fixed."


def test_one_finger_across_two_strings_is_named():
    """Common practice, no source: a perfect fifth is stopped with one finger across."""
    made = plan("E4/1 [E4 B4]/2", "whole-board")
    assert {made.reason("n2"), made.reason("n3")} == {"1 lies across both strings, for the perfect fifth."}


@pytest.mark.parametrize(
    ("text", "number", "rules", "instrument"),
    [("A5/2 E5/1 F5/1 C6/1/2", 2, "two-homes", VIOLIN), ("A5/2 E5/2 G5/2 E5/2 E5/1", 2, "whole-board", VIOLIN)],
)
def test_an_open_string_is_blamed_for_its_sound_not_for_what_other_notes_would_ask(text, number, rules, instrument):
    assert reason(text, number, rules, instrument) == "2 on the A string, because an open E would stick out."


def test_staying_that_would_leave_an_open_string_ringing_is_told_without_a_length():
    words = reason("F3/2 F3/3 Bb3/1/2 A3/3", 3, "whole-board", CELLO)
    assert words.endswith("because staying in 1st position would let an open string ring.")


def test_a_tied_note_has_the_reason_where_it_is_struck():
    made = plan("C5/1 D5 E5/2~ E5/2", "two-homes")
    assert made.reason("n3")
    assert made.reason("n4") == ""
