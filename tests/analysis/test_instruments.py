"""The string instruments: their strings, their sizes, and the names parts give them."""

from __future__ import annotations

from itertools import pairwise

import pytest

from analysis.errors import UnknownNameError
from analysis.instruments import BASS, CELLO, INSTRUMENTS, VIOLA, VIOLIN, find_instrument, guess_instrument

NAMES = {
    "violin": [
        "Violin", "Violin I", "Violin I.", "Violin II.", "1st Violin", "2nd Violin", "Violin 1", "Violino I",
        "Violino II.", "Violini", "Violine 2", "Violins 1", "Violons", "Vln.", "Vln. 1", "Vln1", "Vl. I",
        "Geige", "Solo Violin", "VIOLIN 1", "ViolinII", "Violin (divisi)",
    ],
    "viola": ["Viola", "Viola.", "Violas", "Viole", "Vla.", "VlaII", "Va.", "Viola 2", "Bratsche", "Bratschen", "Alto"],
    "cello": ["Cello", "Violoncello", "Violoncello.", "Violoncelli", "Vc.", "Vcl.", "Cellos", "Celli", "Violoncelle"],
    "bass": ["Double Bass", "Contrabass", "Contrabasso", "Kontrabass", "Bass", "Basses", "Db.", "Violone"],
}  # fmt: skip


@pytest.mark.parametrize(("key", "name"), [(key, name) for key, names in NAMES.items() for name in names])
def test_a_loosely_written_part_name_is_understood(key, name):
    guessed = guess_instrument(name)
    assert guessed is not None
    assert guessed.key == key


@pytest.mark.parametrize(
    "name", ["", "Flute", "Piano", "Oboe 2", "Soprano", "Bass Clarinet", "Bass Drum", "Viola da gamba", "Part 1", "123",
             "Bass Trombone", "Guitar", "Harp", "Horn in F", "Timpani"]
)  # fmt: skip
def test_a_name_of_no_string_part_is_left_alone(name):
    assert guess_instrument(name) is None


@pytest.mark.parametrize("instrument", INSTRUMENTS, ids=lambda instrument: instrument.key)
def test_the_strings_are_tuned_as_music21_tunes_them(instrument):
    """Source: the string pitches of music21's instrument classes; bass E1 A1 D2 G2 as HyperPhysics gives it."""
    from music21 import instrument as theirs

    classes = {"violin": theirs.Violin, "viola": theirs.Viola, "cello": theirs.Violoncello, "bass": theirs.Contrabass}
    tuned = sorted((pitch.ps for pitch in classes[instrument.key]().stringPitches), reverse=True)
    assert [string.pitch.midi for string in instrument.strings] == tuned


@pytest.mark.parametrize(("instrument", "interval"), [(VIOLIN, 7), (VIOLA, 7), (CELLO, 7), (BASS, 5)])
def test_neighbouring_strings_stand_a_fifth_apart_and_on_the_bass_a_fourth(instrument, interval):
    midi = [string.pitch.midi for string in instrument.strings]
    assert [high - low for high, low in pairwise(midi)] == [interval] * 3


def test_strings_count_from_the_highest():
    """Source: MusicXML 4.0, type string-number: 1 is the highest pitched string."""
    assert [(string.number, string.roman, string.letter) for string in VIOLIN.strings] == [
        (1, "I", "E"),
        (2, "II", "A"),
        (3, "III", "D"),
        (4, "IV", "G"),
    ]
    assert VIOLA.string(4).pitch.name == "C3"


# Distances from the nut for 1, 2, 3 ... 10 and 12 semitones: L (1 - 2 ** (-n / 12)), equal temperament. String lengths:
# makingtheviolin.com (violin), a maker's table for viola (stop plus neck), 5stringcello.com (cello), jrank (bass).
DISTANCES = {
    "violin": [18.4, 35.8, 52.2, 67.7, 82.3, 96.1, 109.1, 121.4, 133.0, 143.9, 164.0],
    "viola": [21.0, 40.9, 59.7, 77.4, 94.1, 109.8, 124.7, 138.8, 152.0, 164.5, 187.5],
    "cello": [38.7, 75.3, 109.8, 142.3, 173.1, 202.1, 229.5, 255.3, 279.7, 302.8, 345.0],
    "bass": [59.9, 116.4, 169.8, 220.1, 267.7, 312.5, 354.9, 394.8, 432.6, 468.2, 533.5],
}


@pytest.mark.parametrize("instrument", INSTRUMENTS, ids=lambda instrument: instrument.key)
def test_a_stop_lies_where_equal_temperament_puts_it(instrument):
    found = [instrument.distance_mm(semitones) for semitones in (1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 12)]
    assert found == pytest.approx(DISTANCES[instrument.key], abs=0.06)
    assert instrument.distance_mm(0) == 0


def test_only_the_violins_open_e_is_shrill():
    assert [(instrument.key, set(instrument.shrill_open)) for instrument in INSTRUMENTS if instrument.shrill_open] == [
        ("violin", {1})
    ]


def test_the_double_bass_sounds_an_octave_below_its_page():
    assert [instrument.octave for instrument in INSTRUMENTS] == [0, 0, 0, -12]


@pytest.mark.parametrize(
    ("name", "key"), [("violin", "violin"), ("Double bass", "bass"), ("BASS", "bass"), ("Vla.", "viola")]
)
def test_an_instrument_is_found_by_key_or_name(name, key):
    assert find_instrument(name).key == key


def test_an_unknown_instrument_is_named_beside_those_there_are():
    with pytest.raises(UnknownNameError, match=r"no instrument 'kazoo'; there is violin, viola, cello, bass") as caught:
        find_instrument("kazoo")
    assert caught.value.known == ["violin", "viola", "cello", "bass"]
