"""A person at the window: answers every dialog, gets the window ready for each command, and sees what it changed."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from unittest.mock import patch

from PySide6.QtWidgets import QApplication, QWidget

from app.job.teacher.printing import Copies, Printing
from app.window import dialogs
from app.window.commands import COMMANDS, Command
from app.window.main_window import MainWindow
from tests.conftest import EXAMPLE
from tests.waiting import wait_until

RULES = EXAMPLE.with_name("afternoon-strings.toml")


class Person:
    """``folder`` is where all files go, ``opens`` the score that is chosen; ``seed`` decides what is done and answered.

    ``told``: the sentences that the window told in dialogs, and what else was shown.
    """

    def __init__(self, window: MainWindow, folder: Path, seed: int = 0, opens: Path | None = None) -> None:
        self.window, self.folder, self.opens = window, folder, opens
        self.random = random.Random(seed)
        self.told: list[str] = []

    # Answers

    @contextmanager
    def sitting(self) -> Iterator[Person]:
        """Answer the dialogs while this lasts."""
        answers: dict[str, Callable[..., object]] = {
            "ask_open": lambda parent, title, folder, files: RULES if files == dialogs.RULES_FILES else self.opens,
            "ask_save": lambda parent, title, suggestion, files: self._file(suggestion, files),
            "ask_folder": lambda parent, title, folder: self._new_folder(),
            "ask_unsaved": lambda parent, name: dialogs.Answer.DISCARD,
            "ask_unused": lambda parent, use, usable: dialogs.Answer.DISCARD,
            "ask_rescue": lambda parent, sentences, can_bring_back: dialogs.Rescue.LATER,
            "ask_copy": lambda parent, sentences: False,
            "ask_text": lambda parent, title, question, text: f"Listen to the cellos {self.random.randrange(100)}",
            "ask_words": lambda parent, title, question, offered: self._one_of(offered),
            "ask_choice": lambda parent, title, question, offered, present="": self._one_of(offered),
            "ask_passage": lambda parent, question, name, players: (name or "Tune", "first desk"),
            "ask_printing": self._printing,
            "ask_colours": lambda parent, colouring: self.told.append("colours"),
            "tell": lambda parent, sentence: self.told.append(sentence),
            "tell_bug": self._bug,
        }
        with patch.multiple(dialogs, **answers):
            yield self

    def _file(self, suggestion: str, files: str) -> tuple[Path, str]:
        kind, _, pattern = files.split(";;")[0].partition(" (")
        suffix = pattern.rstrip(")").removeprefix("*")
        name = Path(suggestion).name or "untitled"
        return self.folder / f"{Path(name).stem}{suffix}", f"{kind} (*{suffix})"

    def _new_folder(self) -> Path:
        made = self.folder / f"set {self.random.randrange(10**6)}"
        made.mkdir(exist_ok=True)
        return made

    def _one_of(self, offered: Sequence[str]) -> str:
        return self.random.choice([one for one in offered if one] or ["gently"])

    def _printing(
        self, parent: QWidget, printing: Printing, parts: Sequence[tuple[str, str, Copies]]
    ) -> tuple[Printing, dict[str, Copies]]:
        paper = "letter" if printing.paper == "a4" else "a4"
        return Printing(paper), {part_id: Copies(self.random.randint(1, 3)) for part_id, _, _ in parts}

    def _bug(self, parent: QWidget, sentences: str, details: str) -> None:
        raise AssertionError(details)

    # What it does

    def settle(self) -> None:
        """Wait until nothing is under way."""
        wait_until(lambda: not self.window.tasks.is_busy)

    def do(self, name: str) -> None:
        """A command of the table, which has to be possible."""
        action = self.window.actions_by_name[name]
        assert action.isEnabled(), f"{name} is not possible now"
        action.trigger()

    def possible(self) -> list[Command]:
        """The commands that can be done now, but for the one that ends it all."""
        return [
            command
            for command in COMMANDS
            if command.name != "quit" and self.window.actions_by_name[command.name].isEnabled()
        ]

    def note_ids(self) -> list[str]:
        """The notes of the part in hand."""
        part = self.window.desk.part
        return [note.id for note in part.notes] if part else []

    def select_anything(self) -> None:
        """Select a note, a few notes, some measures, an entry of the watch-list or a mark."""
        desk, ids = self.window.desk, self.note_ids()
        if not ids or desk.part is None:
            return
        at = self.random.randrange(len(ids))
        match self.random.randrange(5):
            case 0 | 1:
                desk.select_note(ids[at])
            case 2:
                desk.select_note(ids[at])
                desk.select_until(ids[min(at + self.random.randint(1, 6), len(ids) - 1)])
            case 3:
                first = self.random.randrange(len(desk.part.measures))
                desk.select_passage((first, min(first + self.random.randint(0, 4), len(desk.part.measures) - 1)))
            case _ if self.window.watch.entries:
                self.window.watch.choose(self.random.choice(self.window.watch.entries))
            case _:
                desk.select_note(None)
        if self.window.pencil.marks and self.random.random() < 0.2:
            self.window.pencil.choose(self.random.choice(self.window.pencil.marks))

    def close_others(self) -> None:
        """Close all windows but the main one."""
        for widget in QApplication.topLevelWidgets():
            if widget is not self.window and widget.isVisible() and widget.isWindow() and widget.parent() is not None:
                widget.close()

    # What it sees

    def sees(self) -> tuple[object, ...]:
        """All that a command may change: the work, what is selected and shown, windows, files, what is said."""
        window, desk = self.window, self.window.desk
        return (
            desk.state.work,
            desk.history.index(),
            desk.note_id,
            desk.until_id,
            desk.passage,
            desk.part,
            desk.shows_full_score,
            window.watch.entry,
            window.pencil.mark,
            window.music.shows_bows,
            window.music.scale,
            window.listen_bar.isVisible(),
            window.player.plays,
            window.listen_bar.sentence.text(),
            window.statusBar().currentMessage(),
            tuple(self.told),
            frozenset(widget for widget in QApplication.topLevelWidgets() if widget.isVisible()),
            tuple(sorted((path, path.stat().st_mtime_ns) for path in self.folder.rglob("*"))),
        )
