"""What a player is told about who plays. The rules of thumb: common practice, no source; expected findings by hand."""

from __future__ import annotations

import pytest

from analysis.music import Part
from analysis.watch.finding import Finding
from analysis.watch.study import Study
from analysis.watch.who_plays import watch_who_plays
from engraving.document import open_document
from engraving.reading import read_score
from tests.analysis.watch.studies import ensemble
from tests.engraving.corpus import corpus_folder

FOUR = "A4/1 A4 A4 A4 "


def _bars(pattern: str) -> str:
    """Measures of four quarter notes where a pattern has ``x``, of rest where it has ``.``."""
    return "".join(FOUR if sign == "x" else "r/4 " for sign in pattern)


def _found(*music: str | Part, of: int = 0, names: tuple[str, ...] = ()) -> list[Finding]:
    score = ensemble(*music, names=names)
    return list(watch_who_plays(Study(score, score.parts[of], None)))


def _said(*music: str | Part, of: int = 0, names: tuple[str, ...] = ()) -> list[str]:
    return [finding.text for finding in _found(*music, of=of, names=names)]


TUTTI_SOLO_TUTTI = (_bars("xxxxxxxx"), *[_bars("xxx...xx")] * 3)


def test_a_player_alone_is_told():
    (finding,) = _found(*TUTTI_SOLO_TUTTI)
    assert finding.text == "Measures 4–6: you play alone."
    assert finding.note_ids == tuple(f"n{number}" for number in range(13, 25))
    assert finding.certainty == 1


def test_those_who_rest_meanwhile_are_told_nothing():
    assert _said(*TUTTI_SOLO_TUTTI, of=2) == []


def test_each_of_two_is_told_of_the_other():
    duet = (_bars("xxxxxxxx"), _bars("xx....xx"), _bars("xxxxxxxx"), _bars("xx....xx"))
    assert _said(*duet) == ["Measures 3–6: only you and the viola play."]
    assert _said(*duet, of=2) == ["Measures 3–6: only you and Violin I play."]
    assert _said(*duet, of=3) == []


@pytest.mark.parametrize("of", [0, 1, 2, 3])
def test_everyone_and_three_of_four_are_silent(of):
    assert _said(*[_bars("x" * 12)] * 3, _bars("xx........xx"), of=of) == []
    assert _said(*[_bars("x" * 6)] * 4, of=of) == []


def test_two_of_two_are_silent():
    assert _said(_bars("xxxxxx"), _bars("xxxxxx")) == []


def test_a_part_by_itself_is_silent():
    assert _said(_bars("xxxxxx")) == []
    assert _said(_bars("xxxxxx"), "r/4") == []


def test_one_who_comes_in_later_counts_from_there():
    others = _bars("xx....xx")
    late = (_bars("xx.xxxxx"), _bars("xxxxxxxx"), others, others)
    assert _said(*late) == ["Measures 4–6: only you and Violin II play."]
    assert _said(*late, of=1) == ["Measures 3–6: only you and Violin I play."]


# After everyone's forte


def _after(level: str, own: str = "{p} ", loud_parts: int = 4) -> tuple[str, ...]:
    """Three measures of everyone, three of the first part; so many parts begin at a level, the rest in piano."""
    signs = [f"{{{level if number < loud_parts else 'p'}}} " for number in range(4)]
    return (
        signs[0] + _bars("xxx") + own + _bars("xxx") + "{mf} " + _bars("xx"),
        *(sign + _bars("xxx...xx") for sign in signs[1:]),
    )


def test_few_carry_the_room_after_a_forte():
    (finding,) = _found(*_after("f"))
    assert finding.text == "Measures 4–6: you play alone, after everyone's forte: carry the room."
    assert 0.5 < finding.certainty < 1


def test_two_carry_the_room_after_a_fortissimo():
    first, _, *others = _after("ff")
    with_second = "{ff} " + _bars("xxx") + "{p} " + _bars("xxxxx")
    expected = "Measures 4–6: only you and Violin II play, after everyone's fortissimo: carry the room."
    assert _said(first, with_second, *others) == [expected]


@pytest.mark.parametrize(("level", "loud"), [("mf", 4), ("p", 4), ("f", 2), ("ff", 1)])
def test_after_less_than_everyones_forte_nothing_is_said_of_it(level, loud):
    assert _said(*_after(level, loud_parts=loud)) == ["Measures 4–6: you play alone."]


def test_after_most_in_forte_it_is_said():
    (text,) = _said(*_after("f", loud_parts=3))
    assert "after everyone's forte" in text


def test_of_forte_and_fortissimo_the_softer_is_everyones():
    first, *others = _after("ff")
    louder = [text.replace("{ff}", "{f}") for text in others[1:]]
    (text,) = _said(first, others[0], *louder)
    assert "after everyone's forte" in text


def test_those_under_a_solo_do_not_carry_the_room():
    solo = "{f} " + _bars("xxx") + "{solo} {p} " + _bars("xxx") + "{tutti} " + _bars("xx")
    under = "{f} " + _bars("xxx") + "{p} " + _bars("xxxxx")
    assert _said(solo, under, under) == ["Measures 4–6: one of you has a solo, after everyone's forte: carry the room."]
    assert _said(solo, under, under, of=1) == ["Measures 4–6: a solo in Violin I: stay under it."]


def test_a_forte_that_died_away_leaves_nothing_to_match():
    dying = "{f} " + FOUR + "{>} " + FOUR + FOUR + "{-} "
    first = dying + "{p} " + _bars("xxx") + "{mf} " + _bars("xx")
    assert _said(first, *[dying + _bars("...xx")] * 3) == ["Measures 4–6: you play alone."]


def test_a_forte_still_in_force_is_told_of_as_the_dynamic_that_it_is():
    assert _said(*_after("f", own="")) == ["Measures 4–6: you play alone."]


def test_a_solo_at_the_start_has_nothing_before_it():
    assert _said("{p} " + _bars("xxxxxx"), *["{f} " + _bars("...xxx")] * 3) == ["Measures 1–3: you play alone."]


# Words in force

SOLO_WORDS = (_bars("xx") + "{solo} " + _bars("xxx") + "{tutti} " + _bars("xx"), _bars("x" * 7), _bars("xx...xx"))


def test_a_solo_over_the_others_is_told_to_both():
    assert _said(*SOLO_WORDS) == ["Measures 3–5: one of you has a solo."]
    assert _said(*SOLO_WORDS, of=1) == ["Measures 3–5: a solo in Violin I: stay under it."]
    assert _said(*SOLO_WORDS, of=2) == []


def test_two_solos_are_told_of_each_other():
    solos = (SOLO_WORDS[0], SOLO_WORDS[0], _bars("x" * 7))
    assert _said(*solos) == ["Measures 3–5: one of you has a solo, with one in Violin II."]
    assert _said(*solos, of=2) == ["Measures 3–5: a solo in Violin I and Violin II: stay under it."]


def test_half_a_section_is_told_for_how_long():
    few = (_bars("xx") + "{few} " + _bars("xxx") + "{tutti} " + _bars("xx"), _bars("x" * 7), _bars("x" * 7))
    assert _said(*few) == ["Measures 3–5: only some of you play."]
    assert _said(*few, of=1) == []


def test_a_section_alone_and_shared_out_is_told_so():
    alone = _bars("xx") + "{div} " + "[A4 C5]/2 " * 6 + "{unis} " + _bars("xx")
    assert _said(alone, _bars("xx...xx"), _bars("xx...xx")) == ["Measures 3–5: you play alone, divided."]


# The same notes

THEME = "A4/1 B4 C5 D5 E5 D5 C5 B4 G4 A4 B4 C5 "
LOWER = "A3/1 B3 C4 D4 E4 D4 C4 B3 G3 A3 B3 C4 "
OTHER = "F4/1 G4 A4 B4 C5 B4 G4 F4 E4 F4 G4 E4 "
THIRD = "D4/1 E4 F4 G4 A4 G4 E4 D4 C4 D4 E4 C4 "
TWICE, OWN = OTHER * 2, THEME * 5


def test_octaves_with_one_other():
    expected = "Measures 7–9: in octaves with Violin II: tune to the lower part."
    (finding,) = _found(OWN, TWICE + LOWER + TWICE, THIRD * 5)
    assert finding.text == expected
    assert finding.note_ids == tuple(f"n{number}" for number in range(25, 37))
    assert _said(OWN, TWICE + LOWER + TWICE, THIRD * 5, of=2) == []


def test_unison_with_one_other():
    found = _said(OWN, TWICE + THEME + TWICE, THIRD * 5)
    assert found == ["Measures 7–9: in unison with Violin II: sound as one."]


def test_octaves_with_two_others():
    others = TWICE + LOWER + TWICE
    found = _said(OWN, others, others, THIRD * 5)
    assert found == ["Measures 7–9: in octaves with Violin II and the viola: tune to the lowest part."]


def test_octaves_with_everyone():
    others = TWICE + LOWER + TWICE
    assert _said(OWN, others, others) == ["Measures 7–9: in octaves with everyone: tune to the lowest part."]


def test_two_measures_are_told_of_everyone_but_not_of_one_other():
    short = LOWER[: LOWER.index("G3")]
    rest = OTHER[OTHER.index("E4") :]
    others = TWICE + short + rest + TWICE
    assert _said(OWN, others, THIRD * 5) == []
    assert _said(OWN, others, others) == ["Measures 7–8: in octaves with everyone: tune to the lowest part."]


def test_two_by_themselves_in_octaves_are_told_at_once():
    lower = TWICE + LOWER + TWICE
    third = THIRD * 2 + "r/4 r r " + THIRD * 2
    assert _said(OWN, lower, third, third) == ["Measures 7–9: only you and Violin II play, in octaves."]


def test_octaves_that_go_on_when_the_others_come_in_are_told_once():
    lower = TWICE + LOWER * 2 + TWICE + OTHER
    third = THIRD * 2 + "r/4 r r " + THIRD * 4
    assert _said(THEME * 7, lower, third, third) == ["Measures 7–9: only you and Violin II play, in octaves."]


# How it is put


def test_passages_of_the_same_players_near_each_other_are_told_at_once():
    (finding,) = _found(_bars("x" * 16), *[_bars("xxx..xxx..xxx..x")] * 3)
    assert finding.text == "Measures 4–5, 9–10 and 14–15: you play alone."
    assert len(finding.note_ids) == 24


def test_passages_far_from_each_other_are_told_apart():
    others = _bars("xxx..") + _bars("x" * 14) + _bars("..x")
    assert _said(_bars("x" * 22), *[others] * 3) == [
        "Measures 4–5: you play alone.",
        "Measures 20–21: you play alone.",
    ]


@pytest.mark.parametrize(
    ("name", "spoken"),
    [("Violin II", "Violin II"), ("2nd Violin", "the 2nd violin"), ("Vla.", "Vla."), ("", "another part")],
)
def test_parts_are_named_as_players_speak_of_them(name, spoken):
    third = _bars("xx....xx")
    found = _said(_bars("x" * 8), _bars("x" * 8), third, third, names=("Violin I", name, "Viola", "Cello"))
    assert found == [f"Measures 3–6: only you and {spoken} play."]


def test_a_published_quartet_is_told_little():
    """Mozart, K. 458, the first movement, as the file in the corpus has it: the violins end as these begin."""
    score = read_score(open_document(corpus_folder() / "mozart/k458/movement1.mxl"))
    viola = [finding.text for finding in watch_who_plays(Study(score, score.parts[2], None))]
    assert viola == [
        "Measures 43–45: only you and the cello play.",
        "Measures 185–187: only you and the cello play.",
    ]
    for part in score.parts:
        assert len(list(watch_who_plays(Study(score, part, None)))) <= 5
