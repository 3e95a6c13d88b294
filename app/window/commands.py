"""Everything the user can do, in one table: menus and shortcuts come from it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from types import ModuleType
from typing import TYPE_CHECKING

from analysis.language import _, later
from app.job.teacher.watching import OWN
from app.window import dialogs
from engraving.marks.teacher import MARK_KINDS, MarkKind

if TYPE_CHECKING:
    from app.window.main_window import MainWindow


def _always(window: MainWindow) -> bool:
    return True


def _score(window: MainWindow) -> bool:
    return window.desk.score is not None


def _several_parts(window: MainWindow) -> bool:
    return window.desk.score is not None and len(window.desk.score.score.parts) > 1


def _left_behind(window: MainWindow) -> bool:
    return window.rescue.has_more


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
    return window.watch_panel.shows_entry


def _finding(window: MainWindow) -> bool:
    return window.watch.entry is not None and window.watch.entry.finding.kind != OWN


def _shown_finding(window: MainWindow) -> bool:
    return _finding(window) and _entry(window)


def _notes(window: MainWindow) -> bool:
    return window.desk.ends is not None


def _mark(window: MainWindow) -> bool:
    return window.pencil.mark is not None


def _marks_here(window: MainWindow) -> bool:
    return _notes(window) and bool(window.pencil.here)


def _again(window: MainWindow) -> bool:
    return _entry(window) and window.watch.entry is not None and bool(window.watch.entry.finding.again)


@dataclass(frozen=True, slots=True)
class Command:
    """One action: its menu, the text shown, its keys, when it can be done, and what it does.

    Menu and text are in English. ``apart``: a line divides it from the one above it. ``asks``: dots follow the text.
    """

    name: str
    menu: str
    text: str
    shortcut: str
    enabled: Callable[[MainWindow], bool]
    run: Callable[[MainWindow], object]
    apart: bool = False
    asks: bool = False

    @property
    def words(self) -> str:
        """The text shown, in the user's language."""
        return f"{_(self.text)}…" if self.asks else _(self.text)


# The menus.
_SCORE, _EDIT, _MARKS, _PASSAGE = later("Score"), later("Edit"), later("Marks"), later("Passage")
_WATCH_LIST, _LISTEN, _VIEW, _HELP = later("Watch-list"), later("Listen"), later("View"), later("Help")

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


def _help() -> ModuleType:
    """The manual's window, which reads this table itself: loaded when it is asked for."""
    from app.window.help import help_window

    return help_window


def _place(kind: MarkKind) -> Command:
    """The command that places a mark of a kind."""
    first = kind.name == next(iter(MARK_KINDS))
    return Command(
        f"mark-{kind.name}",
        _MARKS,
        kind.title,
        _MARK_KEYS.get(kind.name, ""),
        _notes,
        lambda window: window.wording.mark(kind),
        apart=first or kind.name == "slur",
        asks=kind.takes_text,
    )


COMMANDS = (
    Command("open", _SCORE, later("Open…"), "Ctrl+O", _always, lambda window: window.ask_open()),
    Command("unsaved", _SCORE, later("Unsaved work…"), "", _left_behind, lambda window: window.offer_unsaved()),
    Command("save", _SCORE, later("Save"), "Ctrl+S", _score, lambda window: window.paperwork.save(), apart=True),
    Command("save_as", _SCORE, later("Save as…"), "Ctrl+Shift+S", _score, lambda window: window.paperwork.save_as()),
    Command(
        "printing",
        _SCORE,
        later("Paper and copies…"),
        "Ctrl+Shift+C",
        _score,
        lambda w: w.paperwork.choose_printing(),
        apart=True,
    ),
    Command(
        "see_part", _SCORE, later("Look at the part on paper…"), "Ctrl+L", _score, lambda w: w.previews.look_at_part()
    ),
    Command(
        "print", _SCORE, later("Print part to PDF…"), "Ctrl+P", _score, lambda window: window.paperwork.print_part()
    ),
    Command(
        "set",
        _SCORE,
        later("Print all parts to one PDF…"),
        "Ctrl+Alt+P",
        _score,
        lambda w: w.paperwork.print_set(one_file=True),
    ),
    Command(
        "files",
        _SCORE,
        later("Print all parts, one PDF each…"),
        "",
        _score,
        lambda w: w.paperwork.print_set(one_file=False),
    ),
    Command(
        "see_sheet",
        _SCORE,
        later("Look at the practice sheet…"),
        "Ctrl+Shift+L",
        _plan,
        lambda w: w.previews.look_at_practice_sheet(),
        apart=True,
    ),
    Command(
        "sheet", _SCORE, later("Practice sheet to PDF…"), "Ctrl+Shift+P", _plan, lambda w: w.paperwork.practice_sheet()
    ),
    Command(
        "export",
        _SCORE,
        later("Write marked MusicXML…"),
        "Ctrl+E",
        _plan,
        lambda window: window.paperwork.export(),
        apart=True,
    ),
    Command("quit", _SCORE, later("Quit"), "Ctrl+Q", _always, lambda window: window.close(), apart=True),
    Command(
        "undo", _EDIT, later("Undo"), "Ctrl+Z", lambda w: w.desk.history.canUndo(), lambda w: w.desk.history.undo()
    ),
    Command(
        "redo",
        _EDIT,
        later("Redo"),
        "Ctrl+Shift+Z",
        lambda w: w.desk.history.canRedo(),
        lambda w: w.desk.history.redo(),
    ),
    Command("keep", _EDIT, later("Keep this fingering"), "Shift+K", _fingered_note, lambda window: window.notes.keep()),
    Command(
        "release",
        _EDIT,
        later("Let Handframe decide again"),
        "Backspace",
        _locked_note,
        lambda window: window.notes.release(),
    ),
    Command(
        "rules", _EDIT, later("House rules…"), "Ctrl+H", _part, lambda window: window.ruling.edit_rules(), apart=True
    ),
    Command(
        "take_away", _MARKS, later("Take the mark away"), "Delete", _mark, lambda window: window.pencil.take_away()
    ),
    Command("back", _MARKS, later("Mark back to its place"), "", _mark, lambda window: window.pencil.move(0, 0)),
    Command("clean", _MARKS, later("Take all marks here away"), "", _marks_here, lambda w: w.pencil.take_all_away()),
    Command(
        "digit", _MARKS, later("Digit on paper"), "Ctrl+Alt+1", _notes, lambda w: w.pencil.print_digit(True), apart=True
    ),
    Command(
        "no_digit", _MARKS, later("No digit on paper"), "Ctrl+Alt+2", _notes, lambda w: w.pencil.print_digit(False)
    ),
    Command(
        "rule_digit",
        _MARKS,
        later("Digit as the house rules say"),
        "Ctrl+Alt+3",
        _notes,
        lambda w: w.pencil.print_digit(None),
    ),
    *(_place(kind) for kind in MARK_KINDS.values()),
    Command(
        "shape", _PASSAGE, later("Shape each bar"), "Ctrl+Shift+B", _passage, lambda window: window.pencil.shape_bars()
    ),
    Command(
        "name", _PASSAGE, later("Name the passage…"), "Ctrl+G", _passage, lambda window: window.wording.name_passage()
    ),
    Command(
        "picture", _PASSAGE, later("Picture of the passage…"), "", _passage, lambda w: w.paperwork.passage_picture()
    ),
    Command(
        "chart",
        _PASSAGE,
        later("Picture of the fingerboard…"),
        "",
        _passage,
        lambda w: w.paperwork.fingerboard_picture(),
    ),
    Command(
        "in_position",
        _PASSAGE,
        later("Position for the passage…"),
        "Ctrl+Shift+N",
        _passage,
        lambda window: window.ranges.ask_position(),
        apart=True,
    ),
    Command(
        "on_string",
        _PASSAGE,
        later("String for the passage…"),
        "Ctrl+Shift+T",
        _passage,
        lambda w: w.ranges.ask_string(),
    ),
    Command(
        "release_all",
        _PASSAGE,
        later("Let Handframe decide again here"),
        "Ctrl+Shift+Backspace",
        lambda window: _passage(window) and window.ranges.has_locks,
        lambda window: window.ranges.release(),
    ),
    Command(
        "passage_rules",
        _PASSAGE,
        later("Rules for the passage…"),
        "Ctrl+Shift+H",
        _passage,
        lambda window: window.ruling.edit_passage_rules(),
    ),
    Command(
        "passage_printed",
        _PASSAGE,
        later("How much is printed here…"),
        "",
        _passage,
        lambda window: window.ranges.ask_printed(),
    ),
    Command(
        "compare", _PASSAGE, later("Compare ways to play it…"), "Ctrl+K", _passage, lambda window: window.compare()
    ),
    Command(
        "clear", _PASSAGE, later("Select nothing"), "Esc", _passage, lambda window: window.desk.select_passage(None)
    ),
    Command("next", _WATCH_LIST, later("Next entry"), "Ctrl+Down", _listed, lambda window: window.watch_panel.step(1)),
    Command(
        "previous", _WATCH_LIST, later("Entry before"), "Ctrl+Up", _listed, lambda window: window.watch_panel.step(-1)
    ),
    Command(
        "accept", _WATCH_LIST, later("On the practice sheet"), "Ctrl+Return", _shown_finding, lambda w: w.watch.accept()
    ),
    Command("hide", _WATCH_LIST, later("Hide"), "Ctrl+Backspace", _finding, lambda window: window.watch.hide()),
    Command("reword", _WATCH_LIST, later("Other words…"), "Ctrl+R", _entry, lambda window: window.wording.reword()),
    Command(
        "join", _WATCH_LIST, later("Add a note to it…"), "Ctrl+J", _shown_finding, lambda window: window.wording.join()
    ),
    Command(
        "own_note",
        _WATCH_LIST,
        later("Write your own note…"),
        "Ctrl+N",
        _note,
        lambda window: window.wording.write_note(),
    ),
    Command(
        "entry_passage",
        _WATCH_LIST,
        later("Make a passage of it…"),
        "Ctrl+Shift+G",
        _entry,
        lambda w: w.wording.name_entry(),
    ),
    Command(
        "carry",
        _WATCH_LIST,
        later("Same fingers and marks as before"),
        "Ctrl+D",
        _again,
        lambda window: window.watch.carry(),
    ),
    Command("listen", _LISTEN, later("Listen"), "Ctrl+M", _part, lambda window: window.listen_bar.toggle()),
    Command(
        "play", _LISTEN, later("Play or stop"), "Ctrl+Space", _part, lambda window: window.listen_bar.play_or_stop()
    ),
    Command("sound", _LISTEN, later("Write sound file…"), "", _part, lambda window: window.listen_bar.ask_write()),
    Command(
        "full_score",
        _VIEW,
        later("Full score or one part"),
        "Ctrl+T",
        _several_parts,
        lambda w: w.desk.show_full_score(not w.desk.shows_full_score),
    ),
    Command("bows", _VIEW, later("Show the bow"), "Ctrl+B", _plan, lambda window: window.music.toggle_bows()),
    Command("larger", _VIEW, later("Larger"), "Ctrl++", _score, lambda window: window.music.zoom(1)),
    Command("smaller", _VIEW, later("Smaller"), "Ctrl+-", _score, lambda window: window.music.zoom(-1)),
    Command(
        "fit_width", _VIEW, later("As wide as the window"), "Ctrl+0", _score, lambda window: window.music.fit_width()
    ),
    Command(
        "colours",
        _VIEW,
        later("Colours…"),
        "Ctrl+Shift+D",
        _always,
        lambda window: dialogs.ask_colours(window, window.colouring),
    ),
    Command(
        "stop",
        _VIEW,
        later("Stop working"),
        "Ctrl+.",
        lambda w: w.desk.tasks.is_busy,
        lambda w: w.desk.tasks.stop_all(),
    ),
    Command("manual", _HELP, later("Manual"), "F1", _always, lambda window: _help().open_manual(window)),
    Command("keys", _HELP, later("Keys"), "Ctrl+F1", _always, lambda window: _help().open_keys(window)),
)
# These answer to their keys in every window.
EVERYWHERE = ("manual", "keys")
