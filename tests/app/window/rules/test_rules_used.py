"""Edited house rules used for a part or for all of them."""

from __future__ import annotations

from analysis.fingering.locks import Lock
from analysis.fingering.rules.files import preset, rules_from
from tests.app.conftest import opened, settled
from tests.app.window.rules.bench import edited, field, laid, tried


def test_rules_used_for_the_part_are_one_step_that_the_window_follows(qtbot, window, mini):
    opened(qtbot, window, mini)
    before = window.desk.plan
    shown = edited(qtbot, window)
    field(shown, "title").line.setText("Ours")
    field(shown, "open_or_fourth").box.setCurrentIndex(1)
    assert shown.use.text() == "Use for Violin"
    shown.use.click()
    tried(qtbot, window, shown)
    assert window.desk.part_work.rules == shown.rules
    assert window.desk.part_work.rules.open_or_fourth == "open"
    assert window.desk.plan.setting.rules == shown.rules
    assert window.actions_by_name["undo"].text() == "Undo house rules Ours"
    assert window.parts.rules.currentText() == "Ours"
    assert (shown.use.isEnabled(), shown.is_edited) == (False, False)
    window.desk.history.undo()
    assert window.desk.plan is before
    assert field(shown, "title").value == "Two homes"
    window.desk.history.redo()
    assert field(shown, "title").value == "Ours"


def test_changed_rules_of_an_old_name_are_told_apart_in_the_list(qtbot, window, mini):
    opened(qtbot, window, mini)
    shown = edited(qtbot, window)
    field(shown, "extensions").box.click()
    shown.use.click()
    tried(qtbot, window, shown)
    assert window.parts.rules.currentText() == "Two homes, changed"


def test_rules_used_for_all_string_parts_are_one_step(qtbot, bench, example):
    laid(qtbot, bench, example)
    parts = bench.desk.score.score.parts
    bench.desk.turn_to(parts[1].id)
    qtbot.waitUntil(lambda: bench.desk.plan is not None, timeout=30_000)
    settled(qtbot, bench)
    before = bench.desk.state
    shown = edited(qtbot, bench)
    field(shown, "title").line.setText("Ours")
    field(shown, "extensions").box.click()
    shown.use_by_all.click()
    tried(qtbot, bench, shown)
    assert {work.rules for work in bench.desk.state.work.parts.values()} == {shown.rules}
    assert bench.desk.plan.setting.rules == shown.rules
    assert bench.desk.history.count() == 1
    assert bench.desk.history.undoText() == "house rules Ours for all string parts"
    assert not shown.use_by_all.isEnabled()
    bench.desk.turn_to(parts[0].id)
    qtbot.waitUntil(lambda: bench.desk.plan is not None, timeout=30_000)
    assert bench.desk.plan.setting.rules == shown.rules
    settled(qtbot, bench)
    bench.desk.history.undo()
    assert dict(bench.desk.state.plans) == dict(before.plans)
    assert bench.desk.state.work == before.work
    bench.desk.history.redo()
    settled(qtbot, bench)
    assert {work.rules for work in bench.desk.state.work.parts.values()} == {shown.rules}


def test_a_lock_set_while_all_parts_get_other_rules_is_not_lost(qtbot, bench, example):
    laid(qtbot, bench, example)
    note = next(note for note in bench.desk.part.notes if note.pitch.name == "A4")
    bench.ruling.use_by_all(preset("first"))
    bench.desk.lock(note.id, Lock(finger=4), "A4")
    settled(qtbot, bench)
    assert bench.desk.part_work.rules == preset("first")
    assert dict(bench.desk.plan.locks) == dict(bench.desk.part_work.locks) == {note.id: Lock(finger=4)}
    assert bench.desk.history.count() == 2


def test_rules_that_fit_only_some_parts_are_refused_for_all_in_words(qtbot, bench, example, told):
    laid(qtbot, bench, example)
    rules = rules_from({"instrument": {"cello": {"positions": [1]}}, "part": {"Violoncello": {"home": 3}}})
    bench.ruling.use_by_all(rules)
    settled(qtbot, bench)
    assert told == ["Violoncello: home is 3rd position, which is not among the positions allowed: 1st."]
    assert bench.desk.history.count() == 0


def test_another_part_in_hand_shows_its_rules_and_edited_ones_stay(qtbot, bench, example):
    laid(qtbot, bench, example)
    first, second, *_ = bench.desk.score.score.parts
    bench.desk.set_rules(preset("third"))
    settled(qtbot, bench)
    shown = edited(qtbot, bench)
    assert shown.rules == preset("third")
    bench.desk.turn_to(second.id)
    settled(qtbot, bench)
    assert shown.rules == preset("two-homes")
    assert shown.use.text() == "Use for Violin II"
    field(shown, "extensions").box.click()
    rules = shown.rules
    bench.desk.turn_to(first.id)
    settled(qtbot, bench)
    assert shown.rules == rules
