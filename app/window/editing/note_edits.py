"""What the teacher decides of the selected note: how it is played, or that Handframe decides again."""

from __future__ import annotations

from PySide6.QtCore import QObject

from analysis.fingering.locks import Lock
from analysis.fingering.placements import Placement
from analysis.fingering.plan import Way
from analysis.language import _
from app.job.words.notes import placement_words
from app.window.editing.desk import Desk


class NoteEdits(QObject):
    """Each is one undoable step; what cannot be is told in words, and nothing is changed then."""

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._desk = desk

    def choose(self, way: Way) -> None:
        """Fix the selected note to one of its ways."""
        self.choose_placement(way.placement)

    def choose_placement(self, placement: Placement) -> None:
        """Fix the selected note to one way of stopping it, whether or not the house rules have it."""
        note, plan = self._desk.note, self._desk.plan
        if note is not None and plan is not None and Lock.on(placement) != plan.locks.get(note.id):
            words = placement_words(placement, plan.setting.instrument)
            self._desk.lock(note.id, Lock.on(placement), f"{note.pitch.said}: {words}")

    def finger(self, finger: int, strings_up: int = 0) -> None:
        """Fix the selected note to a finger, on its string or so many above; the rest stays the solver's choice."""
        note, plan = self._desk.note, self._desk.plan
        if note is not None and plan is not None:
            choice = plan.choice(note.id)
            string = choice.string - strings_up if strings_up and choice is not None else None
            if string is not None and not 1 <= string <= len(plan.setting.instrument.strings):
                self._desk.said.emit(_("{note}: there is no string further that way.").format(note=note.pitch.words))
                return
            lock = Lock(finger=finger, string=string)
            self._desk.lock(note.id, lock, f"{note.pitch.said}: {lock.words(plan.setting.instrument)}")

    def keep(self) -> None:
        """Fix the selected note as it is played now."""
        note, plan = self._desk.note, self._desk.plan
        choice = plan.choice(note.id) if note is not None and plan is not None else None
        if note is not None and plan is not None and choice is not None:
            words = placement_words(choice, plan.setting.instrument)
            self._desk.lock(
                note.id, Lock.on(choice), _("{note}: kept, {words}").format(note=note.pitch.said, words=words)
            )

    def release(self) -> None:
        """Let the solver decide again how the selected note is played."""
        note = self._desk.note
        if note is not None:
            self._desk.lock(note.id, None, _("{note}: decided again").format(note=note.pitch.said))
