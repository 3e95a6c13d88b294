"""The full score in the window: all parts with their fingers; what is pointed at is edited in its own part."""

from __future__ import annotations

import pytest
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest

from tests.app.conftest import opened, settled, trigger


@pytest.fixture
def full(qtbot, window, example):
    """The demo suite as a full score, all its parts fingered."""
    opened(qtbot, window, example)
    trigger(window, "full_score")
    qtbot.waitUntil(lambda: len(window.desk.shown_plans) == 5, timeout=60_000)
    settled(qtbot, window)
    return window


def click(window, note_id):
    area = window.music.note_area(note_id)
    QTest.mouseClick(window.music.viewport(), Qt.MouseButton.LeftButton, pos=area.center().toPoint())


def shown_digits(window):
    view = window.music.sheets
    return [one.note_id for number in range(len(view.pages)) for one in view.digits(number).computed]


def test_the_full_score_shows_every_part_with_its_fingers_and_edits_the_one_pointed_at(qtbot, full):
    score = full.desk.score.score
    fingered = {note_id for plan in full.desk.shown_plans for note_id, _ in plan.choices()}
    digits = shown_digits(full)
    assert len(digits) == len(set(digits))
    assert {part.id for part in score.parts if any(note_id in part for note_id in digits)} == {
        p.id for p in score.parts
    }
    assert set(digits) <= fingered

    viola = score.parts[2]
    note = viola.notes[3]
    click(full, note.id)
    assert full.desk.part is viola
    assert full.desk.note_id == note.id
    assert full.desk.shows_full_score
    assert full.parts.parts.currentItem().text() == "Full score"
    ways = full.desk.plan.ways(note.id)
    full.notes.choose(next(way for way in ways if way.placement != full.desk.plan.choice(note.id)))
    assert note.id in {one.note_id for one in full.music.sheets.digits(0).own}

    full.desk.select_note(note.id)
    trigger(full, "mark-down-bow")
    settled(qtbot, full)
    assert [mark.kind for mark in full.desk.engraved.marks] == ["down-bow"]
    before = full.desk.engraved.pages
    trigger(full, "full_score")
    settled(qtbot, full)
    assert full.desk.part is viola
    assert full.desk.pages is not before
    assert {note_id for page in full.desk.pages for note_id in page.map.notes} == {one.id for one in viola.notes}
    assert full.parts.parts.currentItem().text() == "Viola"

    full.desk.turn_to(score.parts[0].id)
    settled(qtbot, full)
    trigger(full, "full_score")
    trigger(full, "undo")
    settled(qtbot, full)
    assert full.desk.engraved.marks == ()


def test_a_part_by_itself_has_no_full_score(qtbot, window, mini):
    opened(qtbot, window, mini)
    assert not window.actions_by_name["full_score"].isEnabled()
    assert [window.parts.parts.item(row).text() for row in range(window.parts.parts.count())] == ["Violin"]
