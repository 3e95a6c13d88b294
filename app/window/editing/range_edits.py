"""What the teacher decides of all selected measures at once: position, string, and how much is printed there."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from analysis.errors import HouseRuleError
from analysis.fingering.locks import Lock
from analysis.fingering.placements import hand_places
from analysis.fingering.plan import Plan
from analysis.fingering.position_words import full_position
from analysis.instruments import Instrument
from analysis.language import _, n_
from analysis.music import Part
from app.errors import AppError
from app.job.rules.passage import with_rule_in
from app.job.rules.words import CHOICES, string_words
from app.job.teacher.locking import with_measures_locked
from app.window import dialogs
from app.window.editing.desk import Desk
from app.window.editing.steps import PartState, Step

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
            locks = _position_locks(plan.setting.instrument)
            offered = {full_position(name): lock for name, lock in locks.items()}
            self._ask_lock(_("Position for the passage"), _("All notes in"), offered, _("{measures} in {position}"))

    def ask_string(self) -> None:
        """Ask for a string, and keep the selected measures on it."""
        plan = self._desk.plan
        if plan is not None:
            instrument = plan.setting.instrument
            strings = [one.number for one in instrument.strings]
            offered = {string_words(number, instrument): Lock(string=number) for number in strings}
            self._ask_lock(_("String for the passage"), _("All notes on the"), offered, _("{measures} on the {string}"))

    def ask_printed(self) -> None:
        """Ask how much is printed in the selected measures."""
        part, work, measures = self._desk.part, self._desk.part_work, self._desk.passage
        if part is None or work is None or measures is None:
            return
        words = {_(word): value for value, word in CHOICES["printed"].items()}
        question = _("Fingers in {measures}").format(measures=part.span(measures))
        answer = dialogs.ask_choice(self._window, _("How much is printed"), question, list(words))
        value = words.get(answer) if answer is not None else None
        if value is None or self._desk.part is not part:
            return
        try:
            rules = with_rule_in(work.rules, part, measures, "printed", value)
        except (AppError, HouseRuleError) as error:
            self._desk.failed.emit(str(error))
            return
        self._desk.set_rules(rules, _("{measures} printed {where}").format(measures=part.span(measures), where=answer))

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
                _("{measures}: decided again").format(measures=part.span(measures)),
                refuse=False,
            )

    def _ask_lock(self, title: str, question: str, offered: Mapping[str, Lock], step: str) -> None:
        """Have one of the locks offered chosen by its words; ``step``: what the step is called, to be filled in."""
        part, plan, measures = self._desk.part, self._desk.plan, self._desk.passage
        if part is None or plan is None or measures is None:
            return
        present = next((words for words, lock in offered.items() if _begins(plan, part, measures, lock)), "")
        answer = dialogs.ask_choice(self._window, title, question, list(offered), present)
        if answer is None or self._desk.part is not part:
            return
        self._relock(
            lambda locks: with_measures_locked(part, locks, measures, offered[answer]),
            step.format(measures=part.span(measures), position=answer, string=answer),
        )

    def _relock(self, change: Callable[[_Locks], _Locks], text: str, *, refuse: bool = True) -> None:
        """Finger the part in hand under other locks; where they cannot be kept, ``refuse`` them in words."""
        desk, part, plan, score = self._desk, self._desk.part, self._desk.plan, self._desk.score
        if part is None or plan is None:
            desk.said.emit(_("The part is being fingered anew: please ask again when it is."))
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

        desk.tasks.run(
            _("Fingering {name}").format(name=part.name), lambda tick: plan.with_locks(locks), planned, self._failed
        )

    def _failed(self, error: Exception) -> None:
        self._desk.failed.emit(str(error))


def _position_locks(instrument: Instrument) -> dict[str, Lock]:
    """The lock that each name of a position means; one of two places with the same number is held by its own place."""
    every = hand_places(instrument)
    locks: dict[str, Lock] = {}
    for name in dict.fromkeys(place.name for place in every):
        named = [place for place in every if place.name == name]
        shared = len(named) == 1 and sum(place.number == named[0].number for place in every) > 1
        locks[name] = Lock(position=named[0].number, hand=named[0].place if shared else None)
    return locks


def _begins(plan: Plan, part: Part, measures: _Measures, lock: Lock) -> bool:
    """Whether the passage begins as the lock would have it; an open string says nothing of a position."""
    placements = (placement for note_id, placement in plan.choices() if _inside(part, note_id, measures))
    first = next((one for one in placements if lock.position is None or not one.is_open), None)
    return first is not None and lock.admits(first)


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
    told = [f"{reasons[0][0].upper()}{reasons[0][1:]}."]
    others = len(reasons) - 1
    if others:
        words = n_("There is one more such note.", "There are {number} more such notes.", others)
        told.append(words.format(number=others))
    if any(note_id in old.locks for note_id in wrong):
        told.append(_("Some of these notes are fixed otherwise: let Handframe decide again there first."))
    return " ".join((*told, _("Nothing has been changed.")))
