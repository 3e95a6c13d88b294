"""The map of a page: ink where ink is drawn and nowhere else, hits of notes and measures, and the room of texts."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PySide6.QtGui import QFont, QFontMetricsF, QGuiApplication

from engraving.drawing import Drawing, Group, Lettering, Shape, Typeface
from engraving.engraver import EngravedPage
from engraving.fonts import load_fonts
from engraving.ink import InkFinder
from engraving.layout import LETTER, Layout
from engraving.metrics import MUSIC_FAMILY, TEXT_FAMILY
from engraving.outlines import bounds, parse_path, polylines, transformed
from engraving.page import Rect
from engraving.pictures import paint_image
from engraving.restruns import measure_span
from tests.engraving.pages import METRICS, corpus_pages, engraved, every_mark, grey
from tests.scores import score

DPI = 200
PIXELS_A_MM = DPI / 25.4
TOLERANCE = 1.5  # pixels


def pages_with_all_kinds_of_marks() -> list[EngravedPage]:
    return [
        *engraved(every_mark(), LETTER),
        corpus_pages("mozart/k458/movement1")[0],
        corpus_pages("mozart/k155/movement1")[1],
        corpus_pages("haydn/opus1no1/movement1", 3)[0],
    ]


def window(box: np.ndarray, shape: tuple[int, ...]) -> tuple[slice, slice]:
    """The pixels of a box, a little widened, as rows and columns."""
    x0, y0, x1, y1 = box * PIXELS_A_MM
    rows = slice(max(int(np.floor(y0 - TOLERANCE)), 0), min(int(np.ceil(y1 + TOLERANCE)), shape[0]))
    return rows, slice(max(int(np.floor(x0 - TOLERANCE)), 0), min(int(np.ceil(x1 + TOLERANCE)), shape[1]))


@pytest.mark.parametrize("number", range(4))
def test_dark_pixels_lie_in_ink_boxes_and_every_box_holds_some(qapp: QGuiApplication, number: int) -> None:
    page = pages_with_all_kinds_of_marks()[number]
    pixels = grey(paint_image(page, (), DPI))
    covered = np.zeros(pixels.shape, dtype=bool)
    for box in page.map.ink:
        place = window(box, pixels.shape)
        covered[place] = True
        assert (pixels[place] < 200).any(), box
    assert (pixels < 128).sum() > 10_000
    assert not ((pixels < 128) & ~covered).any()


def test_ink_boxes_follow_a_slur_instead_of_covering_its_whole_rectangle() -> None:
    (page,) = engraved(score("Violin", "4/4", "(G4/1 B4 D5 G5)"), Layout.excerpt(120))
    heads = [place.head for place in page.map.notes.values()]
    boxes = page.map.ink
    between = (boxes[:, 0] > heads[0].x1) & (boxes[:, 2] < heads[3].x0)
    narrow = boxes[between & (boxes[:, 2] - boxes[:, 0] < 0.5) & (boxes[:, 3] - boxes[:, 1] < 1.5)]
    assert len(narrow) > 20


def test_a_box_column_is_as_high_as_its_piece_of_the_line() -> None:
    """A line from the corner (0, 0) to (1000, 500): in every column it climbs half the column's width."""
    shape = Shape(Group("hairpin", ""), parse_path("M0 0L1000 500"), filled=False, width=0.0)
    boxes = InkFinder(METRICS).boxes(shape, Drawing(2000, 2000, (), {}))
    assert len(boxes) > 10
    assert boxes[:, 3] - boxes[:, 1] == pytest.approx((boxes[:, 2] - boxes[:, 0]) / 2)
    assert boxes[:, 1] == pytest.approx(boxes[:, 0] / 2)


COORDINATE = st.floats(-500, 500).map(lambda value: round(value, 1))
POINT = st.tuples(COORDINATE, COORDINATE)


@given(st.lists(POINT, min_size=3, max_size=6), st.booleans())
def test_every_point_of_an_outline_lies_in_one_of_its_boxes(corners: list[tuple[float, float]], filled: bool) -> None:
    data = "M" + "L".join(f"{x} {y}" for x, y in corners) + "Z"
    shape = Shape(Group("beam", ""), parse_path(data), filled=filled, width=2.0)
    boxes = InkFinder(METRICS).boxes(shape, Drawing(1000, 1000, (), {}))
    for start, end in pairwise([*corners, corners[0]]):
        for part in np.linspace(0, 1, 7):
            x, y = (1 - part) * np.array(start) + part * np.array(end)
            assert ((boxes[:, 0] <= x) & (x <= boxes[:, 2]) & (boxes[:, 1] <= y) & (y <= boxes[:, 3])).any()


@pytest.mark.parametrize(
    ("data", "box"),
    [
        ("M10 10h20v30H5z", (5, 10, 30, 40)),
        ("m10 10l10 5 10-5", (10, 10, 30, 15)),
        ("M0 0C0 40 30 40 30 0", (0, 0, 30, 30)),  # a cubic curve reaches three quarters of the way to its handles
        ("M0 0Q15 40 30 0", (0, 0, 30, 20)),  # a quadratic one half of the way
        ("M0 0Q15 40 30 0T60 0", (0, -20, 60, 20)),
        ("M0 0C0 40 30 40 30 0S60-40 60 0", (0, -30, 60, 30)),
        ("M.5.5l1e1-.5", (0.5, 0, 10.5, 0.5)),
    ],
)
def test_path_data_is_read_with_all_its_shorthands(data: str, box: tuple[float, float, float, float]) -> None:
    assert bounds([parse_path(data)]) == pytest.approx(box, abs=0.15)


@pytest.mark.parametrize("data", ["M0 0A5 5 0 0 1 9 9", "M0 0Z5"])
def test_path_data_beyond_what_is_drawn_is_refused(data: str) -> None:
    with pytest.raises(ValueError, match="unexpected"):
        parse_path(data)


def test_a_transformed_outline_is_turned_and_moved() -> None:
    turned = transformed(parse_path("M1 0L2 0"), (0, 1, -1, 0, 10, 20))  # a quarter turn, then a move
    assert polylines(turned)[0].tolist() == [[10, 21], [10, 22]]


def test_the_middle_of_every_head_hits_its_note() -> None:
    page = corpus_pages("mozart/k155/movement1")[0].map
    for note_id, place in page.notes.items():
        assert page.note_at(*place.head.centre) == note_id


def test_a_near_miss_hits_the_nearest_note_and_a_far_one_none() -> None:
    (page,) = engraved(score("Violin", "4/4", "D5/1@d E5@e F5@f G5@g"))
    head = page.map.notes["e"].head
    space = page.map.staff_space
    assert page.map.note_at(head.x1 + 0.9 * space, head.centre[1]) == "e"
    assert page.map.note_at(head.x1 + 1.1 * space, head.centre[1]) is None
    assert page.map.note_at(head.centre[0], head.y0 - 1.1 * space) is None
    assert page.map.note_at(1.0, 1.0) is None


def test_a_point_on_or_over_the_staff_hits_its_measure() -> None:
    page = corpus_pages("mozart/k458/movement1")[0].map
    for place in page.notes.values():
        found = page.measure_at(*place.head.centre)
        assert found is not None
        assert found.first <= place.measure <= found.last
    long_rest = next(measure for measure in page.measures if measure.last > measure.first)
    assert page.measure_at(*long_rest.rect.centre) == long_rest
    assert page.measure_at(page.width / 2, page.height - 0.5) is None


def test_systems_hold_their_measures_and_notes() -> None:
    page = corpus_pages("mozart/k458/movement1")[1].map
    for note in page.notes.values():
        system = page.systems[note.system]
        assert system.first <= note.measure <= system.last
        assert system.rect.x0 <= note.head.x0 <= note.head.x1 <= system.rect.x1
        assert system.rect.y0 <= note.column.y0 <= note.column.y1 <= system.rect.y1
    tops = [system.staff_top for system in page.systems]
    assert tops == sorted(tops)


def test_measure_ids_say_which_measures_they_stand_for() -> None:
    assert measure_span("measure.4.9") == (4, 9)
    with pytest.raises(ValueError, match="no measure id"):
        measure_span("bar.4.9")


def test_a_rectangle_knows_distance_and_touch() -> None:
    rect = Rect(0, 0, 4, 3)
    assert rect.distance(2, 2) == 0
    assert rect.distance(7, 7) == 5
    assert rect.touches(Rect(3, 2, 9, 9))
    assert not rect.touches(Rect(4, 0, 9, 3))


@pytest.mark.parametrize("bold", [False, True])
@pytest.mark.parametrize("italic", [False, True])
def test_texts_are_measured_as_qt_draws_them(qapp: QGuiApplication, *, bold: bool, italic: bool) -> None:
    """Outside check: the advances Qt finds in the Liberation Serif fonts themselves."""
    load_fonts()
    font = QFont(TEXT_FAMILY)
    font.setPixelSize(1000)
    font.setBold(bold)
    font.setItalic(italic)
    drawn = QFontMetricsF(font)
    face = Typeface(TEXT_FAMILY, bold, italic)
    for character in (*map(chr, range(33, 126)), *"äöüßéèêàçñøåÄÖÜÉ"):
        assert METRICS.width(character, face, 1000) == pytest.approx(drawn.horizontalAdvance(character), abs=1.5)


def test_music_signs_in_texts_are_measured_as_qt_draws_them(qapp: QGuiApplication) -> None:
    """Outside check: the advance Qt finds in the Leipzig font itself for the quarter note of a metronome mark."""
    load_fonts()
    font = QFont(MUSIC_FAMILY)
    font.setPixelSize(1000)
    width = METRICS.width("\ue1d5", Typeface(MUSIC_FAMILY), 1000)
    assert width == pytest.approx(QFontMetricsF(font).horizontalAdvance("\ue1d5"), abs=2)


def test_a_blank_text_has_no_ink() -> None:
    assert METRICS.box(Lettering(Group("dir", ""), " ", 0, 0, 100, Typeface(TEXT_FAMILY))) is None
