"""The start of the window: how to begin, the files opened last, and what is dropped on it."""

from __future__ import annotations

import time
from datetime import datetime
from functools import partial
from pathlib import Path

import pytest
from PySide6.QtCore import QMimeData, QPointF, Qt, QUrl
from PySide6.QtGui import QDragEnterEvent, QDragLeaveEvent, QDragMoveEvent, QDropEvent, QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.job.files.example import example_score
from app.job.files.recent import PICTURE_HEIGHT, PICTURE_WIDTH, RecentFiles
from app.window import dialogs
from app.window.start.dropped import file_dropped
from app.window.start.first_line import first_line_png
from app.window.start.start_page import moment_words
from tests.app.conftest import opened, settled
from tests.app.programs import ROOT, loaded_by
from tests.scores import score


@pytest.fixture
def recent(tmp_path):
    return RecentFiles(tmp_path / "state", tmp_path / "pictures")


@pytest.fixture
def windows(make_window, recent):
    """Makes windows that know the list of files."""
    return partial(make_window, None, recent)


COPY = Qt.DropAction.CopyAction


def drop(window, *files, offered=COPY):
    """Drop files on the window, from where these actions are offered, the first of them proposed."""
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(file)) if isinstance(file, Path) else QUrl(file) for file in files])
    where = QPointF(300, 300)
    buttons = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    enters = QDragEnterEvent(where.toPoint(), offered, data, *buttons)
    QApplication.sendEvent(window, enters)
    assert enters.isAccepted()
    moves = QDragMoveEvent(where.toPoint(), offered, data, *buttons)
    QApplication.sendEvent(window, moves)
    assert moves.isAccepted()
    assert window.drop_frame.isVisible()
    assert window.drop_frame.size() == window.size()
    event = QDropEvent(where, offered, data, *buttons)
    QApplication.sendEvent(window, event)
    assert event.isAccepted()
    assert enters.dropAction() == moves.dropAction() == event.dropAction() == COPY
    assert not window.drop_frame.isVisible()


# How to begin


def test_the_middle_shows_how_to_begin_until_a_score_is_open(qtbot, window, mini):
    assert window.start_page.isVisible()
    assert not window.music.isVisible()
    assert window.start_page.rows == []
    assert not any(beside.isVisible() for beside in (window.parts, window.ways, window.lists))
    assert window.start_page.width() == window.width()
    opened(qtbot, window, mini)
    assert window.music.isVisible()
    assert all(beside.isVisible() for beside in (window.parts, window.ways, window.lists))
    assert not window.start_page.isVisible()


def test_a_file_that_does_not_open_leaves_the_start_page(qtbot, window, told, tmp_path):
    broken = tmp_path / "broken.musicxml"
    broken.write_text("<no")
    window.open(broken)
    qtbot.waitUntil(lambda: bool(told), timeout=30_000)
    assert window.start_page.isVisible()


def test_a_button_asks_for_a_score_and_opens_it(qtbot, window, mini, monkeypatch):
    monkeypatch.setattr(dialogs, "ask_open", lambda parent, title, folder, kinds: mini)
    window.start_page.open_button.click()
    qtbot.waitUntil(lambda: window.desk.score is not None, timeout=30_000)
    assert window.desk.score.file == mini
    settled(qtbot, window)


def test_a_button_opens_the_example_which_is_kept_off_the_list(qtbot, windows, recent):
    window = windows()
    window.start_page.example_button.click()
    qtbot.waitUntil(lambda: window.desk.plan is not None and bool(window.desk.pages), timeout=60_000)
    settled(qtbot, window)
    assert window.desk.score.document.name == "three-crossings.musicxml"
    assert recent.read() == ()


def test_the_example_that_is_installed_is_the_one_in_the_examples():
    assert example_score().is_relative_to(ROOT / "app")
    assert example_score().read_bytes() == (ROOT / "examples" / example_score().name).read_bytes()
    project = (ROOT / "pyproject.toml").read_text(encoding="utf-8")
    assert f'"*{example_score().suffix}"' in project[project.index("[tool.setuptools.package-data]") :]


# Files opened last


def test_what_was_opened_is_shown_at_the_next_start_with_its_first_line(qtbot, windows, recent, mini):
    window = windows()
    before = time.time()
    opened(qtbot, window, mini)
    qtbot.waitUntil(lambda: recent.picture_of(mini).exists(), timeout=10_000)
    (one,) = recent.read()
    assert (one.file, before <= one.opened <= time.time()) == (mini, True)
    window.close()
    (row,) = windows().start_page.rows
    assert row.name.text() == "mini.musicxml"
    assert row.folder.text() == str(mini.parent)
    assert row.says.text().startswith("opened at ")
    assert row.image.pixmap().deviceIndependentSize().toTuple() == (PICTURE_WIDTH / 2, PICTURE_HEIGHT / 2)


def test_a_project_that_is_saved_is_on_the_list_before_its_score(qtbot, windows, recent, mini, tmp_path):
    window = windows()
    opened(qtbot, window, mini)
    project = tmp_path / "mini.handframe"
    window.desk.save(project)
    assert [one.file for one in recent.read()] == [project, mini]
    qtbot.waitUntil(lambda: recent.picture_of(project).exists(), timeout=10_000)


def test_the_picture_holds_the_first_system_and_nothing_of_the_second(qtbot, window, tmp_path):
    """Five staff lines cross the picture: common practice, no source."""
    path = tmp_path / "long.musicxml"
    path.write_bytes(score("Violin", "4/4", " | ".join(["D5/1 E5 F#5 G5"] * 24), key=2))
    opened(qtbot, window, path)
    page = window.desk.pages[0]
    assert len(page.map.systems) > 1
    image = QImage.fromData(first_line_png(page))
    assert (image.width(), image.height()) == (PICTURE_WIDTH, PICTURE_HEIGHT)
    column = [image.pixelColor(PICTURE_WIDTH // 3, y).lightness() for y in range(PICTURE_HEIGHT)]
    lines = [
        sum(image.pixelColor(x, y).lightness() < 200 for x in range(PICTURE_WIDTH)) > 0.8 * PICTURE_WIDTH
        for y in range(PICTURE_HEIGHT)
    ]
    runs = sum(now and not before for before, now in zip([False, *lines], lines, strict=False))
    assert runs == 5
    assert min(column) < 200


def test_a_file_on_the_list_opens_by_a_click_or_by_a_key(qtbot, windows, recent, mini):
    recent.add(mini, time.time())
    for press in (
        lambda row: QTest.mouseClick(row.name, Qt.MouseButton.LeftButton),
        lambda row: QTest.keyClick(row, Qt.Key.Key_Return),
    ):
        window = windows()
        press(window.start_page.rows[0])
        qtbot.waitUntil(lambda window=window: window.desk.score is not None, timeout=30_000)
        assert window.desk.score.file == mini
        settled(qtbot, window)
        window.close()


def test_a_file_that_is_gone_is_shown_as_such_and_can_be_taken_off(qtbot, windows, recent, mini, tmp_path, told):
    recent.add(mini, time.time())
    recent.add(tmp_path / "gone.mxl", time.time())
    window = windows()
    gone, there = window.start_page.rows
    assert gone.says.text() == "not there any more"
    assert gone.image.isHidden()  # a row without a picture leaves no room for one
    assert not gone.name.isEnabled()
    assert there.name.isEnabled()
    QTest.mouseClick(gone.name, Qt.MouseButton.LeftButton)
    assert (window.tasks.is_busy, told) == (False, [])
    gone.remove_button.click()
    assert [row.file for row in window.start_page.rows] == [mini]
    assert [one.file for one in recent.read()] == [mini]
    QTest.keyClick(window.start_page.rows[0], Qt.Key.Key_Delete)
    assert window.start_page.rows == []
    assert mini.exists()


def test_a_path_that_the_system_refuses_is_one_that_is_not_there(windows, recent, tmp_path):
    recent.add(tmp_path / f"{'long' * 100}.mxl", time.time())
    (row,) = windows().start_page.rows
    assert row.says.text() == "not there any more"


@pytest.mark.parametrize(
    ("then", "words"),
    [
        (datetime(2026, 5, 3, 9, 5), "at 09:05"),
        (datetime(2026, 5, 2, 23, 59), "on 2 May"),
        (datetime(2025, 12, 31, 8, 0), "on 31 December 2025"),
    ],
)
def test_when_a_file_was_opened_is_said_as_shortly_as_is_clear(then, words):
    assert moment_words(then, datetime(2026, 5, 3, 14, 0)) == words


# Dropped on the window


@pytest.mark.parametrize("offered", [COPY, Qt.DropAction.MoveAction | COPY], ids=str)
def test_a_score_dropped_on_the_window_opens_and_stays_where_it_is(qtbot, window, mini, offered):
    """A file that is taken as moved may be deleted by where it comes from."""
    drop(window, mini, offered=offered)
    qtbot.waitUntil(lambda: window.desk.score is not None, timeout=30_000)
    assert window.desk.score.file == mini
    settled(qtbot, window)


def test_what_may_only_be_moved_here_is_not_taken(window, mini):
    data = QMimeData()
    data.setUrls([QUrl.fromLocalFile(str(mini))])
    buttons = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier
    enters = QDragEnterEvent(QPointF(300, 300).toPoint(), Qt.DropAction.MoveAction, data, *buttons)
    enters.ignore()
    QApplication.sendEvent(window, enters)
    assert not enters.isAccepted()
    assert not window.drop_frame.isVisible()


def test_the_frame_goes_when_a_file_is_dragged_away_again(window):
    window.drop_frame.show_over()
    QApplication.sendEvent(window, QDragLeaveEvent())
    assert not window.drop_frame.isVisible()


def test_unsaved_work_is_settled_before_what_is_dropped_opens(qtbot, window, mini, monkeypatch):
    opened(qtbot, window, mini)
    window.desk.note_down(lambda work: work.with_own_note(window.desk.part.notes[0].id, "Slow."), "your note")
    asked = []
    monkeypatch.setattr(dialogs, "ask_unsaved", lambda parent, name: asked.append(name) or dialogs.Answer.CANCEL)
    drop(window, mini)
    qtbot.waitUntil(lambda: bool(asked), timeout=5_000)
    assert asked == ["mini.musicxml"]
    assert not window.tasks.is_busy
    monkeypatch.setattr(dialogs, "ask_unsaved", lambda parent, name: dialogs.Answer.DISCARD)


def test_of_several_files_the_first_score_opens_and_a_sentence_says_so(qtbot, window, mini, tmp_path):
    said = []
    window.desk.said.connect(said.append)
    drop(window, tmp_path / "plan.txt", mini, tmp_path / "other.mxl")
    qtbot.waitUntil(lambda: window.desk.score is not None, timeout=30_000)
    assert window.desk.score.file == mini
    assert said[0] == "One score is open at a time: of the 3 files, mini.musicxml is opened."
    settled(qtbot, window)


def test_something_else_dropped_is_refused_in_a_sentence_or_two(qtbot, window, tmp_path):
    said = []
    window.desk.said.connect(said.append)
    text = tmp_path / "plan.txt"
    text.write_text("Monday")
    drop(window, text)
    qtbot.waitUntil(lambda: bool(said), timeout=5_000)
    assert said == ["plan.txt is no score. Drop MusicXML, MIDI, ABC, Humdrum, MEI or a Handframe project."]
    assert not window.tasks.is_busy


def test_folders_and_pages_of_the_web_are_told_from_files(tmp_path):
    folder = tmp_path / "folder.mxl"
    folder.mkdir()
    web = QUrl("https://example.org/duo.mxl")
    assert file_dropped([QUrl.fromLocalFile(str(folder))])[1].startswith("folder.mxl is a folder. ")
    assert file_dropped([web])[1].startswith("Only files on this computer can be opened. ")
    assert file_dropped([web, QUrl.fromLocalFile(str(folder))])[1].startswith("None of these can be opened. ")
    assert file_dropped([QUrl.fromLocalFile(str(tmp_path / "LOUD.MXL"))]) == (tmp_path / "LOUD.MXL", "")


def test_a_path_that_the_system_refuses_is_left_to_the_reader(tmp_path):
    too_long = tmp_path / f"{'long' * 100}.mxl"
    assert file_dropped([QUrl.fromLocalFile(str(too_long))]) == (too_long, "")


# What is loaded before the window stands


def test_the_window_stands_before_what_only_files_need_is_loaded():
    heavy = ("music21", "verovio", "pypdf", "miniaudio", "mido", "fontTools", "tomlkit")
    assert loaded_by("app.window.start.furnish", heavy) == []
