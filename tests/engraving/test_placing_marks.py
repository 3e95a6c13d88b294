"""Marks painted over the page: clear of ink and digits, where a player looks for them, moved as they were moved.

Where each sign stands: common practice, no source.
"""

from __future__ import annotations

import numpy as np
import pytest

from engraving.drawing import Lettering
from engraving.layout import Layout
from engraving.marks.teacher import MARK_KINDS, TeacherMark
from engraving.metrics import MUSIC_FAMILY
from engraving.page import PageMap
from engraving.placing import PaintedMark, Placed, Wanted, is_painted, mark_page, place, place_marks
from tests.engraving.pages import METRICS, corpus_pages, engraved
from tests.engraving.test_placing import boxes, touching
from tests.scores import score

TEXTS = {"dynamic": "mf", "position": "3rd pos.", "string": "III", "held-position": "stay in 3rd"}


def tune(music: str, width: float = 160) -> PageMap:
    (page,) = engraved(score("Violin", "4/4", music), Layout.excerpt(width))
    return page.map


def made(kind: str, first: str, last: str = "", **more: float) -> TeacherMark:
    """A mark of that kind with a text if it needs one."""
    known = MARK_KINDS[kind]
    text = TEXTS.get(kind, "soft") if known.takes_text else ""
    return TeacherMark(kind, first, last if known.scope == "range" else "", text, **more)


def one_mark(page: PageMap, mark: TeacherMark, digits: tuple[Placed, ...] = ()) -> PaintedMark:
    (one,) = place_marks(page, [mark], METRICS, digits)
    return one


def digit(page: PageMap, note_id: str, text: str = "2") -> tuple[Placed, ...]:
    return place(page, [Wanted(note_id, text)], METRICS)


AT_NOTES = ("retake", "high", "low", "extension", "string")


@pytest.mark.parametrize("work", ["haydn/opus1no1/movement1", "mozart/k155/movement1"])
def test_among_the_digits_of_a_whole_part_marks_touch_nothing(work: str) -> None:
    for page in (page.map for page in corpus_pages(work)):
        notes = sorted(page.notes, key=lambda one: (page.notes[one].system, page.notes[one].head.x0))
        marks = [made(AT_NOTES[number % 5], note_id) for number, note_id in enumerate(notes[::4])]
        marks += [made("held-finger", *pair) for pair in zip(notes[3::40], notes[6::40], strict=False)]
        placed = mark_page(page, [Wanted(note_id, "3") for note_id in notes], marks, METRICS)
        digits = boxes(tuple(one for one in placed if isinstance(one, Placed)))
        painted = [one for one in placed if isinstance(one, PaintedMark)]
        assert len(painted) >= len(marks)
        for number, one in enumerate(painted):
            assert not touching(one.boxes, page.ink).any(), one.mark
            assert not touching(one.boxes, digits).any(), one.mark
            for other in painted[:number]:
                assert not touching(one.boxes, other.boxes).any(), (one.mark, other.mark)
        assert not touching(digits, page.ink).any()


def test_what_the_engraver_draws_is_painted_only_once_it_was_moved() -> None:
    still, moved = made("accent", "n1"), made("accent", "n1", dy=0.5)
    assert not is_painted(still)
    assert is_painted(moved)
    assert is_painted(made("retake", "n1"))
    assert not is_painted(made("courtesy", "n1", dy=0.5))  # its sign follows from the music


@pytest.mark.parametrize("kind", [name for name in MARK_KINDS if name != "courtesy"])
def test_every_kind_that_was_moved_lies_as_far_from_its_first_place(kind: str) -> None:
    page = tune("D5/1@a E5 F5 G5@b | D5/4")
    near, far = (one_mark(page, made(kind, "a", "b", dx=0.5, dy=dy)) for dy in (0.5, 2.5))
    assert np.allclose(near.boxes - far.boxes, [0, 2 * page.staff_space, 0, 2 * page.staff_space])
    right = one_mark(page, made(kind, "a", "b", dx=2.5, dy=0.5))
    assert np.allclose(right.boxes - near.boxes, [2 * page.staff_space, 0, 2 * page.staff_space, 0])


def test_moved_marks_lie_where_they_were_put_and_digits_keep_clear_of_them() -> None:
    page = tune("D5/4@d")
    alone = digit(page, "d")[0].digit.rect
    probe = one_mark(page, made("retake", "d", dy=0.1))
    way = alone.centre[0] - probe.rect.centre[0], probe.rect.centre[1] - alone.centre[1]
    moved = made("retake", "d", dx=way[0] / page.staff_space, dy=0.1 + way[1] / page.staff_space)
    placed, mark = mark_page(page, [Wanted("d", "2")], [moved], METRICS)
    assert isinstance(mark, PaintedMark)
    assert isinstance(placed, Placed)
    assert mark.rect.touches(alone)
    assert not mark.rect.touches(placed.digit.rect)


@pytest.mark.parametrize(("kind", "side"), [("high", 1), ("low", 1), ("extension", -1)])
def test_a_sign_of_the_finger_stands_beside_its_digit(kind: str, side: int) -> None:
    page = tune("D5/4@d")
    digits = digit(page, "d")
    rect, own = one_mark(page, made(kind, "d"), digits).rect, digits[0].digit.rect
    gap = rect.x0 - own.x1 if side > 0 else own.x0 - rect.x1
    assert 0 < gap < 0.3 * page.staff_space
    assert own.y0 - 0.1 < rect.y0 < rect.y1 < own.y1 + 0.1


def test_where_the_next_digit_is_close_the_sign_stands_on_the_other_side_or_over_its_digit() -> None:
    page = tune("D5/0.25@a E5@b F5@c G5@d A5 G5 F5 E5 D5 E5 F5 G5 A5 G5 F5 E5", width=60)
    digits = place(page, [Wanted(note_id, "2") for note_id in page.notes], METRICS)
    one = one_mark(page, made("high", "b"), digits)
    assert not touching(one.boxes, boxes(digits)).any()


def test_a_string_stands_over_the_digit_and_a_retake_before_its_note() -> None:
    page = tune("D5/2@d E5@e")
    digits = digit(page, "e")
    string = one_mark(page, made("string", "e"), digits).rect
    assert string.y1 < digits[0].digit.rect.y0
    assert string.centre[0] == pytest.approx(page.notes["e"].head.centre[0], abs=0.5)
    retake = one_mark(page, made("retake", "e")).rect
    assert retake.centre[0] < page.notes["e"].head.centre[0]
    assert retake.y1 < page.notes["e"].staff_top


def test_all_that_is_said_of_one_note_stands_clear_of_each_other() -> None:
    page = tune("D5/4@d")
    digits = digit(page, "d")
    marks = place_marks(page, [made(kind, "d") for kind in AT_NOTES], METRICS, digits)
    every = np.array([*boxes(digits).tolist(), *([m.rect.x0, m.rect.y0, m.rect.x1, m.rect.y1] for m in marks)])
    assert touching(every, every).sum() == len(AT_NOTES) + 1


def test_a_circle_goes_round_its_notes_and_strikes_no_other() -> None:
    page = tune("D5/1 E5@a F5@b G5")
    rect = one_mark(page, made("circle", "a", "b")).rect
    heads = {note_id: place.head for note_id, place in page.notes.items()}
    for note_id, head in heads.items():
        x, y = head.centre
        inside = rect.x0 < x < rect.x1 and rect.y0 < y < rect.y1
        assert inside is (note_id in ("a", "b"))
        assert inside or not rect.touches(head)


def test_digits_keep_clear_of_a_circle() -> None:
    page = tune("D5/1 G5@a A5@b G5")
    *digits, circle = mark_page(page, [Wanted(n, "3") for n in page.notes], [made("circle", "a", "b")], METRICS)
    assert isinstance(circle, PaintedMark)
    assert not touching(circle.boxes, boxes(tuple(one for one in digits if isinstance(one, Placed)))).any()


def test_a_held_finger_is_a_line_from_its_digit_with_the_other_digits_over_it() -> None:
    page = tune("D5/1@a A5@b B5@c D5@d")
    overlay = mark_page(page, [Wanted(n, "3") for n in page.notes], [made("held-finger", "a", "c")], METRICS)
    digits = {one.note_id: one.digit.rect for one in overlay if isinstance(one, Placed)}
    (line,) = (one.rect for one in overlay if isinstance(one, PaintedMark))
    assert digits["a"].y0 < line.centre[1] < digits["a"].y1
    assert 0 < line.x0 - digits["a"].x1 < page.staff_space
    assert line.x1 == pytest.approx(page.notes["c"].head.x1, abs=0.5)
    assert all(digits[name].y1 < line.y0 for name in ("b", "c"))
    assert digits["d"].y1 > line.y0


def test_text_for_the_margin_stands_beside_its_line_and_over_the_note_when_it_is_too_wide() -> None:
    page = corpus_pages("haydn/opus1no1/movement1")[0].map
    for note_id in (
        min(page.notes, key=lambda n: page.notes[n].head.x0),
        max(page.notes, key=lambda n: page.notes[n].head.x0),
    ):
        note, system = page.notes[note_id], page.systems[page.notes[note_id].system].rect
        rect = one_mark(page, TeacherMark("margin-text", note_id, text="soft bow")).rect
        assert rect.x1 < system.x0 if note.head.x0 < page.width / 2 else rect.x0 > system.x1
        assert rect.y0 > note.staff_top - 10
        assert rect.y1 < note.staff_bottom + 10
        assert 0 < rect.x0 < rect.x1 < page.width
        wide = one_mark(page, TeacherMark("margin-text", note_id, text="extraordinarily"))
        assert system.x0 - 1 < wide.rect.x0 < wide.rect.x1 < page.width
        assert not touching(wide.boxes, page.ink).any()


@pytest.mark.parametrize("kind", [name for name, kind in MARK_KINDS.items() if kind.scope == "range"])
def test_a_mark_over_two_systems_is_painted_at_both(kind: str) -> None:
    page = tune("D5/1@a E5 F5 G5 | A5 G5 F5 E5 | D5 E5 F5 G5@b", width=70)
    assert page.notes["a"].system < page.notes["b"].system
    pieces = place_marks(page, [made(kind, "a", "b", dy=0.1)], METRICS)
    assert len(pieces) == page.notes["b"].system - page.notes["a"].system + 1
    assert [piece.rect.centre[1] for piece in pieces] == sorted(piece.rect.centre[1] for piece in pieces)


@pytest.mark.parametrize("kind", [name for name, kind in MARK_KINDS.items() if kind.scope == "range"])
def test_a_mark_goes_on_over_a_line_of_rests(kind: str) -> None:
    page = tune("D5/1@a E5 F5 G5 | r/4 | r/4 | r/4 | D5/1 E5 F5 G5@b", width=50)
    between = range(page.notes["a"].system + 1, page.notes["b"].system)
    assert any(all(note.system != system for note in page.notes.values()) for system in between)
    pieces = place_marks(page, [made(kind, "a", "b", dy=0.1)], METRICS)
    assert len(pieces) == page.notes["b"].system - page.notes["a"].system + 1


def test_a_dynamic_in_words_is_set_in_letters() -> None:
    page = tune("D5/4@d")
    (lettering,) = one_mark(page, TeacherMark("dynamic", "d", text="poco f", dy=-1)).drawn
    assert isinstance(lettering, Lettering)
    assert lettering.text == "poco f"
    (signs,) = one_mark(page, TeacherMark("dynamic", "d", text="mf", dy=-1)).drawn
    assert isinstance(signs, Lettering)
    assert signs.face.family == MUSIC_FAMILY


@pytest.mark.parametrize("kind", ["slur", "dashed-slur", "hooked-bow"])
def test_a_slur_lies_beyond_the_notes_between_its_ends(kind: str) -> None:
    page = tune("C5/1@a C6 B5 C5@b")
    slur = one_mark(page, made(kind, "a", "b", dx=0.001))
    heads = np.array([[n.head.x0, n.head.y0, n.head.x1, n.head.y1] for n in page.notes.values()])
    assert not touching(slur.boxes, heads).any()


def test_marks_of_other_pages_are_passed_over() -> None:
    page = tune("D5/4@d")
    assert place_marks(page, [made("retake", "elsewhere"), made("circle", "x", "y")], METRICS) == ()
