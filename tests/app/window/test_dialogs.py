"""Dialogs as they look: sentences that wrap, words that begin at the edge, buttons that are alike."""

from __future__ import annotations

from dataclasses import replace

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication, QDialog, QLabel, QProxyStyle, QPushButton, QStyle, QWidget

from analysis.fingering.rules.files import preset
from app.window import dialogs
from app.window.editing.folder import Folder
from app.window.rules.rules_window import offered_name
from app.window.rules.weights_field import WeightsField
from app.window.style.outlined import OutlinedStyle
from app.window.style.shades import DARK, HIGH_CONTRAST, LIGHT, palette_of
from app.window.widgets.text_dialog import TextDialog

LONG = "Measure 3 is measure 1 again, a string lower, and the players who learn it by heart will mix them up. " * 3


@pytest.fixture
def parent(qtbot):
    holder = QWidget()
    qtbot.addWidget(holder)
    return holder


def answering(look_at):
    """Look at the dialog that comes next, then close it."""

    def seen():
        dialog = QApplication.activeModalWidget()
        look_at(dialog)
        dialog.done(QDialog.DialogCode.Accepted)

    QTimer.singleShot(0, seen)


def test_a_long_text_is_written_in_lines_that_wrap(qtbot, parent):
    dialog = TextDialog("Watch-list", "Say it:", LONG, parent)
    dialog.show()
    words = dialog.words
    assert words.width() >= 60 * words.fontMetrics().averageCharWidth()
    assert words.horizontalScrollBar().maximum() == 0
    assert words.document().begin().layout().lineCount() > 2


def test_a_text_that_is_agreed_to_is_given_back_and_else_none(parent):
    answering(lambda dialog: dialog.words.setPlainText("Slide."))
    assert dialogs.ask_text(parent, "Watch-list", "Say it:", LONG) == "Slide."
    QTimer.singleShot(0, lambda: QApplication.activeModalWidget().reject())
    assert dialogs.ask_text(parent, "Watch-list", "Say it:", LONG) is None


@pytest.mark.parametrize(
    "ask",
    [
        lambda parent: dialogs.ask_unsaved(parent, "Suite"),
        lambda parent: dialogs.ask_rescue(parent, "Not saved.", can_bring_back=True),
        lambda parent: dialogs.ask_copy(parent, "Open elsewhere."),
        lambda parent: dialogs.ask_replace(parent, "suite.pdf"),
        lambda parent: dialogs.ask_unused(parent, "Use", usable=True),
    ],
    ids=["unsaved", "rescue", "copy", "replace", "unused"],
)
def test_a_question_without_a_picture_begins_at_the_edge(parent, ask):
    begins = []

    def look_at(box):
        begins.append((box.findChild(QLabel, "qt_msgbox_label").x(), box.layout().contentsMargins().left()))

    answering(look_at)
    ask(parent)
    ((words, margin),) = begins
    assert words == margin


@pytest.mark.parametrize(
    ("typed", "replace", "found", "asked"),
    [
        (["suite"], [True], "suite.pdf", ["suite.pdf"]),
        (["suite", "other"], [False], "other.pdf", ["suite.pdf"]),
        (["suite", None], [False], None, ["suite.pdf"]),
        (["suite.PDF"], [], "suite.PDF", []),
        (["suite.pdf"], [], "suite.pdf", []),
        (["other"], [], "other.pdf", []),
        ([None], [], None, []),
    ],
)
def test_a_file_that_an_added_ending_hits_is_replaced_only_when_that_was_agreed_to(
    parent, tmp_path, monkeypatch, typed, replace, found, asked
):
    (tmp_path / "suite.pdf").write_bytes(b"yesterday's")
    said, offered, answers = [], [], list(replace)

    def ask_save(_parent, _title, suggestion, _files):
        offered.append(suggestion)
        name = typed[len(offered) - 1]
        return None if name is None else (tmp_path / name, "PDF (*.pdf)")

    monkeypatch.setattr(dialogs, "ask_save", ask_save)
    monkeypatch.setattr(dialogs, "ask_replace", lambda _parent, name: said.append(name) or answers.pop(0))
    folder = Folder()
    folder.path = tmp_path
    path = dialogs.ask_target(parent, "Print", folder, "x.pdf", dialogs.PDF_FILES, ".pdf")
    assert path == (None if found is None else tmp_path / found)
    assert said == asked
    assert offered == [str(tmp_path / "x.pdf"), str(tmp_path / "suite.pdf")][: len(typed)]


@pytest.mark.parametrize("words", ["Replace it", "Cancel"])
def test_a_file_is_replaced_by_that_button_alone(parent, words):
    def choose():
        box = QApplication.activeModalWidget()
        assert box.defaultButton().text() == "Cancel"
        next(button for button in box.buttons() if button.text() == words).click()

    QTimer.singleShot(0, choose)
    assert dialogs.ask_replace(parent, "suite.pdf") is (words == "Replace it")


@pytest.mark.parametrize("shades", [LIGHT, DARK, HIGH_CONTRAST], ids=["light", "dark", "high contrast"])
def test_a_button_that_is_on_is_filled_and_one_that_cannot_be_used_is_not(parent, shades):
    button = QPushButton("Hide", parent)
    button.setStyle(style := OutlinedStyle())
    button.setPalette(palette_of(shades))
    button.setCheckable(True)
    button.resize(90, 30)

    def ground():
        return button.grab().toImage().pixelColor(8, 15).name()

    assert ground() != shades.chosen
    button.setChecked(True)
    assert ground() == shades.chosen
    inks = button.grab().toImage()
    shown = {inks.pixelColor(x, y).name() for x in range(20, 70) for y in range(5, 25)}
    assert shades.on_chosen in shown
    button.setEnabled(False)
    assert ground() != shades.chosen
    button.setStyle(None)
    style.deleteLater()


def test_buttons_of_dialogs_have_no_pictures_on_a_desktop_that_wants_them(qapp, monkeypatch):
    """Other buttons have none, and one with room for a picture is higher than its neighbours."""
    monkeypatch.setattr(QProxyStyle, "styleHint", lambda *asked: 1)
    style = OutlinedStyle()
    assert style.styleHint(QStyle.StyleHint.SH_DialogButtonBox_ButtonsHaveIcons) == 0
    assert style.styleHint(QStyle.StyleHint.SH_UnderlineShortcut) == 1
    style.deleteLater()


def test_the_weights_begin_at_the_left_however_wide_the_window_is(parent):
    field = WeightsField(parent)
    field.resize(900, 60)
    parent.resize(900, 60)
    parent.show()
    QApplication.processEvents()
    assert field.unfold.x() == 0


def test_a_preset_that_was_changed_is_not_saved_under_its_name():
    changed = replace(preset("two-homes"), longest_open=1)
    assert offered_name(preset("two-homes")) == "two-homes"
    assert offered_name(changed) == "Two homes, changed"
    assert offered_name(replace(changed, name="our rules / 2")) == "our rules 2"
    assert offered_name(replace(changed, name="/")) == "house rules"
