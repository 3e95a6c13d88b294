"""The marks in force at each note: dynamics, pizzicato and divisi, over voices, staves and measures."""

from __future__ import annotations

import pytest

from engraving.reading.directions import divided_in, plucked_in
from tests.engraving.rawxml import QUARTER, raw, raw_note
from tests.engraving.signs import direction, dynamic, noted, notes_of, part_of, words

BACK = "<backup><duration>2</duration></backup>"


def in_voice(name: str, voice: int, staff: int = 1) -> str:
    return raw_note(name, f"{QUARTER}<voice>{voice}</voice><staff>{staff}</staff>")


def dynamics(*measures: str) -> list[tuple[str, str]]:
    return [(note.pitch.name, note.dynamic) for note in part_of(raw(*measures))]


def plucked(*measures: str) -> list[bool]:
    return [note.pizzicato for note in part_of(raw(*measures))]


# Dynamics


def test_a_dynamic_is_in_force_until_the_next() -> None:
    assert [n.dynamic for n in notes_of("C5/1 !p D5 E5 r | F5/2 !ff G5")] == ["", "p", "p", "p", "ff"]


@pytest.mark.parametrize("attack", ["sf", "sfz", "sffz", "fz", "rf", "rfz", "n"])
def test_an_attack_changes_nothing_that_is_in_force(attack: str) -> None:
    assert [n.dynamic for n in notes_of(f"!mp C5/1 !{attack} D5")] == ["mp", "mp"]


@pytest.mark.parametrize(("mark", "left"), [("fp", "p"), ("sfp", "p"), ("sfpp", "pp"), ("sfzp", "p"), ("pf", "f")])
def test_a_mark_that_says_how_to_go_on_is_followed(mark: str, left: str) -> None:
    assert [n.dynamic for n in notes_of(f"!f C5/1 !{mark} D5")][1] == left


@pytest.mark.parametrize(
    ("inside", "left"),
    [
        ("<other-dynamics>più f</other-dynamics>", "f"),
        ("<other-dynamics>sempre pp possibile</other-dynamics>", "pp"),
        ("<other-dynamics>sub.</other-dynamics>", "mp"),
        ("<other-dynamics/>", "mp"),
        ("<f/><p/>", "p"),
        ("<p/><sf/>", "p"),
        ("<loud/>", "mp"),
        ("", "mp"),
    ],
)
def test_unusual_dynamics(inside: str, left: str) -> None:
    sign = direction(f"<dynamics>{inside}</dynamics>")
    assert dynamics(dynamic("mp") + sign + raw_note("D5")) == [("D5", left)]


def test_of_several_dynamics_in_a_direction_the_last_counts() -> None:
    assert dynamics(direction("<dynamics><f/></dynamics><dynamics><p/></dynamics>") + raw_note("D5")) == [("D5", "p")]
    assert dynamics(direction("<dynamics><p/></dynamics><dynamics><sf/></dynamics>") + raw_note("D5")) == [("D5", "p")]


def test_a_wedge_changes_nothing() -> None:
    wedge = direction('<wedge type="crescendo"/>')
    assert dynamics(dynamic("p") + wedge + raw_note("D5")) == [("D5", "p")]


def test_a_dynamic_among_the_notations_is_one() -> None:
    assert noted("<dynamics><mf/></dynamics>").dynamic == "mf"


def test_a_dynamic_holds_for_the_other_voice_of_its_staff_from_its_place_on() -> None:
    upper = in_voice("A5", 1) + dynamic("f") + in_voice("B5", 1)
    lower = in_voice("A4", 2) + in_voice("B4", 2)
    assert dynamics(upper + BACK + lower, in_voice("C5", 2)) == [
        ("A5", ""), ("B5", "f"), ("A4", ""), ("B4", "f"), ("C5", "f"),
    ]  # fmt: skip


def test_of_two_dynamics_at_one_place_each_voice_has_its_own() -> None:
    upper = dynamic("f") + in_voice("A5", 1) + in_voice("B5", 1)
    lower = dynamic("p", "<voice>2</voice>") + in_voice("A4", 2) + in_voice("B4", 2)
    both = in_voice("C6", 1) + BACK.replace("2", "1") + in_voice("C4", 2)
    assert dynamics(upper + BACK + lower, both) == [
        ("A5", "f"), ("B5", "f"), ("A4", "p"), ("B4", "p"), ("C6", "f"), ("C4", "p"),
    ]  # fmt: skip


def test_a_dynamic_may_name_another_voice_than_the_next_note_s() -> None:
    marks = dynamic("f", "<voice>1</voice>") + dynamic("p", "<voice>2</voice>")
    assert dynamics(marks + in_voice("A5", 1) + in_voice("B5", 1) + BACK + in_voice("A4", 2)) == [
        ("A5", "f"), ("B5", "f"), ("A4", "p"),
    ]  # fmt: skip


def test_a_later_dynamic_of_one_voice_ends_the_difference() -> None:
    upper = dynamic("f") + in_voice("A5", 1) + dynamic("mf") + in_voice("B5", 1)
    lower = dynamic("p") + in_voice("A4", 2) + in_voice("B4", 2)
    assert [mark for _, mark in dynamics(upper + BACK + lower)] == ["f", "mf", "p", "mf"]


def test_a_dynamic_of_one_staff_leaves_the_other() -> None:
    upper = dynamic("f", "<staff>1</staff>") + in_voice("A5", 1, 1) + in_voice("B5", 1, 1)
    lower = dynamic("p", "<staff>2</staff>") + in_voice("A4", 5, 2) + in_voice("B4", 5, 2)
    assert [mark for _, mark in dynamics(upper + BACK + lower)] == ["f", "f", "p", "p"]


def test_a_dynamic_without_a_staff_holds_for_all_of_them() -> None:
    upper = dynamic("f", "<staff>1</staff>") + in_voice("A5", 1, 1) + dynamic("pp") + in_voice("B5", 1, 1)
    lower = in_voice("A4", 5, 2) + in_voice("B4", 5, 2)
    assert [mark for _, mark in dynamics(upper + BACK + lower)] == ["f", "pp", "", "pp"]


def test_a_mark_written_late_and_drawn_early_holds_from_where_it_is_drawn() -> None:
    late = dynamic("p", "<offset>-1</offset>")
    assert dynamics(raw_note("C5") + raw_note("D5") + late, raw_note("E5")) == [("C5", ""), ("D5", "p"), ("E5", "p")]


@pytest.mark.parametrize(("offset", "marks"), [("0.25", ["p", "p"]), ("0.5", ["", "p"]), ("wide", ["p", "p"])])
def test_a_mark_drawn_over_the_first_half_of_a_note_belongs_to_it(offset: str, marks: list[str]) -> None:
    assert [
        m for _, m in dynamics(dynamic("p", f"<offset>{offset}</offset>") + raw_note("C5") + raw_note("D5"))
    ] == marks


# Pizzicato


def test_pizzicato_in_words_lasts_until_arco_in_another_measure() -> None:
    assert [n.pizzicato for n in notes_of('C5/2 "pizz." D5 | E5/4 | F5/2 "arco" G5')] == [
        False,
        True,
        True,
        True,
        False,
    ]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("pizz.", True),
        ("Pizz", True),
        ("sempre PIZZICATO", True),
        ("arco", False),
        ("col punto d'arco", False),
        ("arco (2. volta pizz.)", False),
        ("pizza", None),
        ("narcotico", None),
        ("", None),
    ],
)
def test_words_that_call_for_pizzicato(text: str, says: bool | None) -> None:
    assert plucked_in(text) is says


def test_sounds_call_for_pizzicato_and_end_it() -> None:
    on, off = '<sound pizzicato="yes"/>', words("arc.", '<sound pizzicato="no"/>')
    assert plucked(on + raw_note("C5"), raw_note("D5") + off + raw_note("E5")) == [True, True, False]


def test_the_sound_of_a_direction_goes_before_its_words() -> None:
    assert plucked(words("arco, quasi pizz.", '<sound pizzicato="yes"/>') + raw_note("C5")) == [True]


def test_a_sound_that_says_nothing_of_pizzicato_leaves_it_to_the_words() -> None:
    assert plucked(words("pizz.", '<sound tempo="60"/>') + raw_note("C5")) == [True]
    assert plucked(words("pizz.", '<sound pizzicato="maybe"/>') + raw_note("C5")) == [True]


def test_a_note_may_be_plucked_alone() -> None:
    one, other = ' pizzicato="yes"', ' pizzicato="no"'
    assert plucked(raw_note("C5") + raw_note("D5", attributes=one) + raw_note("E5")) == [False, True, False]
    assert plucked(words("pizz.") + raw_note("D5", attributes=other) + raw_note("E5")) == [False, True]


# Divisi


def test_the_players_are_divided_until_they_play_together() -> None:
    divided = [n.divisi for n in notes_of('"div." [D5 A5]/4 | [D5 B5] | "unis." [D5 A5]')]
    assert divided == [True, True, True, True, False, False]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("div.", True),
        ("divisi", True),
        ("Divisés", True),
        ("div. à 2", True),
        ("tutti div.", True),
        ("non div.", False),
        ("non  divisi", False),
        ("unis.", False),
        ("unisono", False),
        ("uniti", False),
        ("Tutti", False),
        ("à 2", False),
        ("a2", False),
        ("diva", None),
        ("unison bells", None),
        ("Sonata 2", None),
        ("à 24", None),
    ],
)
def test_words_that_divide_the_players(text: str, says: bool | None) -> None:
    assert divided_in(text) is says


# What says nothing


@pytest.mark.parametrize(
    "odd",
    [
        "<direction><direction-type><!-- p --><words/></direction-type><offset>x</offset><staff>up</staff></direction>",
        "<direction><direction-type><dynamics/></direction-type><offset>-99</offset><voice/></direction>",
        "<direction/><sound/><barline/><barline><ending/></barline>",
        "<attributes><key/><transpose/><staves>many</staves></attributes>",
    ],
)
def test_what_says_nothing_is_no_mark(odd: str) -> None:
    plain, marked = (part_of(raw(music)) for music in (raw_note("D5"), odd + raw_note("D5") + odd))
    assert [note.dynamic for note in marked] == [""]
    assert (marked.measures, marked.tempi, marked.transpose) == (plain.measures, (), 0)


@pytest.mark.parametrize("empty", ["ornaments", "technical", "dynamics", "accidental-mark"])
def test_empty_notations_say_nothing(empty: str) -> None:
    assert noted(f"<!-- tr --><{empty}/>") == part_of(raw(raw_note("D5"))).notes[0]
