"""Which notes are high or low.

Low and high places of the fingers: first-position charts kept as data with their sources (charts.json). That the second
finger has two places in first position, and that both edges of a passage in other accidentals are where players go
wrong: common practice, no source.
"""

from __future__ import annotations

import json
import random
import re
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from analysis.fingering.locks import Lock
from analysis.fingering.rules.files import preset
from analysis.instruments import BASS, CELLO, VIOLA, VIOLIN
from analysis.music import Pitch, Score, altered_by
from analysis.watch.bar_lines import courtesies, watch_bar_lines
from analysis.watch.finger_patterns import watch_finger_patterns
from analysis.watch.study import Study
from tests.analysis.lines import line, plan, played, repeated
from tests.analysis.watch.studies import study, watched

CHARTS = json.loads((Path(__file__).parents[1] / "charts.json").read_text(encoding="utf-8"))


def _said(music, instrument=VIOLIN, rules="first"):
    return [finding.text for finding in watched("finger-pattern", music, rules, instrument)]


def _said_without_plan(music):
    part = line(music)
    return [finding.text for finding in watch_finger_patterns(Study(Score("", (part,)), part, None))]


# G natural in measures 2 to 5, under three sharps, between measures in which G is sharp.
SIX_MEASURES = "{3#} E5 G#5 F#5 E5 F#5 G5 A5 F#5 G5 F#5 E5 G5 F#5 E5 G5 E5 A5 G5 F#5 E5"


def test_the_first_measure_that_changes_is_told_with_how_long_it_lasts():
    found = watched("finger-pattern", f"{SIX_MEASURES} F#5 G#5! E5 E5")
    assert [finding.text for finding in found] == [
        "G natural from here to measure 5: the second finger moves from high to low.",
        "From here G♯ again: the second finger moves from low to high.",
    ]
    assert [finding.note_ids for finding in found] == [("n6", "n9", "n12", "n15", "n18"), ("n22",)]
    assert [finding.certainty for finding in found] == [1.0, 1.0]


def test_a_sentence_tells_whether_it_names_its_measures():
    # "Here" and "this" are read after the place; a number of another measure does not tell where it begins.
    here = watched("finger-pattern", f"{SIX_MEASURES} F#5 G#5! E5 E5")
    assert [finding.says_where for finding in here] == [False, False]
    (there,) = watched("finger-pattern", "{3#} E5/1 F#5 G#5 F#5 G5 F#5 E5 F#5 G5 F#5 E5 F#5")
    assert (there.text.split(":")[0], there.says_where) == ("G natural in measures 2 and 3", True)


def test_where_nothing_is_printed_the_first_measure_that_changes_back_belongs_to_the_bar_line():
    music = f"{SIX_MEASURES} F#5 G#5 E5 E5"
    assert _said(music) == ["G natural from here to measure 5: the second finger moves from high to low."]
    assert [finding.text for finding in watched("bar-line", music)] == [
        "The G is sharp again in measure 6: the natural of measure 5 no longer holds."
    ]


def test_measures_between_that_do_not_change_are_named():
    music = "{3#} E5 G#5 F#5 E5 F#5 G5 A5 F#5 G5 F#5 E5 G5 F#5 E5 G5 E5 A5 G5 F#5 E5 A5 G#5! F#5 E5 G5 F#5 G5 E5"
    assert _said(music) == [
        "G natural from here to measure 7, but sharp in measure 6: the second finger moves from high to low."
    ]


def _measures(*words):
    """A line of four-note measures under two sharps: C natural, C sharp, C sharp with a reminder, or no C at all."""
    measures = {"n": "B4 C5 B4 C5", "1": "B4 C5 B4 B4", "#": "B4 C#5 B4 D5", "!": "B4 C#5! B4 D5", "-": "B4 E4 B4 E4"}
    return "{2#} " + " ".join(measures[word] for word in " ".join(words).split())


def test_three_measures_far_apart_are_no_passing_thing():
    assert _said(_measures("# 1 1 1 !")) == [
        "C natural in measures 2–4: the second finger moves from high to low, and back in measure 5."
    ]
    assert _said(_measures("# 1 1 - - 1 !")) == [
        "C natural in measures 2, 3 and 6: the second finger moves from high to low.",
        "From here C♯ again: the second finger moves from low to high.",
    ]


def test_one_note_is_felt_within_two_measures():
    assert _said(_measures("# - 1 - - - -")) == [
        "C natural for this note only: the second finger moves from high to low."
    ]
    assert _said(_measures("# - - 1 - - -")) == []


def test_after_eight_measures_the_finger_has_forgotten_where_it_lay():
    assert _said(_measures("#", "- " * 7, "n n n n"))[-1].endswith("the second finger moves from high to low.")
    assert _said(_measures("#", "- " * 8, "n n n n"))[-1].endswith(": the second finger is low.")
    assert _said(_measures("-", "n n n n")) == ["C natural from here to measure 5: the second finger is low."]


def test_the_way_back_is_a_surprise_for_four_measures():
    assert "From here" in _said(_measures("# n n n n - - - !"))[-1]
    assert "From here" not in _said(_measures("# n n n n - - - - !"))[-1]


def test_many_notes_in_passing_are_told_whatever_follows():
    told = "C natural in measures 2 and 3: the second finger moves from high to low, and back in measure 4."
    assert _said(_measures("# n n #")) == [told]
    assert _said(_measures("# 1 #")) == []


def test_a_finger_that_is_high_either_way_leaves_the_note_alone():
    assert _said("{3#} F#5 G#5 F#5 G#5 " + "F#5 G##5 F#5 F#5 " * 4) == ["G double sharp from here to measure 5."]


def test_grace_notes_alone_are_silent():
    assert _said("{2#} B4 C#5 B4 *C5 B4/1/2 C#5 B4 D5") == []
    assert len(_said("{2#} B4 C#5/1/2 B4 C5 B4 C#5 B4 D5")) == 1


def test_a_letter_by_turns_has_no_way_back():
    assert _said(_measures("# n # n # n # n !"))[1:] == [
        "C is natural and sharp by turns in measures 2–8: the second finger moves between high and low."
    ]


def test_letters_whose_ends_lie_far_apart_are_told_apart():
    both, one = "Bb4 A4 Eb5 D5 ", "Bb4 A4 D5 D5 "
    assert _said_without_plan(f"A4 B4 E5 D5 {both * 4} {one * 12}") == [
        "B♭ from here to measure 17.",
        "E♭ from here to measure 5.",
    ]
    assert _said_without_plan(f"A4 B4 E5 D5 {both * 4} {one * 3}") == ["B and E flat in measures 2–8."]


def test_a_finger_in_its_usual_place_is_not_spoken_of_alone():
    """B natural is the first finger in its usual place (charts.json)."""
    assert _said("{2b} D5 B4 C5 B4 A4 B4 D5 B4 Bb4 A4 C5 D5") == ["B natural in measures 1 and 2."]


def test_another_finger_for_the_letter_leaves_the_note_alone():
    """C sharp and C are played with third and second finger; nothing slides."""
    music = "{2#} A4 C#5 C5 B4 A4 B4 A4 B4"
    assert played(plan(music)) == "A0 A3 A2 A1 A0 A1 A0 A1"
    assert _said(music) == []


def test_a_letter_that_never_comes_back_has_no_way_back():
    assert _said(f"{SIX_MEASURES} F#5 E5 F#5 E5 A5 F#5 E5 A5") == [
        "G natural from here to measure 5: the second finger moves from high to low."
    ]


def test_the_second_finger_has_two_places():
    """Low: a half step from the first finger; high: a whole step (violin first position in charts.json)."""
    assert _said("{2#} A4 B4 C#5 B4 B4 C5 B4 A4 A4 B4 C#5! D5") == [
        "C natural for this note only: the second finger moves from high to low, and back in measure 3."
    ]
    assert _said("{2#} A4 B4 C#5 B4 C5 B4 C#5 D5") == [
        "C natural for this note only: the second finger moves from high to low, then back."
    ]


def test_one_note_whose_way_back_has_no_sign_belongs_to_the_bar_line():
    music = "{2#} A4 B4 C#5 B4 B4 C5 B4 A4 A4 B4 C#5 D5"
    assert _said(music) == []
    assert courtesies(line(music)) == ("n11",)


def test_one_note_that_moves_no_finger_is_silent():
    """No C comes near: the sign before the note says all there is to say."""
    assert _said("{2#} A4 B4 D5 B4 B4 C5 B4 A4 A4 B4 D5 D5") == []


@pytest.mark.parametrize("key", ["{1#} G A B C D E F#", "{2b} Bb C D Eb F G A", "C D E F G A B"])
def test_a_scale_is_silent(key):
    *sign, names = key.partition("} ") if "{" in key else ("", "", key)
    first, octave = names.split(), 4
    notes = []
    for name in [*first, first[0]]:
        octave += name[0] == "C" and bool(notes)
        notes.append(f"{name}{octave}")
    assert _said("".join(sign) + " ".join(notes)) == []


def test_a_letter_that_comes_and_goes_is_told_once():
    music = "{2#} A4 C#5 B4 C5 B4 C#5 B4 C5 B4 C#5 B4 C5 A4 C#5 B4 C5"
    assert _said(music) == [
        "C is natural and sharp by turns in measures 1–4: the second finger moves between high and low."
    ]


FLATS = "A4 B4 E5 D5 Bb4 D5 Eb5 D5 Bb4 A4 Eb5 D5 Bb4 A4 Bb4 A4 Eb5 D5 Bb4 A4"


def test_letters_that_change_together_are_told_together():
    assert _said_without_plan(FLATS) == ["B and E flat in measures 2–5."]


def test_letters_that_change_together_move_their_fingers():
    """Low fingers: B flat on A and E flat on D in first position, on D and A in third (charts.json)."""
    assert _said(FLATS, rules="third") == [
        "B and E flat in measures 2–5: third finger low on D, second finger low on A."
    ]
    flats = "A4 B4 D5 E4 Bb4 D5 Eb4 D5 Bb4 A4 Eb4 D5 Bb4 A4 Bb4 A4 Eb4 D5 Bb4 A4"
    assert _said(flats) == ["B and E flat in measures 2–5: first finger low on A and D."]


def test_a_letter_that_is_as_usual_in_a_measure_between_is_named():
    flats = "Bb4 A4 Eb5 D5"
    music = f"A4 B4 E5 D5 {flats} {flats} Bb4 A4 E5! D5 {flats} {flats} {flats}"
    assert _said_without_plan(music) == ["B and E flat in measures 2–7, but E natural in measure 4."]


def test_accidentals_in_passing_are_told_together():
    music = "D5 D#5 E5 A5 G5 G#5 A5 A5 F5 F#5 G5! A5 D5! D5 A5 A5"
    assert _said_without_plan(music) == ["D, G and F sharp come and go in measures 1–3."]
    assert _said_without_plan("A5 Eb5 C5 A5 Gb5 F5 Db5 C5 A5 A5 A5 A5") == ["E, G and D flat in measures 1–2."]


def test_a_new_key_signature_is_told_once():
    sharps = "{2#} D5 E5 F#5 G5 C#5 D5 E5 D5"
    naturals = "{0} D5 E5 F5 G5 C5 D5 E5 D5 F5 E5 C5 D5"
    found = watched("finger-pattern", f"{sharps} {naturals}", "two-homes")
    assert [(finding.text, finding.note_ids) for finding in found] == [("New key with F and C natural.", ("n11",))]


def test_a_new_key_signature_without_its_letters_is_silent():
    assert _said("{2#} D5 E5 D5 E5 {1#} D5 E5 D5 E5") == []


def test_a_finger_out_of_its_usual_place_comes_back():
    """Third finger C sharp on the G string, fourth D natural: violin first position in charts.json."""
    assert _said("C4 D4 C4 B3 C#4 B3 C#4 D4 C4! D4 A3 G3") == [
        "C♯ in this measure: the third finger moves from its usual place to high, and back in measure 3."
    ]


def test_another_string_for_the_letter_leaves_the_note_alone():
    """E flat is stopped on the A string, E is the open string (violin first position in charts.json)."""
    part = line("E5 D5 C5 D5 " + "Eb5 D5 Eb5 C5 " * 4)
    told = {}
    for finger in (0, 4):
        fingered = plan(part, "first", locks={"n1": Lock(finger=finger)})
        (told[finger],) = (one.text for one in watch_finger_patterns(Study(Score("", (part,)), part, fingered)))
    assert told == {
        0: "E♭ from here to measure 5.",
        4: "E♭ from here to measure 5: the fourth finger moves from its usual place to low.",
    }


def test_viola_fingers_lie_as_the_violins_a_string_lower():
    """Viola first position in charts.json: F natural low second finger on the D string, F sharp high."""
    assert _said("{2#} D4 E4 F#4 E4 E4 F4 E4 D4 D4 E4 F#4! G4", VIOLA) == [
        "F natural for this note only: the second finger moves from high to low, and back in measure 3."
    ]


def test_on_the_cello_the_letter_goes_to_the_next_finger():
    """Closed hand in first position, D string: E F F sharp G are 1 2 3 4 (thecellocompanion.info)."""
    assert _said("{2#} D3 E3 F#3 E3 E3 F3 E3 D3 D3 E3 F#3! G3", CELLO) == [
        "F natural for this note only: 2 instead of 3, and back in measure 3."
    ]


def test_the_cellos_first_finger_extends_backwards():
    """D string: E flat with the first finger drawn back in first position (audreywilliamsmusic.com)."""
    flats = "D3 Eb3 D3 Eb3 " * 4
    assert _said(f"D3 E3 F3 E3 {flats} D3 E3! F3 D3", CELLO) == [
        "E♭ from here to measure 5: the first finger extends.",
        "From here E natural again: the first finger no longer extends.",
    ]


def test_another_place_of_the_hand_leaves_the_note_alone():
    part = line("{2#} E3 F#3 E3 F#3 " + "E3 F3 E3 F3 " * 4)
    locks = {f"n{number}": Lock(finger=1) for number in (6, 8)}
    fingered = plan(part, "two-homes", CELLO, locks)
    (told,) = watch_finger_patterns(Study(Score("", (part,)), part, fingered))
    assert told.text == "F natural from here to measure 5."


def test_on_the_cello_nothing_is_low_by_itself():
    assert _said("{2#} D3 E3 D3 E3 " + "E3 F3 E3 F3 " * 4, CELLO) == ["F natural from here to measure 5."]


def test_on_the_bass_the_letter_goes_to_the_next_finger():
    """First position, G string: A B flat B are 1 2 4 (fowlerbass.com)."""
    assert _said("G2 A2 B2 A2 A2 Bb2 A2 G2 G2 A2 B2! A2", BASS) == [
        "B♭ for this note only: 2 instead of 4, and back in measure 3."
    ]


@pytest.mark.parametrize("fifths", range(-3, 4))
@pytest.mark.parametrize(("instrument", "chart"), [(VIOLIN, "violin first position"), (VIOLA, "viola first position")])
def test_fingers_that_touch_stand_a_half_step_apart_in_the_chart(instrument, chart, fifths):
    """Every note of the key in first position, from the chart; sources in charts.json."""
    rows = [row | {"pitch": Pitch.parse(row["note"])} for row in CHARTS[chart]["rows"] if row["finger"]]
    in_key = [row for row in rows if row["pitch"].alter == altered_by(fifths, row["pitch"].step)]
    stops = {(row["string"], row["finger"]): row["pitch"] for row in in_key}
    touching = {
        (f"{finger} and {finger + 1}", instrument.string(string).letter)
        for (string, finger), pitch in stops.items()
        if (string, finger + 1) in stops and stops[string, finger + 1].midi - pitch.midi == 1
    }
    sign = f"{{{abs(fifths)}{'#' if fifths > 0 else 'b'}}} "
    music = " ".join(f"{pitch.name} " * 4 for _, pitch in sorted(stops.items()))
    rules = replace(preset("first"), open_or_fourth="fourth", never_open=(1, 2, 3, 4), extensions=False)
    (finding,) = watched("finger-pattern", sign + music, rules, instrument)
    pairs = re.findall(r"(\d and \d)(?: touch)? on ([A-G, and]+?)(?:, (?=\d)|\.$)", finding.text)
    assert {(pair, letter) for pair, letters in pairs for letter in re.findall("[A-G]", letters)} == touching


def test_the_cellos_hand_has_one_middle_finger_a_string():
    """D major on D and A is 1 3 4, F natural and C natural are second finger (first-position chart in charts.json)."""
    major = "E3 F#3 G3 F#3 E3 F#3 G3 F#3 B3 C#4 D4 C#4 B3 C#4 D4 C#4"
    assert _said(f"{{2#}} {major}", CELLO) == ["In 1st position the hand is 1 3 4 on D and A."]
    assert _said(major.replace("#", ""), CELLO) == ["In 1st position the hand is 1 2 4 on D and A."]


def test_the_bass_has_one_pattern():
    assert _said("{2#} " + "A2 B2 A2 B2 E2 F#2 E2 F#2 " * 4, BASS) == []


def test_a_hand_that_stays_as_it_is_in_a_new_key_is_not_told_again():
    music = "E3 F#3 G3 F#3 E3 F#3 G3 F#3 "
    found = _said(f"{{2#}} {music} B3 C#4 B3 C#4 {{1#}} {music} B3 C4 B3 C4", CELLO)
    assert found[0] == "In 1st position the hand is 1 3 4 on D."
    assert found[1].startswith("New key with C natural")


def test_few_notes_set_no_pattern():
    assert _said("{2#} B4 C#5 D5 B4 C#5 D5 C#5 D5") == ["In 1st position 2 and 3 touch on A."]
    assert _said("{2#} B4 C#5 D5 B4 B4 D5 C#5 D5") == []
    assert _said("{2#} B4 C#5 D5 B4 C#5 D5 A4 C#5") == []


def test_a_hand_that_is_elsewhere_half_of_the_time_has_no_pattern():
    low, high = "B4 C#5 D5 B4 " * 3, "A5 B5 C#6 D6 " * 6
    assert _said("{2#} " + low) == ["In 1st position 2 and 3 touch on A."]
    assert not any("1st position" in text for text in _said("{2#} " + low + high, rules="two-homes"))


def test_without_a_fingering_the_letters_alone_are_told():
    assert _said_without_plan(f"{SIX_MEASURES} F#5 G#5! E5 E5") == [
        "G natural from here to measure 5.",
        "From here G♯ again.",
    ]


def test_a_tied_note_is_one_note():
    (finding,) = watched("finger-pattern", "{2#} A4/1/2 C#5 B4 C5~ C5 B4 C#5 D5")
    assert finding.note_ids == ("n4",)


def test_measures_in_a_row_are_named_by_the_first_and_the_last():
    measures = ["{2#} A4 C#5 B4 C#5", *["B4 C5 B4 C5"] * 3, "B4 C#5! D5 B4"]
    assert _said(" ".join(measures)) == [
        "C natural in measures 2–4: the second finger moves from high to low, and back in measure 5."
    ]


def test_printed_measure_numbers_are_used():
    part = line(f"{SIX_MEASURES} F#5 G#5! E5 E5")
    measures = tuple(replace(measure, label=str(measure.index + 25)) for measure in part.measures)
    assert _said(replace(part, measures=measures))[0].startswith("G natural from here to measure 29:")


ODD = {
    "nothing": line(""),
    "rests": line("r/4 r"),
    "one note": line("C#5"),
    "grace notes": line("{2#} *C5 C#5 *C5 D5 *C5 C#5 D5"),
    "chords": line("[C#5 E4]/2 [C5 E4] [C#5 E4] [C5 Eb4]"),
    "two voices": line("C#5/2 C5 C#5 C5", "A4/4 Ab4"),
    "out of range": line("C2 C#2 C2 C#2 C9 C#9"),
    "harmonics": line("E6/1o Eb5 E5 Eb5 A4/1x Ab4"),
    "repeats": repeated(line("C#5 C5 C#5 C5 D5 C5 D5 C#5"), backs={0: 2}),
}


@pytest.mark.parametrize("part", ODD.values(), ids=ODD)
@pytest.mark.parametrize("instrument", [VIOLIN, CELLO, BASS, None])
def test_odd_parts_are_read(part, instrument):
    fingered = study(part, "two-homes", instrument or VIOLIN)
    read = fingered if instrument else replace(fingered, plan=None)
    for finding in (*watch_finger_patterns(read), *watch_bar_lines(read)):
        assert all(note_id in part for note_id in finding.note_ids)
        assert finding.text.endswith(".")


def test_quarter_tones_are_left_out():
    part = line("A4 B4 C#5 B4 C5 B4 C#5 B4")
    halved = [replace(note, pitch=replace(note.pitch, alter=note.pitch.alter / Fraction(2))) for note in part.notes]
    assert _said(replace(part, notes=tuple(halved))) == []


@pytest.mark.parametrize("seed", range(20))
def test_no_note_is_told_twice_on_random_lines(seed):
    chance = random.Random(seed)
    names = [f"{step}{sign}" for step in "ABCDEFG" for sign in ("", "", "#", "b")]
    words = [f"{chance.choice(names)}{chance.choice((4, 5))}{chance.choice(('', '', '!'))}" for _ in range(120)]
    words.insert(60, "{3#}")
    read = study(" ".join(words))
    patterns, bar_lines = list(watch_finger_patterns(read)), list(watch_bar_lines(read))
    keys = [finding.key for finding in (*patterns, *bar_lines)]
    assert len(set(keys)) == len(keys)
    written = [note.id for note in read.part]
    for finding in (*patterns, *bar_lines):
        assert list(finding.note_ids) == [note_id for note_id in written if note_id in finding.note_ids]
    reminded = {note_id for finding in bar_lines for note_id in finding.note_ids}
    assert not [one for one in patterns if not one.text.startswith(("In ", "New key")) and reminded & set(one.note_ids)]
