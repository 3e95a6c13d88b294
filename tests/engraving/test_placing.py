"""Places of digits: clear of ink, of the staff and of one another, near their notes, on the right side."""

from __future__ import annotations

import statistics
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from engraving.document import open_document
from engraving.engraver import engrave
from engraving.extract import part_for_engraving
from engraving.layout import A4, Layout
from engraving.page import NotePlace, PageMap, Rect, SystemPlace
from engraving.placing import Placed, Wanted, place
from tests.amounts import sampled
from tests.engraving.corpus import quartet_names
from tests.engraving.pages import METRICS, corpus_document, corpus_pages, engraved, every_mark
from tests.scores import score

DENSE = ["haydn/opus1no1/movement1", "mozart/k155/movement1", "mozart/k458/movement1"]
A_DIGIT_HIGH = 1.3  # staff spaces


def all_marked(page: PageMap, *, numerals: bool = False) -> tuple[Placed, ...]:
    """Every note of a page with a digit; now and then a string numeral, a position, an arrow or a cross."""
    every = [Wanted(note_id, str(number % 5)) for number, note_id in enumerate(page.notes)]
    wanted = [_with_more(one, number) for number, one in enumerate(every)] if numerals else every
    return place(page, wanted, METRICS)


def _with_more(one: Wanted, number: int) -> Wanted:
    return replace(
        one,
        string="III" if number % 6 == 0 else None,
        hand="3rd pos." if number % 10 == 3 else None,
        arrow=("up", "down", None, None, None)[number % 5],
        reach=number % 7 == 2,
    )


def boxes(placed: tuple[Placed, ...]) -> NDArray[np.float64]:
    rects = [figure.box for one in placed for figure in one.figures]
    return np.array([[rect.x0, rect.y0, rect.x1, rect.y1] for rect in rects])


def touching(first: NDArray[np.float64], second: NDArray[np.float64]) -> NDArray[np.bool_]:
    """Which boxes of the first array share area with which of the second, [n, m]."""
    a, b = first[:, None, :], second[None, :, :]
    touches: NDArray[np.bool_] = (
        (a[..., 0] < b[..., 2]) & (b[..., 0] < a[..., 2]) & (a[..., 1] < b[..., 3]) & (b[..., 1] < a[..., 3])
    )
    return touches


def check_clear(page: PageMap, placed: tuple[Placed, ...]) -> None:
    """No digit touches ink or another digit, and none lies off the paper."""
    digits = boxes(placed)
    assert not touching(digits, page.ink).any()
    assert touching(digits, digits).sum() == len(digits)  # each only itself
    assert digits[:, :2].min() >= 0
    assert (digits[:, 2:] <= [page.width, page.height]).all()


@pytest.mark.parametrize("numerals", [False, True], ids=["digits", "with all that goes with them"])
@pytest.mark.parametrize("work", DENSE)
def test_with_every_note_marked_no_digit_touches_ink_or_another(work: str, *, numerals: bool) -> None:
    for page in corpus_pages(work):
        placed = all_marked(page.map, numerals=numerals)
        assert {one.note_id for one in placed} == set(page.map.notes)
        check_clear(page.map, placed)


def test_digits_stay_clear_of_every_kind_of_mark() -> None:
    (page,) = engraved(every_mark())
    check_clear(page.map, all_marked(page.map, numerals=True))


@pytest.mark.sweep
@pytest.mark.parametrize(("turn", "name"), sampled(list(enumerate(quartet_names())), first=3))
def test_with_every_note_of_a_part_of_every_quartet_marked_nothing_touches(turn: int, name: str) -> None:
    work = name.removesuffix(".mxl")
    for page in corpus_pages(work, turn % len(corpus_document(work).parts)):
        if page.map.notes:
            check_clear(page.map, all_marked(page.map))


def gap_to_note(page: PageMap, one: Placed) -> float:
    """The upright distance of a digit and its notehead in staff spaces."""
    head, rect = page.notes[one.note_id].head, one.digit.rect
    return max(head.y0 - rect.y1, rect.y0 - head.y1) / page.staff_space


def test_digits_stand_near_their_notes() -> None:
    """Notes low in the staff are some spaces from the row above it, whatever one does; those above it are near."""
    gaps: list[float] = []
    near: list[float] = []
    for page in (page.map for work in DENSE for page in corpus_pages(work)):
        for one in all_marked(page):
            gaps.append(gap_to_note(page, one))
            if page.notes[one.note_id].head.y0 < page.notes[one.note_id].staff_top:
                near.append(gaps[-1])
    assert statistics.median(gaps) < 2
    assert statistics.median(near) < 1
    assert min(gaps) > 0.25


def test_digits_are_nearer_to_their_notes_than_to_any_other_system() -> None:
    for page in (page.map for work in DENSE for page in corpus_pages(work)):
        for one in all_marked(page):
            note = page.notes[one.note_id]
            rect = one.digit.rect
            others = (system for number, system in enumerate(page.systems) if number != note.system)
            far = min((max(s.staff_top - rect.y1, rect.y0 - s.staff_bottom) for s in others), default=np.inf)
            assert max(note.column.y0 - rect.y1, rect.y0 - note.column.y1) < far


def tune(music: str) -> PageMap:
    (page,) = engraved(score("Violin", "4/4", music), Layout.excerpt(160))
    return page.map


def digit(page: PageMap, note_id: str, **options: bool) -> Placed:
    (placed,) = place(page, [Wanted(note_id, "3", **options)], METRICS)
    return placed


def test_a_digit_stands_straight_above_its_note_and_the_staff() -> None:
    page = tune("D5/4@d")
    rect, note = digit(page, "d").digit.rect, page.notes["d"]
    assert rect.centre[0] == pytest.approx(note.head.centre[0])
    assert 0 < note.staff_top - rect.y1 < 0.5 * page.staff_space
    assert rect.height == pytest.approx(A_DIGIT_HIGH * page.staff_space)


def test_a_digit_over_a_stem_that_points_up_stands_beyond_its_end() -> None:
    page = tune("A4/1@a r r r")
    note = page.notes["a"]
    assert note.stem == "up"
    assert digit(page, "a").digit.rect.y1 < note.column.y0


def test_a_digit_comes_under_a_slur_where_there_is_room() -> None:
    page = tune("(C5/1 C6@top C5@low C5)")
    slur_over_low = digit(page, "low").digit.rect
    over = page.ink[(page.ink[:, 0] < slur_over_low.x1) & (page.ink[:, 2] > slur_over_low.x0)]
    assert over[:, 3].min() < slur_over_low.y0


def test_digits_below_stand_under_the_staff() -> None:
    page = tune("D5/4@d")
    rect = digit(page, "d", below=True).digit.rect
    assert rect.y0 > max(page.notes["d"].column.y1, page.notes["d"].staff_bottom)


def test_a_lower_voice_has_its_digits_below() -> None:
    page = tune("E5/4@upper & A4/4@lower")
    above, below = place(page, [Wanted("upper", "1"), Wanted("lower", "2")], METRICS)
    assert above.digit.rect.y1 < page.notes["upper"].staff_top
    assert below.digit.rect.y0 > page.notes["lower"].staff_bottom
    (turned,) = place(page, [Wanted("lower", "2", below=False)], METRICS)
    assert turned.digit.rect.y1 < page.notes["lower"].staff_top


@pytest.mark.parametrize("below", [False, True])
def test_the_digits_of_a_chord_stand_in_the_order_of_its_notes(*, below: bool) -> None:
    page = tune("[G3@g D4@d B4@b]/4")
    wanted = [Wanted(name, text, below=below) for name, text in (("d", "1"), ("b", "2"), ("g", "0"))]
    placed = {one.note_id: one.digit.rect for one in place(page, wanted, METRICS)}
    assert placed["b"].y1 < placed["d"].y0
    assert placed["d"].y1 < placed["g"].y0
    assert len({round(rect.centre[0], 6) for rect in placed.values()}) == 1


@pytest.mark.parametrize("below", [False, True])
def test_a_string_numeral_stands_beyond_its_digit(*, below: bool) -> None:
    page = tune("D5/4@d")
    (placed,) = place(page, [Wanted("d", "3", "III", below)], METRICS)
    numeral = placed.string
    assert numeral is not None
    assert numeral.text == "III"
    assert (numeral.rect.y0 > placed.digit.rect.y1) if below else (numeral.rect.y1 < placed.digit.rect.y0)


def test_notes_of_other_pages_are_passed_over() -> None:
    page = tune("D5/4@d")
    assert [one.note_id for one in place(page, [Wanted("elsewhere", "1"), Wanted("d", "2")], METRICS)] == ["d"]


def test_places_do_not_depend_on_the_order_of_the_asking() -> None:
    page = corpus_pages(DENSE[0])[0].map
    wanted = [Wanted(note_id, "2") for note_id in page.notes]
    assert set(place(page, wanted, METRICS)) == set(place(page, wanted[::-1], METRICS))


def test_a_digit_is_as_wide_as_its_text() -> None:
    page = tune("D5/4@d")
    (narrow,) = place(page, [Wanted("d", "3")], METRICS)
    (wide,) = place(page, [Wanted("d", "3-3")], METRICS)
    assert wide.digit.rect.width > 2 * narrow.digit.rect.width


def test_a_rehearsal_mark_beside_a_note_does_not_drive_its_digit_away(example: Path) -> None:
    """Measure 19 of the suite: the letter stands before the first note, and a slur begins there."""
    document = open_document(example)
    pages = engrave(part_for_engraving(document, document.parts[0].id), A4)
    placed = [(page.map, one) for page in pages for one in all_marked(page.map)]
    page, first = min(
        ((page, one) for page, one in placed if page.notes[one.note_id].measure == 18),
        key=lambda item: item[0].notes[item[1].note_id].head.x0,
    )
    assert gap_to_note(page, first) < 2.5


def rows(page: PageMap, *names: str) -> list[float]:
    """How far over the staff the digits of some notes stand, in staff spaces, all notes having one."""
    placed = {one.note_id: one for one in place(page, [Wanted(note_id, "1") for note_id in page.notes], METRICS)}
    return [(page.notes[name].staff_top - placed[name].digit.rect.y1) / page.staff_space for name in names]


# What the eye expects: common practice, no source.
def test_a_digit_between_two_that_stand_a_little_higher_comes_up_to_their_line() -> None:
    before, between, after = rows(tune("G5/0.5@a F5@b G5@c F5"), "a", "b", "c")
    assert between == pytest.approx(before)
    assert after == pytest.approx(before)


def test_the_digits_of_a_rising_scale_follow_the_notes() -> None:
    heights = rows(tune("G5/0.5@a A5@b B5@c C6@d"), "a", "b", "c", "d")
    assert heights == sorted(heights)
    assert heights[3] - heights[1] == pytest.approx(1.0, abs=0.15)  # C6 lies a staff space over A5


def test_a_digit_far_below_its_neighbours_stays_near_its_note() -> None:
    high, low = rows(tune("C6/0.5@high D5@low C6 D5"), "high", "low")
    assert high - low > 1.5


@pytest.mark.parametrize("work", DENSE)
def test_digits_come_in_the_order_of_their_notes(work: str) -> None:
    for page in (page.map for page in corpus_pages(work)):
        lines: dict[int, list[tuple[float, float]]] = {}
        for one in all_marked(page):
            note = page.notes[one.note_id]
            if not note.lower_voice and note.chord is None:
                lines.setdefault(note.system, []).append((note.head.x0, one.digit.rect.centre[0]))
        for line in lines.values():
            middles = [middle for _, middle in sorted(line)]
            assert middles == sorted(middles)


def test_an_arrow_stands_right_behind_its_digit_and_a_cross_right_before_it() -> None:
    page = tune("D5/4@d")
    (one,) = place(page, [Wanted("d", "4", arrow="up", reach=True)], METRICS)
    assert one.arrow is not None
    assert one.reach is not None
    assert 0 < one.digit.rect.x0 - one.reach.rect.x1 < 0.3 * page.staff_space
    assert 0 < one.arrow.rect.x0 - one.digit.rect.x1 < 0.3 * page.staff_space
    assert one.digit.rect.centre[0] == pytest.approx(page.notes["d"].head.centre[0])
    assert [figure.text for figure in one.figures] == ["×", "4", "↑"]
    (down,) = place(page, [Wanted("d", "4", arrow="down")], METRICS)
    assert [figure.text for figure in down.figures] == ["4", "↓"]


def test_the_name_of_a_position_begins_over_its_digit_beyond_the_numeral() -> None:
    page = tune("D5/2@d E5")
    (one,) = place(page, [Wanted("d", "1", "III", hand="3rd pos.")], METRICS)
    assert one.hand is not None
    assert one.string is not None
    assert one.hand.box.y1 < one.string.rect.y0 < one.digit.rect.y0
    assert one.hand.rect.x0 == pytest.approx(one.digit.rect.x0)
    assert one.hand.slanted
    assert not one.string.slanted


def test_the_name_of_a_position_stays_on_the_paper() -> None:
    page = tune("D5/1 E5 F5 G5@last")
    narrow = replace(page, width=page.notes["last"].head.x1 + 2)
    (one,) = place(narrow, [Wanted("last", "1", hand="lower 2nd pos.")], METRICS)
    assert one.hand is not None
    assert one.hand.rect.x1 <= narrow.width


def test_a_chord_of_four_notes_has_room_for_its_digits_on_every_line() -> None:
    """The first lines of two movements of K. 80, engraved in the corpus without any room for four digits."""
    for work in ("mozart/k80/movement2", "haydn/opus1no1/movement3"):
        for page in (page.map for page in corpus_pages(work)):
            for one in all_marked(page):
                note = page.notes[one.note_id]
                assert (one.digit.rect.y0 > note.head.y1) is note.lower_voice


def test_keeping_room_over_chords_leaves_no_digit_in_the_drawing() -> None:
    (page,) = engraved(score("Violin", "4/4", "[G3 D4 B4 G5]/4"))
    (bare,) = engraved(score("Violin", "4/4", "G3/4"))
    assert page.svg.count(b"<text") == bare.svg.count(b"<text")


SPACE = 1.75
STAFF_TOPS = (60.0, 110.0)


@st.composite
def pages(draw: st.DrawFn) -> PageMap:
    """Two systems with notes anywhere and boxes of ink strewn between them."""
    notes = {}
    lines = []
    for system, top in enumerate(STAFF_TOPS):
        bottom = top + 4 * SPACE
        lines.extend([[10, top + i * SPACE - 0.06, 190, top + i * SPACE + 0.06] for i in range(5)])
        for number, x in enumerate(draw(st.lists(st.integers(10, 180), min_size=1, max_size=12, unique=True))):
            y = draw(st.floats(top - 8, bottom + 8))
            head = Rect(x, y, x + 1.2 * SPACE, y + SPACE)
            stem = draw(st.sampled_from([-6.0, 0.0, 6.0]))
            column = Rect(head.x0, min(head.y0, head.y0 + stem), head.x1, max(head.y1, head.y1 + stem))
            notes[f"{system}-{number}"] = NotePlace(head, column, column, system, 0, top, bottom, None, None)
    corner = st.tuples(st.floats(5, 195), st.floats(45, 125), st.floats(0.2, 12), st.floats(0.2, 3))
    strewn = [[x, y, x + w, y + h] for x, y, w, h in draw(st.lists(corner, max_size=40))]
    heads = [[n.column.x0, n.column.y0, n.column.x1, n.column.y1] for n in notes.values()]
    systems = tuple(SystemPlace(0, 0, Rect(10, top - 8, 190, top + 15), top, top + 4 * SPACE) for top in STAFF_TOPS)
    return PageMap(200, 200, SPACE, notes, (), systems, np.array([*lines, *strewn, *heads]))


@given(pages(), st.booleans())
def test_on_any_page_digits_are_clear_of_ink_staves_and_one_another(page: PageMap, numerals: bool) -> None:
    placed = all_marked(page, numerals=numerals)
    assert {one.note_id for one in placed} == set(page.notes)
    digits = boxes(placed)
    assert not touching(digits, page.ink).any()
    assert touching(digits, digits).sum() == len(digits)
    for top in STAFF_TOPS:
        assert not touching(digits, np.array([[10, top, 190, top + 4 * SPACE]])).any()


def test_where_there_is_no_room_above_digit_and_numeral_stand_below_in_their_order() -> None:
    page = tune("D5/4@d")
    ink = np.concatenate([page.ink, [[0, 0, page.width, page.notes["d"].staff_top - 0.1]]])
    full = PageMap(page.width, page.height, page.staff_space, page.notes, page.measures, page.systems, ink)
    (placed,) = place(full, [Wanted("d", "3", "IV")], METRICS)
    assert placed.string is not None
    assert page.notes["d"].staff_bottom < placed.digit.rect.y0 < placed.digit.rect.y1 < placed.string.rect.y0


def test_a_page_without_room_beside_its_system_still_gets_every_digit() -> None:
    page = tune("D5/4@d")
    ink = np.concatenate([page.ink, [[0, 0, page.width, page.notes["d"].staff_top - 0.1]]])
    ink = np.concatenate([ink, [[0, page.notes["d"].staff_bottom + 0.1, page.width, page.height]]])
    full = PageMap(page.width, page.height, page.staff_space, page.notes, page.measures, page.systems, ink)
    (placed,) = place(full, [Wanted("d", "3")], METRICS)
    assert not touching(boxes((placed,)), ink).any()
