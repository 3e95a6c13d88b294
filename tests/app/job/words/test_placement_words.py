"""How the window says a placement: finger, string and position, so that no position reads like a string."""

from __future__ import annotations

import pytest

from analysis.fingering.placements import THUMB, harmonic_placements, placements
from analysis.instruments import BASS, CELLO, INSTRUMENTS, VIOLIN
from analysis.music import LETTERS, Pitch
from app.job.words.notes import placement_words

EVERY_PITCH = [Pitch(step, alter, octave) for octave in range(1, 7) for step in LETTERS for alter in (-1, 0, 1)]


def words(instrument, name, **wanted):
    ways = [w for w in placements(instrument, Pitch.parse(name)) if all(getattr(w, f) == v for f, v in wanted.items())]
    return [placement_words(way, instrument) for way in ways]


@pytest.mark.parametrize(
    ("instrument", "name", "wanted", "said"),
    [
        (VIOLIN, "G5", {"string": 1, "position": 1, "respelled": False}, "Low 2 on E, 1st position"),
        (VIOLIN, "A4", {"finger": 0, "position": 1}, "Open A string"),
        (CELLO, "C#4", {"string": 1, "finger": 2, "hand": 2.0}, "Extended 2 on A, 1st position"),
        (CELLO, "E4", {"string": 1, "finger": 4, "hand": 4.0}, "4 on A, upper 2nd position"),
        (CELLO, "A4", {"string": 1, "finger": THUMB}, "T on A, thumb position"),
        (CELLO, "B4", {"string": 1, "finger": 1, "hand": 12.0, "position": 8}, "1 on A, thumb on A"),
        (BASS, "C3", {"string": 1, "finger": 2}, "2 on G, 2nd-3rd position"),
    ],
)
def test_a_placement_is_said_as_a_player_says_it(instrument, name, wanted, said):
    assert words(instrument, name, **wanted) == [said]


def test_a_harmonic_is_called_one():
    ways = harmonic_placements(VIOLIN, Pitch.parse("A5"), touched=False)
    said = [placement_words(way, VIOLIN) for way in ways if way.string == 2 and way.place == 12]
    assert said[:2] == ["Harmonic extended 4 on A, 3rd position", "Harmonic 4 on A, 4th position"]


@pytest.mark.parametrize("instrument", INSTRUMENTS, ids=lambda one: one.key)
def test_no_two_ways_of_a_note_are_said_alike(instrument):
    for pitch in EVERY_PITCH:
        said = [placement_words(way, instrument) for way in placements(instrument, pitch) if not way.is_open]
        assert len(set(said)) == len(said), pitch.name
