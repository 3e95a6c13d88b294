"""House rules for instruments, parts and passages, and what is said where rules do not fit."""

from __future__ import annotations

import pytest

from analysis.fingering.rules.files import find_rules, preset
from tests.app.conftest import opened
from tests.app.window.rules.bench import choose, edited, field, from_file, laid, places, row

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


# What does not fit


@pytest.mark.parametrize(
    ("change", "name", "told"),
    [
        (lambda s: field(s, "longest_open").box.setCurrentText("two"), "longest_open",
         "This is 'two'; it must be a number of quarter notes such as 2 or '3/2'."),
        (lambda s: [field(s, "positions").boxes[n].setChecked(False) for n in (1, 3)], "positions",
         "This is empty; the hand needs at least one position."),
        (lambda s: field(s, "positions").boxes[1].setChecked(False), "home",
         "This is 1st position, which is not among the positions allowed: 3rd."),
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
    from_file(shown, path, monkeypatch)
    assert shown.wrong.text() == "Violin: home is 3rd position, which is not among the positions allowed: 1st."
    assert not shown.use.isEnabled()


# Tables


def test_tables_are_listed_in_words_added_changed_and_taken_away(qtbot, bench, mini, tmp_path, monkeypatch):
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    path = tmp_path / "ours.toml"
    path.write_text(TWO_PARTS)
    from_file(shown, path, monkeypatch)
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
