"""Asks about what a process left behind when it died, and about files that lie open in another window."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from functools import partial
from pathlib import Path

from PySide6.QtCore import QObject, QSysInfo, Signal
from PySide6.QtWidgets import QWidget

from analysis.language import _, n_
from app.job.files.opening import Opened, open_any
from app.job.recovery.folder import LeftBehind, bring_back
from app.window import dialogs
from app.window.editing.desk import Desk
from app.window.safe.safety import Safety
from app.window.style.tongue import date_words


class Rescuer(QObject):
    """Opens files on the desk with nothing lost; ``window`` owns the dialogs.

    ``changed``: there is unsaved work left behind now, or there is none any more.
    """

    changed = Signal()

    def __init__(self, desk: Desk, safety: Safety, window: QWidget) -> None:
        super().__init__(window)
        self._desk, self._safety, self._window = desk, safety, window
        self.has_more = False
        desk.opened.connect(self._count)

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

    def offer(self, ready: Callable[[], bool]) -> None:
        """Offer all that was left behind again; ``ready`` asks about what lies open before it gives way."""
        found = self._safety.left_behind()
        if not found:
            self._desk.said.emit(_("There is no unsaved work left; another window may have brought it back."))
        self._brought_back(found, ready)

    def _brought_back(self, found: tuple[LeftBehind, ...], ready: Callable[[], bool] = lambda: True) -> bool:
        """Ask what to do with each, until one is brought back; whether one is."""
        try:
            for left in found:
                answer = dialogs.ask_rescue(self._window, _left_words(left), can_bring_back=not left.fault)
                if answer is dialogs.Rescue.THROW_AWAY:
                    self._safety.throw_away(left)
                elif answer is dialogs.Rescue.BRING_BACK:
                    if ready():
                        self._desk.open(left.file, partial(_from_journal, left.journal))
                        return True
                    return False
            return False
        finally:
            self._count()

    def _count(self) -> None:
        """See whether anything is left behind."""
        has_more = bool(self._safety.left_behind())
        if has_more != self.has_more:
            self.has_more = has_more
            self.changed.emit()


def _from_journal(journal: Path, file: Path) -> Opened:
    return bring_back(journal)


def _copy_of(file: Path) -> Opened:
    """A file opened so that it is saved elsewhere."""
    return replace(open_any(file), path=None)


def _left_words(left: LeftBehind) -> str:
    when = _time_words(datetime.fromtimestamp(left.edited), datetime.now())
    if left.fault:
        words = _("Unsaved work from {when} cannot be brought back: {fault}.")
        return words.format(when=when, fault=left.fault)
    sentences = [_("Work on {name} from {when} was not saved.").format(name=left.name, when=when)]
    if left.lost:
        words = n_(
            "It can be brought back up to then; the last edit is damaged.",
            "It can be brought back up to then; the last {number} edits are damaged.",
            left.lost,
        )
        sentences.append(words.format(number=left.lost))
    if left.overtaken:
        words = _("{name} has been saved since, so this is brought back as a copy.")
        sentences.append(words.format(name=left.name))
    return " ".join(sentences)


def _time_words(then: datetime, now: datetime) -> str:
    """A moment in words: "14:05" today, "3 May, 14:05" this year."""
    if then.date() == now.date():
        return f"{then:%H:%M}"
    date = date_words(then, year=then.year != now.year)
    return _("{date}, {time}").format(date=date, time=f"{then:%H:%M}")


def _open_elsewhere(file: Path, holder: str) -> str:
    words = _("{name} is open in another window of Handframe.")
    if holder != QSysInfo.machineHostName():
        words = _("{name} is open in another window of Handframe on the computer {computer}.")
    copy = _("You can open a copy to look at; it is saved as another file.")
    return f"{words.format(name=file.name, computer=holder)} {copy}"


def _others(number: int) -> str:
    words = n_(
        "Unsaved work on another score is kept; Unsaved work in the menu Score offers it.",
        "Unsaved work on {number} other scores is kept; Unsaved work in the menu Score offers it.",
        number,
    )
    return words.format(number=number)
