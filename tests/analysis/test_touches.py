"""Natural harmonics and trills: where a finger touches a string, and which finger trills."""

from __future__ import annotations

from math import gcd, log2

import pytest

from analysis.fingering.placements import (
    THUMB,
    Lie,
    along_string,
    hand_name,
    harmonic_placements,
    placements,
    trill_placements,
)
from analysis.instruments import BASS, CELLO, INSTRUMENTS, VIOLA, VIOLIN
from analysis.music import LETTERS, Pitch

EVERY_PITCH = [Pitch(step, alter, octave) for octave in range(1, 9) for step in LETTERS for alter in (-1, 0, 1)]


def _words(ways, instrument):
    return [f"{instrument.string(way.string).letter}{way.finger}/{way.position}" for way in ways]


# Places in semitones above the open string and the partial that speaks there, from the physics of the string: partial n
# speaks where 1/n, 2/n ... of the string is stopped off, and sounds n times as high.
NODES = {12: 2, 7: 3, 19: 3, 5: 4, 24: 4, 4: 5, 9: 5, 16: 5, 28: 5, 3: 6}


@pytest.mark.parametrize("instrument", INSTRUMENTS, ids=lambda one: one.key)
def test_a_harmonic_is_touched_at_a_node_and_sounds_its_partial(instrument):
    for pitch in EVERY_PITCH:
        for way in harmonic_placements(instrument, pitch, touched=False):
            sounding = pitch.midi - instrument.string(way.string).pitch.midi
            assert sounding == round(12 * log2(NODES[way.place]))
            assert way.harmonic
            assert way.finger > 0


@pytest.mark.parametrize(("place", "partial"), NODES.items())
def test_a_node_lies_where_its_partial_divides_the_string(place, partial):
    """Nodes lie at k/n of the string; in whole semitones they come within a twentieth of a part."""
    parts = VIOLIN.distance_mm(place) / VIOLIN.string_length_mm * partial
    assert parts == pytest.approx(round(parts), abs=0.05)
    assert gcd(round(parts), partial) == 1


def test_every_node_is_used_on_the_highest_string():
    found = {
        way.place
        for pitch in EVERY_PITCH
        for way in harmonic_placements(CELLO, pitch, touched=False)
        if way.string == 1
    }
    assert found == set(NODES)


@pytest.mark.parametrize("instrument", INSTRUMENTS, ids=lambda one: one.key)
def test_a_harmonic_written_where_it_is_touched_is_the_one_that_sounds_there(instrument):
    for pitch in EVERY_PITCH:
        for way in harmonic_placements(instrument, pitch, touched=True):
            string = instrument.string(way.string).pitch.midi
            assert string + way.place == pitch.midi
            heard = string + round(12 * log2(NODES[way.place]))
            sounding = next(other for other in EVERY_PITCH if other.midi == heard)
            assert way in harmonic_placements(instrument, sounding, touched=False)


def test_a_stopped_note_between_nodes_is_no_harmonic():
    assert harmonic_placements(VIOLIN, Pitch.parse("Bb4"), touched=True) == ()
    assert harmonic_placements(VIOLIN, Pitch.parse("G#5"), touched=False) == ()


def test_the_middle_of_the_string_is_reached_by_the_stretched_fourth_finger():
    """Common practice, no source: from third position on the violin, from fourth on the cello."""
    for instrument, name, hand, position in ((VIOLIN, "A5", 5.0, 3), (VIOLA, "A5", 5.0, 3), (CELLO, "A4", 7.0, 4)):
        string = 2 if instrument is VIOLIN else 1
        stretched = [
            way
            for way in harmonic_placements(instrument, Pitch.parse(name), touched=False)
            if (way.string, way.place, way.finger, way.hand) == (string, 12, 4, hand)
        ]
        assert [(way.position, way.lie, way.is_extension) for way in stretched] == [(position, Lie.EXTENDED, True)]
    assert not any(
        way.lie is Lie.EXTENDED for way in harmonic_placements(BASS, Pitch.parse("G3"), touched=False)
    )  # fmt: skip


@pytest.mark.parametrize(("touched", "fingers"), [("C5", {2}), ("C#5", {2}), ("D5", {3}), ("E5", {4})])
def test_in_first_position_a_node_takes_the_finger_of_the_interval_it_lies_at(touched, fingers):
    """Minor third, major third, fourth and fifth over the open A (first-position chart)."""
    ways = harmonic_placements(VIOLIN, Pitch.parse(touched), touched=True)
    assert {way.finger for way in ways if (way.string, way.position) == (2, 1)} == fingers


def test_a_harmonic_is_fingered_in_the_frame_like_a_stop_at_its_place():
    touched = harmonic_placements(VIOLIN, Pitch.parse("E5"), touched=True)
    on_a = [way for way in touched if way.string == 2 and way.lie is not Lie.EXTENDED]
    assert _words(on_a, VIOLIN) == ["A4/1", "A3/2", "A2/3", "A1/4"]


@pytest.mark.parametrize(
    ("instrument", "string", "note", "upper", "expected"),
    [
        (VIOLIN, 2, "B4", "C5", {"2 half", "1 1st"}),
        (VIOLIN, 2, "E5", "F5", {"3 2nd", "2 3rd", "1 4th"}),
        (VIOLIN, 1, "F#5", "G5", {"2 half", "1 1st"}),
        # A sharp high under the first finger has C natural two fingers on; as B flat, next to it.
        (VIOLIN, 4, "A#3", "C4", {"2 1st", "3 half", "1 2nd"}),
        (VIOLIN, 1, "F#5", "G#5", {"2 half", "1 1st", "1 2nd"}),
        (BASS, 1, "A2", "Bb2", {"2 half", "1 1st"}),
        (BASS, 1, "A2", "B2", {"1 1st"}),
        (CELLO, 1, "B3", "C4", {"2 half", "1 1st"}),
        (CELLO, 1, "B3", "C#4", {"2 half", "1 1st", "1 lower 2nd"}),
        (CELLO, 1, "D4", "Eb4", {"3 1st", "2 lower 2nd", "3 lower 2nd", "2 upper 2nd", "1 3rd"}),
        (VIOLIN, 3, "D4", "E4", {"0 half", "0 1st"}),
        (VIOLIN, 4, "G3", "Ab3", {"0 half", "0 1st"}),
        (VIOLIN, 1, "E5", "F#5", {"0 half", "0 1st"}),
        (CELLO, 1, "A3", "B3", {"0 half", "0 1st", "0 lower 2nd"}),
        (BASS, 4, "E1", "F#1", {"0 half", "0 1st"}),
        (BASS, 1, "G2", "Ab2", {"0 half"}),
    ],
)
def test_a_trill_is_played_with_the_next_finger_in_one_hand(instrument, string, note, upper, expected):
    """Common practice, no source. A whole tone: on the cello also the next finger but one, on the bass 1 and 4.

    Over an open string with the first finger, from half position the second; on the cello also with the first
    drawn back.
    """
    ways = trill_placements(instrument, Pitch.parse(note), Pitch.parse(upper))
    assert {f"{way.finger} {hand_name(way, instrument)}" for way in ways if way.string == string} == expected


@pytest.mark.parametrize("instrument", INSTRUMENTS, ids=lambda one: one.key)
@pytest.mark.parametrize("step", [1, 2])
def test_the_upper_note_of_a_trill_lies_in_the_same_hand(instrument, step):
    for pitch in EVERY_PITCH:
        upper = next((other for other in EVERY_PITCH if other.midi == pitch.midi + step), None)
        if upper is None:
            continue
        for way in trill_placements(instrument, pitch, upper):
            assert way in placements(instrument, pitch)
            above = [
                high
                for high in placements(instrument, upper)
                if (high.string, high.position, high.hand) == (way.string, way.position, way.hand)
                and along_string(high.finger) > along_string(way.finger)
            ]
            assert above, (pitch.name, way)


def test_the_thumb_trills_with_the_first_finger():
    ways = trill_placements(CELLO, Pitch.parse("A4"), Pitch.parse("B4"))
    assert any(way.finger == THUMB for way in ways)


def test_where_the_next_finger_does_not_reach_any_finger_of_the_hand_may():
    ways = trill_placements(VIOLIN, Pitch.parse("C4"), Pitch.parse("F4"))
    assert ways
    assert {way.finger for way in ways} <= {1, 2}


def test_a_trill_over_an_open_string_keeps_the_hand_where_its_finger_is():
    """Above first position no finger lies a second above the nut. Common practice, no source."""
    ways = trill_placements(VIOLIN, Pitch.parse("A4"), Pitch.parse("B4"))
    assert {way.position for way in ways if way.is_open} == {0, 1}
    assert {way.finger for way in ways if way.string == 3} >= {2, 3}


def test_there_is_no_trill_downwards_nor_on_one_pitch():
    assert trill_placements(VIOLIN, Pitch.parse("B4"), Pitch.parse("A4")) == ()
    assert trill_placements(VIOLIN, Pitch.parse("D#5"), Pitch.parse("Eb5")) == ()
