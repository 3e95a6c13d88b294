"""The string instruments: their strings, their sizes, and the names parts give them."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from analysis.errors import UnknownNameError
from analysis.instruments import (
    BASS,
    BASS5,
    CELLO,
    INSTRUMENTS,
    VIOLA,
    VIOLIN,
    find_instrument,
    guess_instrument,
    guess_instruments,
)

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
             "Bass Trombone", "Guitar", "Harp", "Horn in F", "Timpani", "Alto Saxophone", "Alto Recorder", "Bass Tuba"]
)  # fmt: skip
def test_a_name_of_no_string_part_is_left_alone(name):
    assert guess_instrument(name) is None


# Part names of scores in music21's corpus: a chorale, a cantata with strings, madrigals.
CHOIRS = (
    (("Soprano", "Alto", "Tenor", "Bass"), (None, None, None, None)),
    (("Violin 1", "Violin 2", "Viola", "Soprano", "Alto", "Tenor", "Bass"), ("violin", "violin", "viola", *[None] * 4)),
    (("Canto", "Quinto", "Alto", "Tenor", "Basso"), (None,) * 5),
    (("Soprano 1", "Alto I", "Alto II", "Tenore", "Basso"), (None,) * 5),
    # Made up: strings that accompany one singer, and a French viola.
    (
        ("Soprano", "Violin I", "Violin II", "Viola", "Cello", "Bass"),
        (None, "violin", "violin", "viola", "cello", "bass"),
    ),
    (("Violon", "Alto", "Violoncelle", "Contrebasse"), ("violin", "viola", "cello", "bass")),
    (("Tenor", "Double Bass"), (None, "bass")),
)


@pytest.mark.parametrize(("names", "keys"), CHOIRS, ids=lambda value: "-".join(map(str, value)))
def test_alto_and_bass_are_singers_beside_a_soprano_or_tenor(names, keys):
    assert tuple(guess and guess.key for guess in guess_instruments(names)) == keys


@pytest.mark.parametrize("instrument", [VIOLIN, VIOLA, CELLO, BASS], ids=lambda instrument: instrument.key)
def test_the_strings_are_tuned_as_music21_tunes_them(instrument):
    """Source: the string pitches of music21's instrument classes; bass E1 A1 D2 G2 as HyperPhysics gives it."""
    from music21 import instrument as theirs

    classes = {"violin": theirs.Violin, "viola": theirs.Viola, "cello": theirs.Violoncello, "bass": theirs.Contrabass}
    tuned = sorted((pitch.ps for pitch in classes[instrument.key]().stringPitches), reverse=True)
    assert [string.pitch.midi for string in instrument.strings] == tuned


def test_the_fifth_string_of_the_bass_goes_down_to_c():
    """Source: baroque-music.com, contrabass: the fifth string reaches C1."""
    assert BASS5.strings[:4] == BASS.strings
    assert (BASS5.string(5).pitch.name, BASS5.string(5).roman) == ("C1", "V")


def test_a_bass_part_is_taken_for_the_bass_with_four_strings():
    assert guess_instrument("Contrabass") is BASS
    assert find_instrument("bass5") is BASS5
    assert find_instrument("Double bass, 5 strings") is BASS5


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
    assert found == pytest.approx(DISTANCES[instrument.key.rstrip("5")], abs=0.06)
    assert instrument.distance_mm(0) == 0


def test_only_the_violins_open_e_is_shrill():
    assert [(instrument.key, set(instrument.shrill_open)) for instrument in INSTRUMENTS if instrument.shrill_open] == [
        ("violin", {1})
    ]


def test_the_double_bass_sounds_an_octave_below_its_page():
    assert [instrument.octave for instrument in INSTRUMENTS] == [0, 0, 0, -12, -12]


@pytest.mark.parametrize(
    ("name", "key"), [("violin", "violin"), ("Double bass", "bass"), ("BASS", "bass"), ("Vla.", "viola")]
)
def test_an_instrument_is_found_by_key_or_name(name, key):
    assert find_instrument(name).key == key


def test_an_unknown_instrument_is_named_beside_those_there_are():
    with pytest.raises(
        UnknownNameError, match=r"no instrument 'kazoo'; there is violin, viola, cello, bass, bass5"
    ) as caught:
        find_instrument("kazoo")
    assert caught.value.known == ["violin", "viola", "cello", "bass", "bass5"]


# Distances for 1 to 10 and 12 semitones as above. String lengths: Wikipedia, "Scale length (string instruments)".
SMALL_VIOLINS = {
    "3/4": [17.2, 33.5, 48.8, 63.3, 77.0, 89.9, 102.1, 113.6, 124.5, 134.7, 153.5],
    "1/2": [16.1, 31.3, 45.7, 59.2, 72.0, 84.1, 95.5, 106.2, 116.3, 125.9, 143.5],
    "1/4": [15.0, 29.1, 42.5, 55.1, 67.0, 78.2, 88.8, 98.8, 108.2, 117.2, 133.5],
}


@pytest.mark.parametrize("size", SMALL_VIOLINS)
def test_a_smaller_violin_has_its_stops_closer_together(size):
    small = VIOLIN.in_size(size)
    found = [small.distance_mm(semitones) for semitones in (1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 12)]
    assert found == pytest.approx(SMALL_VIOLINS[size], abs=0.06)
    assert (small.key, small.strings, small.size) == ("violin", VIOLIN.strings, size)


# Sources: as above; viola: a maker's table, stop plus neck of 390, 405-410 and 430 mm bodies; 5stringcello.com.
PUBLISHED = [
    (VIOLIN, "4/4", 328), (VIOLIN, "7/8", 317), (VIOLA, "16 in", 375), (VIOLA, "15 1/2 in", 365), (CELLO, "4/4", 690),
    (CELLO, "7/8", 670), (BASS, "3/4", 1067),
]  # fmt: skip


@pytest.mark.parametrize(("instrument", "size", "length"), PUBLISHED)
def test_a_published_string_length_is_kept(instrument, size, length):
    assert instrument.in_size(size).string_length_mm == length


# Lengths of body or back in mm, the first with a published string length: aitchisoncellos.com for the back of cellos
# down to 3/4; the rest from memory. Violas: inches.
BODIES = [
    (CELLO, {"4/4": 760, "3/4": 690, "1/2": 650, "1/4": 585}),
    (BASS, {"3/4": 1110, "4/4": 1160, "1/2": 1020, "1/4": 940}),
    (VIOLA, {"15 1/2 in": 390, "15 in": 25.4 * 15, "14 in": 25.4 * 14, "13 in": 25.4 * 13, "12 in": 25.4 * 12}),
]


@pytest.mark.parametrize(("instrument", "bodies"), BODIES)
def test_other_string_lengths_go_with_the_length_of_the_body(instrument, bodies):
    (known, body), *others = bodies.items()
    for size, length in others:
        scaled = instrument.sizes[known] * length / body
        assert instrument.sizes[size] == pytest.approx(scaled, abs=0.6)


@pytest.mark.parametrize("instrument", INSTRUMENTS, ids=lambda instrument: instrument.key)
def test_sizes_go_from_large_to_small_and_one_of_them_is_the_usual(instrument):
    lengths = list(instrument.sizes.values())
    assert lengths == sorted(set(lengths), reverse=True)
    assert instrument.in_size(instrument.size) == instrument
    assert replace(instrument, string_length_mm=333.3).size == "333.3 mm"


def test_a_size_that_is_not_built_is_named_beside_those_there_are():
    with pytest.raises(UnknownNameError, match=r"no cello size '5/8'; there is 4/4, 7/8, 3/4, 1/2, 1/4"):
        CELLO.in_size("5/8")
