"""House rules in files; changes taken back; what is asked before edited rules are lost."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from analysis.fingering.rules.files import find_rules, preset
from analysis.fingering.rules.house import RULE_SENTENCES
from app.window import dialogs
from tests.app.conftest import opened, settled
from tests.app.window.rules.bench import edited, field, from_file, laid

# Files


def test_rules_are_saved_with_their_sentences_and_opened_again(qtbot, bench, mini, tmp_path, monkeypatch):
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    field(shown, "name").line.setText("our rules / 2")
    field(shown, "longest_open").box.setCurrentText("3/2")
    asked = []
    monkeypatch.setattr(dialogs, "ask_save", lambda *a: asked.append(Path(a[2]).name) or (tmp_path / "ours", ""))
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
    from_file(shown, path, monkeypatch)
    assert shown.rules == saved


def test_a_file_that_cannot_be_read_or_written_is_told_and_nothing_changes(
    qtbot, bench, mini, tmp_path, monkeypatch, told
):
    laid(qtbot, bench, mini)
    shown = edited(qtbot, bench)
    bad = tmp_path / "bad.toml"
    bad.write_text("positions = [1, 99]")
    from_file(shown, bad, monkeypatch)
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
