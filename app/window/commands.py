"""Everything the user can do, in one table: menus and shortcuts come from it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.job.watching import OWN

if TYPE_CHECKING:
    from app.window.main_window import MainWindow


def _always(window: MainWindow) -> bool:
    return True


def _score(window: MainWindow) -> bool:
    return window.desk.score is not None


def _plan(window: MainWindow) -> bool:
    return window.desk.plan is not None and bool(window.desk.plan.chains)


def _passage(window: MainWindow) -> bool:
    return _plan(window) and window.desk.passage is not None


def _locked_note(window: MainWindow) -> bool:
    plan = window.desk.plan
    return plan is not None and window.desk.note_id in plan.locks


def _note(window: MainWindow) -> bool:
    return window.desk.note is not None


def _listed(window: MainWindow) -> bool:
    return bool(window.watch_panel.model.entries)


def _entry(window: MainWindow) -> bool:
    return window.watch.entry is not None


def _finding(window: MainWindow) -> bool:
    return window.watch.entry is not None and window.watch.entry.finding.kind != OWN


def _again(window: MainWindow) -> bool:
    return window.watch.entry is not None and bool(window.watch.entry.finding.again)


@dataclass(frozen=True, slots=True)
class Command:
    """One action: its menu, the text shown, its keys, when it can be done, and what it does."""

    name: str
    menu: str
    text: str
    shortcut: str
    enabled: Callable[[MainWindow], bool]
    run: Callable[[MainWindow], object]


COMMANDS = (
    Command("open", "Score", "Open…", "Ctrl+O", _always, lambda window: window.ask_open()),
    Command("save", "Score", "Save", "Ctrl+S", _score, lambda window: window.paperwork.save()),
    Command("save_as", "Score", "Save as…", "Ctrl+Shift+S", _score, lambda window: window.paperwork.save_as()),
    Command("print", "Score", "Print part to PDF…", "Ctrl+P", _plan, lambda window: window.paperwork.print_part()),
    Command("sheet", "Score", "Practice sheet to PDF…", "Ctrl+Shift+P", _plan, lambda w: w.paperwork.practice_sheet()),
    Command("export", "Score", "Write marked MusicXML…", "Ctrl+E", _plan, lambda window: window.paperwork.export()),
    Command("quit", "Score", "Quit", "Ctrl+Q", _always, lambda window: window.close()),
    Command("undo", "Edit", "Undo", "Ctrl+Z", lambda w: w.desk.history.canUndo(), lambda w: w.desk.history.undo()),
    Command(
        "redo", "Edit", "Redo", "Ctrl+Shift+Z", lambda w: w.desk.history.canRedo(), lambda w: w.desk.history.redo()
    ),
    Command(
        "release", "Edit", "Let Handframe decide again", "Backspace", _locked_note, lambda window: window.release()
    ),
    Command("compare", "Passage", "Compare ways to play it…", "Ctrl+K", _passage, lambda window: window.compare()),
    Command("clear", "Passage", "Select nothing", "Esc", _passage, lambda window: window.desk.select_passage(None)),
    Command("next", "Watch-list", "Next entry", "Ctrl+Down", _listed, lambda window: window.watch_panel.step(1)),
    Command("previous", "Watch-list", "Entry before", "Ctrl+Up", _listed, lambda window: window.watch_panel.step(-1)),
    Command("accept", "Watch-list", "On the practice sheet", "Ctrl+Return", _finding, lambda w: w.watch.accept()),
    Command("hide", "Watch-list", "Hide", "Ctrl+Backspace", _finding, lambda window: window.watch.hide()),
    Command("reword", "Watch-list", "Other words…", "Ctrl+R", _entry, lambda window: window.reword()),
    Command("join", "Watch-list", "Add a note to it…", "Ctrl+J", _finding, lambda window: window.join()),
    Command("own_note", "Watch-list", "Write your own note…", "Ctrl+N", _note, lambda window: window.write_note()),
    Command("carry", "Watch-list", "Same fingers as before", "Ctrl+D", _again, lambda window: window.watch.carry()),
    Command("bows", "View", "Show the bow", "Ctrl+B", _plan, lambda window: window.music.toggle_bows()),
    Command("larger", "View", "Larger", "Ctrl++", _score, lambda window: window.music.zoom(1)),
    Command("smaller", "View", "Smaller", "Ctrl+-", _score, lambda window: window.music.zoom(-1)),
    Command("fit_width", "View", "As wide as the window", "Ctrl+0", _score, lambda window: window.music.fit_width()),
    Command(
        "stop", "View", "Stop working", "Ctrl+.", lambda w: w.desk.tasks.is_busy, lambda w: w.desk.tasks.stop_all()
    ),
)
