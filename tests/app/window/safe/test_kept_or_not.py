"""When unsaved work is kept and when nothing needs to be, also on a disk that does not work."""

from __future__ import annotations

import errno
import os

from PySide6.QtWidgets import QApplication

from app.job.recovery.lines import replay
from app.window.safe import safety
from tests.app.conftest import settled
from tests.app.window.safe.deaths import die, journals, note, notes, show

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
