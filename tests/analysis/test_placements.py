"""Where each note lies on violin and viola, against charts kept as data with their sources (charts.json)."""

from __future__ import annotations

import json
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from analysis.fingering.placements import (
    HIGHEST_LOWER_POSITION,
    HIGHEST_OPEN_POSITION,
    HIGHEST_POSITION,
    Lie,
    Placement,
    hand_places,
    placements,
    position_name,
)
from analysis.instruments import VIOLA, VIOLIN
from analysis.music import LETTERS, Pitch

CHARTS = json.loads((Path(__file__).parent / "charts.json").read_text(encoding="utf-8"))
INSTRUMENTS = {"violin": VIOLIN, "viola": VIOLA}
EVERY_PITCH = [Pitch(step, alter, octave) for octave in range(2, 8) for step in LETTERS for alter in (-2, -1, 0, 1, 2)]


def hand_place(position):
    """Where a violinist's first finger lies, in semitones above the open string."""
    return hand_places(VIOLIN)[position].place


def _ways(instrument, name, **wanted):
    """The placements of a named pitch whose fields are as wanted."""
    return [
        way
        for way in placements(instrument, Pitch.parse(name))
        if all(getattr(way, field) == value for field, value in wanted.items())
    ]


FIRST_POSITION = [
    (key, row["note"], row["string"], row["finger"], row["lie"])
    for key in INSTRUMENTS
    for row in CHARTS[f"{key} first position"]["rows"]
]


@pytest.mark.parametrize(("key", "note", "string", "finger", "lie"), FIRST_POSITION)
def test_first_position_is_fingered_as_the_chart_says(key, note, string, finger, lie):
    (way,) = _ways(INSTRUMENTS[key], note, string=string, position=1, respelled=False)
    assert way.finger == finger
    # A fourth finger that reaches a semitone above its place is high and leaves the frame.
    assert way.lie.word == lie


@pytest.mark.parametrize("key", INSTRUMENTS)
def test_a_spelling_that_is_not_in_the_first_position_chart_is_one_of_the_stretches(key):
    """Common practice, no source: a fourth finger a semitone beyond its letter, and B sharp over an open G."""
    charted = {(note, string) for k, note, string, _, _ in FIRST_POSITION if k == key}
    beyond = set()
    for pitch in EVERY_PITCH:
        if abs(pitch.alter) > 1:
            continue
        for way in placements(INSTRUMENTS[key], pitch):
            if way.position == 1 and way.finger and not way.respelled and (pitch.name, way.string) not in charted:
                beyond.add((way.finger, way.place, way.lie))
    assert beyond == {(4, 8, Lie.EXTENDED), (2, 5, Lie.HIGH)}


POSITIONS = [
    (key, int(position), int(string), finger, name)
    for key in INSTRUMENTS
    for position, strings in CHARTS[f"{key} positions"]["letters"].items()
    for string, names in strings.items()
    for finger, name in enumerate(names.split(), start=1)
]


@pytest.mark.parametrize(("key", "position", "string", "finger", "letter"), POSITIONS)
def test_each_finger_plays_the_letter_of_its_position(key, position, string, finger, letter):
    wanted = Pitch.parse(letter).letter
    played = {
        pitch.letter
        for pitch in EVERY_PITCH
        if abs(pitch.alter) <= 1
        for way in placements(INSTRUMENTS[key], pitch)
        if (way.string, way.position, way.finger, way.respelled) == (string, position, finger, False)
        and way.lie is not Lie.EXTENDED
    }
    # In half position the first finger also plays the note a semitone up that is spelled as the next letter.
    assert played == (
        {wanted, wanted + 1} if (position, finger) == (0, 1) else {wanted, *_first_low(position, finger, wanted)}
    )


def _first_low(position, finger, wanted):
    """First position, first finger low: the open string's letter raised is played there too."""
    return {wanted - 1} if (position, finger) == (1, 1) else set()


THIRD_POSITION = [
    (key, int(string), finger, note)
    for key in INSTRUMENTS
    for string, fingers in CHARTS[f"{key} third position"]["notes"].items()
    for finger, notes in enumerate(fingers, start=1)
    for note in notes.split()
]


@pytest.mark.parametrize(("key", "string", "finger", "note"), THIRD_POSITION)
def test_third_position_is_fingered_as_the_chart_says(key, string, finger, note):
    ways = _ways(INSTRUMENTS[key], note, string=string, position=3, respelled=False)
    assert finger in [way.finger for way in ways]
    assert all(way.lie is Lie.EXTENDED for way in ways if way.finger != finger)


@pytest.mark.parametrize("key", INSTRUMENTS)
@pytest.mark.parametrize("position", range(HIGHEST_POSITION + 1))
def test_every_placement_sounds_its_pitch(key, position):
    instrument = INSTRUMENTS[key]
    ways = [(pitch, way) for pitch in EVERY_PITCH for way in placements(instrument, pitch) if way.position == position]
    assert ways
    for pitch, way in ways:
        assert instrument.string(way.string).pitch.midi + way.place == pitch.midi
        assert (way.place == 0) == (way.finger == 0) == (way.lie is Lie.OPEN)
        assert way.hand == hand_place(position)


@pytest.mark.parametrize("key", INSTRUMENTS)
@pytest.mark.parametrize("position", [5, 6, 7, 8, 9, 10])
def test_a_position_has_the_fingers_of_four_lower_on_the_next_higher_string(key, position):
    """Source: Grove (1900), Positions: the first finger of the fifth stands where the first has it one string up."""
    instrument = INSTRUMENTS[key]
    for string in (2, 3, 4):
        for pitch in EVERY_PITCH:
            here = {w.finger for w in placements(instrument, pitch) if (w.string, w.position) == (string, position)}
            above = {
                w.finger for w in placements(instrument, pitch) if (w.string, w.position) == (string - 1, position - 4)
            }
            if pitch.alter == 0 and here and above - {0}:
                assert here == above, pitch.name


@pytest.mark.parametrize("key", INSTRUMENTS)
def test_the_fourth_finger_in_first_position_sounds_the_next_open_string(key):
    """Common practice, no source."""
    instrument = INSTRUMENTS[key]
    for string in instrument.strings[:-1]:
        ways = placements(instrument, string.pitch)
        assert any(way.string == string.number and way.finger == 0 for way in ways)
        (fourth,) = [way for way in ways if (way.string, way.position) == (string.number + 1, 1)]
        assert (fourth.finger, fourth.place, fourth.lie) == (4, 7, Lie.NORMAL)


@pytest.mark.parametrize("key", INSTRUMENTS)
def test_the_first_finger_in_third_position_stands_where_the_third_stood_in_first(key):
    """Source: Grove (1900), Positions."""
    instrument = INSTRUMENTS[key]
    for pitch in EVERY_PITCH:
        third = {w.string for w in placements(instrument, pitch) if (w.position, w.finger, w.place) == (1, 3, 5)}
        first = {w.string for w in placements(instrument, pitch) if (w.position, w.finger, w.place) == (3, 1, 5)}
        assert third == first


def test_second_finger_in_first_position_touches_the_first_or_lies_a_whole_step_from_it():
    """Common practice, no source: low or high second finger, and nothing between them."""
    places = {}
    for string in VIOLIN.strings:
        for step in LETTERS:
            for alter in (0, 1, -1):
                for octave in (3, 4, 5):
                    for way in placements(VIOLIN, Pitch(step, alter, octave)):
                        if (way.string, way.position, way.finger) == (string.number, 1, 2) and not way.respelled:
                            places.setdefault(way.place, set()).add(way.lie)
    first = hand_place(1)
    assert places[first + 1] == {Lie.LOW}
    assert places[first + 2] == {Lie.HIGH}
    # What lies higher still is a raised letter such as B sharp over the open G.
    assert min(places) == first + 1


@pytest.mark.parametrize(("name", "spelled", "other"), [("D#5", (2, 3), (2, 4)), ("Eb5", (2, 4), (2, 3)),
                                                        ("F#4", (3, 2), (3, 3)), ("Gb4", (3, 3), (3, 2))])  # fmt: skip
def test_a_note_can_be_played_as_its_other_spelling(name, spelled, other):
    ways = {(way.string, way.finger): way.respelled for way in _ways(VIOLIN, name, position=1)}
    assert ways[spelled] is False
    assert ways[other] is True


def test_natural_notes_have_no_other_spelling():
    assert not any(way.respelled for pitch in EVERY_PITCH if pitch.alter == 0 for way in placements(VIOLIN, pitch))


@pytest.mark.parametrize(
    ("key", "name", "other", "string", "finger"),
    [
        ("violin", "B3", "Cb4", 4, 3),
        ("violin", "C5", "B#4", 2, 1),
        ("violin", "F4", "E#4", 3, 1),
        ("viola", "E3", "Fb3", 4, 3),
    ],
)
def test_chords_may_ask_natural_notes_for_the_finger_of_their_other_spelling(key, name, other, string, finger):
    """B on the G string is third finger as C flat, C on the A string first finger as B sharp (first-position chart)."""
    pitch = Pitch.parse(name)
    both = placements(INSTRUMENTS[key], pitch, any_spelling=True)
    (way,) = [w for w in both if (w.string, w.finger, w.position) == (string, finger, 1)]
    assert way.respelled
    (as_other,) = _ways(INSTRUMENTS[key], other, string=string, position=1, respelled=False)
    assert replace(way, respelled=False) == as_other
    assert [w for w in both if not w.respelled] == list(placements(INSTRUMENTS[key], pitch))


def test_natural_notes_without_another_spelling_are_left_as_they_are():
    for name in ("D4", "G4", "A4"):
        assert placements(VIOLIN, Pitch.parse(name), any_spelling=True) == placements(VIOLIN, Pitch.parse(name))


@pytest.mark.parametrize(
    ("name", "wanted"), [("C6", (1, 1, 4)), ("F5", (2, 1, 4)), ("Bb4", (3, 1, 4)), ("Eb4", (4, 1, 4))]
)
def test_the_fourth_finger_stretches_a_semitone_beyond_its_letter(name, wanted):
    string, position, finger = wanted
    (way,) = _ways(VIOLIN, name, string=string, position=position, finger=finger)
    assert way.lie is Lie.EXTENDED
    assert way.is_extension


def test_a_high_fourth_finger_is_an_extension_and_a_high_third_is_not():
    (fourth,) = _ways(VIOLIN, "A#4", string=3, position=1, finger=4)
    (third,) = _ways(VIOLIN, "G#4", string=3, position=1, finger=3)
    assert (fourth.lie, fourth.is_extension) == (Lie.HIGH, True)
    assert (third.lie, third.is_extension) == (Lie.HIGH, False)


@pytest.mark.parametrize("name", ["F#3", "Gb3", "C2"])
def test_a_note_below_the_lowest_string_has_no_placement(name):
    assert placements(VIOLIN, Pitch.parse(name)) == ()


def test_a_note_above_the_fingerboard_has_no_placement():
    assert placements(VIOLIN, Pitch.parse("C8")) == ()
    assert placements(VIOLIN, Pitch.parse("E7"))


def test_a_quarter_tone_has_no_placement():
    assert placements(VIOLIN, Pitch("C", Fraction(1, 2), 5)) == ()


def test_the_hand_may_wait_in_any_lower_position_over_an_open_string():
    opens = _ways(VIOLIN, "A4", string=2)
    assert [way.position for way in opens] == list(range(HIGHEST_OPEN_POSITION + 1))
    assert all(way.is_open for way in opens)


@pytest.mark.parametrize("key", INSTRUMENTS)
def test_only_the_highest_string_is_played_beyond_tenth_position(key):
    """Common practice, no source; Grove (1900), Positions: those above the seventh are seldom used."""
    ways = [way for pitch in EVERY_PITCH for way in placements(INSTRUMENTS[key], pitch)]
    assert max(way.position for way in ways if way.string == 1) == HIGHEST_POSITION == 12
    assert {max(way.position for way in ways if way.string == string) for string in (2, 3, 4)} == {10}
    assert HIGHEST_LOWER_POSITION == 10


def test_placements_come_in_one_order_and_none_twice():
    for pitch in EVERY_PITCH:
        ways = placements(VIOLIN, pitch)
        assert list(ways) == sorted(ways)
        keys = [(way.string, way.position, way.finger) for way in ways]
        assert len(set(keys)) == len(keys)


def test_each_position_lies_above_the_one_before():
    places = [hand_place(position) for position in range(HIGHEST_POSITION + 1)]
    assert places == sorted(set(places))
    assert (places[0], places[1], places[3]) == (1, 2, 5)


def test_positions_have_their_trade_names():
    names = [position_name(position) for position in range(HIGHEST_POSITION + 1)]
    assert names == ["half", "1st", "2nd", "3rd", "4th", "5th", "6th", "7th", "8th", "9th", "10th", "11th", "12th"]


def test_a_placement_that_is_open_needs_no_finger():
    assert Placement(2, 1, 0, 0, Lie.OPEN).is_open
    assert not Placement(2, 1, 1, 2, Lie.NORMAL).is_open
