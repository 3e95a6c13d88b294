"""Repeated sections and their endings."""

from __future__ import annotations

import pytest

from analysis.music import Part
from engraving.document import read_document
from engraving.reading import read_score
from engraving.reading.repeats import ending_numbers
from tests.engraving.rawxml import raw, raw_note
from tests.engraving.signs import part_of
from tests.scores import full_score, part, score

NOTE = raw_note("D5")


def barline(content: str, location: str = "right") -> str:
    return f'<barline location="{location}">{content}</barline>'


def back(attributes: str = "") -> str:
    return f'<repeat direction="backward"{attributes}/>'


FINAL = barline("<bar-style>light-heavy</bar-style>")


def signs(one: Part) -> str:
    """A word for each measure: ``:`` where a section begins, ``x2`` where it ends, ``[1]`` under an ending."""
    return " ".join(
        ":" * m.repeat_from + "".join(f"[{n}]" for n in m.endings) + (f"x{m.repeat_back}" if m.repeat_back else "")
        or "-"
        for m in one.measures
    )


def of(*measures: str) -> str:
    return signs(part_of(raw(*measures)))


def mini(music: str) -> str:
    return signs(part_of(score("Violin", "4/4", music)))


@pytest.mark.parametrize(
    ("music", "expected"),
    [
        ("D5/4 | : E5 | F5 : | G5", "- : x2 -"),
        (": D5/4 : | : E5 :", ":x2 :x2"),
        ("D5/4 | E5 : | G5", ": x2 -"),
        ("D5/4 | E5 : | F5 | G5 :", ": x2 : x2"),
        ("D5/4 | : E5 : | F5 | G5 : | A5", "- :x2 : x2 -"),
        ("D5/4 | : E5 | : F5 : | G5 :", "- : :x2 :x2"),
        (": D5/4 | {1.} E5 {.} : | {2.} F5 {.} | G5", ": [1]x2 [2] -"),
        ("D5/4 | {1.} E5 | F5 {.} : | {2.} G5 | A5 {.} | B5 | C6 :", ": [1] [1]x2 [2] [2] : x2"),
        (": D5/4 | {1,2.} E5 {.} : | {3.} F5 {.} :", ": [1][2]x2 [3]x2"),
        (": D5/4 | {1-3.} E5 {.} :", ": [1][2][3]x2"),
        (": D5/4 | {1.} E5 : | {2.} F5 | G5", ": [1]x2 [2] -"),
    ],
)
def test_sections_and_endings(music: str, expected: str) -> None:
    assert mini(music) == expected


@pytest.mark.parametrize(
    ("attributes", "times"),
    [
        ("", 2), (' times="3"', 3), (' times="1"', 1), (' times="0"', 2), (' times="-4"', 2), (' times="often"', 2),
        (' times="2.5"', 2), (' times=""', 2), (' times="100"', 2), (' times="99"', 99),
    ],
)  # fmt: skip
def test_how_often_a_section_is_played(attributes: str, times: int) -> None:
    assert of(NOTE + barline(back(attributes))) == f":x{times}"


def test_a_sign_at_the_other_side_of_a_barline_counts_for_the_measure_it_means() -> None:
    forward = barline('<repeat direction="forward"/>')
    assert of(NOTE + forward, NOTE, barline(back(), "left") + NOTE) == "- :x2 -"


def test_a_sign_beyond_the_ends_is_nothing() -> None:
    assert of(barline(back(), "left") + NOTE, NOTE + barline('<repeat direction="forward"/>')) == "- -"


def test_a_sign_without_a_known_direction_is_nothing() -> None:
    assert of(NOTE + barline('<repeat direction="up"/>') + barline("<repeat/>")) == "-"


def test_a_section_does_not_reach_back_into_the_movement_before() -> None:
    assert of(NOTE, NOTE + FINAL, NOTE, NOTE + barline(back())) == "- - : x2"


@pytest.mark.parametrize(
    ("text", "numbers"),
    [
        ("1", (1,)), ("1,2", (1, 2)), ("1, 2", (1, 2)), ("1-3", (1, 2, 3)), ("1. – 3.", (1, 2, 3)), ("2.", (2,)),
        ("", ()), (" ", ()), ("last", ()), ("0", ()), ("3-1", ()), ("1-9999999999", (1,)), ("10", (10,)),
    ],
)  # fmt: skip
def test_the_numbers_of_an_ending(text: str, numbers: tuple[int, ...]) -> None:
    assert ending_numbers(text) == numbers


def ending(kind: str, number: str) -> str:
    location = "left" if kind == "start" else "right"
    return barline(f'<ending type="{kind}" number="{number}"/>', location)


def test_an_ending_may_be_left_open_at_its_end() -> None:
    measures = (ending("start", "1") + NOTE + ending("stop", "1"), ending("start", "2") + NOTE)
    assert of(*measures, NOTE + ending("discontinue", "2"), NOTE) == "[1] [2] [2] -"


def test_a_repeat_sign_or_another_ending_ends_an_ending() -> None:
    assert of(ending("start", "1") + NOTE, NOTE + barline(back()), NOTE, NOTE) == ":[1] [1]x2 - -"
    assert of(ending("start", "1") + NOTE, NOTE, ending("start", "2") + NOTE, NOTE) == "[1] [1] [2] -"


def test_an_ending_that_nothing_ends_is_one_measure_long() -> None:
    assert of(ending("start", "1") + NOTE, NOTE, NOTE) == "[1] - -"


@pytest.mark.parametrize("number", ["", "2"])
def test_an_ending_that_only_ends_has_the_numbers_that_the_next_one_leaves(number: str) -> None:
    first = NOTE + barline(f'<ending type="stop" number="{number}"/>{back()}')
    assert of(NOTE, first, ending("start", "2") + NOTE + ending("discontinue", "2")) == ": [1]x2 [2]"


def test_an_ending_without_a_number_is_none() -> None:
    assert of(ending("start", "") + NOTE + ending("stop", ""), NOTE) == "- -"


def test_the_signs_of_one_part_count_for_all() -> None:
    data = full_score(
        part("Violin", "4/4", "D5/4 | : E5/4 | {1.} F5 {.} : | {2.} G5 {.}"),
        part("Viola", "4/4", "D4/4 | E4/4 | F4 | G4"),
    )
    assert [signs(one) for one in read_score(read_document(data, "duet.xml")).parts] == ["- : [1]x2 [2]"] * 2


def test_a_shorter_part_has_the_signs_of_its_measures() -> None:
    data = full_score(part("Violin", "4/4", "D5/4"), part("Viola", "4/4", "D4/4 | E4 :"))
    assert [signs(one) for one in read_score(read_document(data, "duet.xml")).parts] == [":", ": x2"]
