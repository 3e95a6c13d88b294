"""A window that is closed, and its tasks ended, after each test."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication
from pytestqt.qtbot import QtBot

from app.window import dialogs
from app.window.main_window import MainWindow
from tests.scores import score

# D string with single touches of A, a long A, then a line round E5: the cases that fingerings turn on.
LINE = "F#4/1 G4 A4 G4 | F#4 A4/3 | D5/1 E5 F#5 G5 | E5 D5 E5 G5 | F#4/1 G4 A4 G4"


@pytest.fixture
def mini(tmp_path: Path) -> Path:
    """A small score on the disk."""
    path = tmp_path / "mini.musicxml"
    path.write_bytes(score("Violin", "4/4", LINE, key=2))
    return path


@pytest.fixture
def told(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What the window told in dialogs, in place of showing them."""
    sentences: list[str] = []
    monkeypatch.setattr(dialogs, "tell", lambda parent, sentence: sentences.append(sentence))
    return sentences


@pytest.fixture
def make_window(qtbot: QtBot, told: list[str], monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[..., MainWindow]]:
    """Makes main windows, shown; they are closed after the test, and let unsaved work go."""
    monkeypatch.setattr(dialogs, "ask_unsaved", lambda parent, name: dialogs.Answer.DISCARD)
    made: list[MainWindow] = []

    def make(*given: object) -> MainWindow:
        made.append(MainWindow(*given))
        made[-1].show()
        return made[-1]

    yield make
    for window in made:
        window.close()
        window.deleteLater()
    assert not [thread for thread in threading.enumerate() if thread.name.startswith(("task", "ahead", "journal"))]
    QApplication.processEvents()


@pytest.fixture
def window(make_window: Callable[..., MainWindow], tmp_path_factory: pytest.TempPathFactory) -> MainWindow:
    """The main window, shown."""
    return make_window(tmp_path_factory.mktemp("recovery"))


def opened(qtbot: QtBot, window: MainWindow, path: Path) -> None:
    """Open a score and wait until its first part is engraved and fingered."""
    window.open(path)
    qtbot.waitUntil(lambda: bool(window.desk.pages) and window.desk.plan is not None, timeout=30_000)
    settled(qtbot, window)


def settled(qtbot: QtBot, window: MainWindow) -> None:
    """Wait until nothing is under way."""
    qtbot.waitUntil(lambda: not window.tasks.is_busy, timeout=30_000)


def ids(window: MainWindow) -> list[str]:
    """The notes of the part in hand."""
    return [note.id for note in window.desk.part.notes] if window.desk.part else []


def trigger(window: MainWindow, name: str) -> None:
    """Do what a command does; it has to be possible."""
    action = window.actions_by_name[name]
    assert action.isEnabled(), name
    action.trigger()
