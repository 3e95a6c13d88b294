"""Bugs are shown and end nothing."""

from __future__ import annotations

import sys
import threading

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from app.job.recovery.lines import replay
from app.window import dialogs
from app.window.safe.bugs import Bugs
from tests.app.programs import at_home
from tests.app.window.safe.deaths import journals, note, notes, show


@pytest.fixture
def bugs(qtbot, windows, monkeypatch):
    """A window whose bugs are shown, and what is shown of them."""
    window, shown = windows(), []
    made = Bugs(window.safety, window)
    monkeypatch.setattr(sys, "excepthook", made.take)
    monkeypatch.setattr(threading, "excepthook", made.take_from_thread)
    monkeypatch.setattr(dialogs, "tell_bug", lambda parent, sentences, details: shown.append((sentences, details)))
    return window, shown


def fall():
    raise ZeroDivisionError("a bug in a slot")


def test_windows_themselves_leave_exceptions_to_whoever_watches(windows):
    hooks = sys.excepthook, threading.excepthook
    windows()
    assert (sys.excepthook, threading.excepthook) == hooks


def test_a_bug_in_a_slot_is_shown_once_with_its_details_and_all_goes_on(qtbot, bugs, duo):
    window, shown = bugs
    show(qtbot, window, duo)
    for _ in range(3):
        QTimer.singleShot(0, fall)
        qtbot.wait(20)
    ((sentences, details),) = shown
    assert sentences.startswith("Something went wrong inside Handframe. Your work is safe on the disk")
    assert "ZeroDivisionError: a bug in a slot" in details
    assert "in fall" in details
    assert "PySide6" in details
    note(window, "Slow.")
    assert notes(window) == {"Slow."}


def test_a_bug_in_a_view_that_shows_an_edit_does_not_take_the_edit_along(qtbot, bugs, duo, folder):
    window, shown = bugs
    show(qtbot, window, duo)
    window.desk.remarks_changed.connect(fall)
    note(window, "Slow.")
    (path,) = journals(folder)
    assert replay(path.read_bytes(), "").unsaved
    qtbot.waitUntil(lambda: bool(shown))
    assert notes(window) == {"Slow."}


def test_a_bug_on_a_thread_is_shown_too(qtbot, bugs):
    _, shown = bugs
    thread = threading.Thread(target=fall)
    thread.start()
    thread.join()
    qtbot.waitUntil(lambda: bool(shown))
    assert "ZeroDivisionError" in shown[0][1]


def test_a_bug_in_a_task_is_told_in_a_sentence_and_shown_as_a_bug(qtbot, bugs, told):
    window, shown = bugs
    window.tasks.run("Fingering Violin", lambda tick: fall(), pytest.fail, lambda error: told.append(str(error)))
    qtbot.waitUntil(lambda: bool(shown), timeout=10_000)
    assert told == ["Fingering Violin broke off; the work itself is safe"]
    assert "in fall" in shown[0][1]


def test_two_bugs_in_two_places_are_shown_one_after_the_other(qtbot, bugs, monkeypatch):
    _, shown = bugs
    QTimer.singleShot(0, fall)
    QTimer.singleShot(0, lambda: {}["nothing"])
    qtbot.waitUntil(lambda: len(shown) == 2)
    assert {details.split("\nPython")[0].strip().splitlines()[-1] for _, details in shown} == {
        "ZeroDivisionError: a bug in a slot",
        "KeyError: 'nothing'",
    }


def test_a_bug_says_so_when_the_work_could_not_be_written(qtbot, bugs, duo, folder):
    window, shown = bugs
    folder.write_text("in the way")
    show(qtbot, window, duo)
    QTimer.singleShot(0, fall)
    qtbot.waitUntil(lambda: bool(shown))
    assert "Save your work now" in shown[0][0]


def test_the_user_who_stops_the_program_is_shown_no_bug(qtbot, bugs):
    _, shown = bugs
    sys.excepthook(KeyboardInterrupt, KeyboardInterrupt(), None)
    QApplication.processEvents()
    assert shown == []


PROGRAM = """
import sys, threading
from pathlib import Path
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication
from app.window import dialogs
from app.window.main_window import MainWindow
from app.window.run import run_window

dialogs.tell_bug = lambda parent, sentences, details: print("told", details.splitlines()[-3], flush=True)
dialogs.ask_unsaved = lambda parent, name: dialogs.Answer.DISCARD

class Watched(MainWindow):
    def __init__(self, *folders):
        super().__init__(*folders)
        self.desk.part_changed.connect(self.edit)

    def edit(self):
        note = self.desk.part.notes[0]
        self.desk.note_down(lambda work: work.with_own_note(note.id, "Slow."), "your note")
        print("kept", len(list(Path(sys.argv[2]).rglob("recovery/*.journal"))), flush=True)
        QTimer.singleShot(300, self.close)
        raise RuntimeError("a bug")

import app.window.start.furnish
app.window.start.furnish.MainWindow = Watched
print("ended", run_window(Path(sys.argv[1])))
"""


def test_the_program_goes_on_after_a_bug_and_keeps_its_journals_in_the_users_own_folder(duo, tmp_path):
    home = tmp_path / "home"
    done = at_home(home, PROGRAM, str(duo), str(home))
    assert done.stdout.split("\n") == ["kept 1", "told RuntimeError: a bug", "ended 0", ""]
    assert "RuntimeError: a bug" in done.stderr
    assert list(home.rglob("*.journal")) == []
