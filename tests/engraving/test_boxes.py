"""Boxes round passages: they go round all that belongs to their measures, touch nothing, and name what they hold.

That a passage is marked by a box with its name at the upper left: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from pypdf import PdfReader
from PySide6.QtGui import QGuiApplication

from engraving.document import open_document
from engraving.drawing import UNITS_A_MM, Lettering, Shape
from engraving.engraver import engrave
from engraving.errors import EngravingError
from engraving.extract import part_for_engraving
from engraving.layout import A4, Layout
from engraving.marks.teacher import TeacherMark
from engraving.output import write_pdf
from engraving.page import PageMap
from engraving.pictures import paint_image
from engraving.placing import Overlay, Wanted, mark_page
from engraving.placing.boxes import PaintedBox, PassageBox, boxes_on, uprights_of
from engraving.placing.figures import Placed
from engraving.placing.ground import Ground
from engraving.placing.runs import boxes_of
from tests.engraving.pages import METRICS, corpus_pages, engraved, grey
from tests.engraving.test_placing import touching
from tests.scores import score

NESTED = [
    PassageBox("Tune", 4, 13),
    PassageBox("Duet with Viola", 17, 22),
    PassageBox("Run-up", 15, 18),
    PassageBox("Echo", 18, 18),
    PassageBox("Close", 40, 62),
    PassageBox("Jump", 47, 51),
    PassageBox("Answer", 14, 14),
]
THREE = [PassageBox("Tune", 0, 9), PassageBox("Duet with Viola", 20, 28), PassageBox("Run-up", 29, 33)]


def tune(music: str, width: float = 160) -> PageMap:
    (page,) = engraved(score("Violin", "4/4", music), Layout.excerpt(width))
    return page.map


def shapes(box: PaintedBox, *, upright: bool) -> list[NDArray[np.float64]]:
    """The lines of a box that are upright or level, as two points each, in mm."""
    every = [np.array([at for _, at in one.outline]) / UNITS_A_MM for one in box.drawn if isinstance(one, Shape)]
    return [line for line in every if bool(line[0, 0] == line[1, 0]) is upright]


def level(box: PaintedBox, *, top: bool) -> float:
    """The height of the line over the measures, or of that under them."""
    heights = [float(line[0, 1]) for line in shapes(box, upright=False)]
    return min(heights) if top else max(heights)


def names(box: PaintedBox) -> list[str]:
    return [one.text for one in box.drawn if isinstance(one, Lettering)]


def check_clear(page: PageMap, boxes: Sequence[PaintedBox], overlay: Sequence[Overlay]) -> None:
    """Nothing of a box touches ink, what lies over it, another box or a staff, or leaves its part of the page."""
    rest = np.concatenate([page.ink, boxes_of(overlay)])
    staves = np.array([[0.0, one.staff_top, page.width, one.staff_bottom] for one in page.systems])
    for number, box in enumerate(boxes):
        assert not touching(box.boxes, rest).any(), box.passage
        assert not touching(box.boxes, staves).any(), box.passage
        for other in boxes[:number]:
            assert not touching(box.boxes, other.boxes).any(), (box.passage, other.passage)
        for other in boxes:
            if other.system == box.system + 1:
                over = box.boxes[:, None, :], other.boxes[None, :, :]
                same_column = (over[0][..., 0] < over[1][..., 2]) & (over[1][..., 0] < over[0][..., 2])
                assert (over[0][..., 3] < over[1][..., 1])[same_column].all(), (box.passage, other.passage)
        assert box.boxes[:, 1].min() >= page.music_top
        assert box.boxes[:, 3].max() <= min(page.height, page.music_bottom)


def marked(page: PageMap, *, each: int) -> tuple[Overlay, ...]:
    """Digits on every so manieth note, and a mark of the teacher's."""
    notes = sorted(page.notes, key=lambda one: (page.notes[one].system, page.notes[one].head.x0))
    marks = [TeacherMark("text", note_id, text="lightly") for note_id in notes[5::60]]
    return mark_page(page, [Wanted(note_id, "3") for note_id in notes[::each]], marks, METRICS)


def real_pages(example: Path) -> list[PageMap]:
    document = open_document(example)
    own = engrave(part_for_engraving(document, document.parts[0].id), A4)
    corpus = (*corpus_pages("haydn/opus1no1/movement1"), *corpus_pages("mozart/k155/movement1", 3))
    return [page.map for page in (*own, *corpus)]


@pytest.mark.parametrize("passages", [NESTED, THREE], ids=["nested", "three"])
@pytest.mark.parametrize("each", [1, 3])
def test_boxes_touch_nothing_and_have_their_name_in_every_system(
    example: Path, passages: list[PassageBox], each: int
) -> None:
    for page in real_pages(example):
        overlay = marked(page, each=each)
        boxes = boxes_on(page, passages, overlay, METRICS)
        check_clear(page, boxes, overlay)
        reached = [
            (passage, number)
            for passage in passages
            for number, system in enumerate(page.systems)
            if system.first <= passage.last and passage.first <= system.last
        ]
        assert [(box.passage, box.system) for box in boxes] == reached
        assert [names(box) for box in boxes] == [[box.passage.name] for box in boxes]


def test_lines_are_seldom_broken(example: Path) -> None:
    """On pages with the digits of every third note, all but a tenth of what three boxes ask for is drawn."""
    asked = drawn = 0.0
    for page in real_pages(example):
        for box in boxes_on(page, THREE, marked(page, each=3), METRICS):
            measures = [
                one.rect
                for one in page.measures
                if one.system == box.system and one.first <= box.passage.last and box.passage.first <= one.last
            ]
            asked += 2 * (measures[-1].x1 - measures[0].x0)
            drawn += sum(float(line[1, 0] - line[0, 0]) for line in shapes(box, upright=False))
    assert drawn > 0.9 * asked


def test_a_box_goes_round_all_that_belongs_to_its_measures() -> None:
    page = tune("D5/4 | E6/2@h G3@l | D5/1%trem%up E5 F5 G5 | D5/4")
    overlay = mark_page(page, [Wanted("h", "4"), Wanted("l", "0")], [], METRICS)
    (box,) = boxes_on(page, [PassageBox("Tune", 1, 2)], overlay, METRICS)
    x0, x1 = page.measures[1].rect.x0, page.measures[2].rect.x1
    every = np.concatenate([page.ink, boxes_of(overlay)])
    inside = every[(every[:, 0] < x1) & (every[:, 2] > x0)]
    assert level(box, top=True) < inside[:, 1].min()
    assert level(box, top=False) > inside[:, 3].max()
    assert x0 < box.boxes[:, 0].min() < x0 + page.staff_space
    assert x1 - page.staff_space < box.boxes[:, 2].max() < x1


def test_a_box_is_closed_above_and_below_at_both_its_ends() -> None:
    """A bracket over an ending is open below (common practice, no source): a box may not be read as one."""
    page = tune("D5/4 | D5/4 | D5/4")
    (box,) = boxes_on(page, [PassageBox("Tune", 1, 1)], (), METRICS)
    staff = page.systems[0]
    sides = shapes(box, upright=True)
    assert sorted({float(side[0, 0]) for side in sides}) == pytest.approx(
        [page.measures[1].rect.x0 + 0.5 * page.staff_space, page.measures[1].rect.x1 - 0.5 * page.staff_space]
    )
    above = [side for side in sides if side[:, 1].max() < staff.staff_top]
    below = [side for side in sides if side[:, 1].min() > staff.staff_bottom]
    assert len(above) == len(below) == 2
    for side in above:
        assert side[:, 1].min() == pytest.approx(level(box, top=True), abs=0.8 * page.staff_space)
    for side in below:
        assert side[:, 1].max() == pytest.approx(level(box, top=False), abs=0.8 * page.staff_space)


def test_a_box_is_open_where_it_goes_on_in_the_next_system() -> None:
    page = tune(" | ".join(["D5/1 E5 F5 G5"] * 9), 100)
    assert len(page.systems) >= 3
    first, *middle, last = boxes_on(page, [PassageBox("Tune", 1, 7)], (), METRICS)
    left = {float(side[0, 0]) for side in shapes(first, upright=True)}
    right = {float(side[0, 0]) for side in shapes(last, upright=True)}
    assert len(left) == len(right) == 1
    assert left.pop() == pytest.approx(page.measures[1].rect.x0 + 0.5 * page.staff_space)
    assert right.pop() == pytest.approx(page.measures[7].rect.x1 - 0.5 * page.staff_space)
    for box in middle:
        assert not shapes(box, upright=True)
        assert box.boxes[:, 2].max() == pytest.approx(page.systems[box.system].rect.x1, abs=0.2)


def test_the_name_stands_at_the_upper_left_in_a_gap_of_the_line() -> None:
    page = tune("D5/4 | D5/4 | D5/4 | D5/4")
    (box,) = boxes_on(page, [PassageBox("Tune", 1, 3)], (), METRICS)
    (name,) = (one for one in box.drawn if isinstance(one, Lettering))
    x0, top, x1, bottom = (side / UNITS_A_MM for side in METRICS.box(name) or ())
    assert page.measures[1].rect.x0 < x0 < page.measures[1].rect.x0 + 2.5 * page.staff_space
    line = level(box, top=True)
    assert top < line < bottom
    pieces = [piece for piece in shapes(box, upright=False) if piece[0, 1] == line]
    assert [piece[1, 0] < x0 for piece in pieces] == [True, False]
    assert all(piece[1, 0] < x0 or piece[0, 0] > x1 for piece in pieces)


def test_a_passage_within_another_lies_inside_its_box() -> None:
    page = tune("D5/4 | D5/4 | D5/4 | D5/4")
    for passages in ([(0, 3), (1, 2)], [(1, 2), (0, 3)]):
        boxes = boxes_on(page, [PassageBox("Tune", *ends) for ends in passages], (), METRICS)
        outer, inner = sorted(boxes, key=lambda box: box.passage.first)
        assert level(outer, top=True) < level(inner, top=True)
        assert level(outer, top=False) > level(inner, top=False)


def test_neighbouring_boxes_differ_in_their_lines_whatever_lies_on_the_page() -> None:
    page = tune(" | ".join(["D5/4"] * 6))
    passages = [PassageBox("On another page", 90, 92), *(PassageBox("Tune", at, at) for at in range(5))]

    def look(box: PaintedBox) -> tuple[float, tuple[float, ...]]:
        (one,) = {(shape.width, shape.dash) for shape in box.drawn if isinstance(shape, Shape)}
        return one

    looks = [look(box) for box in boxes_on(page, passages, (), METRICS)]
    assert len(set(looks[:3])) == 3
    assert looks[3:] == looks[:2]
    assert looks[2][1] == ()  # the fourth of all, as the first
    assert all(width / UNITS_A_MM >= 0.2 for width, _ in looks)


def test_where_there_is_no_room_a_line_is_left_out_and_the_name_finds_another_place() -> None:
    page = tune("D5/4 | D5/4 | D5/4", 200)
    staff, system = page.systems[0], page.systems[0].rect
    over = [system.x0, page.music_top, (system.x0 + system.x1) / 2, staff.staff_top - 0.3]
    under = [system.x0, staff.staff_bottom + 0.3, system.x1, page.height]
    full = replace(page, ink=np.concatenate([page.ink, [over, under]]))
    (box,) = boxes_on(full, [PassageBox("Tune", 0, 2)], (), METRICS)
    check_clear(full, [box], ())
    assert names(box) == ["Tune"]
    assert all(line[0, 1] < staff.staff_top for line in shapes(box, upright=False))
    packed = replace(page, ink=np.concatenate([page.ink, [[0.0, 0.0, page.width, page.height]]]))
    assert boxes_on(packed, [PassageBox("Tune", 0, 2)], (), METRICS)[0].drawn == ()


def test_a_name_under_a_heading_stands_beside_it_and_never_on_it() -> None:
    page = tune("D5/4 | D5/4 | D5/4", 200)
    edge = page.systems[0].rect.y0 - 0.1 * page.staff_space
    part = [page.measures[0].rect.x0, edge - 2.0, page.measures[1].rect.x0 - 1.0, edge]
    under = replace(page, music_top=edge, ink=np.concatenate([page.ink, [part]]))
    for number, named in ((0, []), (1, ["Tune"])):
        (box,) = boxes_on(under, [PassageBox("Tune", number, number)], (), METRICS)
        assert names(box) == named
        assert not touching(box.boxes, under.ink).any()
        assert box.boxes[:, 1].min() >= edge - 2.0
    assert box.boxes[:, 1].min() < edge  # beside the second measure there is room


def test_the_name_of_a_position_does_not_stand_across_the_side_of_a_box() -> None:
    """Where the hand moves at the last note before a passage, the name of the position begins further left."""
    page = tune("D5/1 D5 D5 D5@last | D5/1 D5 D5 D5 | D5/4", 200)
    box = [PassageBox("Tune", 1, 1)]
    (_, left), *_ = uprights_of(page, box)
    ground = Ground(page)
    wanted = [Wanted("last", "3", hand="1st pos.")]
    (without,) = mark_page(page, wanted, [], METRICS, ground)
    (one,) = mark_page(page, wanted, [], METRICS, ground, uprights=uprights_of(page, box))
    assert isinstance(one, Placed)
    assert isinstance(without, Placed)
    assert without.hand is not None
    assert one.hand is not None
    assert without.hand.box.x0 < left < without.hand.box.x1
    assert one.hand.box.x1 < left


def test_a_line_lies_on_its_side_of_the_next_system() -> None:
    """Low notes over high ones: the line under the upper system stays over what belongs to the lower one."""
    page = tune(" | ".join(["G3/1 G3 G3 G3"] * 3 + ["C7/1 C7 C7 C7"] * 3), 110)
    upper, *_ = boxes_on(page, [PassageBox("Tune", 0, 0)], (), METRICS)
    lower = [note.column.y0 for note in page.notes.values() if note.system == 1]
    assert page.systems[0].staff_bottom < level(upper, top=False) < min(lower)


def test_a_name_wider_than_its_measure_stands_over_the_line() -> None:
    page = tune("D5/4 | D5/4 | D5/4 | D5/4 | D5/4 | D5/4", 110)
    passage = PassageBox("Together with the Violas", 1, 1)
    (box,) = boxes_on(page, [passage], (), METRICS)
    (name,) = (one for one in box.drawn if isinstance(one, Lettering))
    _, _, x1, bottom = (side / UNITS_A_MM for side in METRICS.box(name) or ())
    assert page.measures[1].rect.x1 < x1 < page.width
    assert bottom < level(box, top=True)
    check_clear(page, [box], ())


def test_a_name_longer_than_any_line_is_cut() -> None:
    page = tune("D5/4 | D5/4")
    (box,) = boxes_on(page, [PassageBox("the same tune again " * 12, 0, 1)], (), METRICS)
    (name,) = names(box)
    assert name.startswith("the same tune again the same")
    assert name.endswith("…")
    assert box.boxes[:, 2].max() <= page.width


def test_a_box_goes_round_the_whole_of_a_long_rest() -> None:
    page = tune("D5/4 | r/4 | r/4 | r/4 | r/4 | D5/4")
    rest = next(one for one in page.measures if one.last > one.first)
    (box,) = boxes_on(page, [PassageBox("Count", rest.first + 1, rest.first + 2)], (), METRICS)
    assert rest.rect.x0 < box.boxes[:, 0].min()
    assert rest.rect.x1 > box.boxes[:, 2].max() > rest.rect.centre[0]


def test_passages_of_other_pages_are_passed_over() -> None:
    page = tune("D5/4 | D5/4")
    assert boxes_on(page, [PassageBox("Tune", 2, 9)], (), METRICS) == ()


@pytest.mark.parametrize(
    ("name", "first", "last", "said"),
    [
        (" \n", 0, 1, "Passage: it has no name"),
        ("Tu\x07ne", 0, 1, "Passage: the text holds signs that cannot be printed"),
        ("Tune", 3, 2, "Passage: there are no measures from index 3 to 2"),
        ("Tune", -1, 2, "Passage: there are no measures from index -1 to 2"),
    ],
)
def test_a_passage_that_cannot_be_is_refused_in_one_sentence(name: str, first: int, last: int, said: str) -> None:
    with pytest.raises(EngravingError) as error:
        PassageBox(name, first, last)
    assert str(error.value) == said


def test_a_name_is_one_line() -> None:
    assert PassageBox("  Duet \n with\tViola ", 0, 0).name == "Duet with Viola"


def test_boxes_are_painted_where_they_lie_and_nowhere_else(qapp: QGuiApplication) -> None:
    page = corpus_pages("haydn/opus1no1/movement1")[0]
    boxes = boxes_on(page.map, NESTED, (), METRICS)
    bare, full = grey(paint_image(page, (), 200)), grey(paint_image(page, boxes, 200))
    room = np.zeros(bare.shape, dtype=bool)
    for box in boxes:
        for x0, y0, x1, y1 in box.boxes * 200 / 25.4:
            window = slice(int(y0 - 1), int(y1 + 2)), slice(int(x0 - 1), int(x1 + 2))
            room[window] = True
            assert (full[window] < 128).any()
    assert not ((bare != full) & ~room).any()
    assert (full[room] < 128).sum() > 2000


def test_the_names_are_text_in_the_pdf(qapp: QGuiApplication, tmp_path: Path) -> None:
    page = corpus_pages("haydn/opus1no1/movement1")[0]
    write_pdf(tmp_path / "part.pdf", [(page, boxes_on(page.map, THREE, (), METRICS))], A4, "Part")
    text = " ".join(PdfReader(tmp_path / "part.pdf").pages[0].extract_text().split())
    assert all(passage.name in text for passage in THREE)
