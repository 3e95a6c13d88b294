"""Places of digits: clear of ink, of the staff and of one another, near their notes, on the right side."""

from __future__ import annotations

import statistics

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from engraving.layout import Layout
from engraving.page import NotePlace, PageMap, Rect, SystemPlace
from engraving.placing import Placed, Wanted, place
from tests.engraving.corpus import quartet_names
from tests.engraving.pages import METRICS, corpus_document, corpus_pages, engraved, every_mark
from tests.scores import score

DENSE = ["haydn/opus1no1/movement1", "mozart/k155/movement1", "mozart/k458/movement1"]
A_DIGIT_HIGH = 1.3  # staff spaces


def all_marked(page: PageMap, *, numerals: bool = False) -> tuple[Placed, ...]:
    """Every note of a page with a digit, now and then a string numeral."""
    wanted = [
        Wanted(note_id, str(number % 5), "III" if numerals and number % 6 == 0 else None)
        for number, note_id in enumerate(page.notes)
    ]
    return place(page, wanted, METRICS)


def boxes(placed: tuple[Placed, ...]) -> NDArray[np.float64]:
    rects = [figure.rect for one in placed for figure in one.figures]
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


@pytest.mark.parametrize("numerals", [False, True], ids=["digits", "with numerals"])
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
@pytest.mark.parametrize(("turn", "name"), list(enumerate(quartet_names())))
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
            notes[f"{system}-{number}"] = NotePlace(head, column, system, 0, top, bottom, None, None)
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
