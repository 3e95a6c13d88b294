"""Open strings that will be heard.

That a note on the pitch of an open string is stopped where it lasts longer than two quarter notes, and that the open E
is avoided wherever a stopped one is in reach, the louder the more so: common practice, no source. That an open string
takes no vibrato: UNCW orchestration page.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from analysis.fingering.locks import Lock
from analysis.instruments import CELLO, VIOLA, VIOLIN
from tests.analysis.lines import line
from tests.analysis.watch.studies import watched

OPEN = Lock(finger=0)


def _said(music, *setting, opened=(), **others):
    found = watched("open-string", music, *setting, locks=dict.fromkeys(opened, OPEN), **others)
    return [finding.text for finding in found]


@pytest.mark.parametrize("length", ["5/2", "3", "4"])
def test_a_long_open_string_is_told(length):
    assert _said(f"A4/{length}", opened=["n1"]) == [
        "In measure 1 the open A may stand out on the long note, without vibrato: "
        "play 4 on the D string, or bow it gently."
    ]


def test_a_trill_over_an_open_string_is_silent():
    assert _said("B4/1 A4/3^B4", "two-homes", opened=["n2"]) == []


def test_a_long_note_that_is_stopped_is_silent():
    assert _said("A4/4") == []


@pytest.mark.parametrize("length", ["1/2", "1", "2"])
def test_two_beats_exactly_may_stay_open(length):
    assert _said(f"B4/1 A4/{length} B4/1", opened=["n2"]) == []


def test_the_lowest_string_has_no_other_way():
    assert _said("G3/4 G3") == []
    assert _said("C3/4 C3", "first", VIOLA) == []


def test_the_open_e_is_shrill():
    assert _said("D5/1 E5 D5 C#5", opened=["n2"]) == [
        "In measure 1 the open E may be shrill: play 4 on the A string, or bow it gently."
    ]


def test_the_fourth_finger_instead_of_the_open_e_is_silent():
    assert _said("D5/1 E5 D5 C#5") == []


def test_the_louder_the_sooner_the_open_e_is_told():
    assert _said("D5/0.5 E5 D5 C#5", opened=["n2"]) == []
    assert _said("{f} D5/0.5 E5 D5 C#5", opened=["n2"]) == [
        "In measure 1 the open E may be shrill in the forte: play 4 on the A string, or bow it gently."
    ]


def test_only_the_violin_has_a_shrill_string():
    assert _said("G4/1 A4 G4 F#4", "first", VIOLA, opened=["n2"]) == []


def test_the_open_e_may_whistle_after_a_slurred_descent():
    whistles = (
        "In measure 1 the open E may whistle after the slurred descent: play 4 on the A string, or bow it gently."
    )
    assert _said("(F#5/1/4 E5) D5 C#5", opened=["n2"]) == [whistles]
    assert _said("F#5/1/4 E5 D5 C#5", opened=["n2"]) == []
    assert _said("(D5/1/4 E5) D5 C#5", opened=["n2"]) == []


def test_an_open_string_sticks_out_of_a_soft_passage():
    music = "{} B4/2 A4 B4"
    assert _said(music.format("{p}"), opened=["n2"]) == [
        "In measure 1 the open A may stick out of the soft passage: play 4 on the D string, or bow it gently."
    ]
    assert _said(music.format("{mf}"), opened=["n2"]) == []


def test_a_short_open_string_is_not_heard_in_a_soft_passage():
    assert _said("{p} B4/0.5 A4 B4 C5", opened=["n2"]) == []


def test_an_open_string_sticks_out_at_the_end_of_a_slur():
    ends = "In measure 1 the open A may stick out at the end of the slur: play 4 on the D string, or bow it gently."
    assert _said("(C5/1 B4 A4/2)", opened=["n3"]) == [ends]
    assert _said("(C5/1 A4/2 B4/1)", opened=["n2"]) == []
    assert _said("C5/1 B4 A4/2", opened=["n3"]) == []


@pytest.mark.parametrize(("beside", "told"), [("C3/4 C3 r r r r", True), ("C3/4 C3 C3 C3 C3 C3", False)])
def test_an_open_string_is_heard_where_the_part_is_alone(beside, told):
    other = replace(line(beside), id="P2", name="Cello")
    music = "B4/2 C5 B4/2 C5 B4/2 C5 B4/2 A4 B4/2 C5 B4/2 C5"
    found = watched("open-string", music, "first", VIOLIN, other, locks={"n8": OPEN})
    alone = "In measure 4 the open A may stand out where the part is alone: play 4 on the D string, or bow it gently."
    assert [finding.text for finding in found] == [alone] * told


def test_a_solo_by_word_is_alone_too():
    assert len(_said("{solo} B4/1 A4/2 B4/1", opened=["n2"])) == 1
    assert _said("{tutti} B4/1 A4/2 B4/1", opened=["n2"]) == []


def test_a_plucked_string_dies_away():
    assert _said("{pizz} A4/4", opened=["n1"]) == []


def test_an_open_string_in_a_chord_is_not_told():
    assert _said("[D4 B4]/4") == []


def test_on_the_cello_a_soft_open_string_stays_where_no_finger_is_near():
    assert _said("{p} E3/2 D3 E3", "two-homes", CELLO, opened=["n2"]) == []


def test_those_close_together_are_told_at_once():
    (finding,) = watched("open-string", "A4/4 B4 A4", locks={"n1": OPEN, "n3": OPEN})
    assert finding.text.startswith("In measures 1 and 3 the open A may stand out")
    assert finding.note_ids == ("n1", "n3")


def test_different_strings_are_told_at_once():
    assert _said("A4/4 B4 D4", opened=["n1", "n3"]) == [
        "In measures 1 and 3 open strings may stand out on the long note, without vibrato: "
        "stop them, or bow them gently."
    ]
