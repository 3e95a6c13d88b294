"""The hand frames of cello and double bass, against charts kept as data with their sources (charts.json)."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from analysis.fingering.placements import (
    THUMB,
    THUMB_POSITION,
    Lie,
    finger_in,
    finger_text,
    hand_name,
    hand_places,
    hand_words,
    placements,
    position_name,
)
from analysis.instruments import BASS, BASS5, CELLO, VIOLA, VIOLIN
from analysis.music import LETTERS, Pitch

CHARTS = json.loads((Path(__file__).parent / "charts.json").read_text(encoding="utf-8"))
EVERY_PITCH = [Pitch(step, alter, octave) for octave in range(1, 7) for step in LETTERS for alter in (-1, 0, 1)]
LOW = (CELLO, BASS, BASS5)


def _spellings(pitch):
    return [other for other in EVERY_PITCH if other.midi == pitch.midi]


def _ways(instrument, pitch, **wanted):
    return [way for way in placements(instrument, pitch) if all(getattr(way, f) == v for f, v in wanted.items())]


NECK = [
    (name, int(string), finger, note)
    for name, strings in CHARTS["cello neck positions"]["closed"].items()
    for string, notes in strings.items()
    for finger, note in enumerate(notes.split(), start=1)
]


@pytest.mark.parametrize(("name", "string", "finger", "note"), NECK)
def test_the_closed_hand_of_the_cello_plays_the_notes_of_the_chart(name, string, finger, note):
    pitch = Pitch.parse(note)
    hand = CHARTS["cello neck positions"]["semitones of the first finger"][name]
    for spelled in _spellings(pitch):
        (way,) = _ways(CELLO, spelled, string=string, hand=hand, finger=finger, lie=Lie.NORMAL, position=_number(name))
        assert hand_name(way, CELLO) == name
        assert CELLO.string(string).pitch.midi + way.place == pitch.midi


def _number(name):
    return next(place.number for place in hand_places(CELLO) if place.name == name)


def _places(hand, string, lies):
    """For each finger the places it takes from a hand on the cello."""
    found = {}
    for pitch in EVERY_PITCH:
        for way in _ways(CELLO, pitch, hand=hand, string=string):
            if way.lie in lies and way.position <= 4:
                found.setdefault(way.finger, set()).add(way.place)
    return found


@pytest.mark.parametrize("string", [1, 2, 3, 4])
def test_the_extended_hand_of_the_cello_opens_forwards_and_backwards(string):
    forwards = CHARTS["cello first position extended"]["forwards"]
    backwards = CHARTS["cello first position extended"]["backwards"]
    extended = _places(2.0, string, {Lie.EXTENDED})
    assert extended == {1: {backwards[0]}, **{finger: {forwards[finger - 1]} for finger in (2, 3, 4)}}
    closed = _places(2.0, string, {Lie.NORMAL})
    assert {finger: {place} for finger, place in enumerate(backwards[1:], start=2)} | {1: {forwards[0]}} == closed


def test_the_extended_hand_is_the_same_shape_in_every_neck_position():
    for hand in range(1, 8):
        shift = hand - 2
        assert _places(float(hand), 1, {Lie.EXTENDED}) == {
            finger: {place + shift for place in places if place + shift > 0}
            for finger, places in _places(2.0, 1, {Lie.EXTENDED}).items()
            if any(place + shift > 0 for place in places)
        }


def test_the_fourth_finger_of_the_cello_does_not_reach_the_next_open_string_in_first_position():
    """Strings stand a fifth apart, the closed hand spans a minor third, the extended one a major third."""
    reached = _places(2.0, 2, {Lie.NORMAL, Lie.EXTENDED})[4]
    assert reached == {5, 6}
    assert max(reached) < CELLO.string(1).pitch.midi - CELLO.string(2).pitch.midi


def test_above_the_neck_three_fingers_of_the_cello_stand_in_whole_and_half_steps():
    """Common practice, no source."""
    ways = [way for pitch in EVERY_PITCH for way in placements(CELLO, pitch) if 5 <= way.position <= 7 and way.finger]
    assert {way.hand for way in ways} == {8.0, 9.0, 10.0, 11.0, 12.0}
    above = {(way.finger, way.place - way.hand, way.lie) for way in ways}
    normal = {(1, 0), (2, 1), (2, 2), (3, 2), (3, 3)}
    assert above == {*((finger, offset, Lie.NORMAL) for finger, offset in normal), (3, 4, Lie.EXTENDED)}


@pytest.mark.parametrize(("instrument", "first", "last"), [(CELLO, 7, 24), (BASS, 12, 24)])
def test_the_thumb_lies_below_three_fingers_that_reach_a_fourth_above_it(instrument, first, last):
    """Common practice, no source."""
    ways = [way for p in EVERY_PITCH for way in placements(instrument, p) if way.position == THUMB_POSITION]
    stopped = [way for way in ways if way.finger]
    assert {way.place - way.hand for way in stopped if way.finger == THUMB} == {0}
    for finger, least, most in ((1, 1, 2), (2, 2, 4), (3, 3, 5)):
        reached = {way.place - way.hand for way in stopped if way.finger == finger}
        assert reached == set(range(least, most + 1))
    assert {way.finger for way in stopped} == {THUMB, 1, 2, 3}
    thumbs = {way.hand for way in stopped if way.string == 1 and way.finger == THUMB}
    assert thumbs == {float(place) for place in range(first, last + 1)}


BASS_NOTES = [
    (name, int(string), finger, note)
    for string, positions in CHARTS["bass positions"]["sounding"].items()
    for name, notes in positions.items()
    for finger, note in zip((1, 2, 4), notes.split(), strict=True)
]


@pytest.mark.parametrize("instrument", [BASS, BASS5], ids=["four strings", "five strings"])
@pytest.mark.parametrize(("name", "string", "finger", "note"), BASS_NOTES)
def test_first_second_and_fourth_finger_of_the_bass_play_the_notes_of_the_chart(instrument, name, string, finger, note):
    pitch = Pitch.parse(note)
    for spelled in _spellings(pitch):
        found = [way for way in _ways(instrument, spelled, string=string) if hand_name(way, instrument) == name]
        assert [(way.finger, way.lie) for way in found if way.finger] == [(finger, Lie.NORMAL)]


def test_the_bass_uses_its_third_finger_in_thumb_position_only():
    """Source: asodb.com, sp4, for 1-2-4 below; common practice above."""
    thirds = {way.position for pitch in EVERY_PITCH for way in placements(BASS, pitch) if way.finger == 3}
    fourths = {way.position for pitch in EVERY_PITCH for way in placements(BASS, pitch) if way.finger == 4}
    assert thirds == {THUMB_POSITION}
    assert fourths == set(range(8))


def test_the_fourth_finger_of_the_bass_in_first_position_is_a_semitone_below_the_next_open_string():
    """Strings stand a fourth apart."""
    for string in BASS.strings[1:]:
        pitches = {
            p.midi for p in EVERY_PITCH if _ways(BASS, p, string=string.number, position=1, finger=4)
        }  # fmt: skip
        assert pitches == {BASS.string(string.number - 1).pitch.midi - 1}


def test_the_fifth_string_is_fingered_like_the_others():
    (way,) = _ways(BASS5, Pitch.parse("D1"), string=5, finger=1)
    assert (way.place, way.hand) == (2, 2.0)
    assert placements(BASS, Pitch.parse("D1")) == ()


@pytest.mark.parametrize("instrument", LOW, ids=lambda one: one.key)
def test_on_cello_and_bass_another_spelling_changes_nothing(instrument):
    for pitch in EVERY_PITCH:
        ways = {placements(instrument, spelled) for spelled in _spellings(pitch)}
        assert ways == {placements(instrument, pitch, any_spelling=True)}
        assert not any(way.respelled for way in placements(instrument, pitch))


@pytest.mark.parametrize("instrument", [VIOLIN, VIOLA, *LOW], ids=lambda one: one.key)
def test_every_placement_sounds_its_pitch_in_a_place_of_the_hand_once_and_in_one_order(instrument):
    places = {(place.number, place.place) for place in hand_places(instrument)}
    for pitch in EVERY_PITCH:
        ways = placements(instrument, pitch)
        assert list(ways) == sorted(ways)
        assert len({(way.string, way.position, way.hand, way.finger) for way in ways}) == len(ways)
        for way in ways:
            assert instrument.string(way.string).pitch.midi + way.place == pitch.midi
            assert (way.position, way.hand) in places
            assert (way.place == 0) == way.is_open == (way.lie is Lie.OPEN)


@pytest.mark.parametrize("instrument", LOW, ids=lambda one: one.key)
def test_over_an_open_string_the_hand_waits_anywhere_up_to_the_octave(instrument):
    open_string = instrument.strings[0]
    waiting = [(w.position, w.hand) for w in placements(instrument, open_string.pitch) if w.is_open]
    assert waiting == [(place.number, place.place) for place in hand_places(instrument) if place.place <= 12]


@pytest.mark.parametrize("instrument", LOW, ids=lambda one: one.key)
def test_every_note_up_to_the_end_of_the_fingerboard_can_be_played_and_none_beyond(instrument):
    lowest = min(string.pitch.midi for string in instrument.strings)
    highest = max(pitch.midi for pitch in EVERY_PITCH if placements(instrument, pitch))
    for pitch in EVERY_PITCH:
        assert bool(placements(instrument, pitch)) == (lowest <= pitch.midi <= highest)
    assert highest - instrument.strings[0].pitch.midi == {"cello": 28, "bass": 24, "bass5": 24}[instrument.key]


def test_the_places_of_a_cellists_hand_have_their_names():
    names = {place.name: (place.place, place.number) for place in hand_places(CELLO) if place.number <= 4}
    wanted = CHARTS["cello neck positions"]["semitones of the first finger"]
    assert {name: place for name, (place, _) in names.items()} == wanted
    assert [names[name][1] for name in wanted] == [0, 1, 2, 2, 3, 3, 4]
    aliases = {alias: place.name for place in hand_places(CELLO) for alias in place.aliases}
    assert (aliases["1 1/2"], aliases["3 1/2"], aliases["2nd"]) == ("lower 2nd", "upper 3rd", "upper 2nd")


def test_no_position_is_called_by_a_numeral_that_could_name_a_string():
    numerals = {"I", "II", "III", "IV", "V"}
    for instrument in (VIOLIN, *LOW):
        assert not numerals & {place.name for place in hand_places(instrument)}
    assert numerals <= {alias for place in hand_places(BASS) for alias in place.aliases}


def test_a_number_of_a_position_has_a_name_on_every_instrument():
    assert [position_name(8, one) for one in (VIOLIN, CELLO, BASS)] == ["8th", "thumb", "thumb"]
    assert position_name(2, CELLO) == position_name(2) == "2nd"


def test_a_hand_is_told_in_words_and_in_thumb_position_by_the_thumbs_note():
    (first,) = _ways(CELLO, Pitch.parse("C4"), hand=3.0, finger=1, lie=Lie.NORMAL)
    (above,) = _ways(CELLO, Pitch.parse("B4"), string=1, hand=12.0, finger=1, position=THUMB_POSITION)
    (thumb,) = _ways(CELLO, Pitch.parse("A4"), string=1, hand=12.0, finger=THUMB)
    (eighth,) = _ways(VIOLIN, Pitch.parse("F#6"), string=1, position=8, finger=1, respelled=False)
    assert [hand_words(way, CELLO) for way in (first, above, thumb)] == [
        "lower 2nd position",
        "thumb on A",
        "thumb position",
    ]
    assert hand_words(eighth, VIOLIN) == "8th position"


def test_fingers_are_written_as_digits_and_the_thumb_as_a_letter():
    assert [finger_text(finger) for finger in (0, 1, 2, 3, 4, THUMB)] == ["0", "1", "2", "3", "4", "T"]
    assert [finger_in(finger_text(finger)) for finger in range(6)] == list(range(6))
    assert [finger_in(text) for text in ("5", "", "t", "12")] == [None] * 4
