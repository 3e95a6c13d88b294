"""Everything the window says is looked up in the catalogue of the user's language, and Qt says the same language."""

from __future__ import annotations

import gettext
import os
import re
from collections.abc import Iterator
from datetime import date, datetime

import pytest
from PySide6.QtCore import QLocale, QModelIndex, Qt, QTranslator
from PySide6.QtGui import QAction
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractItemView,
    QApplication,
    QComboBox,
    QDialogButtonBox,
    QFileDialog,
    QLabel,
    QLineEdit,
    QMenu,
    QMessageBox,
    QSpinBox,
    QTabBar,
    QTableWidget,
    QTabWidget,
    QWidget,
)

from analysis import language
from app.window import dialogs
from app.window.commands import COMMANDS
from app.window.editing.folder import Folder
from app.window.paper.printing_dialog import PrintingDialog
from app.window.start.start_page import moment_words
from app.window.style import tongue
from app.window.style.tongue import date_words, follow_desktop, install_qt_language, number_words, spoken
from tests.analysis.language.brackets import Bracketed
from tests.app.conftest import opened, settled

# Names of people's own things, of formats, and of keys as Qt has them; "OK", "Cancel", "Show Details" are Qt's words.
_OWN_NAMES = re.compile(
    r"\b(Handframe|Violin|Study|mini|musicxml|MusicXML|MIDI|PDF|Ctrl|Shift|Alt|Backspace|Del|Esc|Return|Space|Up|Down"
    r"|Left|Right|Home|End|PgUp|PgDown|Enter|mm|OK|Cancel|Show Details)\b"
)
_SAID = re.compile("«[^«»]*»")
_WORD = re.compile("[A-Za-z]{2,}")


@pytest.fixture
def bracketed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Everything is said in brackets."""
    catalogue = Bracketed()
    monkeypatch.setattr(language, "catalogue", lambda: catalogue)


def forgotten(text: str) -> str:
    """The words of a text that are in no brackets and are nobody's own names, "" where there are none."""
    rest = re.sub("<[^>]*>|&nbsp;", " ", text)
    while (less := _SAID.sub(" ", rest)) != rest:
        rest = less
    return " ".join(_WORD.findall(_OWN_NAMES.sub(" ", rest)))


def texts_of(widget: QWidget) -> Iterator[str]:
    """All that one widget says, to be seen or to be heard."""
    yield from (widget.accessibleName(), widget.accessibleDescription(), widget.toolTip(), widget.windowTitle())
    if isinstance(widget, QAbstractButton | QLabel):
        yield widget.text()
    if isinstance(widget, QLineEdit):
        yield widget.placeholderText()
    if isinstance(widget, QSpinBox):
        yield from (widget.prefix(), widget.suffix())
    if isinstance(widget, QMenu):
        yield widget.title()
    if isinstance(widget, QComboBox):
        yield from (widget.itemText(row) for row in range(widget.count()))
        yield widget.placeholderText()
    if isinstance(widget, QTabWidget):
        yield from (widget.tabText(row) for row in range(widget.count()))
    if isinstance(widget, QTableWidget):
        yield from (widget.horizontalHeaderItem(column).text() for column in range(widget.columnCount()))
        yield from (widget.verticalHeaderItem(row).text() for row in range(widget.rowCount()))
    if isinstance(widget, QAbstractItemView) and (model := widget.model()) is not None:
        cells = (model.index(row, 0, QModelIndex()) for row in range(model.rowCount()))
        yield from (str(cell.data(Qt.ItemDataRole.DisplayRole) or "") for cell in cells)
    yield from (text for action in widget.findChildren(QAction) for text in (action.text(), action.toolTip()))


def unsaid(*windows: QWidget) -> dict[str, str]:
    """Every text with forgotten words, by these words; Qt names what it adds by itself."""
    widgets = [one for window in windows for one in (window, *window.findChildren(QWidget))]
    ours = [one for one in widgets if not one.objectName().startswith("qt_") and not isinstance(one.parent(), QTabBar)]
    return {words: text for one in ours for text in texts_of(one) if (words := forgotten(text))}


def test_everything_in_the_window_is_looked_up(qtbot, bracketed, window, mini):
    assert unsaid(window) == {}
    opened(qtbot, window, mini)
    window.desk.select_passage((1, 2))
    window.desk.select_note(window.desk.part.notes[9].id)
    window.pencil.place("down-bow")
    window.notes.keep()
    for panel in (window.marks_panel, window.fingerboard, window.watch_panel):
        window.lists.setCurrentWidget(panel)
    window.watch_panel.step(1)
    window.listen_bar.open_bar()
    settled(qtbot, window)
    assert unsaid(window) == {}
    assert forgotten(window.statusBar().currentMessage()) == ""
    history = window.desk.history
    assert [forgotten(history.text(number)) for number in range(history.count())] == ["", ""]


def test_everything_in_the_windows_beside_it_is_looked_up(qtbot, bracketed, window, mini, monkeypatch):
    monkeypatch.setattr(dialogs, "ask_unused", lambda *_, **__: dialogs.Answer.DISCARD)
    opened(qtbot, window, mini)
    window.desk.select_passage((1, 2))
    rules = window.ruling.edit_rules()
    rules.editor.places.add.menu().actions()[-1].trigger()
    window.compare()
    window.previews.look_at_part()
    settled(qtbot, window)
    qtbot.waitUntil(lambda: bool(rules.effect.text()) and not window.tasks.is_busy, timeout=10_000)
    printing = PrintingDialog(window.desk.state.work.printing, [("P1", "Violin", window.desk.part_work.copies)])
    qtbot.addWidget(printing)
    (preview,) = window.previews.windows
    assert unsaid(rules, window.compare_window, preview, printing) == {}


def test_every_question_is_asked_in_the_users_language(qtbot, bracketed, monkeypatch):
    asked: list[str] = []

    def shown(box: QMessageBox) -> int:
        asked.extend((box.text(), *(button.text() for button in box.buttons())))
        return 0

    monkeypatch.setattr(QMessageBox, "exec", shown)
    for kind in ("getOpenFileName", "getSaveFileName"):
        monkeypatch.setattr(
            QFileDialog, kind, lambda parent, title, where, kinds: asked.extend((title, kinds)) or ("", "")
        )
    parent = QWidget()
    qtbot.addWidget(parent)
    dialogs.ask_unsaved(parent, "mini")
    dialogs.ask_rescue(parent, "«»", can_bring_back=True)
    dialogs.ask_copy(parent, "«»")
    dialogs.ask_unused(parent, "«»", usable=True)
    dialogs.tell_bug(parent, "«»", "«»")
    kinds = [dialogs.SCORE_FILES, dialogs.PROJECT_FILES, dialogs.RULES_FILES, dialogs.MUSICXML_FILES]
    for files in (*kinds, dialogs.PDF_FILES, dialogs.PICTURE_FILES, dialogs.SOUND_FILES):
        dialogs.ask_open(parent, "«»", Folder(), files)
        dialogs.ask_save(parent, "«»", "mini", files)
    assert len(asked) > 30
    assert [text for text in asked if forgotten(re.sub(r"\(\*[^)]*\)", "", text))] == []
    assert "«Sound» (*.wav);;«MIDI» (*.mid)" in asked


def test_commands_are_looked_up_without_the_dots_of_those_that_ask(bracketed):
    words = {command.name: command.words for command in COMMANDS}
    assert words["mark-dynamic"] == "«Dynamic»…"
    assert words["mark-slur"] == "«Slur»"
    assert not any(forgotten(text) for text in words.values())


def test_qt_says_its_own_words_in_the_same_language(qapp: QApplication, monkeypatch):
    """The German word for "Cancel": that of Qt's own catalogue, qtbase_de."""
    assert not install_qt_language(qapp)
    monkeypatch.setattr(tongue, "spoken", lambda: QLocale("de"))
    assert install_qt_language(qapp)
    (translator,) = qapp.findChildren(QTranslator)
    try:
        box = QDialogButtonBox(QDialogButtonBox.StandardButton.Cancel)
        assert box.button(QDialogButtonBox.StandardButton.Cancel).text() == "Abbrechen"
        box.deleteLater()
    finally:
        qapp.removeTranslator(translator)
        translator.deleteLater()


def test_dates_are_said_in_the_users_language(monkeypatch):
    """German dates: Duden, "Datum": "3. Mai 2025" (from memory)."""
    assert (date_words(date(2025, 5, 3)), date_words(date(2025, 5, 3), year=False)) == ("3 May 2025", "3 May")
    monkeypatch.setattr(tongue, "spoken", lambda: QLocale("de"))
    monkeypatch.setattr(tongue, "p_", lambda context, text: text.replace("d ", "d. "))
    assert date_words(date(2025, 3, 3)) == "3. März 2025"
    assert moment_words(datetime(2025, 12, 24, 9, 5), datetime(2026, 1, 1)) == "on 24. Dezember 2025"


def test_numbers_are_grouped_as_the_users_language_has_them(monkeypatch):
    """German: Duden, "Zahlen und Ziffern", allows a point between groups of three (from memory)."""
    assert [number_words(number) for number in (28, 1028, 7206.4)] == ["28", "1,028", "7,206"]
    monkeypatch.setattr(tongue, "spoken", lambda: QLocale("de"))
    assert [number_words(number) for number in (28, 1028, 7206.4)] == ["28", "1.028", "7.206"]


def test_the_languages_of_the_desktop_count_where_no_variable_says_one(monkeypatch):
    """GNU gettext manual, "Locale Environment Variables": LANGUAGE, LC_ALL, LC_MESSAGES and LANG decide."""
    forgets: list[str] = []
    desktop = QLocale("de-AT")
    monkeypatch.setattr(QLocale, "system", staticmethod(lambda: desktop))
    monkeypatch.setattr(tongue.catalogue, "cache_clear", lambda: forgets.append("once"))
    for name in ("LANGUAGE", "LC_ALL", "LC_MESSAGES", "LANG"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("LANG", "fr_FR.UTF-8")
    follow_desktop()
    assert "LANGUAGE" not in os.environ
    monkeypatch.delenv("LANG")
    follow_desktop()
    assert "de_AT" in os.environ["LANGUAGE"].split(":")
    assert forgets == ["once"]


def test_the_language_spoken_is_that_of_the_catalogue(monkeypatch):
    assert spoken() == QLocale.c()
    german = gettext.NullTranslations()
    german._info = {"language": "de"}
    monkeypatch.setattr(tongue, "catalogue", lambda: german)
    assert spoken().language() is QLocale.Language.German
