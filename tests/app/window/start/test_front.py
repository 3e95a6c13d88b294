"""What stands on the screen first, and how the window takes its place."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from app.job.files.example import example_score
from app.job.files.recent import RecentFiles
from app.window.start.front import Front
from app.window.start.start_page import StartPage
from tests.app.programs import at_home, loaded_by


class Asked:
    """A window that keeps what is asked of it."""

    def __init__(self) -> None:
        self.opened: list[object] = []

    def open(self, file: Path) -> None:
        self.opened.append(file)

    def ask_open(self) -> None:
        self.opened.append("asked")


@pytest.fixture
def recent(tmp_path):
    files = RecentFiles(tmp_path / "state", tmp_path / "pictures")
    score = tmp_path / "suite.musicxml"
    score.write_bytes(b"")
    files.add(score, time.time())
    return files


@pytest.fixture
def front(qtbot, recent):
    shown = Front(recent)
    qtbot.addWidget(shown)
    with qtbot.waitSignal(shown.painted, timeout=5_000):
        shown.show()
    return shown


def page_of(front):
    return front.findChild(StartPage)


def wish_of(front):
    asked = Asked()
    front.wish(asked)
    return asked.opened


def test_nothing_is_wished_at_first(front):
    assert front.wish is None
    assert front.says.text() == ""


def test_what_is_asked_of_the_front_is_done_by_the_window(front, recent):
    page = page_of(front)
    page.open_button.click()
    assert wish_of(front) == ["asked"]
    page.example_button.click()
    assert wish_of(front) == [example_score()], "the last wish counts"
    (row,) = page.rows
    row.wanted.emit(row.file)
    assert wish_of(front) == [recent.read()[0].file]
    assert front.says.text() == "It opens in a moment, once everything is loaded."


def test_how_much_is_loaded_is_shown(front):
    front.show_progress(3, 12)
    assert (front.progress.value(), front.progress.maximum()) == (3, 12)


def test_a_file_that_is_opened_anyway_is_named_in_place_of_the_start_page(qtbot, recent):
    shown = Front(recent, Path("folder/suite.mxl"))
    qtbot.addWidget(shown)
    assert page_of(shown) is None
    labels = [label.text() for label in shown.findChildren(type(shown.says))]
    assert any("Opening suite.mxl" in text for text in labels)


def test_the_front_stands_before_the_rooms_are_loaded():
    rooms = (
        "numpy",
        "lxml",
        "PySide6.QtSvg",
        "analysis.music",
        "engraving.document",
        "app.window.editing.desk",
        "app.job.teacher.work",
    )
    assert loaded_by("app.main, app.window.run", rooms) == []


PROGRAM = """
import sys
from pathlib import Path
from PySide6.QtCore import QTimer
from app.window import run
from app.window.start.front import Front
from app.window.start.start_page import StartPage

class Watched(Front):
    def __init__(self, *given):
        super().__init__(*given)
        self.painted.connect(self.ask)

    def ask(self):
        print("front", "numpy" in sys.modules, flush=True)
        {asks}

def look():
    window = next((w for w in run.QApplication.topLevelWidgets() if type(w).__name__ == "MainWindow"), None)
    if window is not None and window.desk.pages and window.desk.plan is not None and not window.tasks.is_busy:
        fronts = [w for w in run.QApplication.topLevelWidgets() if isinstance(w, Front) and w.isVisible()]
        title = window.desk.score.score.title
        print("window", window.isVisible(), window.size().toTuple(), len(fronts), title, flush=True)
        clock.stop()
        window.close()

run.Front = Watched
real = run.importlib.import_module
run.importlib.import_module = lambda name: started() or real(name)

def started():
    global clock
    if "clock" not in globals():
        clock = QTimer(interval=30)
        clock.timeout.connect(look)
        clock.start()

print("ended", run.run_window(None), flush=True)
"""


def ran(tmp_path, asks):
    return at_home(tmp_path / "home", PROGRAM.format(asks=asks)).stdout.splitlines()


def test_the_window_takes_the_place_of_the_front_and_does_what_was_wished(tmp_path):
    told = ran(tmp_path, "self.resize(1100, 700); self.findChild(StartPage).example_button.click()")
    assert told == ["front False", "window True (1100, 700) 0 Three Crossings", "ended 0"]


def test_closing_the_front_ends_the_program(tmp_path):
    assert ran(tmp_path, "QTimer.singleShot(0, self.close)") == ["front False", "ended 0"]
