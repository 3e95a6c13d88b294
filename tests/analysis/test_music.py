"""Pitches, measures and parts as values."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.music import LETTERS, Measure, Part, Pitch, Tempo
from tests.analysis.lines import line

pitches = st.builds(Pitch, st.sampled_from(LETTERS), st.integers(-3, 3), st.integers(-1, 9))


@pytest.mark.parametrize(("name", "midi"), [("C4", 60), ("A4", 69), ("F#5", 78), ("Bb3", 58), ("Cb4", 59), ("B#3", 60)])
def test_a_pitch_name_has_its_midi_number(name, midi):
    """Source: the MIDI 1.0 note numbers with middle C = C4 = 60."""
    assert Pitch.parse(name).midi == midi


@given(pitches)
def test_a_name_reads_back_as_the_same_pitch(pitch):
    assert Pitch.parse(pitch.name) == pitch


@given(pitches)
def test_midi_agrees_with_music21(pitch):
    """Source: music21's own pitch arithmetic."""
    from music21.pitch import Pitch as TheirPitch

    theirs = TheirPitch(step=pitch.step, octave=pitch.octave)
    theirs.accidental = pitch.alter
    assert pitch.midi == theirs.ps


@pytest.mark.parametrize("text", ["", "H4", "C", "C#", "#4", "C4#", "C x4", "4C", "C4.5"])
def test_what_is_no_pitch_name_is_refused_by_name(text):
    with pytest.raises(ValueError, match="is no pitch name") as caught:
        Pitch.parse(text)
    assert repr(text)[1:-1] in str(caught.value)


def test_a_quarter_tone_is_no_whole_midi_number_and_still_has_a_spelling():
    pitch = Pitch("C", Fraction(1, 2), 5)
    assert pitch.midi == Fraction(145, 2)
    assert pitch.spelling == "C+0.5"
    assert (pitch.name, pitch.said, pitch.printed, pitch.words) == (*["C5 +1/4 tone"] * 3, "C +1/4 tone")
    assert Pitch("D", Fraction(-3, 2), 4).name == "D4 -3/4 tone"


def test_letter_steps_ignore_accidentals():
    assert [Pitch.parse(name).letter for name in ("C4", "C#4", "Cb4", "D4", "B3", "C5")] == [28, 28, 28, 29, 27, 35]


def test_a_beat_counts_in_the_lower_number_of_the_time_signature():
    measure = Measure(0, "1", Fraction(12), Fraction(3), (6, 8))
    assert [measure.beat(Fraction(12)), measure.beat(Fraction(27, 2)), measure.beat(Fraction(25, 2))] == [1, 4, 2]


def test_a_pickup_measure_begins_late_in_its_metre():
    pickup = Measure(0, "0", Fraction(0), Fraction(1), (4, 4), offset=Fraction(3))
    assert pickup.beat(Fraction(0)) == 4


def test_a_tempo_holds_from_its_mark_on():
    part = Part("P1", "Violin", (), (), tempi=(Tempo(Fraction(4), 60.0), Tempo(Fraction(8), 120.0)))
    assert [part.tempo_at(Fraction(at), 88.0) for at in (0, 4, 7, 8, 100)] == [88.0, 60.0, 60.0, 120.0, 120.0]


def test_a_part_finds_its_notes_by_id():
    part = line("G4 A4")
    assert part.note("n2").pitch.name == "A4"
    assert "n2" in part
    assert "n3" not in part
    with pytest.raises(KeyError):
        part.note("n3")


def test_a_stretch_of_measures_keeps_the_measures_and_only_its_own_notes():
    part = line("G4/2 A4 B4 C5 D5 E5")
    stretch = part.within(1, 1)
    assert [note.id for note in stretch] == ["n3", "n4"]
    assert stretch.measures == part.measures


def test_a_pickup_before_measure_1_is_called_upbeat():
    """Players call it so, whatever number it has in the file (common practice, no source)."""
    note = line("D4/1").notes[0]
    for label, told in (("0", "upbeat, beat 4"), ("X1", "upbeat, beat 4"), ("1", "measure 1, beat 4")):
        pickup = Measure(0, label, Fraction(0), Fraction(1), offset=Fraction(3))
        part = Part("P1", "Violin", (pickup, Measure(1, "7", Fraction(1), Fraction(4))), (note,))
        assert part.place(note) == told
        assert part.span((0, 0)) == told.partition(",")[0]
        assert part.span((0, 1)) == ("measures 1–7" if label == "1" else "upbeat to measure 7")
        assert part.span((1, 1)) == "measure 7"
    whole = Part("P1", "Violin", (Measure(0, "0", Fraction(0), Fraction(4)),), (note,))
    assert whole.place(note) == "measure 0, beat 1"


def test_a_place_is_told_by_measure_label_and_beat():
    part = line("G4/2 A4 B4/1 C5/1.5 D5/0.5")
    assert [part.place(note) for note in part] == [
        "measure 1, beat 1",
        "measure 1, beat 3",
        "measure 2, beat 1",
        "measure 2, beat 2",
        "measure 2, beat 3½",
    ]
