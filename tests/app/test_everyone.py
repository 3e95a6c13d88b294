"""Everyone: names for those who hear the screen, all of it by keyboard in the order of the layout, large letters."""

from __future__ import annotations

import itertools
from types import SimpleNamespace

import pytest
from PySide6.QtCore import QEvent, QPoint, QRect, Qt
from PySide6.QtGui import QAccessible, QFont
from PySide6.QtTest import QTest
from PySide6.QtWidgets import (
    QAbstractButton,
    QAbstractScrollArea,
    QAbstractSpinBox,
    QApplication,
    QComboBox,
    QLabel,
    QScrollArea,
    QWidget,
)

from analysis.instruments import VIOLIN
from app.job.files.recent import RecentFiles
from app.job.teacher.printing import Copies, Printing
from app.job.words.notes import placement_words
from app.window.commands import COMMANDS
from app.window.help import help_window
from app.window.main_window import MainWindow
from app.window.music import telling
from app.window.panels.mark_palette import MarkButton
from app.window.paper.printing_dialog import PrintingDialog
from app.window.style import look
from app.window.style.colours_dialog import ColoursDialog
from app.window.style.shades import LIGHT
from tests.app.conftest import LINE
from tests.scores import score
from tests.waiting import wait, wait_until

PARTS = [("P1", "Violin I", Copies(4, ("Anna", "Ben"))), ("P2", "Viola", Copies(1))]
LARGE = 18  # points: twice what is usual


def settled(window):
    wait(20)
    wait_until(lambda: not window.tasks.is_busy)


def window_on(path, recent=None):
    """A window with a score, its third note selected."""
    window = MainWindow(recent=recent)
    window.resize(1280, 800)
    window.show()
    window.open(path)
    wait_until(lambda: bool(window.desk.pages) and window.desk.plan is not None and window.watch.is_read)
    settled(window)
    window.desk.select_note(window.desk.part.notes[2].id)
    return window


def put_away(window):
    window.desk.history.setClean()
    window.close()
    window.deleteLater()
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)


@pytest.fixture(scope="module")
def path(tmp_path_factory):
    file = tmp_path_factory.mktemp("everyone") / "mini.musicxml"
    file.write_bytes(score("Violin", "4/4", LINE, key=2))
    return file


@pytest.fixture(scope="module")
def window(qapp, path):
    recent = RecentFiles(path.parent, path.parent)
    recent.add(path, 1.0)
    made = window_on(path, recent)
    yield made
    put_away(made)


@pytest.fixture(scope="module")
def large(qapp, path):
    """The same with letters twice as large, in the look of the program."""
    font, palette, style = QFont(qapp.font()), qapp.palette(), qapp.style().objectName()
    qapp.setFont(QFont(font.family(), LARGE))
    look.dress(qapp, LIGHT)
    made = window_on(path)
    yield made
    put_away(made)
    qapp.setProperty("paper", None)
    qapp.setFont(font)
    qapp.setStyle(style or "Fusion")
    qapp.setPalette(palette)


# Every state of the window, and every window beside it: what is shown, and how it is put away.


def tab(name):
    def show(window):
        window.lists.setCurrentWidget(getattr(window, name))
        return window

    return show


def start(window):
    window.middle.setCurrentWidget(window.start_page)
    return window


def listening(window):
    window.middle.setCurrentWidget(window.music)
    window.listen_bar.show()
    return window


def marked(window):
    window.pencil.place("down-bow")
    settled(window)
    return tab("marks_panel")(window)


def rules(window):
    shown = window.ruling.edit_rules()
    wait_until(lambda: bool(shown.effect.text()))
    shown.editor.add_table(shown.editor._passage_in_hand())
    return shown


def comparison(window):
    window.desk.select_passage((0, 1))
    window.compare()
    shown = window.compare_window
    wait_until(lambda: bool(shown.ways) and shown.tempo.plot.scan is not None)
    settled(window)
    return shown


def preview(window):
    window.actions_by_name["see_part"].trigger()
    wait_until(lambda: bool(window.previews.windows))
    return window.previews.windows[0]


def manual(window):
    help_window.open_manual(window)
    return window.findChild(help_window.HelpWindow)


def printing(window):
    dialog = PrintingDialog(Printing(), PARTS, window)
    dialog.show()
    return dialog


def colours(window):
    dialog = ColoursDialog(window.colouring, window)
    dialog.show()
    return dialog


SHOWN = {
    "start": start,
    "watch-list": tab("watch_panel"),
    "fingerboard": tab("fingerboard"),
    "listening": listening,
    "marks": marked,
    "rules": rules,
    "comparison": comparison,
    "preview": preview,
    "manual": manual,
    "printing": printing,
    "colours": colours,
}


@pytest.fixture(params=SHOWN, scope="module")
def place(request, window):
    """One of them after the other."""
    yield from _shown(request, window)


@pytest.fixture(params=["listening", "watch-list", "marks", "rules", "printing", "colours", "preview"], scope="module")
def large_place(request, large):
    yield from _shown(request, large)


def _shown(request, window):
    place = SHOWN[request.param](window)
    wait(200)  # what comes after the music has come, and is laid out
    yield place
    if place is not window:
        if request.param == "rules":
            place.editor.undo()
        place.close()
        settled(window)


# Names and the way of the focus


def takes_focus(widget):
    return bool(widget.focusPolicy() & Qt.FocusPolicy.TabFocus) and widget.focusProxy() is None and widget.isEnabled()


def stops(window):
    """Where the tab key stops, in its order."""
    chain, widget = [], window.nextInFocusChain()
    while widget is not window:
        if takes_focus(widget) and widget.isVisible() and widget.window() is window:
            chain.append(widget)
        widget = widget.nextInFocusChain()
    return chain


def heard(widget):
    """The name that a screen reader says."""
    return QAccessible.queryAccessibleInterface(widget).text(QAccessible.Text.Name)


def said(widget):
    return f"{type(widget).__name__} {widget.objectName()} in {type(widget.parentWidget()).__name__}"


def test_whatever_takes_the_focus_has_a_name_and_a_role(place):
    found = stops(place)
    assert found
    assert [said(widget) for widget in found if not heard(widget).strip()] == []
    roles = [QAccessible.queryAccessibleInterface(widget).role() for widget in found]
    assert QAccessible.Role.NoRole not in roles


def area(widget, window):
    return QRect(widget.mapTo(window, QPoint(0, 0)), widget.size())


def test_the_focus_goes_as_one_reads(place):
    """From left to right and from above, among the widgets that lie in one panel. WCAG 2.2, 2.4.3."""
    by_panel = {}
    for widget in stops(place):
        by_panel.setdefault(widget.parentWidget(), []).append(widget)
    wrong = []
    for widgets in by_panel.values():
        for one, other in itertools.pairwise(widgets):
            first, second = area(one, place), area(other, place)
            below = second.center().y() > first.bottom() or second.top() >= first.bottom() - 3
            beside = second.left() >= first.right() - 3 and second.bottom() > first.top()
            if not below and not beside:
                wrong.append((said(one), heard(one), said(other), heard(other)))
    assert wrong == []


def test_every_button_can_be_reached_by_keyboard(place):
    """WCAG 2.2, 2.1.1. Of choices that exclude each other, keys with arrows go on from the one that is chosen.

    The corner of a table, and what clears a field, do no more than keys in them do.
    """
    inside = ("QTableCorner", "QLineEditIcon")
    buttons = [
        button
        for button in place.findChildren(QAbstractButton)
        if button.isVisible()
        and button.window() is place
        and not button.metaObject().className().startswith(inside)
        and (button.isChecked() or not button.autoExclusive())
    ]
    assert [said(button) for button in buttons if not button.focusPolicy() & Qt.FocusPolicy.TabFocus] == []


def test_the_columns_come_one_after_the_other(window):
    listening(window)
    chain = stops(tab("watch_panel")(window))
    first = [
        min(number for number, widget in enumerate(chain) if column is widget or column.isAncestorOf(widget))
        for column in (window.parts, window.music, window.listen_bar, window.ways, window.watch_panel)
    ]
    assert first == sorted(first)


def test_every_command_stands_in_a_menu(window):
    in_menus = {action for top in window.menuBar().actions() for action in top.menu().actions()}
    assert {window.actions_by_name[command.name] for command in COMMANDS} <= in_menus


def test_no_two_commands_have_the_same_keys():
    keys = [command.shortcut for command in COMMANDS if command.shortcut]
    assert sorted(keys) == sorted(set(keys))


# The music for those who hear it


def test_the_music_says_the_note_its_place_its_finger_and_why(window):
    note = window.desk.part.notes[1]
    window.desk.select_note(note.id)
    told = window.music.accessibleDescription()
    choice = window.desk.plan.choice(note.id)
    for words in (note.pitch.words, "measure 1", placement_words(choice, VIOLIN), window.desk.plan.reason(note.id)):
        assert words.removesuffix(".") in told
    window.desk.select_note(None)
    assert window.music.accessibleDescription() == ""


def test_several_notes_are_told_by_their_number_and_ends(window):
    notes = window.desk.part.notes
    window.desk.select_note(notes[0].id)
    window.desk.select_until(notes[3].id)
    told = window.music.accessibleDescription()
    assert told.startswith("4 notes, F♯4, measure 1, beat 1 to G4, measure 1, beat 4")


def test_a_screen_reader_says_it_where_the_keyboard_is_in_the_music(window, monkeypatch):
    heard_now = []
    update = SimpleNamespace(updateAccessibility=lambda event: heard_now.append((event.object(), event.message())))
    monkeypatch.setattr(telling, "QAccessible", update)
    notes, music = window.desk.part.notes, listening(window).music
    window.activateWindow()
    window.ways._list.setFocus()
    window.desk.select_note(notes[0].id)
    assert heard_now == []
    music.setFocus()
    QApplication.processEvents()
    QTest.keyClick(music, Qt.Key.Key_Right)
    assert heard_now == [(music, music.accessibleDescription())]
    assert "G4, measure 1, beat 2" in heard_now[0][1]
    window.desk.note_changed.emit()
    assert len(heard_now) == 1


# Large letters


def cut_off(window):
    """Labels, buttons and fields that have less room than what is written on them."""
    for widget in window.findChildren(QWidget):
        if not widget.isVisible() or widget.window() is not window or isinstance(widget.parentWidget(), QComboBox):
            continue
        if not isinstance(widget, QLabel | QAbstractButton | QComboBox | QAbstractSpinBox):
            continue
        wanted = widget.minimumSizeHint()
        if isinstance(widget, MarkButton):
            wanted = widget.iconSize()
        if isinstance(widget, QLabel) and widget.wordWrap():
            wanted.setHeight(widget.heightForWidth(widget.width()))
        if widget.width() < wanted.width() or widget.height() < wanted.height():
            yield f"{said(widget)}: {heard(widget)}, {widget.size().toTuple()} for {wanted.toTuple()}"


def out_of_view(window):
    """What lies beyond the right edge of an area that does not scroll across."""
    for shown in window.findChildren(QScrollArea):
        off = shown.horizontalScrollBarPolicy() == Qt.ScrollBarPolicy.ScrollBarAlwaysOff
        if off and shown.isVisible() and shown.widget().width() > shown.viewport().width():
            yield f"{said(shown)}: {shown.widget().width()} in {shown.viewport().width()}"


def test_with_letters_twice_as_large_nothing_is_cut_off(large_place):
    """WCAG 2.2, 1.4.4: text can be resized to 200 per cent without loss."""
    assert list(cut_off(large_place)) == []
    assert list(out_of_view(large_place)) == []


def test_with_letters_twice_as_large_the_window_needs_no_larger_screen(large):
    marked(listening(large))
    QApplication.processEvents()
    assert large.size().toTuple() == (1280, 800)
    assert isinstance(large.music, QAbstractScrollArea)
    assert large.music.viewport().width() > 300
