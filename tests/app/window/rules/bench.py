"""A desk for house rules without the main window, and how their window is reached on it."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from app.window import dialogs
from app.window.background.tasks import TaskRunner
from app.window.editing.desk import Desk
from app.window.editing.ruling import Ruling
from tests.app.conftest import settled


class Bench(QWidget):
    """A desk without the main window, on which no music is engraved."""

    def __init__(self):
        super().__init__()
        self.tasks = TaskRunner(self)
        self.desk = Desk(self.tasks, self)
        self.ruling = Ruling(self.desk, self)


def laid(qtbot, bench, path):
    """Open a score on the desk and wait until its first part is fingered."""
    bench.desk.open(path)
    qtbot.waitUntil(lambda: bench.desk.plan is not None, timeout=30_000)
    settled(qtbot, bench)


def edited(qtbot, window):
    """The window of the house rules, with the effect of those it shows worked out."""
    shown = window.ruling.edit_rules()
    tried(qtbot, window, shown)
    return shown


def tried(qtbot, window, shown):
    """Wait until the rules have been tried."""
    qtbot.waitUntil(lambda: not shown.trial._pause.isActive() and not window.tasks.is_busy, timeout=30_000)


def field(shown, name):
    return shown.editor.page.rows[name].field


def row(shown, name):
    return shown.editor.page.rows[name]


def from_file(shown, path, monkeypatch):
    """Open a file of house rules in their window."""
    monkeypatch.setattr(dialogs, "ask_open", lambda *_: path)
    shown.open_file.click()


def places(shown):
    listed = shown.editor.places.list
    return [listed.item(number).text().split("\n")[0] for number in range(listed.count())]


def choose(box, words):
    assert box.findText(words) >= 0, words
    box.setCurrentIndex(box.findText(words))
