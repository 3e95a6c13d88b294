"""The full score engraved: every note of every part once, each on its own staff, and digits between the staves."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest
from lxml import etree

from engraving.document import Document, open_document, read_document
from engraving.engraver import EngravedPage, engrave
from engraving.extract import score_for_engraving
from engraving.layout import FULL_SCORE
from engraving.marks.teacher import TeacherMark
from engraving.reading import read_score
from tests.conftest import EXAMPLE
from tests.engraving.corpus import corpus_folder
from tests.engraving.test_placing import all_marked, check_clear
from tests.scores import full_score, part

QUARTET = corpus_folder() / "haydn" / "opus1no1" / "movement1.mxl"
# There is little room between its staves.
CROWDED = corpus_folder() / "mozart" / "k80" / "movement2.mxl"
SCORES = pytest.mark.parametrize("path", [EXAMPLE, QUARTET], ids=["the demo suite", "a quartet"])


@cache
def opened(path: Path) -> Document:
    return open_document(path)


@cache
def pages(path: Path) -> tuple[EngravedPage, ...]:
    return engrave(score_for_engraving(opened(path)), FULL_SCORE)


@SCORES
def test_every_note_of_every_part_lies_on_one_page(path: Path) -> None:
    played = [note.id for part in read_score(opened(path)).parts for note in part.notes]
    drawn = [note_id for page in pages(path) for note_id in page.map.notes]
    assert sorted(drawn) == sorted(played)


@SCORES
def test_the_notes_of_a_staff_belong_to_one_part_and_the_staves_follow_each_other(path: Path) -> None:
    parts = read_score(opened(path)).parts
    owner = {note.id: number for number, part in enumerate(parts) for note in part.notes}
    for page in (page.map for page in pages(path)):
        lines = len(page.systems)
        assert lines % len(parts) == 0
        for note_id, place in page.notes.items():
            assert owner[note_id] == place.system % len(parts)
            line = page.systems[place.system]
            assert (line.staff_top, line.staff_bottom) == pytest.approx((place.staff_top, place.staff_bottom), abs=0.1)
        tops = [line.staff_top for line in page.systems]
        assert tops == sorted(tops)


@SCORES
def test_measures_are_those_of_the_parts_on_every_staff(path: Path) -> None:
    count = len(read_score(opened(path)).parts[0].measures)
    for page in (page.map for page in pages(path)):
        for number, line in enumerate(page.systems):
            here = [measure for measure in page.measures if measure.system == number]
            assert [measure.first for measure in here] == list(range(line.first, line.last + 1))
            assert page.measure_at(*here[0].rect.centre) == here[0]
    assert pages(path)[-1].map.systems[-1].last == count - 1


@SCORES
def test_with_every_note_marked_no_digit_touches_ink_or_another(path: Path) -> None:
    for page in pages(path):
        check_clear(page.map, all_marked(page.map))


@pytest.mark.parametrize("path", [EXAMPLE, CROWDED], ids=["the demo suite", "a crowded quartet"])
def test_no_digit_stands_beyond_another_staff_where_it_would_be_read(path: Path) -> None:
    for page in (page.map for page in pages(path)):
        staves = page.systems
        for digit in all_marked(page):
            number = page.notes[digit.note_id].system
            if number > 0:
                assert digit.digit.rect.y0 > staves[number - 1].staff_bottom
            if number + 1 < len(staves):
                assert digit.digit.rect.y1 < staves[number + 1].staff_top


def test_a_tempo_that_all_parts_have_stands_over_the_top_staff_only() -> None:
    document = read_document(
        full_score(
            part("Violin I", "4/4", '"Allegro" C5/4 | "dolce" D5/4'),
            part("Viola", "4/4", '"Allegro" !f E4/4 | "dolce" F4/4'),
        ),
        "two.xml",
    )
    score = etree.fromstring(score_for_engraving(document))
    said = [[words.text for words in part.iter("words")] for part in score.iterfind("part")]
    assert said == [["Allegro", "dolce"], ["dolce"]]
    assert score.find("part[2]//dynamics/f") is not None
    assert document.tree.find("part[2]//words").text == "Allegro"


def two_parts() -> Document:
    return read_document(
        full_score(part("Violin I", "4/4", "C5/1 D5 E5 F5"), part("Violin II", "4/4", "E4/1 F4 G4 A4")), "two.xml"
    )


def test_the_marks_of_all_parts_are_drawn_and_known_by_their_numbers() -> None:
    document = two_parts()
    upper, lower = (part.notes for part in read_score(document).parts)
    marks = (
        TeacherMark("down-bow", upper[0].id),
        TeacherMark("dynamic", upper[0].id, text="p"),
        TeacherMark("dynamic", lower[2].id, text="f"),
        TeacherMark("slur", lower[0].id, lower[1].id),
    )
    (page,) = engrave(score_for_engraving(document, marks=marks), FULL_SCORE)
    found = dict(page.map.marks)
    assert set(found) == {0, 1, 2, 3}
    for number, mark in enumerate(marks):
        head = page.map.notes[mark.first].head
        far = found[number].distance(*head.centre) / page.map.staff_space
        assert far < 8, mark.kind


def test_the_heading_names_no_part_but_the_staves_do() -> None:
    svg = pages(EXAMPLE)[0].svg.decode()
    names = [entry.name for entry in opened(EXAMPLE).parts]
    assert [svg.count(f">{name}<") for name in names] == [1] * len(names)
