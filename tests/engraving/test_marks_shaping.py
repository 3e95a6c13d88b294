"""Bars shaped in one step: a hairpin away from each first beat, and where none belongs."""

from __future__ import annotations

import pytest

from analysis.music import Part
from engraving.document import read_document
from engraving.errors import EngravingError
from engraving.marks.shaping import shaped_bars
from engraving.marks.writing import marked_bytes
from engraving.reading import read_score
from tests.analysis.lines import line
from tests.scores import score


def shaped(part: Part) -> list[tuple[str, str]]:
    marks = shaped_bars(part, 0, len(part.measures) - 1)
    assert all(mark.kind == "diminuendo" for mark in marks)
    return [(mark.first, mark.last) for mark in marks]


def test_each_bar_falls_away_from_its_first_beat() -> None:
    assert shaped(line("D5/1 E5 F5 G5 A5 B5/3")) == [("n1", "n4"), ("n5", "n6")]


def test_only_the_measures_asked_for_are_shaped() -> None:
    part = line("D5/4 E5 F5 G5")
    assert [mark.first for mark in shaped_bars(part, 1, 2)] == ["n2", "n3"]


def test_a_bar_of_one_note_is_shaped_too() -> None:
    assert shaped(line("D5/4")) == [("n1", "n1")]


def test_a_bar_that_begins_with_a_rest_or_a_tie_is_left() -> None:
    assert shaped(line("r/1 D5/3 E5/3 F5/1~ F5/2 G5/2 A5/4")) == [("n2", "n3"), ("n6", "n6")]


def test_a_pickup_has_no_first_beat() -> None:
    data = score("Violin", "4/4", "D5/1@up | E5/2@a F5@b", pickup=True)
    assert shaped(read_score(read_document(data, "x.xml")).parts[0]) == [("a", "b")]


def test_a_printed_hairpin_goes_before() -> None:
    assert shaped(line("D5/2 E5 {<} F5/2 G5/2 {-} A5/2 B5")) == [("n1", "n2"), ("n5", "n6")]


def test_a_hairpin_over_the_bar_line_is_met_in_both_bars() -> None:
    assert shaped(line("D5/2 {<} E5 F5/2 G5/2 {-} A5/2 B5")) == [("n5", "n6")]


def test_grace_notes_do_not_begin_or_end_a_hairpin_and_chords_do() -> None:
    assert shaped(line("*C5 [D4 A4]/2 [D4 B4]/2 *G5 E5/4")) == [("n2", "n4"), ("n7", "n7")]


def test_of_two_voices_the_one_on_the_beat_is_shaped() -> None:
    assert shaped(line("r/2 D5/2", "D4/2 E4/2")) == [("v2n1", "v2n2")]


def test_measures_that_are_not_there_are_refused() -> None:
    with pytest.raises(EngravingError, match="Violin has no measures 1 to 3; it has 1"):
        shaped_bars(line("D5/4"), 0, 2)


def test_shaped_bars_are_read_back_as_they_were_meant() -> None:
    data = score("Violin", "3/4", "D5/1 E5 F#5 | G5/3 | r/1 A5/2")
    document = read_document(data, "x.xml")
    marks = shaped_bars(read_score(document).parts[0], 0, 2)
    read = read_score(read_document(marked_bytes(document, [], marks), "out.xml")).parts[0]
    assert [(one.onset, one.end, one.grows) for one in read.hairpins] == [(0, 3, False), (3, 6, False)]
