"""Where the bow comes out wrong: said once for a stretch, with the nearest cure, and not said where it rights itself.

That first beats want down-bows: Leopold Mozart, "Violinschule" (1756), chapter IV, and Muffat, "Florilegium secundum"
(1698), from memory. How long a bow lasts, and what is said when: common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings

from analysis.music import Part, Score
from analysis.watch.bowing import watch_bowing
from analysis.watch.study import Study
from tests.analysis.lines import line, repeated
from tests.analysis.watch.offences import offences
from tests.strategies import parts

# Measures of four quarters keep the bow, one of three strokes turns it round.
EVEN = "D4/1 E4 F4 G4 "
ODD = "A4/2 B4/1 C5/1 "


def said(music: str | Part, tempo: float | None = 100, time: tuple[int, int] = (4, 4)) -> list[str]:
    part = line(music, tempo=tempo, time=time) if isinstance(music, str) else music
    return [finding.text for finding in watch_bowing(Study(Score("", (part,)), part, None))]


def shown(music: str, tempo: float = 100) -> list[tuple[str, ...]]:
    part = line(music, tempo=tempo)
    return [finding.note_ids for finding in watch_bowing(Study(Score("", (part,)), part, None))]


# First beats


def test_first_beats_on_an_up_bow_for_long_are_one_finding_with_the_nearest_cure():
    music = EVEN + ODD + EVEN * 3
    assert said(music) == [
        "From measure 3 to 5 the first beats fall on an up-bow: "
        "slur the last two notes of measure 2, or lift the bow before measure 3."
    ]
    assert shown(music) == [("n8", "n12", "n16")]


def test_a_rest_is_the_nearest_place_to_retake():
    # An eighth rest of 0.25 seconds: too short to be sure of it, long enough to do so if asked to.
    music = EVEN + "A4/2 B4/0.5 B4/1 r/0.5 " + EVEN * 3
    assert said(music, 120) == [
        "From measure 3 to 5 the first beats fall on an up-bow: "
        "retake at the rest in measure 2, or take the last two notes of measure 2 in one bow."
    ]


def test_where_the_bow_would_turn_again_the_second_change_is_named_too():
    assert said(EVEN + ODD + EVEN * 4 + ODD + EVEN * 3) == [
        "From measure 3 to 7 the first beats fall on an up-bow: "
        "slur the last two notes of measure 2, then slur the last two notes of measure 7."
    ]


@pytest.mark.parametrize(
    "music",
    [
        pytest.param(EVEN * 6, id="the bow is right"),
        pytest.param(EVEN + ODD + EVEN + ODD + EVEN * 4, id="it rights itself after two measures"),
        pytest.param(ODD * 8, id="it goes up and down by turns"),
        pytest.param("(D4/1 E4 F4 G4) " * 8, id="a slur a measure"),
        pytest.param(EVEN + "A4/2 B4/1 r/1 " + EVEN * 4, id="a rest lets it begin anew"),
        pytest.param(EVEN + "A4/2 B4/1 C5/1' " + EVEN * 4, id="a breath mark lets it begin anew"),
        pytest.param(EVEN + ODD + "D4/1n E4 F4 G4 " + EVEN * 3, id="a printed down-bow rights it"),
        pytest.param(EVEN + "A4/2 B4/1 C5/1~ C5 D5 E5 F5~ F5 D5 E5 F5~ F5 E5 D5 C5", id="ties over the bar line"),
        pytest.param(EVEN + "A4/2 B4/1 C5/1 " + EVEN * 2 + "r/4 " + EVEN, id="two measures only, then a rest"),
        pytest.param(EVEN + ODD + EVEN + ODD * 8 + EVEN * 2, id="nearly as often right"),
        pytest.param("{pizz} " + EVEN + ODD + EVEN * 4, id="plucked"),
    ],
)  # fmt: skip
def test_a_bow_that_is_right_or_rights_itself_is_left_alone(music):
    assert said(music) == []


def test_two_measures_are_left_alone_even_where_a_rest_would_cure_them():
    assert said(EVEN + "A4/2 B4/0.5 B4/1 r/0.5 " + EVEN * 2, 120) == []


def test_a_rest_after_the_stretch_needs_no_second_change():
    (text,) = said(EVEN + ODD + EVEN * 3 + "D4/4 r/4 " + EVEN)
    assert "then" not in text


def test_another_cure_is_named_only_near_and_not_where_it_would_do_harm():
    # Two notes could be slurred in measure 2 only, long before the bow comes out wrong.
    far = EVEN + "A4/1 B4/0.5 r/0.5 C5/1 D5/1~ D5/4~ D5/3 E5/1 " + EVEN * 3
    assert said(far, 120) == ["From measure 5 to 7 the first beats fall on an up-bow: retake at the rest in measure 2."]
    # The bow could be lifted before measure 2 only, whose first beat is right.
    assert said(EVEN + "A4/3.5 B4/0.25 C5/0.25 " + EVEN * 3) == [
        "From measure 3 to 5 the first beats fall on an up-bow: slur the last two notes of measure 2."
    ]


def test_threes_that_turn_by_turns_are_left_alone():
    assert said("D4/1 E4 F4 " * 8, time=(3, 4)) == []
    assert said("D4/0.5 E4 F4 G4 A4 B4 " * 8, time=(6, 8)) == []


def test_two_notes_of_one_pitch_are_taken_in_one_bow_and_not_slurred():
    (text,) = said(EVEN + "A4/2 B4/1 B4/1 " + EVEN * 3)
    assert "take the last two notes of measure 2 in one bow" in text


def test_notes_within_a_measure_are_named_by_their_beats():
    (text,) = said(EVEN + "A4/1 B4/0.5 C5/0.5 D5/1 (E5/0.5 F5/0.5) " + EVEN * 3)
    assert "slur the notes on beats 2 and 2½ of measure 2" in text


def test_where_notes_are_too_long_to_slur_the_bow_is_lifted():
    assert said("D4/3 E4/3 F4/3 D4/2 E4/1 " + "F4/2 E4/1 " * 4, 50, (3, 4)) == [
        "From measure 4 to 8 the first beats fall on an up-bow: lift the bow before measure 4."
    ]


def test_the_first_notes_of_a_measure_and_slurs_are_named_as_such():
    (text,) = said(EVEN + "A4/1 B4/1 (C5/1 D5/1) " + EVEN * 3)
    assert "slur the first two notes of measure 2" in text
    (text,) = said(EVEN + "(A4/0.5 B4/0.5) C5/1 (D5/1 E5/1) " + EVEN * 3)
    assert "take beats 1 and 2 of measure 2 in one bow" in text


def test_where_nothing_else_will_do_a_phrase_begins_on_the_other_bow():
    # The slur is too quick to lift the bow after it, and the halves are too heavy to be slurred.
    assert said("D4/4 r/3 A4/1 (D5/1 E5 F5 G5) " + "D5/2 E5/2 " * 6, 200) == [
        "From measure 4 to 9 the first beats fall on an up-bow: begin with a down-bow on beat 4 of measure 2."
    ]


# Repeats


def going_back(text: str) -> list[str]:
    return said(repeated(line(text, tempo=120), backs={1: 2}))


def test_a_repeat_that_begins_with_the_bow_just_ended_is_told():
    assert going_back(EVEN + ODD) == [
        "After measure 2 the repeat begins with a down-bow right after a down-bow: lift the bow before going back."
    ]


@pytest.mark.parametrize(
    "music",
    [
        pytest.param(EVEN + EVEN, id="it comes out right"),
        pytest.param(EVEN + "A4/1 B4/1 C5/2 ", id="a long note gives time"),
        pytest.param(EVEN + "A4/2 B4/0.5 C5/0.5 r/1 ", id="a rest gives time"),
        pytest.param(EVEN + "A4/2 B4/1 C5/1: ", id="a fermata gives time"),
        pytest.param("D4/1n E4 F4 G4 " + ODD, id="the bow is printed"),
    ],
)
def test_a_repeat_that_comes_out_right_or_has_time_is_left_alone(music):
    assert going_back(music) == []


def test_a_repeat_that_the_cure_brings_right_is_left_alone():
    (text,) = said(repeated(line(EVEN + ODD + EVEN * 3, tempo=100), backs={4: 2}))
    assert text.startswith("From measure 3 to 5")


# Bows that last too long


def test_a_bow_lasts_the_shorter_the_louder_it_is():
    # Seven seconds: more than a bow gives in forte, less than in piano.
    assert said("{f} D4/4~ D4/3 E4/1", 60) == [
        "The long D in measure 1 lasts about 7 seconds: save bow, or change it at another time than your stand partner."
    ]
    assert said("{mf} D4/4~ D4/3 E4/1", 60) == []
    assert said("{p} D4/4~ D4/3 E4/1", 60) == []
    assert said("{mf} D4/4~ D4/4.5 E4/3.5", 60) != []
    assert said("{f} D4/4~ D4/3 E4/1", 120) == []


def test_a_long_slur_is_parted_at_the_first_beat_nearest_its_half():
    assert said("{f} (D4/1 E4 F4 G4 A4 B4 C5 D5) E5/4", 60) == [
        "The slur that begins in measure 1 lasts about 8 seconds: save bow, or change it at measure 2."
    ]
    assert said("{f} r/2 (D4/1 E4 F4 G4 A4 B4 C5 D5) E5/2", 60) == [
        "The slur that begins in measure 1 lasts about 8 seconds: save bow, or change it at measure 2."
    ]
    # The first beat, though the note before it is as near.
    assert said("{f} r/2 (D4/1 E4 F4) G4/1", 30) == [
        "The slur that begins in measure 1 lasts about 6 seconds: save bow, or change it at measure 2."
    ]
    assert said("{ff} r/1 (D4/1.5 E4/1.5) F4/1", 40) == [
        "The slur that begins in measure 1 lasts about 4 seconds: save bow, or change it in measure 1, beat 3½."
    ]


def test_long_bows_one_after_the_other_are_told_at_once():
    assert said("{f} D4/6 E4/6 F4/4", 60) == [
        "From measure 1 to 2 single bows last up to 6 seconds: save bow from the beginning."
    ]


def test_without_a_tempo_or_under_a_fermata_nobody_knows_how_long_a_bow_lasts():
    assert said("{f} D4/8 E4/8", None) == []
    assert said("{f} D4/4 E4/16:", 60) == []


def test_a_trembling_bow_may_last():
    long = line("{f} D4/8 E4/1", tempo=60)
    trembling = replace(long, notes=tuple(replace(note, tremolo="bowed") for note in long.notes))
    assert said(long) != []
    assert said(trembling) == []


# Long bows beside short ones


def test_long_bows_by_turns_with_short_ones_are_told_once():
    text = (
        "From measure {} to {} long down-bows alternate with short up-bows: "
        "save bow on the long ones and bring it back lightly."
    )
    assert said("D4/1 E4 F4 G4 " + "D4/3 E4/1 " * 5, 80) == [text.format(2, 6)]
    assert said("D4/1.5 E4/0.5 F4/1.5 G4/0.5 " * 2, 60) == [text.format(1, 2)]


def test_long_up_bows_are_called_so():
    *_, text = said("D4/3v E4/1 " * 5, 80)
    assert text.startswith("From measure 1 to 5 long up-bows alternate with short down-bows")


@pytest.mark.parametrize(
    "music",
    [
        pytest.param("D4/3 E4/1 " * 3 + EVEN, id="three times only"),
        pytest.param("D4/2 E4/1 F4/1 " * 4, id="not much longer"),
        pytest.param("(D4/3 E4/1) " * 6, id="slurred"),
        pytest.param("D4/2.5 r/0.5 E4/1 " * 6, id="a rest between"),
        pytest.param("D4/3.25 r/0.25 E4/0.5 " * 6, id="a short rest between"),
        pytest.param("D4/3 E4/0.5 r/0.5 " * 6, id="a rest after the short ones"),
        pytest.param("D4/3 E4/1' " * 6, id="a breath after the short ones"),
        pytest.param("D4/3n E4/1n " * 6, id="retaken each time"),
        pytest.param("D4/0.75 E4/0.25 " * 12, id="too quick to matter"),
    ],
)
def test_bows_that_need_no_saving_are_left_alone(music):
    assert said(music, 80) == []


# Whatever the music


@given(parts(least=0, most=40, voices=2, seams=True))
@settings(max_examples=80, deadline=None)
def test_whatever_the_music_the_findings_keep_their_rules(part):
    found = list(watch_bowing(Study(Score("", (part,)), part, None)))
    found.sort(key=lambda one: part.note(one.note_ids[0]).onset)
    assert offences(part, found) == []


def test_what_two_voices_share_is_said_once():
    music = EVEN + ODD + EVEN * 3
    assert len(said(line(music, music, tempo=100))) == 1
