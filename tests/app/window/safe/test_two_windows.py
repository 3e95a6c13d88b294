"""Two windows spare each other."""

from __future__ import annotations

import pytest

from app.job.recovery.folder import RecoveryFolder
from app.job.recovery.lines import replay
from app.window import dialogs
from app.window.safe import rescue
from tests.app.conftest import settled
from tests.app.window.safe.deaths import die, note, show


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
