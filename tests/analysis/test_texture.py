"""Who plays: passages and doublings of mini scores, and of openings whose scoring is known.

The expected passages are counted by hand. Beethoven's openings are as in the published scores (from memory): op. 18
no. 1 begins with everyone in unison and octaves, op. 59 no. 1, the second movement, with each part by itself.
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.music import Part
from analysis.texture import doublings, few_after_all, measures_of, notes_of, textures
from engraving.document import open_document
from engraving.reading import read_score
from tests.analysis.lines import line
from tests.analysis.watch.studies import ensemble
from tests.engraving.corpus import corpus_folder


def _bars(pattern: str, pitch: str = "A4") -> str:
    """Measures of four quarter notes where a pattern has ``x``, of rest where it has ``.``."""
    return " ".join(f"{pitch}/1 {pitch} {pitch} {pitch}" if sign == "x" else "r/4" for sign in pattern)


def _passages(*parts: str | Part) -> list[tuple[int, int, str, str]]:
    """First and last measure as printed, kind and the numbers of the parts of each passage."""
    return [
        (one.first_measure + 1, one.last_measure + 1, one.kind, "".join(name[1:] for name in one.parts))
        for one in textures(ensemble(*parts))
    ]


def test_everyone_all_the_time_is_one_passage():
    assert _passages(_bars("xxxx"), _bars("xxxx"), _bars("xxxx")) == [(1, 4, "full", "123")]


def test_solo_duet_section_and_full_follow_each_other():
    assert _passages(
        _bars("xxx" + "xxxxx" + "xxxxx" + "xxxx"),
        _bars("..." + "xxxxx" + "xxxxx" + "xxxx"),
        _bars("..." + "....." + "xxxxx" + "xxxx"),
        _bars("..." + "....." + "....." + "xxxx"),
    ) == [(1, 3, "solo", "1"), (4, 8, "duet", "12"), (9, 13, "section", "123"), (14, 17, "full", "1234")]


def test_a_rest_of_one_measure_changes_nothing():
    assert _passages(_bars("xxxxxxxx"), _bars("xxx.xxxx"), _bars("xxx.xxxx")) == [(1, 8, "full", "123")]


def test_every_other_measure_of_rest_changes_nothing():
    assert _passages(_bars("xxxxxxxx"), _bars("x.x.x.x."), _bars("x.x.x.xx")) == [(1, 8, "full", "123")]


def test_two_measures_alone_are_a_solo():
    assert _passages(_bars("xxxxxxxx"), _bars("xxx..xxx"), _bars("xxx..xxx"), _bars("xxx..xxx")) == [
        (1, 3, "full", "1234"),
        (4, 5, "solo", "1"),
        (6, 8, "full", "1234"),
    ]


@pytest.mark.parametrize(
    ("parts", "rest", "kinds"),
    [(4, 4, ["full"]), (4, 5, ["full", "section", "full"]), (5, 5, ["full"]), (5, 6, ["full", "section", "full"])],
)
def test_one_of_many_is_missed_after_as_many_measures_as_there_are_parts(parts, rest, kinds):
    silent = "xxxxxx" + "." * rest + "xxxxxx"
    others = (_bars("x" * len(silent)) for _ in range(parts - 1))
    assert [kind for _, _, kind, _ in _passages(*others, _bars(silent))] == kinds


def test_one_chord_of_the_others_does_not_end_a_solo():
    struck = _bars("xx...") + " A4/1 r/3 " + _bars("...xx")
    assert _passages(_bars("x" * 11), struck, struck) == [
        (1, 2, "full", "123"),
        (3, 9, "solo", "1"),
        (10, 11, "full", "123"),
    ]


def test_a_solo_begins_with_the_measure_whose_first_beat_the_others_end_on():
    ends = _bars("xx") + " A4/1 r/3 r/4 r/4 " + _bars("xx")
    score = ensemble(_bars("x" * 7), ends, ends)
    assert [(one.first_measure + 1, one.last_measure + 1) for one in textures(score)] == [(1, 2), (3, 5), (6, 7)]
    assert textures(score)[1].onset == 9


def test_an_upbeat_belongs_to_the_measure_that_follows():
    enters = _bars("xx...") + " r/3 A4/1 " + _bars("xx")
    score = ensemble(_bars("x" * 8), enters, enters)
    solo, everyone = textures(score)[1:]
    assert (solo.last_measure + 1, everyone.first_measure + 1) == (6, 7)
    assert solo.end == everyone.onset == 23
    upbeat = notes_of(score.parts[1], everyone)
    assert (upbeat[0].onset, upbeat[0].measure + 1) == (23, 6)
    assert measures_of(everyone, upbeat) == (6, 7)
    assert [note.onset for note in notes_of(score.parts[0], solo)] == list(range(8, 23))
    assert notes_of(score.parts[0], everyone)[0].onset == 23


def _cut_to_a_pickup(text: str) -> Part:
    """A line whose first measure is cut down to its last beat."""
    whole = line(text)
    measures = (
        replace(one, onset=max(Fraction(0), one.onset - 3), length=Fraction(4 if one.index else 1))
        for one in whole.measures
    )
    return replace(
        whole, measures=tuple(measures), notes=tuple(replace(note, onset=note.onset - 3) for note in whole.notes)
    )


def test_a_pickup_alone_is_no_solo():
    others = (_cut_to_a_pickup("r/4 " + _bars("xxxx")) for _ in range(3))
    assert _passages(_cut_to_a_pickup("r/3 A4/1 " + _bars("xxxx")), *others) == [(1, 5, "full", "1234")]


def test_a_first_measure_alone_is_a_solo():
    others = (_bars(".xxxx") for _ in range(3))
    assert _passages(_bars("xxxxx"), *others) == [(1, 1, "solo", "1"), (2, 5, "full", "1234")]


def test_most_of_the_first_measure_alone_is_a_solo():
    others = ("r/3 A4/1 " + _bars("xxxx") for _ in range(3))
    assert _passages(_bars("xxxxx"), *others) == [(1, 1, "solo", "1"), (2, 5, "full", "1234")]


def test_silence_of_everyone_is_no_passage_and_ends_no_passage():
    assert _passages(_bars("xx....xx"), _bars("xx....xx"), _bars("xx....xx")) == [(1, 8, "full", "123")]


def test_a_part_that_never_plays_is_not_waited_for():
    assert _passages(_bars("xxxx"), _bars("xxxx"), _bars("....")) == [(1, 4, "full", "12")]


@pytest.mark.parametrize("parts", [(), ("r/4 r",), (_bars("xx"),), (_bars("xx"), "r/4 r")])
def test_a_part_by_itself_has_no_texture(parts):
    assert textures(ensemble(*parts)) == ()


def test_grace_notes_alone_are_no_playing():
    assert _passages(_bars("xxxxxx"), _bars("xx..") + " *A4 r/4 *A4 r/4", _bars("xx....")) == [
        (1, 2, "full", "123"),
        (3, 6, "solo", "1"),
    ]


def test_words_call_a_solo_over_the_others():
    score = ensemble(_bars("xx") + " {solo} " + _bars("xx") + " {tutti} " + _bars("xx"), _bars("x" * 6), _bars("x" * 6))
    found = textures(score)
    assert [(one.first_measure + 1, one.kind, one.soloists) for one in found] == [
        (1, "full", ()),
        (3, "solo", ("P1",)),
        (5, "full", ()),
    ]
    assert [one.foremost for one in found] == [(), ("P1",), ()]
    assert found[1].parts == ("P1", "P2", "P3")


def test_two_solos_make_a_duet():
    solo = _bars("xx") + " {solo} " + _bars("xx")
    assert [one.kind for one in textures(ensemble(solo, solo, _bars("xxxx")))] == ["full", "duet"]


def test_tutti_without_a_solo_before_it_changes_nothing():
    assert _passages(_bars("xx") + " {tutti} " + _bars("xx"), _bars("xxxx")) == [(1, 4, "full", "12")]


def test_half_a_section_is_told_apart():
    found = textures(ensemble(_bars("xx") + " {few} " + _bars("xx"), _bars("xxxx"), _bars("xxxx")))
    assert [(one.kind, one.few) for one in found] == [("full", ()), ("full", ("P1",))]


def test_a_part_that_is_mostly_shared_out_is_divided():
    chords = "{div} " + " ".join("[A4 C5]/2" for _ in range(8))
    (whole,) = textures(ensemble(chords, _bars("xxxx")))
    assert whole.divided == ("P1",)
    (whole,) = textures(ensemble("{div} [A4 C5]/4 " + _bars("xxx"), _bars("xxxx")))
    assert whole.divided == ()


def test_few_are_one_or_two_beside_at_least_twice_as_many():
    solo, everyone = textures(ensemble(_bars("xxxxxx"), _bars("...xxx"), _bars("...xxx")))
    assert few_after_all(solo, everyone)
    assert not few_after_all(everyone, solo)
    duet, everyone = textures(ensemble(_bars("xxxxxxx"), _bars("xxxxxxx"), _bars("....xxx")))
    assert not few_after_all(duet, everyone)
    solo, both = textures(ensemble(_bars("xxxxxx"), _bars("...xxx")))
    assert not few_after_all(solo, both)


def _cost(patterns: list[str], chosen: tuple[frozenset[int], ...]) -> float:
    """What a choice of players for each measure costs, by the rule in words: changes, and players amiss."""
    total = 0.5 * sum(early != late for early, late in itertools.pairwise(chosen))
    for measure, players in enumerate(chosen):
        playing = {number for number, pattern in enumerate(patterns) if pattern[measure] == "x"}
        if playing:
            total += len(playing ^ players) / len(playing | players)
    return total


@given(st.lists(st.text("xx.", min_size=5, max_size=5), min_size=3, max_size=3))
@settings(max_examples=60)
def test_no_other_passages_cost_less(patterns):
    # In blocks of two measures, so that every rest is one; a block of two measures costs twice.
    score = ensemble(*(_bars("".join(sign * 2 for sign in pattern)) for pattern in patterns))
    found = textures(score)
    if not found:
        return
    doubled = ["".join(sign * 2 for sign in pattern) for pattern in patterns]
    chosen: list[frozenset[int]] = []
    for measure in range(10):
        here = next((one for one in reversed(found) if one.first_measure <= measure), found[0])
        chosen.append(frozenset(int(name[1:]) - 1 for name in here.parts))
    sets = {frozenset(n for n in range(3) if patterns[n][block] == "x") for block in range(5)} - {frozenset()}
    best = min(
        _cost(doubled, tuple(itertools.chain.from_iterable((players, players) for players in path)))
        for path in itertools.product(sets, repeat=5)
    )
    assert _cost(doubled, tuple(chosen)) == pytest.approx(best)


# Doublings

THEME = "A4/1 B4 C5 D5 E5 D5 C5 B4"
OTHER = "F4/1 G4 A4 B4 C5 B4 G4 F4"


def _doubled(*parts: str, of: int = 0) -> list[tuple[int, int, str, bool]]:
    score = ensemble(*parts)
    return [
        (one.first_measure + 1, one.last_measure + 1, one.part, one.unison) for one in doublings(score, score.parts[of])
    ]


def _beside(doubling: str) -> str:
    """A part that plays something else but for measures 5 and 6."""
    return f"{OTHER} {OTHER} {doubling} {OTHER} {OTHER}"


OWN = " ".join([THEME] * 5)


def test_the_same_notes_are_a_unison():
    assert _doubled(OWN, _beside(THEME)) == [(5, 6, "P2", True)]
    assert _doubled(OWN, _beside(THEME), of=1) == [(5, 6, "P1", True)]


def test_the_same_notes_two_octaves_lower_are_octaves():
    assert _doubled(OWN, _beside("A2/1 B2 C3 D3 E3 D3 C3 B2")) == [(5, 6, "P2", False)]


def test_sounding_pitches_are_compared():
    score = ensemble(OWN, _beside("A5/1 B5 C6 D6 E6 D6 C6 B5"))
    lower = replace(score.parts[1], transpose=-12)
    (doubling,) = doublings(replace(score, parts=(score.parts[0], lower)), score.parts[0])
    assert doubling.unison


@pytest.mark.parametrize(
    "beside",
    [
        "C5/1 D5 E5 F5 G5 F5 E5 D5",  # thirds
        "r/0.5 A4/1 B4 C5 D5 E5 D5 C5 B4/0.5",  # the same, half a beat late
        "A4/0.5 A4 B4 B4 C5 C5 D5 D5 E5 E5 D5 D5 C5 C5 B4 B4",  # each note twice
    ],
)
def test_another_line_is_no_doubling(beside):
    assert _doubled(OWN, _beside(beside)) == []


def test_repeated_notes_are_no_line():
    same = "A4/1 A4 A4 A4 E5 E5 E5 E5"
    assert _doubled(" ".join([same] * 5), _beside(same)) == []


def test_one_measure_is_no_doubling():
    assert _doubled(OWN, _beside("A4/1 B4 C5 D5 C5 B4 G4 F4")) == []


def test_a_part_that_doubles_as_a_rule_is_left_out():
    assert _doubled(OWN, f"{THEME} {THEME} {THEME} {OTHER} {OTHER}") == []


# Published scores


def test_opus_18_number_1_begins_in_octaves_of_everyone():
    score = read_score(open_document(corpus_folder() / "beethoven/opus18no1/movement1.mxl"))
    first = [one for one in doublings(score, score.parts[0]) if one.first_measure == 0]
    assert {(one.last_measure + 1, one.part) for one in first} == {(4, part.id) for part in score.parts[1:]}


def test_opus_59_number_1_has_each_part_begin_the_scherzo_by_itself():
    score = read_score(open_document(corpus_folder() / "beethoven/opus59no1/movement2.mxl"))
    first, second, viola, cello = (part.id for part in score.parts)
    begins = textures(score)[:5]
    assert [one.kind for one in begins] == ["solo"] * 4 + ["full"]
    assert [one.parts for one in begins[:4]] == [(cello,), (second,), (viola,), (first,)]


def test_notes_of_a_passage_stand_in_written_order():
    score = ensemble(_bars("xxxx"), _bars("xxxx"))
    (whole,) = textures(score)
    assert notes_of(score.parts[0], whole) == score.parts[0].notes
