"""From a plan to digits on the page and marks in the file."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analysis.fingering.locks import Lock
from analysis.fingering.plan import make_plan
from analysis.fingering.rules.files import preset
from analysis.instruments import VIOLIN
from analysis.marking.policy import Printed, printed
from analysis.marking.reader import Print
from app.errors import AppError
from app.job.paper import digits as digits_module
from app.job.paper.digits import digits_on_paper, marks_to_write, wanted_digits
from app.job.paper.part import excerpt_pages, line_starts, printed_pages
from app.job.teacher.work import PartWork
from app.job.words.finding import find_measures, find_part
from engraving.document import read_document
from engraving.engraver import engrave
from engraving.extract import part_for_engraving
from engraving.layout import A4
from engraving.marks.teacher import TeacherMark
from engraving.placing import Placed, Wanted
from engraving.reading import read_score
from tests.scores import full_score, part, score


def planned(music, rules="two-homes", locks=None):
    read = read_score(read_document(score("Violin", "4/4", music, key=2), "s.musicxml")).parts[0]
    locked = {read.notes[number].id: lock for number, lock in (locks or {}).items()}
    return make_plan(read, VIOLIN, preset(rules) if isinstance(rules, str) else rules, locked)


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


def on_paper(plan, **more):
    return {digit.note_id: digit for digit in digits_on_paper(plan, **more)}


# What is printed where: analysis.marking.policy. How it looks: common practice, no source.
def test_on_paper_only_the_digits_that_matter_stand_and_on_screen_all():
    plan = planned("D4/1 E4 F#4 G4 | A4/4", "first")
    assert len(wanted_digits(plan)) == 5
    assert list(on_paper(plan)) == [plan.part.notes[0].id, plan.part.notes[4].id]
    every = planned("D4/1 E4 F#4 G4 | A4/4", replace(preset("first"), printed="every-note"))
    assert [digit.text for digit in digits_on_paper(every)] == ["0", "1", "2", "3", "4"]


def test_where_the_hand_moves_its_position_is_named_in_words():
    plan = planned("A5/1 B5 D6 B5 | A5/4", "whole-board", {2: Lock(string=1, position=3)})
    named = {digit.hand for digit in digits_on_paper(plan)} - {None}
    assert "3rd pos." in named
    assert all(name.endswith(" pos.") for name in named)


def test_a_chord_names_its_position_once_over_its_highest_note():
    plan = planned("A4/1 B4 | [F#5 D6]/4", "whole-board", {2: Lock(position=3), 3: Lock(position=3)})
    low, high = plan.part.notes[2].id, plan.part.notes[3].id
    digits = on_paper(plan)
    assert (digits[high].hand, digits[low].hand) == ("3rd pos.", None)


def test_a_string_that_is_printed_is_a_numeral(monkeypatch):
    plan = planned("B4/1 D5 B4 A4", "whole-board", {1: Lock(string=3)})
    note_id = plan.part.notes[1].id
    monkeypatch.setattr(digits_module, "printed", lambda *_: (Printed(note_id, Print(4, 3), ("needed",)),))
    assert digits_on_paper(plan) == (Wanted(note_id, "4", "III"),)


def test_an_arrow_says_which_way_the_finger_goes_since_it_last_stood_there():
    """Second finger on the A string: C natural is low, C sharp high, in first position."""
    plan = planned("B4/1 C#5 B4 C5 | B4 C#5/3", "first")
    assert [digit.arrow for digit in digits_on_paper(plan) if digit.text == "2"] == ["down", "up"]


def test_a_finger_that_reaches_out_has_its_cross():
    plan = planned("E5/1 F5 E5 D5", "first", {1: Lock(string=2, finger=4)})
    assert [digit.reach for digit in digits_on_paper(plan) if digit.text == "4" and digit.reach] == [True]
    assert not any(digit.reach for digit in digits_on_paper(planned("D4/1 E4 F#4 G4", "first")))


def test_the_teacher_adds_and_takes_away_digits():
    plan = planned("D4/1 E4 F#4 G4", "first")
    first, second = plan.part.notes[0].id, plan.part.notes[1].id
    assert list(on_paper(plan, own={first: False, second: True})) == [second]


def test_digits_on_paper_of_some_measures_only():
    plan = planned("D4/4 | A4/4 | D4/4", replace(preset("first"), printed="every-note"))
    assert list(on_paper(plan, measures=(1, 1))) == [plan.part.notes[1].id]


def test_the_file_can_hold_just_what_is_printed():
    plan = planned("D4/1 E4 F#4 G4 | A4/4", "first")
    few = marks_to_write(plan, only=printed(plan))
    assert {mark.note_id for mark in few} == set(on_paper(plan))
    assert len(marks_to_write(plan)) == 5


LONG = " | ".join(["F#4/1 G4 F#4 E4"] * 160)


def test_after_a_page_turn_the_first_note_has_its_digit():
    document = read_document(score("Violin", "4/4", LONG, key=2), "s.musicxml")
    part_read = read_score(document).parts[0]
    work = PartWork(VIOLIN, preset("first"))
    plan = make_plan(part_read, VIOLIN, work.rules)
    pages = printed_pages(engrave(part_for_engraving(document, plan.part.id), A4), part_read, plan, work)
    assert len(pages) >= 3
    starts = [first_on(page.map) for page, _ in pages]
    marked = {one.note_id for _, overlay in pages for one in overlay}
    assert [start in marked for start in starts[:3]] == [True, True, False]
    assert line_starts([page for page, _ in pages], plan) >= {starts[1]}


def first_on(page):
    return min(page.notes, key=lambda note_id: (page.notes[note_id].system, page.notes[note_id].head.x0))


def test_an_excerpt_begins_with_a_digit_and_a_held_finger_brings_its_own():
    document = read_document(score("Violin", "4/4", LONG, key=2), "s.musicxml")
    part_read = read_score(document).parts[0]
    work = PartWork(VIOLIN, preset("first"))
    plan = make_plan(part_read, VIOLIN, work.rules)
    ((page, overlay),) = excerpt_pages(document, plan, work, A4, (5, 6))
    assert [one.note_id for one in overlay] == [first_on(page.map)]
    held = [note.id for note in part_read if note.measure == 6][1:3]
    ((_, overlay),) = printed_pages(
        [page], part_read, plan, replace(work, marks=(TeacherMark("held-finger", *held),)), (5, 6)
    )
    assert [one.note_id for one in overlay if isinstance(one, Placed)] == [first_on(page.map), held[0]]


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
    assert first.span((0, 1)) == "measures 1–2"
    with pytest.raises(AppError, match="'one to two' is no range of measures"):
        find_measures(first, "one to two")
