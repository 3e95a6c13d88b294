"""Accidentals that have ended.

That an accidental holds to the bar line, on its own line or space, and over a tie for the tied note alone: Gardner
Read, "Music Notation", and Elaine Gould, "Behind Bars" (from memory).
"""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

import pytest

from analysis.music import Pitch, altered_by
from analysis.watch.bar_lines import courtesies
from tests.analysis.lines import line
from tests.analysis.watch.studies import watched


def _said(music):
    return [finding.text for finding in watched("bar-line", music)]


def _shown(music):
    return [finding.note_ids for finding in watched("bar-line", music)]


AFTER_THE_BAR_LINE = "A4 B4 C#5 D5 | E5 D5 C5 B4".replace("|", "")
IN_SHARPS = "{1#} D5 E5 F5 E5 D5 E5 F#5 G5"


def test_a_sharp_ends_at_the_bar_line():
    assert _said(AFTER_THE_BAR_LINE) == ["The C is natural again in measure 2: the sharp of measure 1 no longer holds."]
    assert _shown(AFTER_THE_BAR_LINE) == [("n7",)]


def test_a_natural_ends_at_the_bar_line_and_the_key_signature_holds():
    assert _said(IN_SHARPS) == ["The F is sharp again in measure 2: the natural of measure 1 no longer holds."]


def test_a_printed_reminder_says_it():
    assert _said("A4 B4 C#5 D5 E5 D5 C5! B4") == []


def test_what_stays_altered_has_its_sign():
    assert _said("A4 B4 C#5 D5 E5 D5 C#5 B4") == []


def test_a_natural_printed_within_the_measure_ends_it_there():
    assert _said("A4 C#5 C5 D5 E5 D5 C5 B4") == []


@pytest.mark.parametrize("key", ["", "{1#} ", "{3b} "])
def test_a_scale_is_silent(key):
    scale = {"": "C D E F G A B", "{1#} ": "G A B C D E F#", "{3b} ": "Eb F G Ab Bb C D"}[key].split()
    assert _said(key + " ".join(f"{name}4" for name in scale) + " " + " ".join(f"{name}5" for name in scale)) == []


def test_measures_of_rest_do_not_end_it():
    assert _said("A4 B4 C#5 D5 r/12 C5/1 B4 A4 G4") == [
        "The C is natural again in measure 5: the sharp of measure 1 no longer holds."
    ]


def test_it_is_forgotten_after_two_measures_of_other_notes():
    assert _said("A4 B4 C#5 D5 E5 D5 E5 D5 C5 B4 A4 G4") != []
    assert _said("A4 B4 C#5 D5 E5 D5 E5 D5 E5 D5 E5 D5 C5 B4 A4 G4") == []


def test_a_sharp_holds_only_in_its_own_octave():
    low = "C#5 A4 E4 C4"
    assert _said(low) == ["The low C in measure 1 is natural: the sharp holds only in its own octave."]
    assert _shown(low) == [("n4",)]
    assert _said("C#4 E4 A4 C5") == ["The high C in measure 1 is natural: the sharp holds only in its own octave."]
    assert _said("C#5 A4 E4 C#4") == []


def test_another_octave_is_minded_for_one_measure():
    assert len(_said("C#5 A4 E4 D4 E4 D4 C4 D4")) == 1
    assert _said("C#5 A4 E4 D4 E4 D4 E4 D4 E4 D4 C4 D4") == []


def test_a_tied_sharp_ends_with_the_tied_note():
    tied = "A4 B4 C#5/2~ C#5/1 D5 C5 B4"
    assert _said(tied) == ["The C after the tie in measure 2 is natural: the sharp ends with the tied note."]
    assert _shown(tied) == [("n6",)]
    assert _said("A4 B4 C#5/2~ C#5/1 D5 C#5 B4") == []


def test_a_tied_sharp_goes_into_the_measure_it_is_tied_to():
    assert _said("A4/3 C#5/1~ C#5/4 C5/1 B4 A4 G4") == [
        "The C is natural again in measure 3: the sharp of measure 2 no longer holds."
    ]


def test_letters_of_one_measure_are_told_together():
    assert _said("C#5 D5 G#4 A4 C5 B4 A4 G4") == [
        "C and G natural again in measure 2: the accidentals of measure 1 no longer hold."
    ]
    assert _said("{1#} F5 D5 G#4 A4 F#5 B4 A4 G4") == [
        "F♯ and G natural again in measure 2: the accidentals of measure 1 no longer hold."
    ]


def test_the_measures_of_the_accidentals_are_named_in_their_order():
    assert _said("F#5 A4 A4 A4 A4 D#5 A4 A4 D5 A4 F5 A4") == [
        "D and F natural again in measure 3: the accidentals of measures 1 and 2 no longer hold."
    ]


def test_a_natural_just_printed_in_another_octave_says_it():
    assert _said("C#5 C#4 A4 B4 C4! A4 C5 B4") == []
    assert len(_said("C#5 C#4 A4 B4 C4 A4 A4 B4")) == 1


def test_a_letter_that_misleads_again_and_again_is_told_once():
    measures = ["B4 C#5 D5 C#5", "B4 C5 D5 C5"] * 3
    assert _said(" ".join(measures)) == [
        "The C is natural again in measures 2, 4 and 6: no sharp holds beyond its bar line."
    ]
    assert courtesies(line(" ".join(measures))) == ("n6", "n14", "n22")


def test_the_same_letter_much_later_is_told_anew():
    other = "A4 B4 A4 B4 " * 6
    assert len(_said(f"{AFTER_THE_BAR_LINE} {other} {AFTER_THE_BAR_LINE}")) == 2


def test_a_new_key_signature_is_read_anew():
    assert _said("{1#} D5 E5 F5 E5 {2#} D5 E5 F#5 G5") == []


def test_voices_of_one_staff_share_their_signs():
    assert courtesies(line("C#5/2 D5 E5 D5", "A4/4 C5")) == ("v2n2",)
    second = line("C#5/2 D5 E5 D5", "A4/4 C5")
    apart = replace(second, notes=tuple(replace(note, staff=int(note.voice)) for note in second.notes))
    assert courtesies(apart) == ()


def test_a_chord_counts_note_by_note():
    assert courtesies(line("[C#5 E4]/2 D5 [C5 E4] D5")) == ("n4",)


def test_quarter_tones_are_left_out():
    quarter = line("A4 C#5 B4 A4 C5 B4 A4 B4")
    notes = [replace(note, pitch=replace(note.pitch, alter=note.pitch.alter / Fraction(2))) for note in quarter.notes]
    assert courtesies(replace(quarter, notes=tuple(notes))) == ()


@pytest.mark.parametrize("music", ["", "r/4", "C#5", "*C#5 D5 C5 D5 C5", "A#4/1/2 A4 A#4 A4 A4"])
def test_short_and_odd_lines_are_read(music):
    part = line(music)
    assert all(note_id in part for note_id in courtesies(part))


@pytest.mark.parametrize("seed", range(40))
def test_music21_reminds_of_the_same_notes_across_a_bar_line(seed):
    """music21 prints accidentals by the same rule, and naturals as reminders; random lines within one octave."""
    from music21 import key, meter, note, stream

    chance = random.Random(seed)
    fifths = chance.choice((-3, -1, 0, 2, 4))
    pitches = [_any_pitch(chance, fifths) for _ in range(8)]
    sign = f"{{{abs(fifths)}{'#' if fifths > 0 else 'b'}}} " if fifths else ""
    part = line(sign + " ".join(pitch.name for pitch in pitches))
    theirs = stream.Part()
    for number in (0, 1):
        measure = stream.Measure(number=number + 1)
        if number == 0:
            measure.append([key.KeySignature(fifths), meter.TimeSignature("4/4")])
        measure.append([note.Note(pitch.name.replace("b", "-")) for pitch in pitches[4 * number : 4 * number + 4]])
        theirs.append(measure)
    theirs.makeNotation(inPlace=True)
    shown = [one.pitch.accidental is not None and one.pitch.accidental.displayStatus for one in theirs.recurse().notes]
    # It also reminds of signs that still hold within the measure; players are not misled there.
    reminded = tuple(
        ours.id
        for ours, is_shown in zip(part.notes, shown, strict=True)
        if is_shown and not ours.sign and ours.pitch.alter == altered_by(fifths, ours.pitch.step)
    )
    assert courtesies(part) == reminded


def _any_pitch(chance, fifths):
    step = chance.choice("CCDFG")
    usual = altered_by(fifths, step)
    altered = 0 if usual else chance.choice((1, -1))
    return Pitch(step, altered if chance.random() < 0.35 else usual, 4)
