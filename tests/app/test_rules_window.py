"""House rules in their window: every rule has a field, keeps its value, and shows what it would do."""

from __future__ import annotations

import threading
from dataclasses import fields

import pytest
from hypothesis import HealthCheck, given, settings
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QAbstractButton, QApplication, QComboBox, QDoubleSpinBox, QLabel, QLineEdit, QWidget

from analysis.errors import HouseRuleError
from analysis.fingering.locks import Lock
from analysis.fingering.placements import finger_text
from analysis.fingering.plan import make_plan
from analysis.fingering.rules.checks import CHECKS, OPEN_OR_FOURTH, PRINTED, REACHES
from analysis.fingering.rules.files import PRESETS, find_rules, parse_rules, preset, rules_from
from analysis.fingering.rules.house import RULE_SENTENCES, HouseRules
from analysis.fingering.terms import TERMS
from analysis.instruments import VIOLIN
from app.job.rule_words import table_words
from app.job.rules_draft import TABLE_KINDS, TABLE_RULES, Draft, TableDraft
from app.job.rules_file import rules_text
from app.window import dialogs
from app.window.background.tasks import TaskRunner
from app.window.editing.desk import Desk
from app.window.editing.ruling import Ruling
from app.window.rules.rules_page import GROUPS, RulesPage
from tests import strategies
from tests.app.conftest import opened, settled

TWO_PARTS = """
title = "Ours"
positions = [1, 3]
[instrument.violin]
never_open = [1]
[part."Violin II"]
positions = [1]
[[passage]]
part = "Violin I"
measures = "5-8"
positions = [3]
"""


class Bench(QWidget):
    """A desk without the main window, on which no music is engraved."""

    def __init__(self):
        super().__init__()
        self.tasks = TaskRunner(self)
        self.desk = Desk(self.tasks, self)
        self.ruling = Ruling(self.desk, self)


@pytest.fixture
def bench(qtbot, monkeypatch, told):
    monkeypatch.setattr(Desk, "_engrave", lambda desk: None)
    monkeypatch.setattr(dialogs, "ask_unused", lambda *_, usable: dialogs.Answer.DISCARD)
    made = Bench()
    qtbot.addWidget(made)
    made.desk.failed.connect(lambda sentence: dialogs.tell(made, sentence))
    yield made
    made.ruling.settle()
    made.tasks.shut_down()


def laid(qtbot, bench, path):
    """Open a score on the desk and wait until its first part is fingered."""
    bench.desk.open(path)
    qtbot.waitUntil(lambda: bench.desk.plan is not None, timeout=30_000)
    settled(qtbot, bench)


def edited(qtbot, window):
    """The window of the house rules, with the effect of those it shows worked out."""
    shown = window.ruling.edit_rules()
    tried(qtbot, window, shown)
    return shown


def tried(qtbot, window, shown):
    """Wait until the rules have been tried."""
    qtbot.waitUntil(lambda: not shown.trial._pause.isActive() and not window.tasks.is_busy, timeout=30_000)


def field(shown, name):
    return shown.editor.page.rows[name].field


def row(shown, name):
    return shown.editor.page.rows[name]


def places(shown):
    listed = shown.editor.places.list
    return [listed.item(number).text().split("\n")[0] for number in range(listed.count())]


# The fields


def test_every_rule_has_a_field_or_a_kind_of_table_with_its_sentence(qtbot):
    page = RulesPage(None, in_table=False)
    qtbot.addWidget(page)
    for name, sentence in RULE_SENTENCES.items():
        if name in TABLE_KINDS:
            continue
        assert page.rows[name].sentence.text() == sentence
        assert sentence in {label.text() for label in page.findChildren(QLabel)}
        assert page.rows[name].field.isVisibleTo(page)
    assert set(page.rows) | set(TABLE_KINDS) == {rule.name for rule in fields(HouseRules)} == set(RULE_SENTENCES)
    assert sorted(name for names in GROUPS.values() for name in names) == sorted(page.rows)


def test_a_table_has_every_rule_but_the_names(qtbot):
    page = RulesPage(None, in_table=True)
    qtbot.addWidget(page)
    assert set(page.rows) == set(TABLE_RULES) == set(RULE_SENTENCES) - {"name", "title", *TABLE_KINDS}


@pytest.fixture
def pages(qtbot):
    made = RulesPage(None, in_table=False), RulesPage(None, in_table=True)
    for page in made:
        qtbot.addWidget(page)
    return made


@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(strategies.rules(positions=6))
def test_values_go_through_the_fields_and_a_file_and_come_back(pages, rules):
    page, table_page = pages
    draft = Draft.of(rules)
    page.show_values(draft.own, {})
    through = draft.with_values(-1, page.values)
    for number, table in enumerate(draft.tables):
        table_page.show_values(table.rules, draft.beneath(number, "violin"))
        through = through.with_values(number, table_page.values)
    assert through == draft
    assert through.rules == rules
    assert parse_rules(rules_text(through.rules), "ours.toml") == rules


@pytest.mark.parametrize("name", PRESETS)
def test_a_preset_goes_through_the_fields_unchanged(qtbot, bench, mini, name):
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    chosen = PRESETS.index(name)
    shown.presets.setCurrentIndex(chosen)
    shown.presets.activated.emit(chosen)
    for place in range(shown.editor.places.list.count()):
        shown.editor.places.list.setCurrentRow(place)
        values = shown.editor.page.values
        assert values == dict(shown.editor.draft.values(place - 1))
    assert shown.rules == preset(name)


def test_each_field_says_what_its_rule_holds(qtbot, bench, mini):
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    field(shown, "title").line.setText("Afternoon")
    field(shown, "name").line.setText("afternoon")
    for number, box in field(shown, "positions").boxes.items():
        box.setChecked(number in (0, 1, 12))
    choose(field(shown, "home").box, "half position")
    choose(field(shown, "lower_strings_to").box, "4th position")
    field(shown, "keep_on").boxes[2].click()
    field(shown, "never_open").boxes[3].click()
    field(shown, "longest_open").box.setCurrentText("3/2")
    choose(field(shown, "open_or_fourth").box, "the fourth finger")
    choose(field(shown, "printed").box, "on every note")
    choose(field(shown, "reach").box, "small")
    for name in ("fourth_saves_crossing", "avoid_shrill_open", "extensions", "same_again"):
        field(shown, name).box.click()
    field(shown, "tempo").spin.setValue(72.5)
    field(shown, "size").box.setCurrentText("3/4")
    weight = field(shown, "weights").rows["shift"]
    weight.box.click()
    weight.spin.setValue(2.5)
    own = {"fourth_saves_crossing": False, "avoid_shrill_open": False, "extensions": False, "same_again": False}
    expected = rules_from(
        {
            **own, "title": "Afternoon", "name": "afternoon", "positions": [0, 1, 12], "home": 0, "lower_strings_to": 4,
            "keep_on": [2], "never_open": [3], "longest_open": "3/2", "open_or_fourth": "fourth", "tempo": 72.5,
            "printed": "every-note", "reach": "small", "size": "3/4", "weights": {"shift": 2.5},
            **{kind: dict(getattr(preset("two-homes"), kind)) for kind in ("instrument", "part")},
        }
    )  # fmt: skip
    assert shown.rules == expected


def choose(box, words):
    assert box.findText(words) >= 0, words
    box.setCurrentIndex(box.findText(words))


def test_every_value_of_a_rule_can_be_chosen_and_has_words(qtbot):
    """What the checks let pass, the fields offer; and no more."""
    page = RulesPage(None, in_table=True)
    qtbot.addWidget(page)
    for name, values in (("open_or_fourth", OPEN_OR_FOURTH), ("printed", PRINTED), ("reach", REACHES)):
        box = page.rows[name].field.box
        assert sorted(box.itemData(number) for number in range(box.count())) == sorted(values)
    for name in ("positions", "never_open", "keep_on"):
        numbers = list(page.rows[name].field.boxes)
        assert CHECKS[name](name, numbers) == tuple(numbers)
        for beyond in (numbers[0] - 1, numbers[-1] + 1):
            with pytest.raises(HouseRuleError):
                CHECKS[name](name, [beyond])
    for spin, check in ((page.rows["tempo"].field.spin, CHECKS["tempo"]), (weight_spin(page), weight_check)):
        for bound, step in ((spin.minimum(), -0.1), (spin.maximum(), 0.1)):
            assert check("it", bound)
            with pytest.raises(HouseRuleError):
                check("it", bound + step)
    everything = {name: value for name, value in Draft.of(HouseRules()).own.items() if name in TABLE_RULES}
    for name, value in everything.items():
        assert table_words(TableDraft("instrument", "violin", {name: value}), VIOLIN) != "nothing otherwise yet"


def weight_spin(page):
    return page.rows["weights"].field.rows["shift"].spin


def weight_check(name, value):
    return CHECKS["weights"](name, {"shift": value})


def test_positions_and_strings_have_the_names_that_players_of_the_instrument_use(qtbot, bench, mini):
    """Position names and strings of cello and violin: common practice, no source."""
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    assert [box.text() for box in field(shown, "positions").boxes.values()][:4] == ["half", "1st", "2nd", "3rd"]
    assert field(shown, "positions").boxes[8].text() == "8th"
    assert [box.text() for box in field(shown, "never_open").boxes.values()] == [
        "E string", "A string", "D string", "G string", "5th string",
    ]  # fmt: skip
    shown.editor.places.list.setCurrentRow(places(shown).index("Cello"))
    assert field(shown, "positions").boxes[8].text() == "thumb"
    assert field(shown, "never_open").boxes[1].text() == "A string"
    assert field(shown, "never_open").boxes[4].text() == "C string"


def test_every_effort_term_can_be_weighed_from_0_to_20_by_its_words(qtbot):
    page = RulesPage(None, in_table=False)
    qtbot.addWidget(page)
    page.show_values(Draft.of(HouseRules()).own, {})
    weights = page.rows["weights"].field
    assert [r.box.text() for r in weights.rows.values()] == [term.says for term in TERMS]
    assert all((r.spin.minimum(), r.spin.maximum()) == (0, 20) for r in weights.rows.values())
    assert not weights.list.isVisibleTo(page)
    weights.unfold.click()
    assert weights.list.isVisibleTo(page)
    assert weights.value == {}
    weights.rows["crossing"].box.click()
    assert weights.value == {"crossing": 1.0}
    weights.rows["crossing"].spin.setValue(99)
    assert weights.value == {"crossing": 20.0}
    assert weights.unfold.text() == f"1 of {len(TERMS)} otherwise"


def test_a_number_with_many_digits_is_kept_to_the_last_while_nobody_changes_it(qtbot):
    page = RulesPage(None, in_table=False)
    qtbot.addWidget(page)
    rules = HouseRules(tempo=71.23456, weights=(("shift", 1.23456),))
    page.show_values(Draft.of(rules).own, {})
    assert rules_from(page.values) == rules
    page.rows["tempo"].field.spin.setValue(60)
    assert page.values["tempo"] == 60


def test_the_wheel_scrolls_and_changes_no_value_under_the_pointer(qtbot, bench, mini):
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    shown.editor.places.setFocus()
    boxes = [*shown.editor.page.findChildren(QComboBox), *shown.editor.page.findChildren(QDoubleSpinBox)]
    assert len(boxes) > 8
    for box in boxes:
        wheel = QWheelEvent(
            QPointF(5, 5), box.mapToGlobal(QPointF(5, 5)), QPoint(), QPoint(0, -120), Qt.MouseButton.NoButton,
            Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
        )  # fmt: skip
        QApplication.sendEvent(box, wheel)
    assert shown.rules == preset("two-homes")


def test_every_field_has_a_name_for_those_who_hear_the_screen(qtbot):
    page = RulesPage(None, in_table=True)
    qtbot.addWidget(page)
    heard = page.findChildren(QLineEdit) + page.findChildren(QComboBox) + page.findChildren(QDoubleSpinBox)
    heard += page.findChildren(QAbstractButton)
    for widget in heard:
        if widget.objectName() != "qt_spinbox_lineedit" and not isinstance(widget.parent(), QComboBox):
            assert widget.accessibleName() or widget.text(), widget


# What does not fit


@pytest.mark.parametrize(
    ("change", "name", "told"),
    [
        (lambda s: field(s, "longest_open").box.setCurrentText("two"), "longest_open",
         "This is 'two'; it must be a number of quarter notes such as 2 or '3/2'."),
        (lambda s: [field(s, "positions").boxes[n].setChecked(False) for n in (1, 3)], "positions",
         "This is empty; the hand needs at least one position."),
        (lambda s: field(s, "positions").boxes[1].setChecked(False), "home",
         "This is position 1, but positions allows only [3]."),
    ],
)  # fmt: skip
def test_what_does_not_fit_is_said_at_its_field_and_kept(qtbot, bench, mini, change, name, told):
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    change(shown)
    assert row(shown, name).wrong.text() == told
    assert row(shown, name).wrong.isVisibleTo(shown)
    assert shown.wrong.text().startswith(f"Everywhere: {name} is")
    assert not any(button.isEnabled() for button in (shown.use, shown.use_by_all, shown.save_file))
    kept = shown.editor.draft
    shown.editor.places.list.setCurrentRow(1)
    shown.editor.places.list.setCurrentRow(0)
    assert shown.editor.draft == kept
    assert row(shown, name).wrong.text() == told
    while shown.undo.isEnabled():
        shown.undo.click()
    assert row(shown, name).wrong.text() == shown.wrong.text() == ""
    assert shown.rules == preset("two-homes")


def test_tables_that_contradict_each_other_are_told_before_they_are_used(qtbot, bench, mini, tmp_path, monkeypatch):
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    path = tmp_path / "ours.toml"
    path.write_text("[instrument.violin]\npositions = [1]\n[part.Violin]\nhome = 3\n")
    monkeypatch.setattr(dialogs, "ask_open", lambda *_: path)
    shown.open_file.click()
    assert shown.wrong.text() == "Violin: home is position 3, but positions allows only [1]."
    assert not shown.use.isEnabled()


# Tables


def test_tables_are_listed_in_words_added_changed_and_taken_away(qtbot, bench, mini, tmp_path, monkeypatch):
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    path = tmp_path / "ours.toml"
    path.write_text(TWO_PARTS)
    monkeypatch.setattr(dialogs, "ask_open", lambda *_: path)
    shown.open_file.click()
    assert places(shown) == ["Everywhere", "Violin", "Violin II", "Violin I, measures 5–8"]
    assert shown.editor.places.list.item(1).text() == "Violin\nnever open: E string"
    menu = {action.text(): action for action in shown.editor.places.add.menu().actions()}
    instruments = {action.text(): action for action in menu["For an instrument"].menu().actions()}
    assert list(instruments) == ["Viola", "Cello", "Double bass", "Double bass, 5 strings"]
    instruments["Cello"].trigger()
    assert places(shown) == ["Everywhere", "Violin", "Cello", "Violin II", "Violin I, measures 5–8"]
    assert shown.editor.places.row == 1
    assert not field(shown, "size").isEnabled()
    row(shown, "size").otherwise.click()
    field(shown, "size").box.setCurrentText("3/4")
    assert dict(shown.rules.instrument)["cello"] == (("size", "3/4"),)
    row(shown, "size").otherwise.click()
    assert dict(shown.rules.instrument)["cello"] == ()
    assert field(shown, "size").value == "4/4"
    shown.editor.places.take_away.click()
    assert shown.rules == find_rules(str(path))


def test_what_a_table_leaves_out_is_shown_as_it_holds_there(qtbot, bench, mini):
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    shown.editor.places.list.setCurrentRow(places(shown).index("Cello"))
    assert field(shown, "longest_open").value == "2"
    weights = field(shown, "weights").rows
    assert weights["extension"].spin.value() == 0.6
    assert weights["extension"].box.isChecked()
    assert not weights["shift"].box.isChecked()


def test_a_passage_takes_its_part_and_measures_from_two_fields(qtbot, window, example):
    opened(qtbot, window, example)
    window.desk.select_passage((37, 40))
    window.actions_by_name["passage_rules"].trigger()
    shown = window.ruling.rules_window
    assert shown.editor.head.table.measures == "38-41"
    row(shown, "positions").otherwise.click()
    for number, box in field(shown, "positions").boxes.items():
        box.setChecked(number == 3)
    (passage,) = shown.rules.passage
    assert (passage.part, passage.first, passage.last) == ("Violin I", "38", "41")
    assert dict(passage.rules) == {"positions": (3,)}
    shown.editor.head.measures.setText("38-400")
    assert shown.editor.head.remark.text() == "There is no measure 400 in Violin I; its measures are 1 to 97."
    assert shown.save_file.isEnabled()
    shown.editor.head.measures.setText("38 bis")
    assert shown.editor.head.remark.text() == "measures is '38 bis'; it must be a text such as '12-16'."
    assert not shown.save_file.isEnabled()
    shown.editor.head.measures.setText("9")
    choose(shown.editor.head.part, "every part")
    assert (shown.rules.passage[0].part, shown.rules.passage[0].first) == ("", "9")
    window.actions_by_name["passage_rules"].trigger()
    assert places(shown)[-2:] == ["Every part, measure 9", "Violin I, measures 38–41"]
    window.actions_by_name["passage_rules"].trigger()
    assert len(shown.rules.passage) == 2, "the table that is there already is shown"
    shown._followed = shown.editor.draft


# What it would do


def test_the_effect_is_that_of_a_plan_under_the_edited_rules(qtbot, bench, example):
    """Counted here from two plans made apart, note by note."""
    laid(qtbot, bench, example)
    shown = edited(qtbot, bench)
    assert shown.effect.text() == "No digit changes."
    for number, box in field(shown, "positions").boxes.items():
        box.setChecked(number == 1)
    tried(qtbot, bench, shown)
    part, work = bench.desk.part, bench.desk.part_work
    old, new = (make_plan(part, work.instrument, rules) for rules in (work.rules, shown.rules))
    ids = [note.id for note in part.notes if old.struck(note.id)]
    changed = [i for i in ids if i not in new or finger_text(old.choice(i).finger) != finger_text(new.choice(i).finger)]
    assert 0 < len(changed) < len(ids)
    text = shown.effect.text()
    assert text.startswith(f"{len(changed)} of {len(ids)} digits change")
    assert f"shifts {old.counts.shifts} → {new.counts.shifts}" in text
    assert f"effort {old.effort:.0f} → {new.effort_by(work.rules):.0f}" in text
    assert shown.tried_on.text() == "Violin I"


def test_the_effect_is_that_on_the_selected_measures_and_follows_them(qtbot, bench, example):
    laid(qtbot, bench, example)
    shown = edited(qtbot, bench)
    field(shown, "never_open").boxes[2].click()
    field(shown, "never_open").boxes[3].click()
    tried(qtbot, bench, shown)
    whole = shown.effect.text()
    bench.desk.select_passage((0, 3))
    tried(qtbot, bench, shown)
    part, work = bench.desk.part, bench.desk.part_work
    old, new = (make_plan(part, work.instrument, rules) for rules in (work.rules, shown.rules))
    inside = [note.id for note in part.notes if note.measure <= 3 and old.struck(note.id)]
    changed = [i for i in inside if old.choice(i).finger != new.choice(i).finger]
    opens = [sum(plan.choice(i).is_open for i in inside) for plan in (old, new)]
    assert shown.tried_on.text() == "Violin I, measures 1–4"
    assert shown.effect.text() != whole
    assert shown.effect.text().startswith(f"{len(changed)} of {len(inside)} digits change")
    assert f"open strings {opens[0]} → {opens[1]}" in shown.effect.text()


def test_of_several_changes_only_the_last_is_told(qtbot, bench, mini):
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    told = []
    shown.trial.told.connect(lambda place, sentence: told.append(sentence))
    for name in ("third", "first", "home-ground", "two-homes"):
        shown.editor.take(Draft.of(preset(name)))
        shown.trial._try()
    tried(qtbot, bench, shown)
    assert [sentence for sentence in told if sentence] == ["No digit changes."]


def test_nothing_is_tried_after_the_window_is_closed(qtbot, bench, mini):
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    shown.leave.click()
    bench.desk.select_passage((0, 1))
    assert not shown.trial._pause.isActive()
    assert not shown.isVisible()


# Using them


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
    assert told == ["Violoncello: home is position 3, but positions allows only [1]."]
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


# Files


def test_rules_are_saved_with_their_sentences_and_opened_again(qtbot, bench, mini, tmp_path, monkeypatch):
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    field(shown, "name").line.setText("our rules / 2")
    field(shown, "longest_open").box.setCurrentText("3/2")
    asked = []
    monkeypatch.setattr(dialogs, "ask_save", lambda *a: asked.append(a[2]) or (tmp_path / "ours", ""))
    shown.save_file.click()
    assert asked == ["our rules 2.toml"]
    path = tmp_path / "ours.toml"
    assert find_rules(str(path)) == shown.rules
    text = path.read_text(encoding="utf-8")
    said = set(RULE_SENTENCES) - {"part", "passage", "weights"}  # of these the rules have none
    assert all(f"# {RULE_SENTENCES[name]}\n" in text for name in said)
    assert not shown.is_edited
    saved = shown.rules
    field(shown, "extensions").box.click()
    monkeypatch.setattr(dialogs, "ask_open", lambda *_: path)
    shown.open_file.click()
    assert shown.rules == saved


def test_a_file_that_cannot_be_read_or_written_is_told_and_nothing_changes(
    qtbot, bench, mini, tmp_path, monkeypatch, told
):
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    bad = tmp_path / "bad.toml"
    bad.write_text("positions = [1, 99]")
    monkeypatch.setattr(dialogs, "ask_open", lambda *_: bad)
    shown.open_file.click()
    assert told == ["bad.toml: positions is [1, 99]; it must be a list of whole numbers from 0 to 12"]
    assert shown.rules == preset("two-homes")
    field(shown, "extensions").box.click()
    monkeypatch.setattr(dialogs, "ask_save", lambda *_: (tmp_path / "nowhere" / "a.toml", ""))
    shown.save_file.click()
    assert told[1].startswith("a.toml cannot be written in ")
    assert shown.is_edited


# Undo in the window, and closing it


def test_changes_are_taken_back_and_done_again_a_text_at_once(qtbot, bench, mini):
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    for text in ("O", "Ou", "Our", "Ours"):
        field(shown, "title").line.setText(text)
    field(shown, "extensions").box.click()
    shown.undo.click()
    assert (field(shown, "title").value, field(shown, "extensions").value) == ("Ours", True)
    shown.undo.click()
    assert field(shown, "title").value == "Two homes"
    assert not shown.undo.isEnabled()
    shown.redo.click()
    shown.redo.click()
    assert (field(shown, "title").value, field(shown, "extensions").value) == ("Ours", False)
    assert not shown.redo.isEnabled()


@pytest.mark.parametrize(
    ("answer", "closes", "used"),
    [(dialogs.Answer.SAVE, True, True), (dialogs.Answer.DISCARD, True, False), (dialogs.Answer.CANCEL, False, False)],
)
def test_closing_asks_about_rules_that_are_neither_used_nor_saved(
    qtbot, bench, mini, monkeypatch, answer, closes, used
):
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    field(shown, "extensions").box.click()
    asked = []
    monkeypatch.setattr(dialogs, "ask_unused", lambda parent, use, usable: asked.append((use, usable)) or answer)
    shown.reject()
    settled(qtbot, bench)
    assert asked == [("Use for Violin", True)]
    assert shown.isVisible() is not closes
    assert (bench.desk.part_work.rules == preset("two-homes")) is not used
    if closes:
        again = bench.ruling.edit_rules()
        assert again.rules == bench.desk.part_work.rules


def test_the_main_window_stays_open_while_edited_rules_are_not_settled(qtbot, window, mini, monkeypatch):
    opened(qtbot, window, mini)
    shown = edited(qtbot, window)
    field(shown, "extensions").box.click()
    monkeypatch.setattr(dialogs, "ask_unused", lambda parent, use, usable: dialogs.Answer.CANCEL)
    assert not window.close()
    monkeypatch.setattr(dialogs, "ask_unused", lambda parent, use, usable: dialogs.Answer.DISCARD)
    assert window.close()
    assert not [thread for thread in threading.enumerate() if thread.name.startswith("task")]


def test_the_window_fits_on_a_small_screen_with_nothing_cut_off(qtbot, bench, example):
    laid(qtbot, bench, example)
    shown = edited(qtbot, bench)
    assert shown.width() <= 1280
    assert shown.height() <= 760
    for place in range(shown.editor.places.list.count()):
        shown.editor.places.list.setCurrentRow(place)
        field(shown, "weights").unfold.setChecked(True)
        QApplication.processEvents()
        assert shown.editor._area.horizontalScrollBar().maximum() == 0
