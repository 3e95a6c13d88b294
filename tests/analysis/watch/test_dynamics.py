"""The dynamic in force. The rules of thumb: common practice, no source; expected findings by hand."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from analysis.music import Part
from analysis.watch.dynamics import held, in_force, level_words, steps, watch_dynamics
from analysis.watch.finding import SUGGESTION, Finding
from analysis.watch.study import Study
from engraving.document import open_document
from engraving.reading import read_score
from tests.analysis.lines import line
from tests.analysis.watch.studies import ensemble
from tests.engraving.corpus import corpus_folder

FOUR = "A4/1 A4 A4 A4 "


def _bars(pattern: str) -> str:
    """Measures of four quarter notes where a pattern has ``x``, of rest where it has ``.``."""
    return "".join(FOUR if sign == "x" else "r/4 " for sign in pattern)


def _found(*music: str | Part, of: int = 0) -> list[Finding]:
    score = ensemble(*music)
    return list(watch_dynamics(Study(score, score.parts[of], None)))


def _said(*music: str | Part, of: int = 0) -> list[str]:
    return [finding.text for finding in _found(*music, of=of)]


# What is in force


def test_a_dynamic_is_in_force_until_the_next_one():
    part = line(_bars("x") + "{p} " + _bars("xx") + "{f} " + _bars("x"))
    assert in_force(part, Fraction(7, 2)) is None
    assert in_force(part, Fraction(4)) == in_force(part, Fraction(11)) == ("p", 4)
    assert in_force(part, Fraction(12)) == in_force(part, Fraction(99)) == ("f", 12)
    assert in_force(line(_bars("x")), Fraction(0)) is None


def test_a_hairpin_leads_away_from_a_dynamic_until_the_next_one():
    part = line("{p} " + _bars("x") + "{<} " + _bars("x") + "{-} " + _bars("x") + "{f} " + _bars("x"))
    assert held(part, Fraction(4)) == ("p", 0)
    assert held(part, Fraction(5)) is None
    assert held(part, Fraction(11)) is None
    assert held(part, Fraction(12)) == ("f", 12)
    assert in_force(part, Fraction(11)) == ("p", 0)


def test_dynamics_in_the_order_of_loudness():
    levels = ["pppp", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff", "ffff"]
    assert sorted(sorted(levels), key=steps) == levels
    assert len({steps(level) for level in levels}) == len(levels)


def test_dynamics_are_spoken_as_words():
    assert [level_words(level) for level in ("pp", "mp", "f", "fff")] == ["pianissimo", "mezzo piano", "forte", "fff"]


# The start


def test_a_part_without_dynamics_is_told_once():
    (finding,) = _found(_bars("x" * 40))
    assert finding.text == "No dynamic is printed in this part: agree on one."
    assert finding.note_ids == ("n1", "n2", "n3", "n4")


def test_a_first_dynamic_that_comes_late_is_missed_at_the_start():
    assert _said(_bars(".xxx") + "{p} " + _bars("xx")) == ["No dynamic is printed before measure 5: agree on one."]


def test_what_the_others_have_at_the_start_is_told():
    music = (_bars("xxx") + "{p} " + _bars("xx"), "{f} " + _bars("xxxxx"), "{f} " + _bars("xxxxx"), _bars("xxxxx"))
    assert _said(*music) == ["No dynamic is printed before measure 4: the others have forte."]


def test_a_dynamic_of_one_of_the_others_is_not_that_of_the_others():
    music = (_bars("xxx") + "{p} " + _bars("xx"), "{f} " + _bars("xxxxx"), _bars("xxxxx"), _bars("xxxxx"))
    assert _said(*music) == ["No dynamic is printed before measure 4: agree on one."]


@pytest.mark.parametrize(
    "music", ["{mf} " + _bars("xxxx"), _bars("xx") + "{mf} " + _bars("xxxx"), _bars("xx"), "r/4 r r r", ""]
)
def test_a_dynamic_near_the_start_and_very_little_music_are_silent(music):
    assert _said(music) == []


# Long music, and rests


def test_a_dynamic_is_told_again_after_24_measures():
    (finding,) = _found("{f} " + _bars("xx") + "{p} " + _bars("x" * 60))
    assert finding.text == "Measure 27: still piano, since measure 3."
    assert finding.note_ids == ("n105", "n106", "n107", "n108")


@pytest.mark.parametrize("measures", [1, 24])
def test_a_dynamic_of_up_to_24_measures_is_not_told_again(measures):
    assert _said("{p} " + _bars("x" * measures) + "{f} " + _bars("xx")) == []


def test_measures_of_rest_are_not_counted():
    rests = "{p} " + _bars("xxxxxx......" * 3)
    assert _said(rests) == []
    assert _said(rests + _bars("xxxxxx......x")) == ["Measure 49: still piano, since measure 1."]


def test_after_a_hairpin_nobody_knows_the_dynamic():
    swelling = "{p} " + _bars("xx") + "{<} " + _bars("xx") + "{-} " + _bars("x" * 30)
    (text,) = _said(swelling)
    # It ends on the bar line, where measure 5 begins.
    assert text == "Measure 29: no new dynamic since the crescendo of measure 3; agree on one."
    assert "the diminuendo of measure 3" in _said(swelling.replace("<", ">"))[0]


def test_a_dynamic_is_told_again_after_a_long_rest():
    assert _said("{p} " + _bars("xxxx" + "." * 8 + "xxxx")) == [
        "Measure 13, after the rest: still piano, since measure 1."
    ]


@pytest.mark.parametrize(
    "music",
    [
        "{p} " + _bars("xxxx" + "." * 7 + "xxxx"),
        "{p} " + _bars("xxxx" + "." * 8) + "{f} " + _bars("xxxx"),
        "{p} " + _bars("xxxx" + "." * 8) + "A4/1 {f} A4 A4 A4 " + _bars("xxx"),
    ],
)
def test_a_shorter_rest_and_a_new_dynamic_after_it_are_silent(music):
    assert _said(music) == []


def _against(rest: str, others: str = "f") -> tuple[str, ...]:
    others = "{p} " + _bars("xxxx") + f"{{{others}}} " + _bars("xxxxxx")
    return "{p} " + _bars("xxxx" + rest + "x" * (6 - len(rest))), others, others, others


def test_another_dynamic_of_the_others_is_told_after_any_rest():
    assert _said(*_against("..")) == [
        "Measure 7, after the rest: still piano, since measure 1, but the others have forte."
    ]


def test_what_the_others_had_before_ones_own_dynamic_is_no_news():
    assert _said("{f} " + _bars("xxx") + "{p} " + _bars("x..xx"), *["{f} " + _bars("x" * 8)] * 3) == []


@pytest.mark.parametrize("music", [_against("."), _against("..", "p"), _against("")])
def test_the_same_dynamic_and_playing_on_are_silent(music):
    assert _said(*music) == []


# Solos after everyone (F13)


def _solo(tutti: str, own: str = "", measures: int = 3) -> tuple[str, ...]:
    """Everyone for five measures, the first part by itself for some more, everyone again in piano."""
    others = f"{{{tutti}}} " + _bars("xxxxx" + "." * measures) + "{pp} " + _bars("xxx")
    return f"{{{tutti}}} " + _bars("xxxxx") + own + _bars("x" * measures) + "{pp} " + _bars("xxx"), *[others] * 3


def test_a_solo_left_at_everyones_level_is_told():
    (finding,) = _found(*_solo("f"))
    assert finding.text == "Measure 6: you are alone, still in everyone's forte of measure 1: play louder than it says."
    assert finding.note_ids == tuple(f"n{number}" for number in range(21, 33))
    assert SUGGESTION < finding.certainty < 1


def test_a_dynamic_that_a_solo_tells_of_is_told_of_once():
    first = "{f} " + _bars("x" * 40)
    others = "{f} " + _bars("xxxxx...xxxxx..." + "x" * 24)
    assert _said(first, *[others] * 3) == [
        "Measure 6: you are alone, still in everyone's forte of measure 1: play louder than it says."
    ]


@pytest.mark.parametrize("measures", [2, 3])
def test_a_solo_left_at_everyones_piano_is_told(measures):
    assert _said(*_solo("p", measures=measures)) == [
        "Measure 6: you are alone, still in everyone's piano of measure 1: play louder than it says."
    ]


def test_two_left_at_everyones_level_are_told():
    first, other, *_ = _solo("mf")
    expected = (
        "Measure 6: only two of you are left, still in everyone's mezzo forte of measure 1: play louder than it says."
    )
    for of in (0, 1):
        assert _said(first, first, other, other, of=of) == [expected]
    assert _said(first, first, other, other, of=2) == []


@pytest.mark.parametrize("own", ["{f} ", "{p} ", "{mf} "])
def test_a_solo_with_a_dynamic_of_its_own_is_silent(own):
    assert _said(*_solo("f", own)) == []


def test_a_dynamic_in_the_first_half_of_the_solos_first_measure_is_its_own():
    _, *others = _solo("f")
    own = "{f} " + _bars("xxxxx") + "A4/1 {p} A4 A4 A4 " + _bars("xx") + "{pp} " + _bars("xxx")
    assert _said(own, *others) == []


def test_a_solo_at_another_level_than_the_others_had_is_silent():
    first, *_ = _solo("f")
    _, *others = _solo("p")
    assert _said(first, *others) == []


def test_a_solo_after_a_hairpin_is_silent():
    _, *others = _solo("f")
    fading = "{f} " + _bars("xxx") + "{>} " + _bars("xx") + "{-} " + _bars("xxx") + "{pp} " + _bars("xxx")
    assert _said(fading, *others) == []


def test_a_solo_of_words_is_told_too():
    solo = "{f} " + _bars("xxxxx") + "{solo} " + _bars("xxx") + "{tutti} {pp} " + _bars("xxx")
    accompany = "{f} " + _bars("xxxxx") + "{p} " + _bars("xxxxxx")
    (text,) = _said(solo, *[accompany] * 3)
    assert text == "Measure 6: you are alone, still in everyone's forte of measure 1: play louder than it says."
    assert _said(solo, *[accompany] * 3, of=1) == []
    assert _said(solo, *["{f} " + _bars("x" * 11)] * 3, of=1) == []


def test_one_of_two_parts_left_alone_is_silent():
    solo, other, *_ = _solo("f")
    assert _said(solo, other) == []


# Ways back to everyone (F13)


def _back(solo: str = "p", everyone: str = "f", end: str = "", last: str = FOUR) -> tuple[str, ...]:
    """Everyone for three measures, the first part by itself for three, everyone again."""
    others = "{mf} " + _bars("xxx...") + f"{{{everyone}}} " + _bars("xxx")
    back = f"{{{everyone}}} " if everyone else ""
    return "{mf} " + _bars("xxx") + f"{{{solo}}} " + _bars("xx") + end + last + back + _bars("xxx"), *[others] * 3


def test_a_solo_that_runs_into_everyone_may_grow():
    (finding,) = _found(*_back())
    assert finding.text == "Perhaps: grow through measure 6 into everyone's forte of measure 7."
    assert finding.certainty < SUGGESTION
    assert finding.note_ids == ("n21", "n22", "n23", "n24")


def test_a_long_solo_may_grow_into_the_same_level():
    assert _said(*_back("p", "p")) == []
    first, *others = _back("p", "p")
    longer = (first.replace("{p} ", "{p} " + FOUR, 1), *(part.replace("r/4 ", "r/4 r ", 1) for part in others))
    assert _said(*longer) == ["Perhaps: grow through measure 7 to meet everyone in measure 8."]


def test_a_rest_of_less_than_a_beat_does_not_part_it_from_what_follows():
    assert _said(*_back(last="A4/1 A4 A4 A4/0.5 r/0.5 ")) != []


@pytest.mark.parametrize(
    "music",
    [
        _back("f", "p"),  # back to a softer level
        _back(last="A4/1 A4 r/2 "),  # the line ends before
        _back(last="A4/1 A4 A4/2: "),  # a fermata parts it from what follows
        _back(last="A4/1 A4 A4/2' "),  # so does a breath
        _back(last="{pizz} A4/1 A4 A4 A4 {arco} "),
        _back(end="{<} ", last=FOUR + "{-} "),  # it is printed
        _back(end="{>} ", last=FOUR + "{-} "),  # the contrary is printed
        _back(last="{<} A4/4 {-} "),  # it is printed under the last note
    ],
)
def test_other_ends_of_solos_are_silent(music):
    assert _said(*music) == []


def test_the_others_are_told_nothing_of_a_way_back():
    assert _said(*_back(), of=1) == []


def test_a_solo_without_any_dynamic_has_no_way_back():
    music = (line(text) for text in _back())
    plain = [replace(part, dynamics=()) for part in music]
    assert [text for text in _said(*plain) if text.startswith("Perhaps")] == []


# Published scores


def test_a_published_quartet_is_told_little():
    """Mozart, K. 458, the first movement, as the file in the corpus has it, all piano since measure 92."""
    score = read_score(open_document(corpus_folder() / "mozart/k458/movement1.mxl"))
    second = [finding.text for finding in watch_dynamics(Study(score, score.parts[1], None))]
    assert second == ["Measure 116: still piano, since measure 92."]
    for part in score.parts:
        assert len(list(watch_dynamics(Study(score, part, None)))) <= 4
