"""What the teacher decides of all selected measures at once: position, string, and how much is printed there."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from analysis.errors import HouseRuleError
from analysis.fingering.locks import Lock
from analysis.fingering.placements import hand_places
from analysis.fingering.plan import Plan
from analysis.music import Part
from app.errors import AppError
from app.job.locking import read_lock, with_measures_locked
from app.job.passage_rules import with_rule_in
from app.job.rule_words import CHOICES
from app.window import dialogs
from app.window.desk import Desk, PartState, Step

_Locks = Mapping[str, Lock]
_Measures = tuple[int, int]


class RangeEdits(QObject):
    """Each is one undoable step; what cannot be is told in words, and nothing is changed then."""

    def __init__(self, desk: Desk, window: QWidget) -> None:
        super().__init__(window)
        self._desk, self._window = desk, window

    def ask_position(self) -> None:
        """Ask for a position, and keep the selected measures in it."""
        plan = self._desk.plan
        if plan is not None:
            every = hand_places(plan.setting.instrument)
            offered = [f"{name} position" for name in dict.fromkeys(place.name for place in every)]
            self._ask_lock("Position for the passage", "All notes in", offered, "in")

    def ask_string(self) -> None:
        """Ask for a string, and keep the selected measures on it."""
        plan = self._desk.plan
        if plan is not None:
            offered = [f"{string.letter} string" for string in plan.setting.instrument.strings]
            self._ask_lock("String for the passage", "All notes on the", offered, "on the")

    def ask_printed(self) -> None:
        """Ask how much is printed in the selected measures."""
        part, work, measures = self._desk.part, self._desk.part_work, self._desk.passage
        if part is None or work is None or measures is None:
            return
        words = CHOICES["printed"]
        answer = dialogs.ask_choice(
            self._window, "How much is printed", f"Fingers in {part.span(measures)}", list(words.values())
        )
        value = next((value for value, word in words.items() if word == answer), None)
        if value is None or self._desk.part is not part:
            return
        try:
            rules = with_rule_in(work.rules, part, measures, "printed", value)
        except (AppError, HouseRuleError) as error:
            self._desk.failed.emit(str(error))
            return
        self._desk.set_rules(rules, f"{part.span(measures)} printed {answer}")

    @property
    def has_locks(self) -> bool:
        """Whether something is fixed by hand in the selected measures."""
        part, work, measures = self._desk.part, self._desk.part_work, self._desk.passage
        if part is None or work is None or measures is None:
            return False
        return any(_inside(part, note_id, measures) for note_id in work.locks)

    def release(self) -> None:
        """Take off all that is fixed by hand in the selected measures."""
        part, measures = self._desk.part, self._desk.passage
        if part is not None and measures is not None:
            self._relock(
                lambda locks: {key: lock for key, lock in locks.items() if not _inside(part, key, measures)},
                f"{part.span(measures)}: decided again",
                refuse=False,
            )

    def _ask_lock(self, title: str, question: str, offered: Sequence[str], before: str) -> None:
        part, plan, measures = self._desk.part, self._desk.plan, self._desk.passage
        if part is None or plan is None or measures is None:
            return
        answer = dialogs.ask_choice(self._window, title, question, offered)
        if answer is None or self._desk.part is not part:
            return
        lock = read_lock(f"{before} {answer}", plan.setting.instrument)
        self._relock(
            lambda locks: with_measures_locked(part, locks, measures, lock),
            f"{part.span(measures)} {before} {answer}",
        )

    def _relock(self, change: Callable[[_Locks], _Locks], text: str, *, refuse: bool = True) -> None:
        """Finger the part in hand under other locks; where they cannot be kept, ``refuse`` them in words."""
        desk, part, plan, score = self._desk, self._desk.part, self._desk.plan, self._desk.score
        if part is None or plan is None:
            desk.said.emit("The part is being fingered anew: please ask again when it is.")
            return
        locks = _kept(plan, change(plan.locks))
        if locks == dict(plan.locks):
            return

        def planned(new: Plan) -> None:
            if desk.score is not score:
                return
            if desk.state.plans.get(part.id) is not plan:
                if desk.part is part:
                    self._relock(change, text, refuse=refuse)
                return
            sentence = _told(plan, new) if refuse else ""
            if sentence:
                desk.failed.emit(sentence)
                return
            work = desk.state.work.parts[part.id]
            desk.history.push(Step(desk, text, part.id, PartState(work.with_locks(locks), new)))

        desk.tasks.run(f"Fingering {part.name}", lambda tick: plan.with_locks(locks), planned, self._failed)

    def _failed(self, error: Exception) -> None:
        self._desk.failed.emit(str(error))


def _inside(part: Part, note_id: str, measures: _Measures) -> bool:
    return note_id in part and measures[0] <= part.note(note_id).measure <= measures[1]


def _kept(plan: Plan, locks: _Locks) -> dict[str, Lock]:
    """The locks without new ones on notes that the instrument does not have: these are left out anyway."""
    return {
        note_id: lock
        for note_id, lock in locks.items()
        if plan.locks.get(note_id) == lock or note_id in plan or plan.setting.ways_of(plan.part.note(note_id))
    }


def _told(old: Plan, new: Plan) -> str:
    """What cannot be under the new locks, the first of it and how much more, in words; "" where all of it can be."""
    wrong = [note_id for note_id, words in new.problems.items() if words != old.problems.get(note_id)]
    if not wrong:
        return ""
    reasons = list(dict.fromkeys(new.problems[note.id] for note in new.part.notes if note.id in wrong))
    more = f" There are {len(reasons) - 1} more such notes." if len(reasons) > 2 else ""
    more = " There is one more such note." if len(reasons) == 2 else more
    fixed = any(note_id in old.locks for note_id in wrong)
    hint = " Some of these notes are fixed otherwise: let Handframe decide again there first." if fixed else ""
    return f"{reasons[0][0].upper()}{reasons[0][1:]}.{more}{hint} Nothing has been changed."
