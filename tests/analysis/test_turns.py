"""Page turns: rests around barlines in seconds, and pages of least cost beside every way to break.

That a player turns from right-hand, odd pages, and needs a rest for it: common practice, no source.
"""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

import networkx as nx
import pytest

from analysis.music import Tempo
from analysis.turns import ENOUGH, Line, Paper, Turn, best_pages, empty_cost, rest_seconds, turn_cost
from tests.analysis.lines import line, repeated

Pages = tuple[tuple[Line, ...], ...]


def test_the_rest_around_a_barline_is_counted_on_both_sides() -> None:
    """At 60 quarter notes a minute: two beats of rest before the second barline, one after it."""
    part = line("D5/1 E5 F#5 G5 A5/2 r/2 r/1 D5/3", tempo=60)
    assert rest_seconds(part, 100) == (0.0, 0.0, 3.0)


def test_half_the_tempo_is_twice_the_rest() -> None:
    words = "D5/2 r/2 r/1 D5/3"
    assert rest_seconds(line(words, tempo=120), 60)[1] == 1.5
    assert rest_seconds(line(words, tempo=60), 60)[1] == 3.0


def test_the_tempo_of_the_teacher_holds_where_the_part_gives_none() -> None:
    assert rest_seconds(line("D5/2 r/2 r/1 D5/3"), 90)[1] == pytest.approx(2.0)


def test_a_change_of_tempo_within_the_rest_counts_from_where_it_stands() -> None:
    part = replace(line("D5/2 r/2 r/2 D5/2"), tempi=(Tempo(Fraction(0), 60), Tempo(Fraction(4), 30)))
    assert rest_seconds(part, 100)[1] == 2 + 4


def test_a_note_held_over_the_barline_leaves_no_rest() -> None:
    assert rest_seconds(line("D5/3 E5/1~ E5/1 r/3", tempo=60), 100) == (0.0, 0.0)
    syncopated = line("D5/3 E5/2 r/3", tempo=60)
    assert rest_seconds(syncopated, 100) == (0.0, 0.0)


def test_every_voice_has_to_rest() -> None:
    short, long = "D5/2 r/2 r/2 D5/2", "D4/3 r/1 r/1 D4/3"
    assert rest_seconds(line(short, long, tempo=60), 100)[1] == 2.0
    assert rest_seconds(line(long, short, tempo=60), 100)[1] == 2.0


def test_a_long_rest_counts_whole_at_each_of_its_barlines() -> None:
    assert rest_seconds(line("D5/4 r/4 r/4 r/4 D5/4", tempo=60), 100) == (0.0, 12.0, 12.0, 12.0, 12.0)


def test_rests_before_the_first_note_and_after_the_last_count() -> None:
    part = line("r/4 D5/4 r/4 r/4", tempo=60)
    padded = replace(part, measures=tuple(replace(part.measures[0], index=i, onset=Fraction(4 * i)) for i in range(4)))
    assert rest_seconds(padded, 100) == (4.0, 4.0, 8.0, 8.0)


def test_a_part_without_notes_rests_throughout() -> None:
    assert rest_seconds(replace(line("D5/4 E5/4", tempo=60), notes=()), 100) == (8.0, 8.0)


def test_a_second_ending_is_reached_from_before_the_first() -> None:
    """The first ending ends in a rest, but whoever goes on to the second comes from the measure before it."""
    part = line("D5/4 E5/2 r/2 r/1 F#5/3", tempo=60)
    assert rest_seconds(part, 100)[2] == 3.0
    assert rest_seconds(repeated(part, backs={1: 2}, endings={1: (1,), 2: (2,)}), 100)[2] == 1.0


def test_too_short_a_rest_is_better_than_none_but_far_from_enough() -> None:
    assert turn_cost(ENOUGH) == turn_cost(60.0) == 0
    assert turn_cost(0.0) == 1
    assert turn_cost(1.0) > turn_cost(2.0) > 0.5
    assert turn_cost(1.0, least=1.0) == 0


def test_a_full_page_costs_nothing_and_no_page_is_left_emptier_than_half() -> None:
    assert empty_cost(0.0) == empty_cost(0.1) == 0
    assert empty_cost(0.4) == pytest.approx(1)
    assert empty_cost(0.51) == float("inf")


def test_a_turn_is_told_in_one_sentence() -> None:
    assert Turn(1, 60, "61", 0.0, False).text == (
        "Page 1 turns before measure 61 with no rest: let one player of the desk turn."
    )
    assert "with only 1.2 seconds of rest:" in Turn(3, 60, "61", 1.23, False).text
    assert Turn(1, 60, "61", 4.0, True).text == ""


# The pages of least cost


def cost_of(pages: Pages, turns: Sequence[float], paper: Paper) -> float:
    """The cost by the table in ``analysis.turns``, added up page by page; infinite where a page is too full."""
    total = 0.3 * max(0, len(pages) - paper.pages)
    for number, page in enumerate(pages, 1):
        room = paper.first_room if number == 1 else paper.room
        filled = sum(one.height for one in page)
        total += sum(one.cost for one in page) + (float("inf") if filled > room else 0)
        if number > 1:
            total += 0.05 * (page[0].first not in paper.starts) + turns[page[0].first] * (number % 2 == 0)
        if number < len(pages):
            empty = 1 - filled / room
            total += float("inf") if empty > 0.5 else (max(0.0, empty - 0.1) / 0.3) ** 2
    return total if len(pages) <= paper.pages + 1 else float("inf")


def all_ways(lines: Sequence[Line], bars: int, bar: int = 0) -> Iterator[Pages]:
    """Every way to put lines on pages, whether they fit or not."""
    for one in lines:
        if one.first != bar:
            continue
        if one.last + 1 == bars:
            yield ((one,),)
            continue
        for rest in all_ways(lines, bars, one.last + 1):
            yield ((one,), *rest)
            yield ((one, *rest[0]), *rest[1:])


def random_case(seed: int, bars: int) -> tuple[list[Line], list[float], Paper]:
    rnd = random.Random(seed)
    lines = [
        Line(first, last, rnd.randint(2, 6), rnd.choice((0.0, 0.03, rnd.random() / 3)))
        for first in range(bars)
        for last in range(first, min(bars, first + 3))
        if rnd.random() < 0.7
    ]
    turns = [rnd.choice((0.0, 1.0, 0.5 + rnd.random() / 2)) for _ in range(bars)]
    starts = frozenset({0, *rnd.sample(range(bars), 2)})
    return lines, turns, Paper(rnd.randint(6, 10), rnd.randint(7, 12), rnd.randint(1, 4), starts)


@pytest.mark.parametrize("seed", range(150))
def test_the_pages_cost_as_little_as_the_best_of_all_ways_to_break(seed: int) -> None:
    lines, turns, paper = random_case(seed, bars=5 + seed % 3)
    least = min((cost_of(pages, turns, paper) for pages in all_ways(lines, len(turns))), default=float("inf"))
    found = best_pages(lines, turns, paper)
    if found is None:
        assert least == float("inf")
    else:
        assert cost_of(found, turns, paper) == pytest.approx(least)


def test_most_of_the_random_cases_can_be_set() -> None:
    """Else the trial of all ways would prove little."""
    assert sum(best_pages(*random_case(seed, 5 + seed % 3)) is not None for seed in range(150)) > 60


@pytest.mark.parametrize("seed", range(5))
def test_the_pages_of_a_long_part_cost_as_little_as_the_shortest_path_of_networkx(seed: int) -> None:
    lines, turns, paper = random_case(seed, bars=40)
    lines += [Line(bar, bar, 3, 0.2) for bar in range(40)]
    paper = replace(paper, pages=16)
    graph = nx.DiGraph()
    for page, one in itertools.product(range(1, paper.pages + 2), lines):
        room = paper.room_on(page)
        for filled in range(room + 1 - one.height):
            here, there = (one.first, page, filled), (one.last + 1, page, filled + one.height)
            if one.cost < graph.get_edge_data(here, there, {"weight": 9.0})["weight"]:
                graph.add_edge(here, there, weight=one.cost)
    for bar, page, filled in [node for node in graph if node[2]]:
        room = paper.room_on(page)
        if bar == len(turns):
            graph.add_edge((bar, page, filled), "end", weight=0.3 * (page > paper.pages))
        elif filled * 2 >= room:
            begun = 0.05 * (bar not in paper.starts) + turns[bar] * (page % 2)
            weight = begun + (max(0.0, 0.9 - filled / room) / 0.3) ** 2
            graph.add_edge((bar, page, filled), (bar, page + 1, 0), weight=weight)
    found = best_pages(lines, turns, paper)
    assert found is not None
    assert [one.first for page in found for one in page][1:] == [one.last + 1 for page in found for one in page][:-1]
    assert cost_of(found, turns, paper) == pytest.approx(nx.dijkstra_path_length(graph, (0, 1, 0), "end"))


def test_only_odd_pages_turn() -> None:
    """Three pages of two bars each, hard turns everywhere but before bar 2: only the first break is a turn."""
    lines = [Line(bar, bar, 5) for bar in range(6)]
    paper = Paper(10, 10, 3, frozenset({0, 2, 4}))
    pages = best_pages(lines, [1, 1, 0, 1, 1, 1], paper)
    assert pages is not None
    assert [page[0].first for page in pages] == [0, 2, 4]
    assert cost_of(pages, [1, 1, 0, 1, 1, 1], paper) == 0


def test_lines_that_are_higher_than_any_page_have_no_pages() -> None:
    assert best_pages([Line(0, 0, 11)], [0.0], Paper(10, 10, 1)) is None
    assert best_pages([Line(0, 0, 5), Line(2, 2, 5)], [0.0] * 3, Paper(10, 10, 1)) is None


def test_there_is_at_most_one_page_more_than_usual() -> None:
    lines = [Line(bar, bar, 5) for bar in range(4)]
    assert best_pages(lines, [0.0] * 4, Paper(5, 5, 2)) is None
    pages = best_pages(lines, [0.0] * 4, Paper(5, 5, 3))
    assert pages is not None
    assert len(pages) == 4
