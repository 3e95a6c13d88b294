"""From a plan to digits on the page and marks in the file."""

from __future__ import annotations

import pytest

from analysis.fingering.locks import Lock
from analysis.fingering.plan import make_plan
from analysis.fingering.rules.files import preset
from analysis.instruments import VIOLIN
from app.errors import AppError
from app.job.digits import marks_to_write, wanted_digits
from app.job.finding import find_measures, find_part, measures_words
from engraving.document import read_document
from engraving.reading import read_score
from tests.scores import full_score, part, score


def planned(music, rules="two-homes", locks=None):
    read = read_score(read_document(score("Violin", "4/4", music, key=2), "s.musicxml")).parts[0]
    locked = {read.notes[number].id: lock for number, lock in (locks or {}).items()}
    return make_plan(read, VIOLIN, preset(rules), locked)


def test_every_struck_note_gets_a_digit_and_a_tied_one_none():
    plan = planned("D5/1 E5/2~ E5/1 | [D4 A4]/4")
    assert [digit.text for digit in wanted_digits(plan)] == ["3", "4", "0", "0"]


def test_digits_of_some_measures_only():
    plan = planned("D5/4 | F#5/4 | D5/4", "first")
    assert [digit.text for digit in wanted_digits(plan, (1, 1))] == ["1"]


def test_a_string_is_written_only_where_the_finger_does_not_tell_it():
    assert all(mark.string is None for mark in marks_to_write(planned("G4/1 A4 B4 A4", "first")))
    moved = planned("B4/1 D5 B4 A4", "whole-board", {1: Lock(string=3)})
    marks = marks_to_write(moved)
    locks = {mark.note_id: Lock(string=mark.string, finger=mark.finger) for mark in marks}
    again = make_plan(moved.part, VIOLIN, preset("whole-board"), locks)
    assert [again.choice(note.id) for note in moved.part] == [moved.choice(note.id) for note in moved.part]


PARTS = [part(name, "4/4", "D4/4 | E4/4") for name in ("Violin I", "Violin II", "Viola")]
SCORE = read_score(read_document(full_score(*PARTS), "three.musicxml"))


@pytest.mark.parametrize(
    ("asked", "name"), [("1", "Violin I"), ("violin ii", "Violin II"), ("Viola.", "Viola"), ("viol a", None)]
)
def test_parts_are_found_by_number_and_by_loosely_written_name(asked, name):
    if name is None:
        with pytest.raises(AppError, match="no part 'viol a'; the file has Violin I, Violin II, Viola; did you mean"):
            find_part(SCORE, asked)
    else:
        assert find_part(SCORE, asked).name == name


def test_a_name_that_fits_several_parts_is_asked_back():
    with pytest.raises(AppError, match="'violi' could be Violin I or Violin II; say which"):
        find_part(SCORE, "violi")


def test_measures_are_found_by_their_printed_numbers():
    first = SCORE.parts[0]
    assert find_measures(first, "1-2") == (0, 1)
    assert find_measures(first, "2") == (1, 1)
    assert measures_words(first, (0, 1)) == "measures 1–2"
    with pytest.raises(AppError, match="'one to two' is no range of measures"):
        find_measures(first, "one to two")
