"""Pages that turn in rests. That odd pages turn and two lie open side by side: common practice, no source."""

from __future__ import annotations

import pickle
from collections import Counter
from functools import cache
from itertools import pairwise

import pytest

import engraving.turning as turning
from analysis.turns import rest_seconds
from engraving.document import Document, read_document
from engraving.engraver import EngravedPage, engrave
from engraving.errors import EngravingError
from engraving.extract import part_for_engraving
from engraving.layout import A4, Layout
from engraving.reading import read_score
from engraving.turning import Turned, engrave_turning
from tests.engraving.oracle import pairs
from tests.engraving.pages import corpus_document, corpus_pages
from tests.engraving.test_placing import all_marked, boxes, touching
from tests.scores import score

K155, K458 = "mozart/k155/movement1", "mozart/k458/movement1"
_BAR = "D5/1 E5 F#5 G5"
_SMALL = Layout(148, 210, margin_mm=10, staff_mm=6)
_EMPTY = "r/4"


@cache
def planted(*rests: int, bars: int = 90) -> Document:
    """Quarter notes without end at 60 quarter notes a minute, but for a whole rest in the measures of these indices."""
    music = [_EMPTY if index in rests else _BAR for index in range(bars)]
    return read_document(score("Violin", "4/4", "!=60 " + " | ".join(music), key=2), "planted.musicxml")


def turned(document: Document, part: int = 0, layout: Layout = _SMALL, least: float = 3.0) -> Turned:
    text = part_for_engraving(document, document.parts[part].id)
    return engrave_turning(text, layout, rest_seconds(read_score(document).parts[part], 100), least)


def automatic(document: Document, layout: Layout = _SMALL) -> tuple[EngravedPage, ...]:
    return engrave(part_for_engraving(document, document.parts[0].id), layout)


def lines(pages: tuple[EngravedPage, ...]) -> list[list[tuple[int, int]]]:
    return [[(system.first, system.last) for system in page.map.systems] for page in pages]


@cache
def cello() -> Turned:
    """A part of four pages whose turns, both hard, are mended by breaking lines anew and one page more."""
    return turned(corpus_document(K458), 3, A4)


@pytest.mark.parametrize("rest", [26, 28, 32])
def test_a_rest_in_reach_of_the_first_page_is_where_it_turns(rest: int) -> None:
    found = turned(planted(rest))
    assert found.turns[0].enough
    assert found.turns[0].measure in (rest, rest + 1)
    assert found.turns[0].seconds == 4.0  # four quarter notes
    assert found.pages[1].map.measures[0].first == found.turns[0].measure


def test_the_automatic_pages_turn_elsewhere() -> None:
    """Else the rests above would be found by chance."""
    assert {automatic(planted(rest))[1].map.measures[0].first for rest in (26, 28, 32)} == {31}


def test_a_part_without_rests_keeps_the_automatic_pages_and_says_so() -> None:
    document = planted()
    found, usual = turned(document), automatic(document)
    assert [page.svg for page in found.pages] == [page.svg for page in usual]
    label = usual[1].map.measures[0].first + 1
    assert [turn.text for turn in found.turns] == [
        f"Page 1 turns before measure {label} with no rest: let one player of the desk turn.",
        *(turn.text for turn in found.turns[1:]),
    ]
    assert not any(turn.enough for turn in found.turns)


def test_a_rest_out_of_reach_leaves_the_automatic_pages() -> None:
    document = planted(10)
    assert [page.svg for page in turned(document).pages] == [page.svg for page in automatic(document)]


def test_pages_that_turn_well_by_themselves_stay() -> None:
    document = planted(*range(1, 90, 2))
    found = turned(document)
    assert found.turns
    assert all(turn.enough for turn in found.turns)
    assert [page.svg for page in found.pages] == [page.svg for page in automatic(document)]


def test_two_pages_lie_open_and_have_no_turn() -> None:
    found = turned(corpus_document(K155), 3, A4)
    assert len(found.pages) == 2
    assert found.turns == ()


def test_what_lies_after_the_mended_turn_falls_back_into_the_automatic_lines() -> None:
    document = planted(28)
    found, usual = lines(turned(document).pages), lines(automatic(document))
    before, after = {line for page in usual for line in page}, [line for page in found for line in page]
    assert sum(line not in before for line in after) <= 6
    assert after[-1] == usual[-1][-1]


def test_every_measure_and_note_is_there_once() -> None:
    measures = [measure for page in cello().pages for measure in page.map.measures]
    assert measures[0].first == 0
    assert measures[-1].last == 282  # 283 measures with the pickup
    assert all(after.first == before.last + 1 for before, after in pairwise(measures))
    usual = Counter(note for page in corpus_pages(K458, 3) for note in page.map.notes)
    assert Counter(note for page in cello().pages for note in page.map.notes) == usual


def test_both_hard_turns_of_a_part_are_mended_with_one_page_more_at_most() -> None:
    part = read_score(corpus_document(K458)).parts[3]
    rests = rest_seconds(part, 100)
    usual = corpus_pages(K458, 3)
    assert [rests[page.map.measures[0].first] >= 3 for page in usual[1::2]] == [False, False]
    assert [turn.enough for turn in cello().turns] == [True, True]
    assert len(cello().pages) <= len(usual) + 1
    for turn in cello().turns:
        assert turn.page % 2 == 1
        first = cello().pages[turn.page].map.measures[0].first
        assert (first, rests[first]) == (turn.measure, turn.seconds)
        assert turn.label == part.measures[first].label


@pytest.mark.parametrize(("work", "part"), [(K155, 2), (K458, 3)])
def test_no_music_hangs_out_of_a_page(work: str, part: int) -> None:
    found = cello() if work == K458 else turned(corpus_document(work), part, A4)
    assert lines(found.pages) != lines(corpus_pages(work, part))
    for page in found.pages:
        assert (page.width_mm, page.height_mm) == (A4.width_mm, A4.height_mm)
        assert max(system.rect.y1 for system in page.map.systems) <= page.height_mm - A4.margin_mm + 0.5
        staves = [(system.staff_top, system.staff_bottom) for system in page.map.systems]
        assert all(high[1] + A4.staff_mm < low[0] for high, low in pairwise(staves))


def test_no_line_is_crushed_and_none_torn_apart() -> None:
    """The width that a note has on average, line by line, the last page left out."""

    def widths(pages: tuple[EngravedPage, ...]) -> list[float]:
        notes = Counter(
            (number, place.system) for number, page in enumerate(pages) for place in page.map.notes.values()
        )
        lines = [system for page in pages for system in page.map.systems]
        return [line.rect.width / count for line, count in zip(lines, notes.values(), strict=True)][:-7]

    usual, found = widths(automatic(planted(32))), widths(turned(planted(32)).pages)
    assert found != usual
    assert min(found) > 0.9 * min(usual)
    assert max(found) < 1.8 * max(usual)


def test_pages_that_prove_too_full_are_made_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    """With too much room reckoned on every page, lines would hang out of them."""
    monkeypatch.setattr(turning, "_BETWEEN", 90.0)
    found = turned(planted(36))
    for page in found.pages:
        assert max(system.rect.y1 for system in page.map.systems) <= page.height_mm - _SMALL.margin_mm + 0.5


def test_rests_of_another_part_are_refused_in_one_sentence() -> None:
    document = planted(bars=3)
    with pytest.raises(EngravingError, match=r"^the part has 3 measures, and rests are known of 2$"):
        engrave_turning(part_for_engraving(document, document.parts[0].id), A4, (0.0, 0.0))


def test_what_is_turned_can_cross_to_another_process() -> None:
    found = turned(planted(32))
    twin = pickle.loads(pickle.dumps(found))
    assert twin.turns == found.turns
    assert [page.svg for page in twin.pages] == [page.svg for page in found.pages]


def test_rests_are_as_long_as_music21_reckons() -> None:
    """The silence around each barline in music21's parse, endings left out, at 120 quarter notes a minute."""
    for ours, parsed in pairs(f"{K155}.mxl"):
        heard = [(note.getOffsetInHierarchy(parsed), note.quarterLength) for note in parsed.recurse().notes]
        bars = parsed.getElementsByClass("Measure")
        for measure, bar, rest in zip(ours.measures, bars, rest_seconds(ours, 120), strict=True):
            ended = max((start + length for start, length in heard if start < bar.offset), default=0)
            begins = min((start for start, _ in heard if start >= bar.offset), default=parsed.quarterLength)
            silent = begins - ended if ended <= bar.offset else 0
            assert measure.endings or rest == pytest.approx(float(silent) / 2)


def test_a_last_page_with_next_to_nothing_on_it_is_spared() -> None:
    """Haydn's first violin has eleven lines; ten fill a page when they stand as far apart as they usually do."""
    document = corpus_document("haydn/opus1no1/movement1")
    usual = automatic(document, A4)
    assert [len(page.map.systems) for page in usual] == [10, 1]
    (page,) = turned(document, layout=A4).pages
    assert lines((page,)) == [[line for one in lines(usual) for line in one]]
    digits = boxes(all_marked(page.map))
    assert not touching(digits, page.map.ink).any()
    assert page.map.systems[-1].rect.y1 < page.height_mm - A4.margin_mm


def test_a_last_page_that_holds_more_stays() -> None:
    document = planted(bars=80)
    usual = automatic(document)
    assert len(usual) > 1
    assert len(usual[-1].map.systems) > 2
    assert lines(turned(document).pages) == lines(usual)


def test_pages_with_closer_lines_are_turned_as_any_others() -> None:
    """The last page would hold a line or two: it is spared, and the turns of the others are weighed."""
    document = planted(bars=150)
    layout = Layout(A4.width_mm, A4.height_mm, staff_mm=9)
    usual = automatic(document, layout)
    assert len(usual[-1].map.systems) <= 2
    found = turned(document, layout=layout)
    assert len(found.pages) == len(usual) - 1
    assert [turn.page for turn in found.turns] == list(range(1, len(found.pages), 2))
    assert not any(turn.enough for turn in found.turns)
    measures = [measure.first for page in found.pages for measure in page.map.measures]
    assert measures == list(range(150))
