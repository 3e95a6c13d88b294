"""Players' fingerings are read as they are meant: measures, chords, spelling, odd rows. All rows are invented."""

from __future__ import annotations

import pytest

from analysis.fingering.rules.files import preset
from tests.benchmarks.expert_agreement import agreement
from tests.benchmarks.expert_data import read_pieces, spelled
from tests.benchmarks.weight_fit import FITTED, LEAST_WEIGHT, fit, lattice

HEADER = "pitch,start,duration,beat_type,string,position,finger"


def write(folder, name, *rows):
    (folder / name).write_text("\n".join((HEADER, *rows)) + "\n", encoding="utf-8")


def test_starts_are_counted_from_the_measure_and_laid_end_to_end(tmp_path):
    write(tmp_path, "vio1_a.csv", "62,0,2,3,2,1,0", "64,2,2,3,2,1,1", "66,0,4,2,2,1,2", "67,0,4,2,2,1,3")
    (piece,) = read_pieces(tmp_path)
    assert [float(note.onset) for note in piece.part.notes] == [0, 2, 4, 8]
    assert all(note.chord is None for note in piece.part.notes)


def test_notes_of_one_start_and_length_are_a_chord(tmp_path):
    write(tmp_path, "vio1_a.csv", "62,0,1,4,2,1,0", "69,0,1,4,3,1,0", "71,1,1,4,3,1,1")
    (piece,) = read_pieces(tmp_path)
    assert [note.chord for note in piece.part.notes] == ["n0", "n0", None]


def test_strings_are_counted_from_the_highest_and_odd_rows_are_left_out(tmp_path):
    write(
        tmp_path, "vio1_a.csv", "64,0,1,4,2,1,1", "64,1,1,4,3,1,1", "64,2,1,4,0,1,1", "64,3,1,4,2,0,1", "64,0,1,4,2,1,0"
    )
    (piece,) = read_pieces(tmp_path)
    assert piece.players[0] == {"n0": (3, 1, 1)}


def test_players_are_laid_beside_each_other_by_their_pitches(tmp_path):
    write(tmp_path, "vio1_a.csv", "62,0,1,4,2,1,0", "64,1,1,4,2,1,1", "66,2,1,4,2,1,2")
    write(tmp_path, "vio2_a.csv", "62,0,1,4,1,1,4", "66,2,1,4,2,2,1")
    (piece,) = read_pieces(tmp_path)
    assert piece.players[1] == {"n0": (4, 1, 4), "n2": (3, 2, 1)}


@pytest.mark.parametrize(
    ("midis", "names"),
    [
        ([62, 64, 66, 67, 69, 71, 73, 74], ["D4", "E4", "F#4", "G4", "A4", "B4", "C#5", "D5"]),
        ([63, 65, 67, 68, 70, 72, 74, 75], ["Eb4", "F4", "G4", "Ab4", "Bb4", "C5", "D5", "Eb5"]),
    ],
)
def test_a_scale_is_spelled_in_its_key(midis, names):
    """Common practice, no source: a scale has every letter once."""
    assert [pitch.name for pitch in spelled(midis)] == names


def test_the_plan_agrees_with_a_player_who_does_as_it_says(tmp_path):
    write(tmp_path, "vio1_a.csv", "67,0,1,4,2,1,3", "71,1,1,4,3,1,1", "72,2,1,4,3,1,2", "67,3,1,4,1,3,4")
    (piece,) = read_pieces(tmp_path)
    string, position, finger, every, notes = agreement(piece, preset("home-ground"))
    assert (notes, every) == (4, 3)
    assert (string, position, finger) == (3, 3, 3)


def test_weights_are_fitted_towards_what_players_do(tmp_path):
    """A player who never leaves the lower string teaches that crossing is worse than the fourth finger."""
    measure = ("62,0,1,4,1,1,4", "60,1,1,4,1,1,3", "62,2,1,4,1,1,4", "59,3,1,4,1,1,2")
    write(tmp_path, "vio1_low.csv", *measure * 6)
    open_ones = ("62,0,1,4,2,1,0", "60,1,1,4,1,1,3", "62,2,1,4,2,1,0", "59,3,1,4,1,1,2")
    write(tmp_path, "vio1_open.csv", *open_ones * 6)
    low, open_strings = (fit([lattice(piece, preset("home-ground"))]) for piece in read_pieces(tmp_path))
    assert set(low) == set(FITTED)
    assert all(weight >= 0 for weight in low.values())
    assert open_strings["weak_finger"] > low["weak_finger"]
    assert LEAST_WEIGHT > 0


def test_a_folder_without_files_says_so(tmp_path):
    with pytest.raises(FileNotFoundError, match="holds no files named vioN_PIECE"):
        read_pieces(tmp_path)
