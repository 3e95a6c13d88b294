"""The whole job in the window, from opening a score to the printed part and the project opened again."""

from __future__ import annotations

from dataclasses import replace

import pytest
from lxml import etree
from pypdf import PdfReader
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtWidgets import QApplication

from analysis.fingering.cautions import cautions
from analysis.fingering.locks import Lock
from analysis.fingering.placements import THUMB
from analysis.fingering.rules.files import preset
from analysis.fingering.rules.house import HouseRules
from analysis.instruments import VIOLA
from app.job.files.opening import open_any
from app.job.teacher.printing import Printing
from app.window import dialogs
from app.window.commands import COMMANDS
from app.window.editing.steps import PartState
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
    names = [comparison.table.verticalHeaderItem(row).text() for row in range(comparison.table.rowCount())]
    assert [name.replace("\n", " ") for name in names] == [
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
    for paper, points in (("a4", (595, 842)), ("letter", (612, 792))):
        path = tmp_path / f"{points[0]}.pdf"
        window.desk.set_printing(Printing(paper), {})
        monkeypatch.setattr(dialogs, "ask_save", lambda *_, path=path: (path, dialogs.PDF_FILES))
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


def test_cello_and_bass_parts_are_fingered_like_the_others(qtbot, window, example):
    opened(qtbot, window, example)
    names = [window.parts.parts.item(row).text() for row in range(window.parts.parts.count())]
    for name, shown in (("Violoncello", "Cello"), ("Double Bass", "Double bass")):
        window.parts.parts.setCurrentRow(names.index(name))
        qtbot.waitUntil(lambda: bool(window.desk.pages) and window.desk.plan is not None, timeout=30_000)
        settled(qtbot, window)
        assert window.parts.instrument.currentText() == shown
        assert not window.parts._remark.isVisibleTo(window.parts)
        assert {note.id for note in window.desk.part.notes} == {note_id for note_id, _ in window.desk.plan.choices()}


def test_every_instrument_and_the_presets_in_order_can_be_chosen(qtbot, window, mini):
    opened(qtbot, window, mini)
    instruments, rules = ([box.itemText(row) for row in range(box.count())]
                          for box in (window.parts.instrument, window.parts.rules))  # fmt: skip
    assert instruments == ["Violin", "Viola", "Cello", "Double bass", "Double bass, 5 strings"]
    assert rules == ["Home ground", "Two homes", "Whole board", "First position", "Third position", "From a file…"]
    window.desk.select_passage((2, 3))
    window.actions_by_name["compare"].trigger()
    comparison = window.compare_window
    qtbot.waitUntil(lambda: len(comparison.ways) == 2, timeout=30_000)
    chooser = comparison.choosers[0]
    assert [chooser.itemText(row) for row in range(chooser.count())] == rules[:-1]
    assert [chooser.currentText() for chooser in comparison.choosers] == ["First position", "Third position"]
    comparison.close()


def test_an_instrument_in_another_size_is_still_the_one_chosen(qtbot, window, mini):
    opened(qtbot, window, mini)
    window.desk.set_instrument(VIOLA)
    settled(qtbot, window)
    assert window.parts.instrument.currentText() == "Viola"
    small = replace(window.desk.part_work, instrument=VIOLA.in_size("13 in"))
    window.desk.go_to(window.desk.part.id, PartState(small, window.desk.plan))
    assert window.parts.instrument.currentText() == "Viola"
    window.desk.set_instrument(VIOLA)
    settled(qtbot, window)
    assert window.desk.history.count() == 1


def test_the_reason_stands_above_the_ways_and_goes_where_there_is_none(qtbot, window, mini):
    opened(qtbot, window, mini)
    panel, notes = window.ways, ids(window)
    for note_id in notes[:8]:
        window.desk.select_note(note_id)
        assert panel.model.ways == window.desk.plan.ways(note_id)
        assert panel._reason.text() == window.desk.plan.reason(note_id)
        assert panel._reason.isVisibleTo(panel) is bool(panel._reason.text())
    window.desk.select_note(notes[5])
    qtbot.waitUntil(lambda: panel._reason.text() != window.desk.plan.reason(notes[7]))
    assert panel._reason.text() == "4 on the D string, because an open A would ring for three beats."
    qtbot.keyClick(window.music, Qt.Key.Key_4)
    qtbot.waitUntil(lambda: "Fixed by you" in panel._note.text())
    assert panel._reason.text() == ""


def test_a_far_reach_of_small_hands_is_cautioned_of_at_its_note_with_an_easier_way(qtbot, window, tmp_path):
    path = tmp_path / "cello.musicxml"
    path.write_bytes(score("Cello", "4/4", "D3/1 E3 F#3 G#3", key=2))
    opened(qtbot, window, path)
    window.desk.set_rules(HouseRules(title="Small hands", positions=(1, 2), reach="small"))
    settled(qtbot, window)
    *near, far = ids(window)
    window.desk.lock(far, Lock(position=1), "G#3 in first position")
    made = next(cautions(window.desk.plan))
    assert made.note_id == far
    window.desk.select_note(far)
    shown = window.ways._caution
    assert window.ways.model.ways == window.desk.plan.ways(far)
    assert shown.text() == f"{made.text.removeprefix('measure 1, beat 4: ')} {made.easier}"
    assert shown.text().startswith("4 for G#3 reaches ")
    assert shown.isVisibleTo(window.ways)
    window.desk.select_note(near[0])
    qtbot.waitUntil(lambda: not shown.isVisibleTo(window.ways))
    window.desk.select_note(far)
    qtbot.waitUntil(lambda: shown.isVisibleTo(window.ways))
    window.desk.lock(far, Lock(string=2, finger=3, position=2, hand=4.0), "G#3 in second position")
    qtbot.waitUntil(lambda: shown.text() == "")


def test_the_thumb_is_typed_as_a_letter_where_an_instrument_uses_it(qtbot, window, mini, tmp_path):
    opened(qtbot, window, mini)
    window.desk.select_note(ids(window)[2])
    qtbot.keyClick(window.music, Qt.Key.Key_T)
    assert "A4 cannot be played with the thumb" in window.statusBar().currentMessage()
    assert window.desk.history.count() == 0
    path = tmp_path / "cello.musicxml"
    path.write_bytes(score("Cello", "4/4", "A3/1 B3 A4 B4"))
    opened(qtbot, window, path)
    third = ids(window)[2]
    window.desk.select_note(third)
    qtbot.keyClick(window.music, Qt.Key.Key_T)
    settled(qtbot, window)
    assert finger(window, third) == THUMB
    assert window.desk.history.undoText() == "A4: with the thumb"
    assert {placed.digit.text for placed in window.music.sheets.digits(0).own} == {"T"}


def test_the_ways_of_a_long_list_never_cover_each_other(qtbot, window, example):
    opened(qtbot, window, example)
    window.resize(1280, 720)
    names = [window.parts.parts.item(row).text() for row in range(window.parts.parts.count())]
    window.parts.parts.setCurrentRow(names.index("Violoncello"))
    qtbot.waitUntil(lambda: window.desk.plan is not None and bool(window.desk.pages), timeout=30_000)
    settled(qtbot, window)
    window.desk.select_note(next(note.id for note in window.desk.part.notes if note.measure == 15))
    rows, model = window.ways._list, window.ways.model
    for width in range(260, 340, 4):
        window.ways.setFixedWidth(width)
        QApplication.processEvents()
        assert rows.verticalScrollBar().isVisible()
        for row, way in enumerate(model.ways):
            area = rows.visualRect(model.index(row))
            lines = rows.fontMetrics().boundingRect(
                QRect(0, 0, area.width() - 16, 1000), Qt.TextFlag.TextWordWrap, model.reason(way)
            )
            assert 8 + rows.fontMetrics().height() + 4 + lines.height() <= area.height() - 4


def test_of_a_note_fixed_against_the_easiest_way_the_list_says_so(qtbot, window, mini):
    opened(qtbot, window, mini)
    window.desk.select_note(ids(window)[5])
    qtbot.keyClick(window.music, Qt.Key.Key_0)
    chosen = next(way for way in window.ways.model.ways if way.chosen)
    assert window.ways.model.reason(chosen) == "Fixed by you, at more effort than the easiest way."


def test_every_command_has_its_own_name_and_keys():
    assert len({command.name for command in COMMANDS}) == len(COMMANDS)
    keys = [command.shortcut for command in COMMANDS if command.shortcut]
    assert len(set(keys)) == len(keys)


def test_commands_that_need_a_score_are_off_without_one(window):
    enabled = {name for name, action in window.actions_by_name.items() if action.isEnabled()}
    assert enabled == {"open", "quit", "colours", "manual", "keys"}
