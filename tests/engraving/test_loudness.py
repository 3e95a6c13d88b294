"""The dynamics of a part and its hairpins, drawn and in words."""

from __future__ import annotations

from fractions import Fraction

import pytest

from analysis.music import Part
from engraving.reading.swellwords import names_level, swell_in
from tests.engraving.rawxml import QUARTER, raw, raw_note
from tests.engraving.signs import direction, dynamic, part_of, words
from tests.scores import score

BACK = "<backup><duration>2</duration></backup>"


def violin(music: str) -> Part:
    return part_of(score("Violin", "4/4", music))


def levels(part: Part) -> list[tuple[Fraction, str]]:
    return [(mark.onset, mark.level) for mark in part.dynamics]


def swells(part: Part) -> list[tuple[Fraction, Fraction, str]]:
    return [(hairpin.onset, hairpin.end, "<" if hairpin.grows else ">") for hairpin in part.hairpins]


def wedge(kind: str, number: int = 1, after: str = "") -> str:
    return direction(f'<wedge type="{kind}" number="{number}"/>', after)


def dashes(kind: str, after: str = "") -> str:
    return direction(f'<dashes type="{kind}" number="1"/>', after)


# Dynamics


def test_the_dynamics_of_a_part_stand_where_they_are_printed() -> None:
    assert levels(violin("!mf C5/1 D5 !p E5/2 | F5/2 !ff G5")) == [(0, "mf"), (2, "p"), (6, "ff")]


def test_an_attack_sets_no_level() -> None:
    assert levels(violin("!mf C5/1 !sf D5 !fp E5/2")) == [(0, "mf"), (2, "p")]


def test_a_dynamic_among_the_notations_is_the_part_s_too() -> None:
    marked = raw_note("D5", f"{QUARTER}<notations><dynamics><mf/></dynamics></notations>")
    assert levels(part_of(raw(raw_note("C5") + marked))) == [(1, "mf")]
    assert levels(part_of(raw(dynamic("p") + raw_note("C5") + marked))) == [(0, "p"), (1, "mf")]


def test_a_dynamic_that_stands_in_both_voices_is_one() -> None:
    assert levels(violin("!f A5/4 & !f D4/4")) == [(0, "f")]


def test_voices_with_dynamics_of_their_own_have_both() -> None:
    assert levels(violin("!f A5/4 & !p D4/4 | !mp A5/4")) == [(0, "f"), (0, "p"), (4, "mp")]


def test_of_two_dynamics_at_one_place_the_last_counts() -> None:
    assert levels(part_of(raw(dynamic("f") + dynamic("p") + raw_note("D5")))) == [(0, "p")]
    lower = dynamic("mf", "<voice>2</voice>")
    assert levels(part_of(raw(dynamic("f") + lower + dynamic("p") + raw_note("D5")))) == [(0, "mf"), (0, "p")]


def test_the_second_staff_has_its_dynamics_for_itself() -> None:
    music = dynamic("p", "<staff>1</staff>") + raw_note("D5") + dynamic("f", "<staff>2</staff>") + raw_note("E5")
    assert levels(part_of(raw(music))) == [(0, "p")]


def test_a_dynamic_drawn_beyond_its_measure_stands_at_the_next() -> None:
    part = part_of(raw(raw_note("D5") + dynamic("p", "<offset>5</offset>"), raw_note("E5")))
    assert levels(part) == [(1, "p")]
    assert [note.dynamic for note in part] == ["", "p"]


def test_dynamics_stand_in_the_order_of_time() -> None:
    upper = raw_note("A5") + dynamic("f") + raw_note("B5")
    lower = dynamic("p", "<voice>2</voice>") + raw_note("A4", f"{QUARTER}<voice>2</voice>")
    assert levels(part_of(raw(upper + BACK + lower))) == [(0, "p"), (1, "f")]


# Wedges


def test_a_wedge_reaches_from_its_start_to_its_stop() -> None:
    assert swells(violin("!< C5/1 D5 !. E5/2 | !> F5/2 G5/2 | A5/1 !. B5/3")) == [(0, 2, "<"), (4, 9, ">")]


def test_wedges_are_told_apart_by_their_numbers() -> None:
    first = wedge("crescendo") + raw_note("C5") + wedge("diminuendo", 2) + raw_note("D5")
    assert swells(part_of(raw(first + wedge("stop") + raw_note("E5") + wedge("stop", 2)))) == [(0, 2, "<"), (1, 3, ">")]


def test_a_wedge_ends_where_the_next_begins() -> None:
    assert swells(violin("!< C5/2 !. !> D5/2 !. | E5/4")) == [(0, 2, "<"), (2, 4, ">")]


def test_the_stop_of_a_wedge_may_be_written_before_its_start() -> None:
    lower = raw_note("A4", f"{QUARTER}<voice>2</voice>") + raw_note("B4", f"{QUARTER}<voice>2</voice>")
    music = raw_note("A5") + raw_note("B5") + wedge("stop") + BACK + wedge("crescendo", 1, "<voice>2</voice>") + lower
    assert swells(part_of(raw(music))) == [(0, 2, "<")]


def test_a_wedge_that_never_stops_holds_until_the_next_mark() -> None:
    assert swells(violin("!< C5/2 D5 | !f E5/4")) == [(0, 4, "<")]
    assert swells(violin("!< C5/2 !> D5 !. | E5/4")) == [(0, 2, "<"), (2, 4, ">")]


def test_a_wedge_goes_on_over_a_line_break() -> None:
    music = (wedge("crescendo") + raw_note("C5"), wedge("continue") + raw_note("D5") + wedge("stop"))
    assert swells(part_of(raw(*music))) == [(0, 2, "<")]


def test_a_stop_alone_is_no_wedge() -> None:
    assert swells(violin("!. C5/2 D5")) == []
    assert swells(part_of(raw(wedge("start") + raw_note("C5") + wedge("stop")))) == []


def test_a_wedge_of_the_second_staff_is_left_out() -> None:
    second = "<staff>2</staff>"
    music = wedge("crescendo", 1, second) + raw_note("C5") + wedge("stop", 1, second)
    assert swells(part_of(raw(music))) == []


def test_a_wedge_drawn_late_stands_where_it_is_drawn() -> None:
    music = raw_note("C5") + raw_note("D5") + wedge("crescendo", 1, "<offset>-1</offset>") + raw_note("E5")
    assert swells(part_of(raw(music + wedge("stop")))) == [(1, 3, "<")]


def test_a_wedge_drawn_beyond_its_measure_stops_with_it() -> None:
    stop = wedge("stop", 1, "<offset>5</offset>")
    assert swells(part_of(raw(wedge("crescendo") + raw_note("C5") + stop, raw_note("D5")))) == [(0, 1, "<")]


# Words


def test_a_word_holds_until_the_next_dynamic() -> None:
    assert swells(violin('!p C5/2 "cresc." D5 | E5/2 !f F5')) == [(2, 6, "<")]


def test_an_attack_does_not_end_a_word() -> None:
    assert swells(violin('"cresc." C5/2 !sf D5 | !f E5/4')) == [(0, 4, "<")]


def test_a_word_holds_until_the_next_word_or_wedge() -> None:
    assert swells(violin('"cresc." C5/2 "dim." D5 | !< E5/2 F5 !.')) == [(0, 2, "<"), (2, 4, ">"), (4, 8, "<")]


def test_a_word_holds_until_words_name_a_dynamic() -> None:
    assert swells(violin('"dim." C5/2 D5 | "sempre pp" E5/4')) == [(0, 4, ">")]


def test_a_word_holds_at_most_to_the_end_of_the_part() -> None:
    assert swells(violin('C5/4 | "calando" D5/4 | E5/4')) == [(4, 12, ">")]
    assert swells(violin('C5/4 "cresc."')) == []


def test_a_dynamic_at_the_same_place_does_not_end_a_word() -> None:
    assert swells(violin('!p "cresc." C5/2 D5 | !f E5/4')) == [(0, 4, "<")]
    assert swells(violin('"p cresc." C5/2 D5 | !f E5/4')) == [(0, 4, "<")]


def test_a_word_in_both_voices_is_one() -> None:
    assert swells(violin('"cresc." A5/4 & "cresc." D4/4')) == [(0, 4, "<")]


def test_the_dashes_behind_a_word_end_it() -> None:
    """Outside source: MusicXML 4.0, element dashes: used with cresc. and dim. marks."""
    music = words("cresc.") + dashes("start") + raw_note("C5") + raw_note("D5") + dashes("stop") + raw_note("E5")
    assert swells(part_of(raw(music))) == [(0, 2, "<")]
    assert swells(part_of(raw(words("cresc.") + dashes("start") + dashes("stop") + raw_note("C5")))) == [(0, 1, "<")]


def test_dashes_do_not_take_a_word_beyond_a_dynamic() -> None:
    music = words("dim.") + dashes("start") + raw_note("C5") + dynamic("p") + raw_note("D5") + dashes("stop")
    assert swells(part_of(raw(music))) == [(0, 1, ">")]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("cresc.", "<"), ("Cresc", "<"), ("cres.", "<"), ("più crescendo", "<"), ("CRESCENDO POCO A POCO", "<"),
        ("cre - scen - do", "<"), ("cre", "<"), ("crescen - - do", "<"), ("augmentez", "<"),
        ("dim.", ">"), ("dimin.", ">"), ("Diminuendo", ">"), ("di - mi - nu - en - do", ">"), ("decresc.", ">"),
        ("decrescendo", ">"), ("de - cre - scen - do", ">"), ("decr.", ">"), ("calando", ">"), ("smorzando", ">"),
        ("smorz.", ">"), ("smor - -", ">"), ("espressivo morendo", ">"), ("mancando", ">"), ("perdendosi", ">"),
        ("dim. e rit.", ">"), ("cresc. poi dim.", "<"), ("senza cresc., poi dim.", ">"),
        ("senza cresc.", ""), ("non dim.", ""), ("Tempo di Menuetto", ""), ("rit.", ""), ("scherzando", ""),
        ("dimmed", ""), ("sacred", ""), ("accelerando", ""), ("", ""),
    ],
)  # fmt: skip
def test_words_that_stand_for_a_hairpin(text: str, says: str) -> None:
    """Common practice, no source."""
    assert swell_in(text) is {"<": True, ">": False, "": None}[says]


@pytest.mark.parametrize(
    ("text", "names"),
    [
        ("p", True), ("sempre pp", True), ("PP", True), ("più f", True), ("p, dolce", True), ("e piano", True),
        ("mf espr.", True), ("mezzo forte", True), ("forte", True),
        ("dolce", False), ("pizz.", False), ("fp", False), ("p.h.", True), ("pianoforte", False), ("", False),
    ],
)  # fmt: skip
def test_words_that_name_a_dynamic(text: str, names: bool) -> None:
    assert names_level(text) is names
