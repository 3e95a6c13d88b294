"""Across the strings: one finger on two of them, crossings for one note, skips.

That one finger stops a perfect fifth on neighbouring strings: Flesch, "Violin Fingering", cited in Strings (September
2021). That a figure rocking over a fifth is held with one finger, and that the fourth finger saves a crossing for one
note: common practice, no source. Only neighbouring strings join without a gap: UNCW orchestration page.
"""

from __future__ import annotations

import pytest

from analysis.fingering.locks import Lock
from analysis.instruments import BASS, CELLO, VIOLA
from tests.analysis.lines import line, repeated
from tests.analysis.watch.studies import watched


def _said(kind, music, *setting, **locks):
    return [finding.text for finding in watched(kind, music, *setting, **locks)]


ROCKING = "B4/0.5 F#5 B4 F#5 B4 F#5 B4 F#5"


def test_a_figure_that_rocks_over_a_fifth_is_held_with_one_finger():
    (finding,) = watched("fifth-across", ROCKING)
    assert (
        finding.text == "In measure 1 keep the first finger down across the A and E strings while B and F♯ alternate."
    )
    assert finding.note_ids == tuple(f"n{number}" for number in range(1, 9))
    assert finding.certainty == 1


@pytest.mark.parametrize("music", ["B4/0.5 G5 B4 G5 B4 G5 B4 G5", "B4/0.5 E5 B4 E5 B4 E5 B4 E5"])
def test_a_figure_that_rocks_over_another_interval_is_not(music):
    assert _said("fifth-across", music) == []


def test_open_strings_a_fifth_apart_need_no_finger():
    opened = {f"n{number}": Lock(finger=0) for number in range(1, 9)}
    assert _said("fifth-across", "G3/0.5 D4 G3 D4 G3 D4 G3 D4", locks=opened) == []


def test_two_fingers_side_by_side_are_not_one():
    # On one place of two strings: a high first finger and a low second.
    beside = {f"n{number}": Lock(position=1, finger=2 - number % 2) for number in range(1, 9)}
    assert _said("fifth-across", "B#4/0.5 G5 B#4 G5 B#4 G5 B#4 G5", locks=beside) == []


def test_a_fifth_that_does_not_come_back_is_told_in_a_slur_or_where_it_is_quick():
    lay = "In measure 1 lay the first finger across the A and E strings at once, for B and F♯."
    assert _said("fifth-across", "B4/1 F#5 r r") == []
    assert _said("fifth-across", "(B4/1 F#5) r r") == [lay]
    assert _said("fifth-across", "B4/1/4 F#5 r/1/2 r/3") == [lay]
    assert _said("fifth-across", "B4/1/4 r/1 F#5/1/4 r/1/2 r/2") == []


def test_one_finger_stops_the_fifth_of_a_chord():
    assert _said("fifth-across", "[B4 F#5]/2 r") == [
        "In measure 1 the first finger stops B and F♯ together, across the A and E strings."
    ]
    assert _said("fifth-across", "[B4 G5]/2 r") == []


def test_on_the_bass_one_finger_stops_a_fourth():
    rocking = line("B2/0.5 E3 B2 E3 B2 E3 B2 E3", transpose=-12)
    slurred = line("(B2/1 E3) r/2 r/4 (B2/1 E3) r/2 r/4 (E3/1 A3) r/2", transpose=-12)
    assert _said("fifth-across", rocking, "home-ground", BASS) == [
        "In measure 1 keep the first finger down across the A and D strings while B and E alternate."
    ]
    assert _said("fifth-across", slurred, "home-ground", BASS) == [
        "In measures 1, 3 and 5 lay one finger across both strings at once for the perfect fourth."
    ]


def test_a_figure_that_comes_again_is_told_at_once():
    again = f"{ROCKING} D4/2 D4 {ROCKING}"
    (finding,) = watched("fifth-across", again)
    assert finding.text.startswith("In measures 1 and 3 keep the first finger down across the A and E strings")
    assert len(finding.note_ids) == 16


def test_what_comes_again_much_later_is_told_again():
    assert len(_said("fifth-across", f"{ROCKING} {'D4/4 ' * 20} {ROCKING}")) == 2


def test_the_fourth_finger_keeps_a_line_on_its_string():
    assert _said("single-crossing", "D4/0.5 G4 A4 G4 F#4 G4 E4 D4") == []


@pytest.mark.parametrize("length", ["1/4", "1/2", "1"])
def test_an_open_string_for_one_note_is_pointed_out_however_short(length):
    (finding,) = watched("single-crossing", f"F#4/{length} G4 A4 G4 F#4", locks={"n3": Lock(finger=0)})
    assert (
        finding.text == "In measure 1 the fourth finger on the D string would save going to the A string for one note."
    )
    assert finding.note_ids == ("n2", "n3", "n4")
    assert finding.certainty < 0.5


def test_a_quick_note_alone_on_another_string_is_told():
    (finding,) = watched("single-crossing", "E4/1/4 F#4 B4 F#4 G4 E4 D4 E4")
    assert finding.text == (
        "In measure 1 one note lies on the A string: keep the bow close to it and come straight back to the D string."
    )
    assert finding.note_ids == ("n2", "n3", "n4")


def test_a_slow_note_alone_on_another_string_is_not():
    assert _said("single-crossing", "E4/1 F#4 B4 F#4") == []


def test_a_rest_leaves_time_to_come_back():
    assert len(_said("single-crossing", "F#4/1/2 G4 A4 G4", locks={"n3": Lock(finger=0)})) == 1
    assert _said("single-crossing", "F#4/1/2 G4 A4 r G4", locks={"n3": Lock(finger=0)}) == []


def test_going_on_over_the_strings_is_no_crossing_for_one_note():
    assert _said("single-crossing", "A3/1/4 E4 B4 F#5 G5 A5 G5 F#5") == []


def test_strings_in_turn_are_one_finding():
    (finding,) = watched("single-crossing", "E4/1/4 C5 E4 C5 E4 C5 E4 C5")
    assert finding.text == "In measure 1 the D and A strings alternate: keep the arm between them."
    assert len(finding.note_ids) == 8


def test_a_fifth_under_one_finger_is_no_crossing():
    assert _said("single-crossing", "B4/1/4 F#5 B4 F#5 B4 F#5 B4 F#5") == []


def test_a_skipped_string_is_told():
    (finding,) = watched("string-skip", "A3/0.5 B4 C#5 D5")
    assert finding.text == "In measure 1 the bow skips the D string between G and A: swing the arm early."
    assert finding.note_ids == ("n1", "n2")


def test_two_skipped_strings_are_named():
    assert _said("string-skip", "B3/0.5 G5 A5 G5") == [
        "In measure 1 the bow skips the D and A strings between G and E: swing the arm early."
    ]


def test_a_skip_in_a_slur_is_told_however_slow():
    assert _said("string-skip", "A3/2 B4") == []
    assert _said("string-skip", "(A3/2 B4)") == [
        "In measure 1 the bow skips the D string between G and A within the slur: swing the arm early."
    ]


@pytest.mark.parametrize(
    "music", ["A3/1/4 r B4 C#5", "{pizz} A3/0.5 B4 C#5 D5", "A3/0.5 E4 B4 F#5", "[A3 F#4]/0.5 B4 C#5 D5"]
)
def test_nothing_is_skipped_over_a_rest_without_the_bow_or_on_neighbouring_strings(music):
    assert _said("string-skip", music) == []


def test_endings_of_one_section_do_not_follow_one_another():
    music = line("E4/4 E4/1 E4 E4 A3/0.5 A3 B4/0.5 B4 B4/1 B4 B4")
    assert len(_said("string-skip", music)) == 1
    assert _said("string-skip", repeated(music, backs={1: 2}, endings={1: (1,), 2: (2,)})) == []


def test_skips_over_several_strings_are_told_at_once():
    assert _said("string-skip", "D3/0.5 E4 F4 G4 A3 B4 C5 D5", "first", VIOLA) == [
        "In measure 1 the bow skips a string: swing the arm early, so that none sounds between."
    ]


@pytest.mark.parametrize("kind", ["fifth-across", "single-crossing", "string-skip"])
def test_scales_are_silent(kind):
    assert _said(kind, "G3/0.5 A3 B3 C4 D4 E4 F#4 G4 A4 B4 C5 D5 E5 F#5 G5 A5") == []
    assert _said(kind, "C2/0.5 D2 E2 F2 G2 A2 B2 C3 D3 E3 F3 G3 A3 B3 C4 B3", "first", CELLO) == []
