"""Where the tempi of a score come from: numbers first, then words, then the title."""

from __future__ import annotations

import pytest

from analysis.music import Part
from engraving.document import read_document
from engraving.reading import read_score
from tests.engraving.rawxml import raw, raw_note
from tests.engraving.signs import part_of, words
from tests.scores import full_score, part, score


def tempi(one: Part) -> list[tuple[float, float, str]]:
    return [(float(tempo.onset), tempo.quarters_a_minute, tempo.word) for tempo in one.tempi]


def mini(music: str, time: str = "4/4") -> list[tuple[float, float, str]]:
    return tempi(part_of(score("Violin", time, music)))


def titled(title: str, music: str) -> list[tuple[float, float, str]]:
    data = score("Violin", "6/8", music)
    named = data.replace(b"<part-list>", f"<movement-title>{title}</movement-title><part-list>".encode())
    return tempi(part_of(named))


def test_a_word_is_a_tempo() -> None:
    assert mini('"Allegro" D5/4 | "dolce" E5/2 "Adagio" F5') == [(0, 132, "Allegro"), (6, 56, "Adagio")]


def test_the_words_of_a_direction_are_read_together() -> None:
    split = "<direction><direction-type><words>Allegro </words><words>molto</words></direction-type></direction>"
    assert tempi(part_of(raw(split + raw_note("D5")))) == [(0, 145, "Allegro molto")]


@pytest.mark.parametrize(("time", "tempo"), [("6/8", 198), ("12/8", 198), ("2/2", 264), ("3/8", 66), ("3/4", 132)])
def test_a_word_counts_the_beat_of_the_metre(time: str, tempo: float) -> None:
    assert mini('"Allegro" D5/1.5', time) == [(0, tempo, "Allegro")]


def test_a_word_counts_the_metre_that_begins_with_it() -> None:
    assert mini('D5/4 | "Allegro" {6/8} D5/3')[0][1] == 198


@pytest.mark.parametrize("order", ['!=96 "Allegro"', '"Allegro" !=96'])
def test_a_number_at_the_same_place_goes_before_a_word(order: str) -> None:
    assert mini(f"{order} D5/4") == [(0, 96, "")]


def test_the_number_of_another_part_goes_before_a_word() -> None:
    data = full_score(part("Violin", "4/4", '"Allegro" D5/4'), part("Viola", "4/4", "!=96 D4/4"))
    assert tempi(read_score(read_document(data, "duet.xml")).parts[0]) == [(0, 96, "")]


def test_a_word_with_a_number_of_its_own_is_only_the_number() -> None:
    assert tempi(part_of(raw(words("Adagio", '<sound tempo="50"/>') + raw_note("D5")))) == [(0, 50, "")]


def test_a_word_with_a_number_that_is_none_counts() -> None:
    assert tempi(part_of(raw(words("Adagio", '<sound tempo="slow"/>') + raw_note("D5")))) == [(0, 56, "Adagio")]


def test_the_word_of_the_upper_part_counts() -> None:
    data = full_score(part("Violin", "4/4", '"Allegro" D5/4'), part("Viola", "4/4", '"Presto" D4/4'))
    assert tempi(read_score(read_document(data, "duet.xml")).parts[1]) == [(0, 132, "Allegro")]


def test_the_movement_s_title_gives_a_tempo_where_nothing_else_does() -> None:
    assert titled("II. Andante con moto", "D5/3") == [(0, 126, "Andante con moto")]
    assert titled("Andante", "!=60 D5/3") == [(0, 60, "")]
    assert titled("Andante", '"Presto" D5/3') == [(0, 276, "Presto")]
    assert titled("Andante", "D5/3 | !=60 D5") == [(0, 114, "Andante"), (3, 60, "")]
    assert titled("Evening", "D5/3") == []


def test_a_word_drawn_over_a_note_s_first_half_holds_from_that_note() -> None:
    data = raw(words("Adagio", "<offset>0.25</offset>") + raw_note("D5") + raw_note("E5"))
    assert tempi(part_of(data)) == [(0, 56, "Adagio")]
