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
from app.job.note_words import note_words
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
