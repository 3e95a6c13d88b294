"""The safety net in the window: what a crash leaves is offered, two windows spare each other, bugs end nothing."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
import threading
from dataclasses import replace
from datetime import datetime

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QMessageBox, QPushButton

from app.job.journal_lines import replay
from app.job.recovery import RecoveryFolder
from app.window import dialogs
from app.window.dialogs import Rescue
from app.window.main_window import MainWindow
from app.window.safe import rescue, safety
from app.window.safe.bugs import Bugs
from tests.app.conftest import LINE, settled, trigger
from tests.scores import full_score, part


@pytest.fixture
def duo(tmp_path):
    """A score of two parts."""
    path = tmp_path / "duo.musicxml"
    path.write_bytes(full_score(part("Violin", "4/4", LINE, key=2), part("Recorder", "4/4", "D5/1 E5 F#5 G5")))
    return path


@pytest.fixture
def folder(tmp_path):
    return tmp_path / "recovery"


@pytest.fixture
def asked(monkeypatch):
    """What is asked about work left behind, and what is answered: bring it back, unless another answer is put first."""
    questions, answers = [], []

    def ask(parent, sentences, *, can_bring_back):
        questions.append((sentences, can_bring_back))
        return answers.pop(0) if answers else Rescue.BRING_BACK

    monkeypatch.setattr(dialogs, "ask_rescue", ask)
    return questions, answers


@pytest.fixture
def windows(qtbot, folder, told, monkeypatch):
    """Makes windows that share a folder, as processes do."""
    monkeypatch.setattr(dialogs, "ask_unsaved", lambda parent, name: dialogs.Answer.DISCARD)
    made = []

    def make():
        made.append(MainWindow(folder))
        made[-1].show()
        return made[-1]

    yield make
    for window in made:
        window.close()
        window.deleteLater()
    assert not [thread for thread in threading.enumerate() if thread.name == "journal"]
    QApplication.processEvents()


def show(qtbot, window, path):
    """Open a score and wait for it."""
    before = window.desk.score
    window.open(path)
    qtbot.waitUntil(lambda: window.desk.score is not before, timeout=30_000)
    settled(qtbot, window)


def note(window, text, index=0):
    """Write a note of the teacher's own at one of the notes."""
    note_id = window.desk.part.notes[index].id
    window.desk.note_down(lambda work: work.with_own_note(note_id, text), "your note")


def notes(window):
    return {text for own in window.desk.state.work.parts.values() for text in own.own_notes.values()}


def die(window):
    """Leave everything as it is when the process dies: nobody decides anything any more."""
    window.safety.end()


def journals(folder):
    return sorted(folder.glob("*.journal"))


# Brought back


def test_what_was_on_the_screen_of_a_window_that_died_is_brought_back(qtbot, windows, duo, asked):
    first = windows()
    show(qtbot, first, duo)
    third = first.desk.part.notes[2]
    first.desk.select_note(third.id)
    first.notes.finger(0)
    note(first, "Slow.")
    first.desk.set_printing(replace(first.desk.state.work.printing, colour=True), {})
    note(first, "Wrong.")
    first.desk.history.undo()
    first.desk.turn_to("P2")
    note(first, "Breathe.")
    settled(qtbot, first)
    work = first.desk.state.work
    die(first)

    second = windows()
    show(qtbot, second, duo)
    (sentences, can_bring_back), *more = asked[0]
    assert (can_bring_back, more) == (True, [])
    assert sentences.startswith("Work on duo.musicxml from ")
    assert sentences.endswith(" was not saved.")
    assert second.desk.state.work.parts == work.parts
    assert second.desk.state.work.printing == work.printing
    assert notes(second) == {"Slow.", "Breathe."}
    assert second.desk.part.id == "P2"
    assert second.isWindowModified()
    assert second.desk.state.work.parts["P1"].locks[third.id].finger == 0


def test_work_brought_back_is_safe_again_before_its_old_journal_goes(qtbot, windows, duo, folder, asked):
    first = windows()
    show(qtbot, first, duo)
    note(first, "Slow.")
    die(first)
    (old,) = journals(folder)
    second = windows()
    show(qtbot, second, duo)
    (new,) = journals(folder)
    assert new != old
    die(second)
    third = windows()
    show(qtbot, third, duo)
    assert notes(third) == {"Slow."}
    third.close()
    assert journals(folder) == []


def test_at_the_start_what_was_left_behind_is_offered_until_one_is_brought_back(qtbot, windows, duo, mini, asked):
    for path, text in ((duo, "one"), (mini, "two")):
        window = windows()
        show(qtbot, window, path)
        note(window, text)
        die(window)
    window = windows()
    asked[1].append(Rescue.LATER)
    window.rescue.start(None)
    qtbot.waitUntil(lambda: window.desk.score is not None, timeout=30_000)
    settled(qtbot, window)
    assert [sentences.split()[2] for sentences, _ in asked[0]] == ["mini.musicxml", "duo.musicxml"]
    assert notes(window) == {"one"}
    assert [left.name for left in window.safety.left_behind()] == ["mini.musicxml"]


def test_a_start_with_a_score_offers_what_belongs_to_it_and_tells_of_the_rest(qtbot, windows, duo, mini, asked):
    window = windows()
    show(qtbot, window, duo)
    note(window, "one")
    die(window)
    window, said = windows(), []
    window.desk.said.connect(said.append)
    window.rescue.start(mini)
    qtbot.waitUntil(lambda: window.desk.score is not None, timeout=30_000)
    settled(qtbot, window)
    assert asked[0] == []
    assert said[0].startswith("Unsaved work on another score is kept")
    assert window.actions_by_name["unsaved"].isEnabled()


def test_what_is_thrown_away_is_gone_and_what_is_left_for_later_stays(qtbot, windows, duo, folder, asked):
    window = windows()
    show(qtbot, window, duo)
    note(window, "Slow.")
    die(window)
    for answer, left in ((Rescue.LATER, 1), (Rescue.THROW_AWAY, 0)):
        window = windows()
        asked[1].append(answer)
        show(qtbot, window, duo)
        assert notes(window) == set()
        window.close()
        assert len(journals(folder)) == left


def test_what_is_left_for_later_is_offered_again_by_a_command_also_while_its_score_lies_open(
    qtbot, windows, duo, folder, asked, monkeypatch
):
    window = windows()
    show(qtbot, window, duo)
    assert not window.actions_by_name["unsaved"].isEnabled()
    note(window, "Slow.")
    die(window)
    window = windows()
    asked[1].append(Rescue.LATER)
    show(qtbot, window, duo)
    note(window, "Fast.")
    assert notes(window) == {"Fast."}

    settle = [dialogs.Answer.CANCEL, dialogs.Answer.DISCARD]
    monkeypatch.setattr(
        dialogs, "ask_unsaved", lambda parent, name: settle.pop(0) if settle else dialogs.Answer.DISCARD
    )
    trigger(window, "unsaved")
    settled(qtbot, window)
    assert notes(window) == {"Fast."}
    trigger(window, "unsaved")
    settled(qtbot, window)
    assert notes(window) == {"Slow."}
    assert not window.actions_by_name["unsaved"].isEnabled()
    assert len(journals(folder)) == 1
    assert len(asked[0]) == 3


def test_the_command_is_there_from_the_start_until_nothing_is_left(qtbot, windows, duo, folder, asked):
    window = windows()
    show(qtbot, window, duo)
    note(window, "Slow.")
    die(window)
    window, said = windows(), []
    window.desk.said.connect(said.append)
    asked[1].extend([Rescue.LATER, Rescue.THROW_AWAY])
    window.rescue.start(None)
    trigger(window, "unsaved")
    assert journals(folder) == []
    assert not window.actions_by_name["unsaved"].isEnabled()
    window.offer_unsaved()
    assert said == ["There is no unsaved work left; another window may have brought it back."]


def test_a_journal_that_cannot_be_read_is_told_of_and_not_brought_back(qtbot, windows, duo, folder, asked, told):
    window = windows()
    show(qtbot, window, duo)
    note(window, "Slow.")
    die(window)
    (path,) = journals(folder)
    path.write_bytes(b"?" + path.read_bytes()[1:])
    asked[1].append(Rescue.LATER)
    window = windows()
    window.rescue.start(None)
    ((sentences, can_bring_back),) = asked[0]
    assert sentences.endswith(f" cannot be brought back: {path.name} is damaged where it begins.")
    assert not can_bring_back
    assert told == []


@pytest.mark.parametrize(
    ("then", "words"),
    [
        (datetime(2026, 5, 3, 9, 5), "09:05"),
        (datetime(2026, 5, 2, 23, 59), "2 May, 23:59"),
        (datetime(2025, 12, 31, 8, 0), "31 December 2025, 08:00"),
    ],
)
def test_the_time_of_an_edit_is_said_as_shortly_as_is_clear(then, words):
    assert rescue._time_words(then, datetime(2026, 5, 3, 14, 0)) == words


# When nothing needs to be kept


def test_a_score_that_was_only_looked_at_leaves_nothing(qtbot, windows, duo, folder):
    window = windows()
    show(qtbot, window, duo)
    window.desk.turn_to("P2")
    settled(qtbot, window)
    assert len(journals(folder)) == 1
    die(window)
    assert windows().safety.left_behind() == ()
    assert list(folder.iterdir()) == []


def test_saving_ends_the_journal_and_the_next_edit_is_kept_again(qtbot, windows, duo, folder, tmp_path, asked):
    window = windows()
    show(qtbot, window, duo)
    note(window, "Slow.")
    project = tmp_path / "duo.handframe"
    window.desk.save(project)
    (path,) = journals(folder)
    assert not replay(path.read_bytes(), "").unsaved
    note(window, "Slower.")
    die(window)
    window = windows()
    assert window.safety.left_behind(duo) == ()
    show(qtbot, window, project)
    assert asked[0][0][0].startswith("Work on duo.handframe from ")
    assert notes(window) == {"Slower."}
    assert window.desk.score.path == project
    window.paperwork.save()
    assert not window.isWindowModified()
    die(window)
    assert windows().safety.left_behind() == ()


def test_closing_without_saving_leaves_nothing(qtbot, windows, duo, folder):
    window = windows()
    show(qtbot, window, duo)
    note(window, "Slow.")
    window.close()
    assert list(folder.iterdir()) == []


def test_what_is_edited_while_another_score_is_opened_is_kept(qtbot, windows, duo, mini, asked):
    window, said = windows(), []
    show(qtbot, window, duo)
    window.desk.said.connect(said.append)
    note(window, "before")
    window.open(mini)
    note(window, "meanwhile", index=1)
    qtbot.waitUntil(lambda: window.desk.score.document.name == "mini.musicxml", timeout=30_000)
    settled(qtbot, window)
    assert any(sentence.startswith("What you did to duo.musicxml meanwhile is kept") for sentence in said)
    show(qtbot, window, duo)
    assert len(asked[0]) == 1
    assert notes(window) == {"before", "meanwhile"}


def test_a_file_that_does_not_open_takes_nothing_away(qtbot, windows, duo, folder, tmp_path, told):
    window = windows()
    show(qtbot, window, duo)
    note(window, "Slow.")
    broken = tmp_path / "broken.musicxml"
    broken.write_text("<no")
    window.open(broken)
    qtbot.waitUntil(lambda: bool(told), timeout=30_000)
    assert notes(window) == {"Slow."}
    (path,) = journals(folder)
    assert replay(path.read_bytes(), "").unsaved


# Two windows


def test_a_file_open_in_another_window_opens_as_a_copy_or_not_at_all(
    qtbot, windows, duo, tmp_path, folder, monkeypatch
):
    first = windows()
    show(qtbot, first, duo)
    project = tmp_path / "duo.handframe"
    first.desk.save(project)
    told, answers = [], [False, True]

    def ask(parent, sentences):
        told.append(sentences)
        return answers.pop(0)

    monkeypatch.setattr(dialogs, "ask_copy", ask)
    second = windows()
    second.open(project)
    settled(qtbot, second)
    assert second.desk.score is None
    assert told[0].startswith("duo.handframe is open in another window of Handframe. ")
    show(qtbot, second, project)
    assert len(told) == 2
    assert second.desk.score.path is None
    note(first, "mine")
    note(second, "theirs")
    die(first)
    die(second)
    left = RecoveryFolder(folder).left_behind(project)
    assert sorted(replay(found.journal.read_bytes(), "").heading.project is None for found in left) == [False, True]


def test_the_same_window_opens_its_own_file_again_without_a_question(qtbot, windows, duo, monkeypatch):
    monkeypatch.setattr(dialogs, "ask_copy", lambda *_: pytest.fail("it is no other window"))
    window = windows()
    show(qtbot, window, duo)
    show(qtbot, window, duo)
    assert window.desk.score.file == duo


def test_of_two_windows_that_open_a_project_at_once_one_saves_elsewhere(qtbot, windows, duo, tmp_path, monkeypatch):
    first = windows()
    show(qtbot, first, duo)
    project = tmp_path / "duo.handframe"
    first.desk.save(project)
    second = windows()
    monkeypatch.setattr(second.safety, "holder", lambda file: None)
    show(qtbot, second, project)
    assert second.desk.score.path is None
    assert first.desk.score.path == project


def test_a_lock_on_another_computer_is_named(monkeypatch, tmp_path):
    assert "on the computer music-room-2." in rescue._open_elsewhere(tmp_path / "duo.handframe", "music-room-2")


# A disk that does not work


def test_a_folder_that_cannot_be_used_is_told_once_and_editing_goes_on(qtbot, windows, duo, folder, told, tmp_path):
    folder.write_text("in the way")
    window = windows()
    show(qtbot, window, duo)
    for number in range(3):
        note(window, f"say {number}")
        QApplication.processEvents()
    (sentence,) = told
    assert sentence.startswith(f"What you do is not kept safe as you go, since {folder} cannot be used: ")
    assert notes(window) == {"say 2"}
    assert not window.safety.flush()
    folder.unlink()
    note(window, "say 3")
    assert window.safety.flush()
    die(window)
    assert len(journals(folder)) == 1


def test_on_a_full_disk_one_sentence_is_told_and_all_is_kept_once_there_is_room(
    qtbot, windows, duo, folder, told, monkeypatch, asked
):
    monkeypatch.setattr(safety, "_AGAIN_AFTER_MS", 20)
    window, write = windows(), os.write
    show(qtbot, window, duo)

    def full(file, data):
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(os, "write", full)
    for number in range(3):
        note(window, f"say {number}")
        qtbot.wait(30)
    monkeypatch.setattr(os, "write", write)
    (path,) = journals(folder)
    qtbot.waitUntil(lambda: replay(path.read_bytes(), "").unsaved)
    (sentence,) = told
    assert "No space left on device" in sentence
    die(window)
    window = windows()
    show(qtbot, window, duo)
    assert notes(window) == {"say 2"}


# Bugs


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
    home.mkdir()
    places = {"HOME": str(home), "XDG_DATA_HOME": str(home), "XDG_CONFIG_HOME": str(home)}
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, str(duo), str(home)],
        env={**os.environ, **places},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.split("\n") == ["kept 1", "told RuntimeError: a bug", "ended 0", ""]
    assert "RuntimeError: a bug" in done.stderr
    assert list(home.rglob("*.journal")) == []


# The dialogs themselves


def answered(qtbot, *buttons):
    """Press the buttons of those names, one after the other, in the dialog that comes next; what it says."""
    said = []

    def press():
        box = QApplication.activeModalWidget()
        assert isinstance(box, QMessageBox)
        said.append(box.text())
        found = {button.text().replace("&", ""): button for button in box.findChildren(QPushButton)}
        for name in buttons:
            assert box.isVisible()
            found[name].click()

    QTimer.singleShot(0, press)
    return said


def test_the_dialogs_answer_as_their_buttons_say(qtbot, window):
    for name, answer in (
        ("Bring it back", Rescue.BRING_BACK),
        ("Throw it away", Rescue.THROW_AWAY),
        ("Later", Rescue.LATER),
    ):
        said = answered(qtbot, name)
        assert dialogs.ask_rescue(window, "Work on it was not saved.", can_bring_back=True) is answer
        assert said == ["Work on it was not saved."]
    answered(qtbot, "Throw it away")
    assert dialogs.ask_rescue(window, "Damaged.", can_bring_back=False) is Rescue.THROW_AWAY
    answered(qtbot, "Open a copy")
    assert dialogs.ask_copy(window, "It is open.")
    answered(qtbot, "Cancel")
    assert not dialogs.ask_copy(window, "It is open.")


def test_the_details_of_a_bug_can_be_copied_before_going_on(qtbot, window):
    said = answered(qtbot, "Copy the details", "Go on")
    dialogs.tell_bug(window, "Something went wrong.", "the details")
    assert said == ["Something went wrong."]
    assert QGuiApplication.clipboard().text() == "the details"
