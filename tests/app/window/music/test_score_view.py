"""The music on the desk: what a note under the pointer tells, fingers typed for other strings, zoom by pinching."""

from __future__ import annotations

import pytest
from PySide6.QtCore import QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QHelpEvent, QNativeGestureEvent, QPointingDevice
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QToolTip

from analysis.fingering.placements import placements
from analysis.fingering.plan import Way
from analysis.instruments import VIOLIN
from analysis.music import Pitch
from app.job.words.notes import note_words
from app.window.panels.ways_panel import WaysModel
from tests.app.conftest import opened, settled
from tests.scores import score


@pytest.fixture
def shown(qtbot, window, mini):
    opened(qtbot, window, mini)
    return window


def rest_on(window, point):
    viewport = window.music.viewport()
    event = QHelpEvent(QHelpEvent.Type.ToolTip, point, viewport.mapToGlobal(point))
    QApplication.sendEvent(viewport, event)


def test_the_pointer_on_a_note_is_told_how_it_is_played_and_why(shown, monkeypatch):
    said = []
    monkeypatch.setattr(QToolTip, "showText", lambda place, words, widget: said.append(words))
    note = shown.desk.part.notes[2]
    rest_on(shown, shown.music.note_area(note.id).center().toPoint())
    (words,) = said
    name, played, why = words.split("\n")
    assert name == "A4, measure 1, beat 3"
    assert "string" in played or "position" in played
    assert why == shown.desk.plan.reason(note.id)
    rest_on(shown, QPoint(2, 2))
    assert said[1] == ""


def test_of_a_fixed_note_it_is_said_who_fixed_it(qtbot, shown):
    note_id = shown.desk.part.notes[1].id
    shown.desk.select_note(note_id)
    shown.notes.keep()
    assert note_words(shown.desk.part, shown.desk.plan, note_id).endswith("Fixed by you.")
    assert not shown.actions_by_name["keep"].isEnabled()
    shown.notes.release()
    assert note_id not in shown.desk.plan.locks


def test_a_finger_can_be_typed_for_the_string_beside(qtbot, window, tmp_path):
    """B4 is the first finger on A, and the third on D in third position: common practice, no source."""
    path = tmp_path / "b.musicxml"
    path.write_bytes(score("Violin", "4/4", "A4/1 B4@b C5 D5"))
    opened(qtbot, window, path)

    def played():
        choice = window.desk.plan.choice("b")
        return choice.string, choice.finger

    window.desk.select_note("b")
    assert played() == (2, 1)
    QTest.keyClick(window.music, Qt.Key.Key_3, Qt.KeyboardModifier.AltModifier)
    assert played() == (3, 3)
    QTest.keyClick(window.music, Qt.Key.Key_1, Qt.KeyboardModifier.ControlModifier)
    assert played() == (2, 1)


def test_beyond_the_outer_strings_there_is_none(qtbot, shown):
    note_id = shown.desk.part.notes[0].id
    shown.desk.select_note(note_id)
    with qtbot.waitSignal(shown.desk.said) as said:
        shown.notes.finger(1, 9)
    assert "no string further that way" in said.args[0]
    assert shown.desk.history.count() == 0


def test_pinching_zooms_around_the_fingers(qtbot, shown):
    before = shown.music.scale
    place = QPointF(200, 200)
    device = QPointingDevice.primaryPointingDevice()
    event = QNativeGestureEvent(
        Qt.NativeGestureType.ZoomNativeGesture, device, 2, place, place, place, 0.25, QPointF(), 1
    )
    QApplication.sendEvent(shown.music.viewport(), event)
    settled(qtbot, shown)
    assert shown.music.scale == pytest.approx(1.25 * before)


def test_the_extra_effort_of_a_way_is_a_bar_beside_the_others(shown):
    shown.desk.select_note(shown.desk.part.notes[1].id)
    model = shown.ways.model
    shares = [model._share(way) for way in model.ways]
    assert max(shares) == 1
    assert [share for share, way in zip(shares, model.ways, strict=True) if way.chosen] == [0]


def test_an_easier_way_than_the_fixed_one_has_a_real_minus_sign(qapp):
    easier = Way(placements(VIOLIN, Pitch.parse("B4"))[0], -4.2, (), chosen=False)
    assert WaysModel().extra_words(easier) == "−4.2"


def test_between_two_scores_nothing_is_painted(qtbot, window, mini):
    """A sentence about a damaged file may stand on the screen before its first part is in hand."""
    opened(qtbot, window, mini)
    seen = []
    window.desk.opened.connect(lambda: seen.append(len(window.music.pages_in(QRectF(window.music.viewport().rect())))))
    opened(qtbot, window, mini)
    assert seen == [0]


def click(window, note_id):
    centre = window.music.note_area(note_id).center().toPoint()
    QTest.mouseClick(window.music.viewport(), Qt.MouseButton.LeftButton, pos=centre)


def test_a_click_on_a_note_elsewhere_gives_the_passage_up_and_one_inside_keeps_it(shown):
    desk = shown.desk
    inside, elsewhere = desk.part.notes_in(3)[0].id, desk.part.notes_in(0)[1].id
    desk.select_passage((3, 4))
    click(shown, inside)
    assert (desk.note_id, desk.passage) == (inside, (3, 4))
    click(shown, elsewhere)
    assert (desk.note_id, desk.passage) == (elsewhere, None)


def test_measures_are_selected_from_the_note_in_hand_on(shown):
    """Though a passage elsewhere is still selected: the keys had led away from it."""
    desk = shown.desk
    desk.select_note(desk.part.notes_in(1)[0].id)
    desk.select_passage((3, 4))
    for passage in ((1, 1), (1, 2), (1, 3)):
        QTest.keyClick(shown.music, Qt.Key.Key_Right, Qt.KeyboardModifier.ShiftModifier)
        assert desk.passage == passage
    QTest.keyClick(shown.music, Qt.Key.Key_Left, Qt.KeyboardModifier.ShiftModifier)
    assert desk.passage == (1, 2)


def test_home_and_end_go_to_the_beginning_and_the_end(shown):
    music, bar = shown.music, shown.music.verticalScrollBar()
    music.zoom(6)
    assert bar.maximum() > 0
    control = Qt.KeyboardModifier.ControlModifier
    for modifiers in (Qt.KeyboardModifier.NoModifier, control):
        QTest.keyClick(music, Qt.Key.Key_End, modifiers)
        assert bar.value() == bar.maximum()
        QTest.keyClick(music, Qt.Key.Key_Home, modifiers)
        assert bar.value() == 0


def test_dragging_past_the_edge_scrolls_and_selects_on(qtbot, window, tmp_path):
    path = tmp_path / "long.musicxml"
    path.write_bytes(score("Violin", "4/4", " | ".join(["F#4/1 G4 A4 E4"] * 60), key=2))
    opened(qtbot, window, path)
    music, bar = window.music, window.music.verticalScrollBar()
    music.zoom(4)
    viewport, page = music.viewport(), music.sheets.pages[0].map
    rect = page.measures[0].rect
    start = (music.page_area(0).topLeft() + QPointF(rect.x0 + 2, rect.y1 + 0.5) * music.scale).toPoint()
    QTest.mousePress(viewport, Qt.MouseButton.LeftButton, pos=start)
    assert window.desk.passage == (0, 0)
    QTest.mouseMove(viewport, QPoint(start.x(), viewport.height() + 60))
    qtbot.waitUntil(lambda: bar.value() > 300 and window.desk.passage[1] > 20, timeout=10_000)
    QTest.mouseRelease(viewport, Qt.MouseButton.LeftButton, pos=QPoint(start.x(), viewport.height() + 60))
    assert not music._scrolling.is_on
    assert window.desk.passage[0] == 0


def test_where_no_page_is_yet_it_is_said_what_is_being_engraved(qtbot, window, mini):
    opened(qtbot, window, mini)
    assert window.desk.being_engraved == ""
    window.desk.show_full_score(True)
    assert window.desk.being_engraved == "the full score"
    said = window.music.grab().toImage()
    window.desk.tasks.stop_all()
    assert window.desk.being_engraved == ""
    assert window.music.grab().toImage() != said


def test_the_bow_that_is_shown_goes_as_the_teachers_own_sign_says(qtbot, shown):
    """The first beat is a down-bow (as in analysis.bowing.bows); after a sign the bow goes on by turns."""
    music, ids = shown.music, [note.id for note in shown.desk.part.notes]
    music.toggle_bows()
    assert [music.sheets._bows[one] for one in ids[:4]] == ["down", "up", "down", "up"]
    shown.desk.select_note(ids[2])
    shown.pencil.place("up-bow")
    assert ids[2] not in music.sheets._bows
    assert [music.sheets._bows[one] for one in (ids[0], ids[1], ids[3])] == ["down", "up", "down"]
    settled(qtbot, shown)
    shown.desk.history.undo()
    assert music.sheets._bows[ids[2]] == "down"
    settled(qtbot, shown)
