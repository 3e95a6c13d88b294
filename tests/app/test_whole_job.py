"""The whole job in the window, from opening a score to the printed part and the project opened again."""

from __future__ import annotations

import pytest
from lxml import etree
from pypdf import PdfReader
from PySide6.QtCore import QPoint, Qt

from analysis.fingering.rules.files import preset
from app.job.opening import open_any
from app.window import dialogs
from app.window.commands import COMMANDS
from tests.app.conftest import opened, settled
from tests.scores import score


def ids(window):
    return [note.id for note in window.desk.part.notes]


def finger(window, note_id):
    return window.desk.plan.choice(note_id).finger


def click(qtbot, window, area):
    centre = QPoint(round(area.center().x()), round(area.center().y()))
    qtbot.mouseClick(window.music.viewport(), Qt.MouseButton.LeftButton, pos=centre)


def test_a_click_on_a_note_selects_it_and_lists_its_ways(qtbot, window, mini):
    opened(qtbot, window, mini)
    third = ids(window)[2]
    click(qtbot, window, window.music.note_area(third))
    assert window.desk.note_id == third
    ways = window.ways.model.ways
    assert [way.chosen for way in ways].count(True) == 1
    assert {(way.placement.string, way.placement.finger) for way in ways} >= {(3, 4), (2, 0)}
    assert "A4" in window.ways._note.text()


def test_arrow_keys_go_from_note_to_note(qtbot, window, mini):
    opened(qtbot, window, mini)
    for key, expected in ((Qt.Key.Key_Right, 0), (Qt.Key.Key_Right, 1), (Qt.Key.Key_Left, 0), (Qt.Key.Key_Left, 0)):
        qtbot.keyClick(window.music, key)
        assert window.desk.note_id == ids(window)[expected]


def test_a_typed_finger_is_kept_and_undo_goes_back_to_the_very_plan_before(qtbot, window, mini):
    opened(qtbot, window, mini)
    before, third = window.desk.plan, ids(window)[2]
    window.desk.select_note(third)
    assert finger(window, third) == 4
    qtbot.keyClick(window.music, Qt.Key.Key_0)
    assert finger(window, third) == 0
    assert [placed.note_id for placed in window.music.sheets.digits(0).own] == [third]
    window.actions_by_name["undo"].trigger()
    assert window.desk.plan is before
    assert window.music.sheets.digits(0).own == ()
    window.actions_by_name["redo"].trigger()
    assert finger(window, third) == 0
    window.actions_by_name["release"].trigger()
    assert finger(window, third) == 4


def test_a_way_from_the_list_is_taken_and_costs_what_it_said(qtbot, window, mini):
    opened(qtbot, window, mini)
    window.desk.select_note(ids(window)[2])
    effort = window.desk.plan.effort
    way = next(way for way in window.ways.model.ways if not way.chosen)
    window.ways.way_chosen.emit(way)
    assert window.desk.plan.effort - effort == pytest.approx(way.extra, abs=1e-9)


def test_a_finger_that_cannot_play_the_note_is_refused_in_words(qtbot, window, mini):
    opened(qtbot, window, mini)
    window.desk.select_note(ids(window)[0])
    qtbot.keyClick(window.music, Qt.Key.Key_0)
    assert "F#4 cannot be played open" in window.statusBar().currentMessage()
    assert window.desk.history.count() == 0


def test_other_house_rules_finger_the_part_anew_in_one_step(qtbot, window, mini):
    opened(qtbot, window, mini)
    row = window.parts.rules.findText("Third position")
    window.parts.rules.setCurrentIndex(row)
    window.parts.rules.activated.emit(row)
    settled(qtbot, window)
    assert {placement.position for _, placement in window.desk.plan.choices()} == {1, 3}
    assert window.desk.history.undoText() == "house rules Third position"
    window.desk.history.undo()
    assert window.parts.rules.currentText() == "Two homes"


def test_an_edit_made_while_other_rules_are_worked_out_is_not_lost(qtbot, window, mini):
    opened(qtbot, window, mini)
    third = ids(window)[2]
    window.desk.select_note(third)
    window.desk.set_rules(preset("whole-board"))
    qtbot.keyClick(window.music, Qt.Key.Key_0)
    settled(qtbot, window)
    assert window.desk.part_work.rules.name == "whole-board"
    assert window.desk.plan.locks[third].finger == finger(window, third) == 0
    assert [window.desk.history.text(row) for row in range(window.desk.history.count())] == [
        "A4: open",
        "house rules Whole board",
    ]


def test_a_note_left_out_under_the_rules_is_taken_in_by_a_finger_of_ones_own(qtbot, window, tmp_path):
    path = tmp_path / "high.musicxml"
    path.write_bytes(score("Violin", "4/4", "A5/1 B5 E6 B5"))
    opened(qtbot, window, path)
    high = ids(window)[2]
    assert high not in window.desk.plan
    window.desk.select_note(high)
    qtbot.keyClick(window.music, Qt.Key.Key_4)
    settled(qtbot, window)
    assert (finger(window, high), window.desk.plan.choice(high).position) == (4, 4)
    window.desk.history.undo()
    assert high not in window.desk.plan


def test_a_comparison_shows_both_ways_and_the_one_used_is_one_step(qtbot, window, mini):
    opened(qtbot, window, mini)
    window.desk.select_passage((2, 3))
    window.actions_by_name["compare"].trigger()
    comparison = window.compare_window
    qtbot.waitUntil(lambda: len(comparison.ways) == 2, timeout=30_000)
    assert [comparison.table.verticalHeaderItem(row).text() for row in range(comparison.table.rowCount())] == [
        "Notes fingered", "Shifts", "Hand travel, mm", "String crossings", "Crossings for a single note",
        "Open strings", "Fourth fingers", "Extensions", "Low/high changes", "Effort", "Notes that cannot be played so",
    ]  # fmt: skip
    third = comparison.ways[1]
    assert third.counts.crossings == 0
    comparison.use_buttons[1].click()
    assert window.desk.history.count() == 1
    inside = [note.id for note in window.desk.part.notes if 2 <= note.measure <= 3]
    assert [finger(window, note_id) for note_id in inside] == [1, 2, 3, 4, 2, 1, 2, 4]
    window.desk.history.undo()
    assert dict(window.desk.plan.locks) == {}


def test_the_part_prints_with_its_digits_on_either_paper(qtbot, window, mini, tmp_path, monkeypatch, told):
    opened(qtbot, window, mini)
    for kind, points in (("PDF on A4 (*.pdf)", (595, 842)), ("PDF on US Letter (*.pdf)", (612, 792))):
        path = tmp_path / f"{points[0]}.pdf"
        monkeypatch.setattr(dialogs, "ask_save", lambda *_, path=path, kind=kind: (path, kind))
        window.actions_by_name["print"].trigger()
        qtbot.waitUntil(path.exists, timeout=30_000)
        settled(qtbot, window)
        page = PdfReader(path).pages[0]
        assert (round(page.mediabox.width), round(page.mediabox.height)) == points
        digits = [word for word in page.extract_text().split() if word.isdigit() and int(word) <= 4]
        assert "".join(digits).count("4") >= sum(p.finger == 4 for _, p in window.desk.plan.choices())
    assert told == []


def test_marked_musicxml_holds_every_digit(qtbot, window, mini, tmp_path, monkeypatch):
    opened(qtbot, window, mini)
    path = tmp_path / "marked.musicxml"
    monkeypatch.setattr(dialogs, "ask_save", lambda *_: (path, dialogs.MUSICXML_FILES.split(";;")[0]))
    window.actions_by_name["export"].trigger()
    qtbot.waitUntil(path.exists, timeout=30_000)
    settled(qtbot, window)
    fingers = [int(element.text) for element in etree.parse(path).iter("fingering")]
    assert fingers == [finger(window, note_id) for note_id in ids(window)]


def test_a_saved_project_opens_with_everything_as_it_was(qtbot, window, mini, tmp_path, monkeypatch):
    opened(qtbot, window, mini)
    window.desk.select_note(ids(window)[2])
    qtbot.keyClick(window.music, Qt.Key.Key_0)
    plan = window.desk.plan
    path = tmp_path / "work.handframe"
    monkeypatch.setattr(dialogs, "ask_save", lambda *_: (path, ""))
    window.actions_by_name["save"].trigger()
    assert window.desk.history.isClean()
    opened(qtbot, window, path)
    assert dict(window.desk.plan.locks) == dict(plan.locks)
    assert list(window.desk.plan.choices()) == list(plan.choices())
    assert open_any(path).document.source == mini.read_bytes()


def test_a_file_that_is_no_score_is_told_and_the_open_one_stays(qtbot, window, mini, tmp_path, told):
    opened(qtbot, window, mini)
    plan = window.desk.plan
    bad = tmp_path / "letter.musicxml"
    bad.write_text("Dear parents")
    window.open(bad)
    qtbot.waitUntil(lambda: bool(told), timeout=10_000)
    assert told[0].startswith("letter.musicxml")
    assert window.desk.plan is plan


def test_work_that_is_stopped_calls_back_no_more(qtbot, window, mini):
    window.open(mini)
    window.actions_by_name["stop"].trigger()
    qtbot.wait(300)
    assert window.desk.score is None
    opened(qtbot, window, mini)


def test_cello_and_bass_open_and_say_that_their_fingering_comes_next(qtbot, window, example):
    opened(qtbot, window, example)
    names = [window.parts.parts.item(row).text() for row in range(window.parts.parts.count())]
    window.parts.parts.setCurrentRow(names.index("Violoncello"))
    qtbot.waitUntil(lambda: bool(window.desk.pages), timeout=30_000)
    settled(qtbot, window)
    assert "comes next" in window.parts._remark.text()
    assert list(window.desk.plan.choices()) == []


def test_every_command_has_its_own_name_and_keys():
    assert len({command.name for command in COMMANDS}) == len(COMMANDS)
    assert len({command.shortcut for command in COMMANDS}) == len(COMMANDS)


def test_commands_that_need_a_score_are_off_without_one(window):
    enabled = {name for name, action in window.actions_by_name.items() if action.isEnabled()}
    assert enabled == {"open", "quit"}
