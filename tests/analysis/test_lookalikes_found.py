"""What comes again as it is told: planted in random music, in quartets whose form is known, and in small tunes."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import analysis.again as room
from analysis.again.choosing import choose
from analysis.again.lines import Likeness, lines
from analysis.again.passages import Passage
from analysis.again.recurrences import Recurrence, recurrences
from analysis.again.returns import Return
from analysis.music import Part, Score
from engraving.document import open_document
from engraving.reading import read_score
from tests.analysis.growth import lines_run
from tests.analysis.lines import line, repeated
from tests.benchmarks.look_alikes import KINDS, long_part, precision_and_recall
from tests.engraving.corpus import corpus_folder

TUNE = "A4/1 B4/1/2 C#5 E5/3/2 D5/1/2 | C#5/1 F#4/1/2 G#4 B4/1 E5 | D5/1/2 C#5 B4/1 A4/2"
LOWER = "D4/1 E4/1/2 F#4 A4/3/2 G4/1/2 | F#4/1 B3/1/2 C#4 E4/1 A4 | G4/1/2 F#4 E4/1 D4/2"
IN_MINOR = "A4/1 B4/1/2 C5 E5/3/2 D5/1/2 | C5/1 F4/1/2 G4 B4/1 E5 | D5/1/2 C5 B4/1 A4/2"
OTHER = "G4/2 F#5/1/2 D5 r/1 | G5/1/4 A5 B5 G5 E5/2 r/1"


def music(*tunes: str) -> Part:
    """Tunes one after the other; bar lines only help the eye."""
    return line(" ".join(tunes).replace("|", " "))


def told(*found: Recurrence) -> list[tuple[Likeness, int, int, int]]:
    """Likeness, first later row, first earlier row and how many, of each."""
    return [(one.likeness, *one.pairs()[0], len(one.pairs())) for one in found]


# What is planted


@pytest.mark.parametrize("kind", KINDS)
def test_what_is_planted_is_found_and_nothing_else(kind):
    precision, recall = precision_and_recall(kind, 15, seed=7)
    assert precision > 0.97
    assert recall > 0.97


# Quartets


@pytest.fixture(scope="module")
def mozart() -> Score:
    return read_score(open_document(corpus_folder() / "mozart/k458/movement1.mxl"))


@pytest.fixture(scope="module")
def haydn() -> Score:
    return read_score(open_document(corpus_folder() / "haydn/opus1no1/movement1.mxl"))


def measures(part: Part, found: Recurrence, others: tuple[Part, ...] = ()) -> dict[tuple[str, str], set[int]]:
    """By measure of the later and of the earlier music, the letters by which the notes have moved."""
    music = (part, *others)
    moves: dict[tuple[str, str], set[int]] = {}
    for row, source in found.pairs():
        heads = [found.lines.heads[one][0] for one in (row, source)]
        at = [music[found.lines.part[one]] for one in (row, source)]
        labels = tuple(part.measures[head.measure].label for part, head in zip(at, heads, strict=True))
        moves.setdefault(labels, set()).add(heads[0].pitch.letter - heads[1].pitch.letter)
    return moves


@pytest.mark.parametrize("index", range(4))
def test_the_recapitulation_of_a_sonata_movement_is_found_in_every_part(mozart, index):
    """K. 458 i: the recapitulation begins with the upbeat to measure 139; its first theme is that of the beginning, its
    second group that of measures 47 to 90 in the tonic instead of the dominant, a fifth lower or a fourth higher
    (sonata form, as the movement is commonly described; from memory)."""
    part = mozart.parts[index]
    moves: dict[tuple[str, str], set[int]] = {}
    for found in recurrences(part):
        moves |= measures(part, found)
    first_group = [moves.get((str(number + 138), str(number)), set()) for number in range(1, 29)]
    # Where a part rests or holds a note there is nothing to compare.
    assert sum(found == {0} for found in first_group) >= 20
    assert all(found <= {0} for found in first_group)
    second_group = [moves.get((str(number + 142), str(number)), set()) for number in range(47, 86)]
    assert sum(bool(found) for found in second_group) >= 13
    assert all(found <= {-4, 3} for found in second_group)


@pytest.mark.parametrize("index", range(4))
def test_a_theme_that_returns_in_a_small_quartet_movement_is_found_in_every_part(haydn, index):
    """Op. 1 no. 1 i: the theme of measures 1 to 4 returns in measure 42 (read off the page)."""
    part = haydn.parts[index]
    found = next(one for one in recurrences(part) if ("43", "2") in measures(part, one))
    moves = measures(part, found)
    assert {("42", "1"), ("43", "2"), ("44", "3")} <= set(moves)
    assert set().union(*moves.values()) == {0}


def test_what_returns_is_the_same_whatever_parts_stand_beside_it(mozart):
    first, *others = mozart.parts
    alone, beside = recurrences(first), recurrences(first, others)
    assert told(*alone) == told(*(one for one in beside if not one.lines.part[one.pairs()[0][1]]))


# Small tunes


def test_a_tune_that_returns_is_one_recurrence():
    assert told(*recurrences(music(TUNE, OTHER, TUNE))) == [(Likeness.EXACT, 22, 0, 14)]


def test_every_return_points_at_the_first_time():
    part = music(TUNE, OTHER, TUNE, "F5/4", TUNE)
    assert told(*recurrences(part)) == [(Likeness.EXACT, 22, 0, 14), (Likeness.EXACT, 37, 0, 14)]


def test_a_return_that_has_grown_still_points_at_the_first_time():
    """The third time follows the second for two notes more."""
    part = music(TUNE, OTHER, TUNE, "F5/1 B4/1", "C4/2 D5/1/4 F4 A5/1", TUNE, "F5/1 B4/1 G4/4")
    found = recurrences(part)
    assert told(*found) == [(Likeness.EXACT, 22, 0, 14), (Likeness.EXACT, 42, 0, 14)]


def test_a_tune_a_fifth_lower_or_in_minor_is_found():
    part = music(TUNE, OTHER, LOWER, "C6/4", IN_MINOR)
    assert told(*recurrences(part)) == [(Likeness.MOVED, 22, 0, 14), (Likeness.IN_KEY, 37, 0, 14)]


def test_notes_left_out_put_in_or_changed_do_not_part_a_tune():
    long = f"{TUNE} E5/1 C#5/1/2 D5/1/2 F#5/2 E5/1/2 G#4/1/2 A4/3"
    ahead, behind = long.split(" | ", 1)
    assert told(*recurrences(music(long, OTHER, f"{ahead} D4/1/2 {behind}")))[0][3] == 21
    changed = long.replace("B4/1 E5", "B4/1 F5")
    assert told(*recurrences(music(long, OTHER, changed)))[0][3] == 20
    left_out = long.replace("B4/1 E5", "B4/1")
    assert told(*recurrences(music(long, OTHER, left_out)))[0][3] == 20


def test_a_gap_that_is_much_longer_on_one_side_parts_a_tune():
    first, second = f"{TUNE}", "E5/1 C#5/1/2 D5/1/2 F#5/2 E5/1/2 G#4/1/2 A4/1/2 F#5/1 D5/1/2 B4/1"
    together, apart = music(first, second, OTHER, first, second), music(first, second, OTHER, first, "r/8", second)
    assert [one[3] for one in told(*recurrences(together))] == [24]
    assert len(recurrences(apart)[0].passages[0].blocks) == 1


def test_a_short_stretch_that_goes_on_with_a_long_one_belongs_to_it():
    second, long, other = "E5/1 C#5/1/2 D5/1/2 F#5/2 | E5/1 G#4/1", "D5/4", "G#5/1 E4/1 F4/1 C4/1"
    (found,) = recurrences(music(TUNE, long, second, OTHER, TUNE, other, second))
    assert [one.size for one in found.passages] == [14, 6]
    (alone,) = recurrences(music(TUNE, long, second, OTHER, TUNE, other, "r/1", second))
    assert [one.size for one in alone.passages] == [14]


SECOND = "E5/1 C#5/1/2 D5 F#5/2 E5/1/2 G#4 A4/1 F#5 D5 B4/1 C#5/1/2 E5 D5/1 B4"
THIRD = "G#5/1/2 E5 C#5/1 B4/3/2 G#4/1/2 F#4/1 A4/1/2 D5 C#5/1 E5 F#5/1/2 D5 B4/1 E4/2"


def test_what_goes_on_with_its_neighbours_points_along_with_them():
    """The second tune has been there even before, but not between the first and the third."""
    link, other = "D5/1 A5 B5 A5", "G#5/1 E4 F4 C4"
    part = music(SECOND, OTHER, TUNE, link, SECOND, link, THIRD, OTHER.replace("G", "F"))
    again = music(SECOND, OTHER, TUNE, link, SECOND, link, THIRD, "C6/4", TUNE, other, SECOND, other, THIRD)
    (first,) = recurrences(part)
    assert told(first) == [(Likeness.EXACT, 40, 0, 14)]
    same, all_three = recurrences(again)
    assert told(same) == told(first)
    assert [one.size for one in all_three.passages] == [14, 14, 14]


@pytest.mark.parametrize(("measures_between", "together"), [(1, True), (3, True), (5, False)])
def test_after_much_other_music_the_same_music_is_another_finding(measures_between, together):
    link, other = "D5/1 A5 B5 A5 " * measures_between, "G#5/1 E4 F4 C4 " * measures_between
    found = [one for one in recurrences(music(TUNE, link, THIRD, OTHER, TUNE, other, THIRD)) if not one.period]
    assert [len(one.passages) for one in found] == ([2] if together else [1, 1])


def test_what_comes_again_by_chance_in_music_of_few_notes_is_not_worth_telling():
    dice = random.Random(5)
    assert recurrences(line(" ".join(f"{dice.choice('ABDE')}4/1" for _ in range(300)))) == ()


def test_a_row_of_fifths_that_starts_elsewhere_is_not_worth_telling():
    fifths = "C4/1 G4 D4 A4 E4 B4 F4 C5 G4 D5 A4 E5"
    higher = "B4/1 F5 C5 G5 D5 A5 E5 B5 F5 C6 G5 D6"
    dice = random.Random(6)
    rest = " ".join(f"{dice.choice('ABCDEFG')}5/{dice.choice(('1/2', '1/4', '3/2'))}" for _ in range(150))
    assert recurrences(line(f"{rest} {fifths} r/4 {OTHER} {higher}".replace("|", " "))) == ()


def test_what_goes_on_in_another_octave_stays_together():
    high = "A5/1 B5/1/2 C#6 E6/3/2 D6/1/2 C#6/1 F#5/1/2 G#5 B5/1 E6 D6/1/2 C#6 B5/1 A5/2"
    second = "E5/1 C#5/1/2 D5/1/2 F#5/2 E5/1/2 G#4/1/2 A4/1/2 F#5/1 D5/1/2 B4/1"
    (found,) = recurrences(music(TUNE, second, OTHER, high, second))
    assert [passage.likeness for passage in found.passages] == [Likeness.MOVED, Likeness.EXACT]


def test_a_figure_over_and_over_is_told_once():
    figure = "A4/1/2 C#5/1/2 E5/1 F#5/1/2 D5/1/2 B4/1"
    (found,) = recurrences(music("G4/4", figure, figure, figure, figure, "G4/4"))
    assert (found.period, len(found.pairs())) == (6, 18)
    assert [source for _, source in found.pairs()] == [1, 2, 3, 4, 5, 6] * 3


def test_a_tune_that_follows_itself_once_is_no_figure_over_and_over():
    (found,) = recurrences(music(OTHER, TUNE, TUNE, "A4/1 B4/1/2 C#5 G5/4"))
    assert (found.period, len(found.pairs())) == (0, 14)


@pytest.mark.parametrize(
    "text",
    [
        "A4/1/2 " * 48,
        "A4/1/2 C#5 E5 C#5 " * 8 + "r/4 " + "A4/1/2 C#5 E5 C#5 " * 8,
        "A4/1/2 B4 C5 D5 E5 F5 G5 A5 r/4 C5/1/2 D5 E5 F5 G5 A5 B5 C6",
        "D5/4 E5/4 F#5/4 D5/4 A4/4 D5/4 E5/4 F#5/4 D5/4 B4/4",
    ],
)
def test_repeated_notes_broken_chords_scales_and_a_few_long_notes_are_not_worth_telling(text):
    assert recurrences(line(text)) == ()


def test_two_endings_that_begin_alike_are_not_told():
    ending = "E5/1 C#5/1/2 D5/1/2 F#5/2 | E5/1/2 G#4/1/2 A4/1 B4/1 E4/1 | C#5/1 F#4/1/2 G#4/1/2 A4/2"
    part = music(OTHER, ending, ending)
    assert len(recurrences(part)) == 1
    volta = dict.fromkeys((2, 3, 4), (1,)) | dict.fromkeys((5, 6, 7), (2,))
    assert recurrences(repeated(part, backs={4: 2}, endings=volta)) == ()


def in_score(*texts: str) -> tuple[Part, ...]:
    """Parts with ids of their own."""
    made = []
    for number, text in enumerate(texts, start=1):
        part = line(text.replace("|", " "), name=f"Violin {number}")
        notes = tuple(replace(note, id=f"{number}{note.id}") for note in part.notes)
        made.append(replace(part, id=f"P{number}", notes=notes))
    return tuple(made)


LONG = f"{TUNE} E5/1 C#5/1/2 D5/1/2 F#5/2 E5/1/2 G#4/1/2 A4/3"


def test_what_another_part_has_had_is_told_where_the_part_has_not_had_it():
    mine, other = in_score(f"{OTHER} r/4 r r r r {LONG} r/4 {OTHER} {LONG}", f"{LONG} r/4")
    found = recurrences(mine, [other])
    assert [one.lines.part[one.pairs()[0][1]] for one in found] == [0, 1]
    assert found[1].pairs()[0] == (8, 58)


def test_what_another_part_has_later_or_at_once_is_not_told():
    mine, later, at_once = in_score(LONG, f"r/4 {LONG}", LONG)
    assert recurrences(mine, [later]) == ()
    assert recurrences(mine, [at_once]) == ()
    assert len(recurrences(later, [mine])) == 1


@pytest.mark.parametrize(("rest", "count"), [("r/2", 0), ("r/4", 1)])
def test_what_another_part_has_less_than_a_measure_ahead_is_not_told(rest, count):
    mine, other = in_score(f"{rest} {LONG}", LONG)
    assert len(recurrences(mine, [other])) == count


def test_of_another_part_short_music_is_not_told():
    mine, other = in_score(f"r/4 r r r {TUNE}", f"{TUNE} r/4")
    assert recurrences(mine, [other]) == ()


def passage(start: int, source: int, length: int, likeness: Likeness = Likeness.EXACT) -> Passage:
    return Passage(likeness, (Return(start, source, length),))


def chosen(*found: Passage, rows: int = 100) -> list[Passage]:
    return choose(found, np.zeros(rows, dtype=bool), lambda one: one.size >= 8)


def test_the_longest_passage_is_chosen_and_what_lies_in_it_is_not():
    assert chosen(passage(52, 2, 10), passage(50, 0, 20)) == [passage(50, 0, 20)]


def test_of_passages_that_overlap_the_shorter_keeps_what_is_left_if_that_is_enough():
    assert chosen(passage(50, 0, 20), passage(60, 25, 19)) == [passage(50, 0, 20), passage(70, 35, 9)]
    assert chosen(passage(50, 0, 20), passage(60, 25, 17)) == [passage(50, 0, 20)]


def test_what_is_left_of_a_passage_waits_for_its_turn():
    longest, cut, other = passage(50, 0, 30), passage(38, 60, 26), passage(28, 90, 18)
    assert chosen(longest, cut, other, rows=120) == [other, longest]


def test_the_stricter_likeness_counts_more_unless_the_looser_is_much_longer():
    exact = passage(50, 0, 20)
    assert chosen(passage(50, 20, 24, Likeness.IN_KEY), exact) == [exact]
    assert chosen(passage(50, 20, 26, Likeness.IN_KEY), exact) == [passage(50, 20, 26, Likeness.IN_KEY)]


def test_music_without_notes_has_nothing_that_comes_again():
    assert recurrences(line("r/4")) == ()
    assert recurrences(line("r/4"), [music(TUNE)]) == ()
    assert len(lines([line("r/4")])) == 0


# Growth


def equal(count: int) -> Part:
    return line("A4/1/2 " * count)


def ostinato(count: int) -> Part:
    return line("A4/1/2 C#5 E5 F#5 D5/1 B4/1/2 " * (count // 6))


def mixed(count: int) -> Part:
    dice = random.Random(count)
    return line(" ".join(f"{dice.choice('ABCDEFG')}4/{dice.choice(('1', '1/2', '1/4'))}" for _ in range(count)))


@pytest.mark.parametrize("music", [equal, ostinato, mixed, long_part])
def test_twice_the_music_takes_little_more_than_twice_the_steps(music):
    some, twice = music(2000), music(4000)
    folder = str(Path(room.__file__).parent)
    few, many = (lines_run(lambda part=part: recurrences(part), folder) for part in (some, twice))
    assert many < 2.6 * few
