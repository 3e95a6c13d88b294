"""Paper and copies: what the dialog offers, refuses and keeps, and the one step it becomes."""

from __future__ import annotations

import re

import pytest
from PySide6.QtCore import QDate, QEvent, QLocale, QPoint, QPointF, Qt
from PySide6.QtGui import QFont, QWheelEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QLabel,
    QWidget,
)

from app.job.files.opening import open_any
from app.job.teacher.printing import PAPERS, Copies, Printing
from app.window import dialogs
from app.window.paper.copies_table import names_of, names_text
from app.window.paper.printing_dialog import PrintingDialog
from engraving.layout import MARGIN_MM, STAFF_MM
from tests.app.conftest import opened

PARTS = [("P1", "Violin I", Copies(4, ("Anna", "Ben"))), ("P2", "Viola & Co", Copies(2)), ("P3", "Cello", Copies(1))]
PLAIN = Printing()
OTHER = Printing("letter", 8.25, 15.5, colour=True, cues=False, turns=False, date="3 May", marked_by="The teacher")


@pytest.fixture
def make(qtbot):
    """Dialogs, shown; they are gone after the test, before another one's threads run."""
    kept = []

    def made(printing=PLAIN, parts=PARTS):
        kept.append(PrintingDialog(printing, parts))
        kept[-1].show()
        return kept[-1]

    yield made
    for dialog in kept:
        dialog.close()
        dialog.deleteLater()
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


def choose(box: QComboBox, words: str) -> None:
    row = box.findText(words)
    assert row >= 0, words
    box.setCurrentIndex(row)
    box.activated.emit(row)


def ok(dialog: PrintingDialog) -> QAbstractButton:
    return dialog.buttons.button(QDialogButtonBox.StandardButton.Ok)


@pytest.mark.parametrize("printing", [Printing(), OTHER, Printing(staff_mm=7.1234, margin_mm=9.876)])
def test_what_is_not_touched_stays_as_it_was_to_the_last_digit(make, printing):
    """Names with commas, semicolons and many of them too."""
    parts = [
        ("a", "A", Copies(2, ("Desk 1, outside", "Desk 1, inside"))),
        ("b", "B", Copies(1, ("x;y, z",))),
        ("c", "C", Copies(0, ("Anna",))),
        ("d", "D", Copies(60, tuple(str(number) for number in range(60)))),
    ]
    dialog = make(printing, parts)
    assert dialog.wrong.text() == ""
    assert dialog.printing == printing
    assert dialog.copies == {part_id: copies for part_id, _, copies in parts}
    dialog.accept()
    assert dialog.result() == QDialog.DialogCode.Accepted


def test_every_field_says_what_is_printed(make):
    dialog = make()
    choose(dialog.paper, "US Letter")
    dialog.staff.setValue(8.2)
    dialog.margin.setValue(15)
    choose(dialog.marks, "in colour")
    dialog.cues.click()
    assert (dialog.printing.cues, dialog.printing.turns) == (False, True)
    dialog.turns.click()
    dialog.date.setText("3 May")
    dialog.marked_by.setText("The teacher")
    assert dialog.printing == Printing("letter", 8.2, 15, True, False, False, "3 May", "The teacher")


def test_staff_heights_are_offered_in_words_and_follow_the_number(make):
    dialog = make()
    assert dialog.height_words.currentText() == "usual"
    choose(dialog.height_words, "large, for young readers")
    assert dialog.printing.staff_mm == 8.5
    dialog.staff.setValue(6)
    assert dialog.height_words.currentText() == "small, for fewer pages"
    dialog.staff.setValue(6.5)
    assert dialog.height_words.currentText() == "another height"
    choose(dialog.height_words, "another height")
    assert dialog.printing.staff_mm == 6.5


@pytest.mark.parametrize("paper", PAPERS)
def test_sizes_can_only_be_such_as_are_printed(make, paper):
    dialog = make(Printing(paper))
    for (low, high), field in ((STAFF_MM, dialog.staff), (MARGIN_MM, dialog.margin)):
        for asked, given in ((low - 1, low), (high + 9, high)):
            field.setValue(asked)
            assert field.millimetres == given
            assert dialog.wrong.text() == ""
            assert dialog.printing.layout


@pytest.mark.parametrize(
    ("field", "sentence"),
    [
        (lambda dialog: dialog.date, "Date: the text holds signs that cannot be printed."),
        (lambda dialog: dialog.marked_by, "Marked by: the text holds signs that cannot be printed."),
        (lambda dialog: dialog.table.rows["P3"].names, "Cello: Desk: the text holds signs that cannot be printed."),
    ],
)
def test_signs_that_no_paper_shows_are_refused(make, field, sentence):
    dialog = make()
    choose(dialog.paper, "US Letter")
    field(dialog).setText("3\x07 May")
    assert dialog.wrong.text() == sentence
    assert not ok(dialog).isEnabled()
    dialog.accept()
    assert dialog.isVisible()
    field(dialog).setText("3 May")
    assert dialog.wrong.text() == ""
    dialog.accept()
    assert dialog.result() == QDialog.DialogCode.Accepted
    assert dialog.printing.paper == "letter"


def test_today_is_one_click(make):
    dialog = make()
    before = QDate.currentDate()
    dialog.today.click()
    days = {QLocale.c().toString(day, "d MMMM yyyy") for day in (before, QDate.currentDate())}
    assert dialog.printing.date in days
    assert re.fullmatch(r"\d{1,2} [A-Z][a-z]+ \d{4}", dialog.printing.date)


def test_names_raise_the_number_and_an_empty_field_leaves_it(make):
    dialog = make()
    row = dialog.table.rows["P3"]
    row.names.setText(" Anna ,Ben,,  Chidi  Obi,")
    assert row.number.value() == 3
    assert dialog.copies["P3"] == Copies(3, ("Anna", "Ben", "Chidi Obi"))
    row.names.clear()
    assert dialog.copies["P3"] == Copies(3)
    row.number.setValue(5)
    row.names.setText("Anna")
    assert dialog.copies["P3"] == Copies(5, ("Anna",))
    assert dialog.copies["P1"] == PARTS[0][2]


def test_a_part_left_out_keeps_its_names_for_the_next_time(make):
    dialog = make()
    row = dialog.table.rows["P1"]
    row.number.setValue(1)
    assert dialog.wrong.text() == "Violin I: 2 names need as many copies, or none."
    assert not ok(dialog).isEnabled()
    row.number.setValue(0)
    assert ok(dialog).isEnabled()
    assert dialog.copies["P1"] == Copies(0, ("Anna", "Ben"))
    assert dialog.copies["P1"].labels == ()


def test_more_names_than_a_section_has_players_are_refused(make):
    dialog = make()
    dialog.table.rows["P2"].names.setText(",".join(f"N{number}" for number in range(61)))
    assert dialog.wrong.text() == "Viola & Co: a part is printed 0 to 60 times, not 61."
    assert not ok(dialog).isEnabled()


def test_desks_are_numbered_where_there_are_copies_without_names(make):
    dialog = make()
    assert dialog.number_desks.isEnabled()
    dialog.number_desks.click()
    assert dialog.copies == {"P1": Copies(4, ("Anna", "Ben")), "P2": Copies(2, ("Desk 1", "Desk 2")), "P3": Copies(1)}
    assert not dialog.number_desks.isEnabled()


def test_the_copies_are_counted(make):
    dialog = make()
    assert dialog.count.text() == "7 copies of 3 parts."
    for part_id in ("P1", "P2"):
        dialog.table.rows[part_id].number.setValue(0)
    assert dialog.count.text() == "1 copy of 1 part."
    dialog.table.rows["P3"].number.setValue(0)
    assert dialog.count.text() == "No part has copies: a set of all parts would be empty."
    assert ok(dialog).isEnabled()


@pytest.mark.parametrize("names", [(), ("Anna",), ("Anna", "Ben"), ("Desk 1, outside",), ("Desk 1, outside", "Ben")])
def test_names_in_one_line_are_read_back(names):
    assert names_of(names_text(names)) == names


def test_the_wheel_counts_only_where_one_types(qtbot, make):
    """Else scrolling down the table would change the numbers under the pointer."""
    dialog = make()
    dialog.activateWindow()
    number = dialog.table.rows["P2"].number
    for field, left_to_the_table, value in ((dialog.date, True, 2), (number, False, 1)):
        field.setFocus()
        qtbot.waitUntil(field.hasFocus)
        wheel = QWheelEvent(
            QPointF(5, 5), number.mapToGlobal(QPointF(5, 5)), QPoint(), QPoint(0, -120), Qt.MouseButton.NoButton,
            Qt.KeyboardModifier.NoModifier, Qt.ScrollPhase.NoScrollPhase, False,
        )  # fmt: skip
        QApplication.sendEvent(number, wheel)
        assert wheel.isAccepted() is not left_to_the_table
        assert number.value() == value


def test_many_parts_fit_on_a_small_screen(make):
    dialog = make(parts=[(f"P{number}", "Violin of the second desk " * 4, Copies(1)) for number in range(30)])
    assert dialog.height() <= 720
    assert dialog.width() <= 700
    assert dialog.table.horizontalScrollBar().maximum() == 0
    assert dialog.table.widget().width() <= dialog.table.viewport().width()


def test_fifteen_parts_can_be_agreed_to_on_a_small_laptop(make):
    dialog = make(parts=[(f"P{number}", f"Violin {number}", Copies(1)) for number in range(15)])
    dialog.resize(1080, 560)  # 1366 by 768, everything a quarter larger, with a frame and the desktop's bar
    QApplication.processEvents()
    assert dialog.height() == 560
    assert ok(dialog).mapTo(dialog, ok(dialog).rect().bottomLeft()).y() < 560


def fields_of(dialog: QDialog) -> list[QWidget]:
    """What the Tab key comes to, in its order; a spin box is one field."""
    found, widget = [], dialog.nextInFocusChain()
    while widget is not dialog:
        reached = widget.focusPolicy() & Qt.FocusPolicy.TabFocus and widget.isVisible() and widget.isEnabled()
        if reached and not isinstance(widget.parent(), QAbstractSpinBox):
            found.append(widget)
        widget = widget.nextInFocusChain()
    return found


def test_the_tab_key_goes_down_the_dialog_row_by_row(make):
    dialog = make()
    fields = fields_of(dialog)
    assert len(fields) == 19
    last = [ok(dialog), dialog.buttons.button(QDialogButtonBox.StandardButton.Cancel)]
    assert set(fields[-2:]) == set(last)
    places = [field.mapTo(dialog, field.rect().center()) for field in fields[:-2]]
    for field, place, then in zip(fields, places, places[1:], strict=False):
        is_lower = then.y() > place.y() + 10
        is_beside = abs(then.y() - place.y()) <= 10 and then.x() > place.x()
        assert is_lower or is_beside, field.accessibleName()


def test_every_field_has_a_name_for_those_who_hear_the_screen(make):
    for field in fields_of(make()):
        named = field.accessibleName() or (field.text() if isinstance(field, QAbstractButton) else "")
        assert named, field


def test_no_two_fields_have_one_mnemonic(make):
    dialog = make()
    texts = [label.text() for label in dialog.findChildren(QLabel) if label.buddy() is not None]
    texts += [button.text() for button in dialog.findChildren(QAbstractButton)]
    keys = [key.casefold() for text in texts for key in re.findall(r"&(\w)", text)]
    assert len(keys) >= 9
    assert len(set(keys)) == len(keys)
    assert not {"o", "c"} & set(keys), "OK and Cancel take them on some systems"


def test_an_ampersand_in_a_part_is_shown(make):
    assert make().table.rows["P2"].label.text() == "Viola & Co"
    assert make().table.rows["P2"].label.textFormat() == Qt.TextFormat.PlainText


# In the window


def answering(monkeypatch, change):
    """The teacher changes something in the dialog and agrees, or gives up (``change`` says False)."""
    seen = []

    def exec_(dialog: PrintingDialog) -> int:
        seen.append(dialog)
        if change(dialog) is False:
            dialog.reject()
        else:
            dialog.accept()
        return dialog.result()

    monkeypatch.setattr(PrintingDialog, "exec", exec_)
    return seen


def test_what_is_chosen_is_one_step_that_is_undone_and_done_again(qtbot, window, mini, monkeypatch):
    opened(qtbot, window, mini)
    part_id, plan = window.desk.part.id, window.desk.plan

    def change(dialog):
        choose(dialog.paper, "US Letter")
        dialog.table.rows[part_id].names.setText("Anna, Ben")

    answering(monkeypatch, change)
    window.actions_by_name["printing"].trigger()
    after = Printing("letter"), Copies(2, ("Anna", "Ben"))
    assert (window.desk.state.work.printing, window.desk.part_work.copies) == after
    assert window.actions_by_name["undo"].text() == "Undo paper and copies"
    assert window.isWindowModified()
    window.actions_by_name["undo"].trigger()
    assert (window.desk.state.work.printing, window.desk.part_work.copies) == (Printing(), Copies())
    window.actions_by_name["redo"].trigger()
    assert (window.desk.state.work.printing, window.desk.part_work.copies) == after
    assert window.desk.history.count() == 1
    assert window.desk.plan is plan


@pytest.mark.parametrize("given_up", [True, False])
def test_giving_up_and_changing_nothing_are_no_steps(qtbot, window, mini, monkeypatch, given_up):
    opened(qtbot, window, mini)
    seen = answering(monkeypatch, lambda dialog: (dialog.date.setText("3 May"), False)[1] if given_up else None)
    window.actions_by_name["printing"].trigger()
    assert len(seen) == 1
    assert window.desk.history.count() == 0
    assert window.desk.state.work.printing == Printing()


def test_undo_of_the_paper_leaves_what_was_marked_since(qtbot, window, mini, monkeypatch):
    opened(qtbot, window, mini)
    answering(monkeypatch, lambda dialog: dialog.date.setText("3 May"))
    window.actions_by_name["printing"].trigger()
    window.desk.select_note(window.desk.part.notes[0].id)
    window.pencil.place("accent")
    window.desk.history.undo()
    window.desk.history.undo()
    assert window.desk.state.work.printing.date == ""
    window.desk.history.redo()
    window.desk.history.redo()
    assert window.desk.state.work.printing.date == "3 May"
    assert [mark.kind for mark in window.desk.part_work.marks] == ["accent"]


def test_paper_and_copies_are_saved_in_the_project(qtbot, window, mini, tmp_path, monkeypatch):
    opened(qtbot, window, mini)
    part_id = window.desk.part.id
    monkeypatch.setattr(dialogs, "ask_printing", lambda *_: (OTHER, {part_id: Copies(3, ("Anna",))}))
    window.actions_by_name["printing"].trigger()
    path = tmp_path / "work.handframe"
    monkeypatch.setattr(dialogs, "ask_save", lambda *_: (path, ""))
    window.actions_by_name["save"].trigger()
    read = open_any(path).work
    assert read.printing == OTHER
    assert read.parts[part_id].copies == Copies(3, ("Anna",))
    opened(qtbot, window, path)
    shown = []
    monkeypatch.setattr(dialogs, "ask_printing", lambda parent, *known: shown.append(known))
    window.actions_by_name["printing"].trigger()
    assert shown == [(OTHER, [(part_id, "Violin", Copies(3, ("Anna",)))])]


def test_an_answer_for_a_score_that_is_no_longer_open_is_dropped(qtbot, window, mini, tmp_path, monkeypatch):
    opened(qtbot, window, mini)
    other = tmp_path / "other.musicxml"
    other.write_bytes(mini.read_bytes())

    def answer(*_):
        opened(qtbot, window, other)
        return OTHER, {}

    monkeypatch.setattr(dialogs, "ask_printing", answer)
    window.actions_by_name["printing"].trigger()
    assert window.desk.score.document.name == "other.musicxml"
    assert window.desk.state.work.printing == Printing()
    assert window.desk.history.count() == 0


@pytest.mark.parametrize("points", [9, 18, 24])
@pytest.mark.parametrize("count", [1, 4, 8])
def test_every_row_of_a_few_is_seen_however_large_the_letters_are(qapp, make, points, count):
    font = qapp.font()
    larger = QFont(font)
    larger.setPointSize(points)
    qapp.setFont(larger)
    try:
        dialog = make(parts=[(f"P{number}", f"Violin {number}", Copies(1)) for number in range(count)])
        dialog.resize(dialog.sizeHint())  # as high as it likes to be, on a screen that is high enough
        QApplication.processEvents()
        assert dialog.table.verticalScrollBar().maximum() == 0
    finally:
        qapp.setFont(font)
