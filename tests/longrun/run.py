"""The run: what is done, what must hold after it, and what the process holds of the machine."""

from __future__ import annotations

import ctypes
import gc
import os
import sys
import threading
import traceback
from collections import Counter
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from types import TracebackType
from unittest.mock import patch

import numpy as np
from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from app.job.recovery.folder import bring_back
from app.sound.speaker import NoDeviceError
from app.window.background.heap import give_back
from app.window.main_window import MainWindow
from tests.analysis.invariants import offenders
from tests.app.person import Person
from tests.waiting import wait_until

# How often commands of a menu are given, and how often something else is done in between. By ear.
MENUS = {
    "Edit": 10.0,
    "Marks": 8.0,
    "Passage": 4.0,
    "Watch-list": 6.0,
    "View": 3.0,
    "Listen": 1.0,
    "Score": 0.4,
    "Help": 0.2,
}
OTHER_THINGS = {"select": 25.0, "type": 10.0, "part": 1.5, "close": 4.0}
_PAGE = os.sysconf("SC_PAGE_SIZE")


@dataclass(frozen=True, slots=True)
class Held:
    """What the process holds: memory in MB and what of it is lent out, threads, open files, the window's objects.

    What the C library lent out does not count the holes between; Python's small objects lie beside it.
    """

    memory: float
    lent: float
    threads: int
    files: int
    objects: int


@dataclass(slots=True)
class Told:
    """What came of a run."""

    done: Counter[str] = field(default_factory=Counter)
    held: list[Held] = field(default_factory=list)
    offences: list[str] = field(default_factory=list)


class LongRun:
    """``score`` is worked on in ``folder``; every ``stage`` commands it is saved and opened again."""

    def __init__(self, window: MainWindow, score: Path, folder: Path, seed: int, stage: int) -> None:
        self.window, self.score, self.stage = window, score, stage
        self.recovery = folder / "recovery"
        written = folder / "written"
        written.mkdir()
        self.person = Person(window, written, seed)
        self.told = Told()

    def run(self, commands: int) -> Told:
        """Give so many commands."""
        with self.person.sitting(), patch.object(sys, "excepthook", self.bug):
            self.open(self.score)
            self.open_sound()
            for number in range(commands):
                what = self.step()
                self.told.done[what] += 1
                self.told.offences += [f"{number}, {what}: {words}" for words in self.offences()]
                if number % self.stage == self.stage - 1:
                    self.end_of_stage(number)
            self.person.close_others()
            self.window.desk.history.setClean()
        return self.told

    # What is done

    def open(self, path: Path) -> None:
        window = self.window
        before = window.desk.score
        window.open(path)
        wait_until(lambda: window.desk.score is not before and bool(window.desk.pages))
        self.person.settle()

    def open_sound(self) -> None:
        """Have the sound device opened, if there is one: it stays open, and its files are no growth."""
        speaker = self.window.player.speaker
        with suppress(NoDeviceError):
            speaker.start(lambda frames: np.zeros((frames, 2), dtype=np.int16))
            speaker.stop()

    def step(self) -> str:
        """One command that is possible, or something else that a person does; what it was."""
        random = self.person.random
        possible = self.person.possible()
        weights = Counter(command.menu for command in possible)
        things = [(command.name, MENUS[command.menu] / weights[command.menu]) for command in possible]
        things += list(OTHER_THINGS.items())
        (what,) = random.choices([name for name, _ in things], [weight for _, weight in things])
        match what:
            case "select":
                self.person.select_anything()
            case "type":
                key = random.choice((Qt.Key.Key_0, Qt.Key.Key_1, Qt.Key.Key_2, Qt.Key.Key_3, Qt.Key.Key_4))
                QTest.keyClick(self.window.music, key)
            case "part" if self.window.desk.score is not None:
                self.window.desk.turn_to(random.choice(self.window.desk.score.score.parts).id)
            case "close":
                self.person.close_others()
            case _:
                self.person.do(what)
        QApplication.processEvents()
        if random.random() < 0.3:
            self.person.settle()
        return what

    def end_of_stage(self, number: int) -> None:
        """Look at the journal, save, open again, and see what the process holds."""
        desk, person = self.window.desk, self.person
        person.settle()
        person.close_others()
        self.told.offences += [f"{number}, journal: {words}" for words in self.journal_offences()]
        work = desk.state.work
        person.do("save")
        (project,) = person.folder.glob("*.handframe")
        self.open(project)
        if dict(desk.state.work.parts) != dict(work.parts) or desk.state.work.printing != work.printing:
            self.told.offences.append(f"{number}, saved and opened again: the work is another")
        gc.unfreeze()
        gc.collect()
        self.told.held.append(held(self.window))

    # What must hold

    def bug(self, kind: type[BaseException], error: BaseException, trace: TracebackType | None) -> None:
        """What no handler caught, in a slot or in a task."""
        self.told.offences.append("".join(traceback.format_exception(kind, error, trace)))

    def offences(self) -> Iterator[str]:
        """What is wrong now."""
        window, desk = self.window, self.window.desk
        if desk.part is None or desk.part_work is None:
            yield "no part is in hand"
            return
        if desk.note_id is not None and desk.note_id not in desk.part:
            yield "a note of another part is selected"
        if desk.passage is not None and not 0 <= desk.passage[0] <= desk.passage[1] < len(desk.part.measures):
            yield "measures are selected that are not there"
        if window.watch.entry is not None and window.watch.entry not in window.watch.entries:
            yield "the entry in hand is not on the list"
        if window.pencil.mark is not None and window.pencil.mark not in window.pencil.marks:
            yield "the mark in hand does not stand"
        plan = desk.plan
        if plan is not None:
            if dict(plan.locks) != dict(desk.part_work.locks):
                yield "the fingering has other locks than the work"
            yield from offenders(plan, with_ways=False)
        if window.isWindowModified() != (not desk.history.isClean()):
            yield "the title does not say whether there is unsaved work"

    def journal_offences(self) -> Iterator[str]:
        """What a crash would lose now."""
        if not self.window.safety.flush():
            yield "the disk does not have everything"
        newest = max(self.recovery.glob("*.journal"), key=lambda path: path.stat().st_mtime_ns)
        if dict(bring_back(newest).work.parts) != dict(self.window.desk.state.work.parts):
            yield "what would be brought back is not what is shown"


def held(window: MainWindow) -> Held:
    """What the process and the window hold now, once the C library has given back what it kept of freed memory."""
    give_back()
    resident = int(Path("/proc/self/statm").read_text().split()[1]) * _PAGE / 1e6
    files = len(list(Path("/proc/self/fd").iterdir()))
    return Held(resident, _lent(), threading.active_count(), files, len(window.findChildren(object)))


_COUNTS = ("arena", "ordblks", "smblks", "hblks", "hblkhd", "usmblks", "fsmblks", "uordblks", "fordblks", "keepcost")


class _Mallinfo(ctypes.Structure):
    """What mallinfo2(3) of the GNU C library tells, in bytes, in the order of its struct."""

    _fields_ = tuple((name, ctypes.c_size_t) for name in _COUNTS)


def _lent() -> float:
    """MB that the C library has given out and not got back."""
    tell = ctypes.CDLL(None).mallinfo2
    tell.restype = _Mallinfo
    told = tell()
    return (int(told.uordblks) + int(told.hblkhd)) / 1e6
