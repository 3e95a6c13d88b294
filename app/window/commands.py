"""Everything the user can do, in one table: menus and shortcuts come from it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from app.job.watching import OWN
from engraving.marks.teacher import MARK_KINDS, MarkKind

if TYPE_CHECKING:
    from app.window.main_window import MainWindow


def _always(window: MainWindow) -> bool:
    return True


def _score(window: MainWindow) -> bool:
    return window.desk.score is not None


def _part(window: MainWindow) -> bool:
    return window.desk.part is not None


def _plan(window: MainWindow) -> bool:
    return window.desk.plan is not None and bool(window.desk.plan.chains)


def _passage(window: MainWindow) -> bool:
    return _plan(window) and window.desk.passage is not None


def _fingered_note(window: MainWindow) -> bool:
    plan = window.desk.plan
    return plan is not None and window.desk.note_id in plan and not _locked_note(window)


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


def _notes(window: MainWindow) -> bool:
    return window.desk.ends is not None


def _mark(window: MainWindow) -> bool:
    return window.pencil.mark is not None


def _marks_here(window: MainWindow) -> bool:
    return _notes(window) and bool(window.pencil.here)


def _again(window: MainWindow) -> bool:
    return window.watch.entry is not None and bool(window.watch.entry.finding.again)


@dataclass(frozen=True, slots=True)
class Command:
    """One action: its menu, the text shown, its keys, when it can be done, and what it does.

    ``apart``: a line divides it from the one above it.
    """

    name: str
    menu: str
    text: str
    shortcut: str
    enabled: Callable[[MainWindow], bool]
    run: Callable[[MainWindow], object]
    apart: bool = False


# The keys of the marks that teachers write most.
_MARK_KEYS = {
    "down-bow": "Shift+D",
    "up-bow": "Shift+U",
    "retake": "Shift+R",
    "tenuto": "Shift+T",
    "accent": "Shift+A",
    "breath": "Shift+B",
    "courtesy": "Shift+C",
    "high": "Shift+H",
    "low": "Shift+L",
    "extension": "Shift+E",
    "dynamic": "Shift+F",
    "text": "Shift+W",
    "position": "Shift+P",
    "string": "Shift+N",
    "slur": "Shift+S",
    "crescendo": "Shift+G",
    "diminuendo": "Shift+J",
    "circle": "Shift+O",
    "held-finger": "Shift+Y",
}


def _place(kind: MarkKind) -> Command:
    """The command that places a mark of a kind."""
    dots = "…" if kind.takes_text else ""
    first = kind.name == next(iter(MARK_KINDS))
    return Command(
        f"mark-{kind.name}",
        "Marks",
        f"{kind.title}{dots}",
        _MARK_KEYS.get(kind.name, ""),
        _notes,
        lambda window: window.mark(kind),
        apart=first or kind.name == "slur",
    )


COMMANDS = (
    Command("open", "Score", "Open…", "Ctrl+O", _always, lambda window: window.ask_open()),
    Command("save", "Score", "Save", "Ctrl+S", _score, lambda window: window.paperwork.save()),
    Command("save_as", "Score", "Save as…", "Ctrl+Shift+S", _score, lambda window: window.paperwork.save_as()),
    Command("printing", "Score", "Paper and copies…", "Ctrl+Shift+C", _score, lambda w: w.paperwork.choose_printing()),
    Command("see_part", "Score", "Look at the part on paper…", "Ctrl+L", _score, lambda w: w.previews.look_at_part()),
    Command("print", "Score", "Print part to PDF…", "Ctrl+P", _score, lambda window: window.paperwork.print_part()),
    Command(
        "set",
        "Score",
        "Print all parts to one PDF…",
        "Ctrl+Alt+P",
        _score,
        lambda w: w.paperwork.print_set(one_file=True),
    ),
    Command(
        "files", "Score", "Print all parts, one PDF each…", "", _score, lambda w: w.paperwork.print_set(one_file=False)
    ),
    Command(
        "see_sheet",
        "Score",
        "Look at the practice sheet…",
        "Ctrl+Shift+L",
        _plan,
        lambda w: w.previews.look_at_practice_sheet(),
    ),
    Command("sheet", "Score", "Practice sheet to PDF…", "Ctrl+Shift+P", _plan, lambda w: w.paperwork.practice_sheet()),
    Command("export", "Score", "Write marked MusicXML…", "Ctrl+E", _plan, lambda window: window.paperwork.export()),
    Command("quit", "Score", "Quit", "Ctrl+Q", _always, lambda window: window.close()),
    Command("undo", "Edit", "Undo", "Ctrl+Z", lambda w: w.desk.history.canUndo(), lambda w: w.desk.history.undo()),
    Command(
        "redo", "Edit", "Redo", "Ctrl+Shift+Z", lambda w: w.desk.history.canRedo(), lambda w: w.desk.history.redo()
    ),
    Command("keep", "Edit", "Keep this fingering", "Shift+K", _fingered_note, lambda window: window.keep()),
    Command(
        "release", "Edit", "Let Handframe decide again", "Backspace", _locked_note, lambda window: window.release()
    ),
    Command("rules", "Edit", "House rules…", "Ctrl+H", _part, lambda window: window.ruling.edit_rules(), apart=True),
    Command("take_away", "Marks", "Take the mark away", "Delete", _mark, lambda window: window.pencil.take_away()),
    Command("back", "Marks", "Mark back to its place", "", _mark, lambda window: window.pencil.move(0, 0)),
    Command("clean", "Marks", "Take all marks here away", "", _marks_here, lambda w: w.pencil.take_all_away()),
    Command("digit", "Marks", "Digit on paper", "Ctrl+Alt+1", _notes, lambda w: w.pencil.print_digit(True), apart=True),
    Command("no_digit", "Marks", "No digit on paper", "Ctrl+Alt+2", _notes, lambda w: w.pencil.print_digit(False)),
    Command(
        "rule_digit",
        "Marks",
        "Digit as the house rules say",
        "Ctrl+Alt+3",
        _notes,
        lambda w: w.pencil.print_digit(None),
    ),
    *(_place(kind) for kind in MARK_KINDS.values()),
    Command("shape", "Passage", "Shape each bar", "Ctrl+Shift+B", _passage, lambda window: window.pencil.shape_bars()),
    Command("name", "Passage", "Name the passage…", "Ctrl+G", _passage, lambda window: window.name_passage()),
    Command("picture", "Passage", "Picture of the passage…", "", _passage, lambda w: w.paperwork.passage_picture()),
    Command(
        "chart", "Passage", "Picture of the fingerboard…", "", _passage, lambda w: w.paperwork.fingerboard_picture()
    ),
    Command(
        "in_position",
        "Passage",
        "Position for the passage…",
        "Ctrl+Shift+N",
        _passage,
        lambda window: window.ranges.ask_position(),
        apart=True,
    ),
    Command(
        "on_string", "Passage", "String for the passage…", "Ctrl+Shift+T", _passage, lambda w: w.ranges.ask_string()
    ),
    Command(
        "release_all",
        "Passage",
        "Let Handframe decide again here",
        "Ctrl+Shift+Backspace",
        lambda window: _passage(window) and window.ranges.has_locks,
        lambda window: window.ranges.release(),
    ),
    Command(
        "passage_rules",
        "Passage",
        "Rules for the passage…",
        "Ctrl+Shift+H",
        _passage,
        lambda window: window.ruling.edit_passage_rules(),
    ),
    Command(
        "passage_printed",
        "Passage",
        "How much is printed here…",
        "",
        _passage,
        lambda window: window.ranges.ask_printed(),
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
    Command(
        "carry", "Watch-list", "Same fingers and marks as before", "Ctrl+D", _again, lambda window: window.watch.carry()
    ),
    Command("listen", "Listen", "Listen", "Ctrl+M", _part, lambda window: window.listen_bar.toggle()),
    Command("play", "Listen", "Play or stop", "Ctrl+Space", _part, lambda window: window.listen_bar.play_or_stop()),
    Command("sound", "Listen", "Write sound file…", "", _part, lambda window: window.listen_bar.ask_write()),
    Command("bows", "View", "Show the bow", "Ctrl+B", _plan, lambda window: window.music.toggle_bows()),
    Command("larger", "View", "Larger", "Ctrl++", _score, lambda window: window.music.zoom(1)),
    Command("smaller", "View", "Smaller", "Ctrl+-", _score, lambda window: window.music.zoom(-1)),
    Command("fit_width", "View", "As wide as the window", "Ctrl+0", _score, lambda window: window.music.fit_width()),
    Command(
        "stop", "View", "Stop working", "Ctrl+.", lambda w: w.desk.tasks.is_busy, lambda w: w.desk.tasks.stop_all()
    ),
)
