"""Asks about what a process left behind when it died, and about files that lie open in another window."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from functools import partial
from pathlib import Path

from PySide6.QtCore import QSysInfo
from PySide6.QtWidgets import QWidget

from app.job.opening import Opened, open_any
from app.job.recovery import LeftBehind, bring_back
from app.window import dialogs
from app.window.desk import Desk
from app.window.safety import Safety


class Rescuer:
    """Opens files on the desk with nothing lost; ``window`` owns the dialogs."""

    def __init__(self, desk: Desk, safety: Safety, window: QWidget) -> None:
        self._desk, self._safety, self._window = desk, safety, window

    def start(self, file: Path | None) -> None:
        """Open a file as the program starts, or offer what was left behind."""
        if file is None:
            self._brought_back(self._safety.left_behind())
            return
        others = [left for left in self._safety.left_behind() if left.file.absolute() != file.absolute()]
        self.open(file)
        if others:
            self._desk.said.emit(_others(len(others)))

    def open(self, file: Path) -> None:
        """Open a score or project, or the unsaved work on it; a copy, if it lies open in another window already."""
        if self._brought_back(self._safety.left_behind(file)):
            return
        holder = self._safety.holder(file)
        if holder is None:
            self._desk.open(file)
        elif dialogs.ask_copy(self._window, _open_elsewhere(file, holder)):
            self._desk.open(file, _copy_of)

    def _brought_back(self, found: tuple[LeftBehind, ...]) -> bool:
        """Ask what to do with each, until one is brought back; whether one is."""
        for left in found:
            answer = dialogs.ask_rescue(self._window, _left_words(left), can_bring_back=not left.fault)
            if answer is dialogs.Rescue.THROW_AWAY:
                self._safety.throw_away(left)
            elif answer is dialogs.Rescue.BRING_BACK:
                self._desk.open(left.file, partial(_from_journal, left.journal))
                return True
        return False


def _from_journal(journal: Path, _: Path) -> Opened:
    return bring_back(journal)


def _copy_of(file: Path) -> Opened:
    """A file opened so that it is saved elsewhere."""
    return replace(open_any(file), path=None)


def _left_words(left: LeftBehind) -> str:
    when = _time_words(datetime.fromtimestamp(left.edited), datetime.now())
    if left.fault:
        return f"Unsaved work from {when} cannot be brought back: {left.fault}."
    sentences = [f"Work on {left.name} from {when} was not saved."]
    if left.lost:
        edits = "the last edit is" if left.lost == 1 else f"the last {left.lost} edits are"
        sentences.append(f"It can be brought back up to then; {edits} damaged.")
    if left.overtaken:
        sentences.append(f"{left.name} has been saved since, so this is brought back as a copy.")
    return " ".join(sentences)


def _time_words(then: datetime, now: datetime) -> str:
    """A moment in words: "14:05" today, "3 May, 14:05" this year."""
    if then.date() == now.date():
        return f"{then:%H:%M}"
    year = "" if then.year == now.year else f" {then.year}"
    return f"{then.day} {then:%B}{year}, {then:%H:%M}"


def _open_elsewhere(file: Path, holder: str) -> str:
    where = "" if holder == QSysInfo.machineHostName() else f" on the computer {holder}"
    return (
        f"{file.name} is open in another window of Handframe{where}. "
        "You can open a copy to look at; it is saved as another file."
    )


def _others(number: int) -> str:
    what = "Unsaved work on another score is" if number == 1 else f"Unsaved work on {number} other scores is"
    return f"{what} kept, and offered when you open it or start Handframe without a score."
