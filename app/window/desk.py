"""The open score and the work on it, as the window sees it: one part in hand, every edit an undoable step."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from types import MappingProxyType

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QUndoCommand, QUndoStack

from analysis.fingering.locks import Lock
from analysis.fingering.plan import Plan
from analysis.fingering.rules.house import HouseRules
from analysis.instruments import Instrument
from analysis.music import Note, Part
from app.job.comparing import Weighed, locks_of
from app.job.opening import Opened, open_any
from app.job.pencilling import to_engrave
from app.job.printing import Copies, Printing
from app.job.project import save_project
from app.job.work import PartWork, Work
from app.window.tasks import Task, TaskRunner
from engraving.engraver import EngravedPage, engrave
from engraving.extract import part_for_engraving
from engraving.layout import A4
from engraving.marks.teacher import TeacherMark


@dataclass(frozen=True, slots=True)
class Engraved:
    """The pages of one part with the teacher's ``marks`` in them, by number; ``whole``: these are all pages."""

    pages: tuple[EngravedPage, ...] = ()
    marks: tuple[TeacherMark, ...] = ()
    whole: bool = False


@dataclass(frozen=True, slots=True)
class PartState:
    """The settings of one part and its fingering, ``None`` while it is not worked out."""

    work: PartWork
    plan: Plan | None


@dataclass(frozen=True, slots=True)
class State:
    """Everything that undo brings back: the work, and the plan of each part that has been fingered."""

    work: Work
    plans: Mapping[str, Plan]

    def part(self, part_id: str) -> PartState:
        """What holds of one part."""
        return PartState(self.work.parts[part_id], self.plans.get(part_id))

    def with_part(self, part_id: str, part: PartState) -> State:
        """The same with another state of one part."""
        plans = {key: value for key, value in self.plans.items() if key != part_id}
        if part.plan is not None:
            plans[part_id] = part.plan
        return State(self.work.with_part(part_id, part.work), MappingProxyType(plans))


class Step(QUndoCommand):
    """One labelled edit of one part."""

    def __init__(self, desk: Desk, text: str, part_id: str, after: PartState) -> None:
        super().__init__(text)
        self._desk, self._part_id = desk, part_id
        self._before, self._after = desk.state.part(part_id), after

    def redo(self) -> None:
        """Make the edit."""
        self._desk.go_to(self._part_id, self._after)

    def undo(self) -> None:
        """Take it back."""
        self._desk.go_to(self._part_id, self._before)


class PrintingStep(QUndoCommand):
    """One labelled edit of how parts are printed."""

    def __init__(self, desk: Desk, after: Work) -> None:
        super().__init__("paper and copies")
        self._desk, self._before, self._after = desk, desk.state.work, after

    def redo(self) -> None:
        """Make the edit."""
        self._desk.print_as(self._after)

    def undo(self) -> None:
        """Take it back."""
        self._desk.print_as(self._before)


class Desk(QObject):
    """What lies open. Views listen to its signals and ask it for the rest.

    ``opened``: another score lies open; ``saved``: its project is on the disk. ``work_changed``: the work is another,
    told before any view shows it. ``part_changed``: another part is in hand. ``pages_changed``: its pages are engraved.
    ``plan_changed``: its fingering or settings are others. ``remarks_changed``: what the teacher says of its
    watch-list. ``marks_changed``: the teacher's marks, passages or digits on paper. ``note_changed``,
    ``passage_changed``: what is selected. ``said``: a sentence for the status line. ``failed``: one that needs an
    answer.
    """

    opened = Signal()
    work_changed = Signal()
    part_changed = Signal()
    pages_changed = Signal()
    plan_changed = Signal()
    remarks_changed = Signal()
    marks_changed = Signal()
    note_changed = Signal()
    passage_changed = Signal()
    saved = Signal()
    said = Signal(str)
    failed = Signal(str)

    def __init__(self, tasks: TaskRunner, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self.tasks = tasks
        self.history = QUndoStack(self)
        self.score: Opened | None = None
        self.state = State(Work(MappingProxyType({})), MappingProxyType({}))
        self.part: Part | None = None
        self.note_id: str | None = None
        self.until_id: str | None = None
        self.passage: tuple[int, int] | None = None
        self._engraved: dict[str, Engraved] = {}
        self._engraving: dict[str, Task] = {}

    # What lies there

    @property
    def part_work(self) -> PartWork | None:
        """The settings of the part in hand."""
        return self.state.work.parts[self.part.id] if self.part else None

    @property
    def plan(self) -> Plan | None:
        """The fingering of the part in hand, once it is worked out."""
        return self.state.plans.get(self.part.id) if self.part else None

    @property
    def engraved(self) -> Engraved:
        """The engraved pages of the part in hand, as far as they are there; the first page comes before the rest."""
        return self._engraved.get(self.part.id, Engraved()) if self.part else Engraved()

    @property
    def pages(self) -> tuple[EngravedPage, ...]:
        """The engraved pages of the part in hand, once they are there."""
        return self.engraved.pages

    @property
    def note(self) -> Note | None:
        """The selected note, the first of several."""
        return self.part.note(self.note_id) if self.part and self.note_id else None

    @property
    def ends(self) -> tuple[str, str] | None:
        """The first and last of the notes in hand: those selected, else all of the selected measures."""
        if self.note_id is not None:
            return self.note_id, self.until_id or self.note_id
        if self.part is None or self.passage is None:
            return None
        notes = [note for index in range(self.passage[0], self.passage[1] + 1) for note in self.part.notes_in(index)]
        return (notes[0].id, notes[-1].id) if notes else None

    # Opening, saving, turning to a part

    def open(self, path: Path, read: Callable[[Path], Opened] = open_any) -> None:
        """Open a score or a project; what lies open stays until the new one has been read."""
        self.tasks.run(f"Opening {path.name}", lambda tick: read(path), self._opened, self._failed)

    def save(self, path: Path) -> None:
        """Save the project there."""
        if self.score is None:
            return
        save_project(path, self.score.document, self.state.work)
        self.score = replace(self.score, path=path)
        self.history.setClean()
        self.saved.emit()
        self.said.emit(f"Saved {path.name}")

    def turn_to(self, part_id: str) -> None:
        """Take another part in hand."""
        if self.score is None or (self.part and self.part.id == part_id):
            return
        self.part = next(part for part in self.score.score.parts if part.id == part_id)
        self.note_id, self.until_id, self.passage = None, None, None
        self.part_changed.emit()
        self.note_changed.emit()
        self.passage_changed.emit()
        self._engrave(self.part)
        self._finger(self.part)

    def _opened(self, opened: Opened) -> None:
        self.score = opened
        self.part = None
        self.state = State(opened.work, MappingProxyType({}))
        self._engraved.clear()
        self._engraving.clear()
        self.history.clear()
        if opened.journal is not None:
            self.history.resetClean()
        self.opened.emit()
        for remark in opened.document.remarks:
            self.said.emit(remark)
        parts = opened.score.parts
        first = next((part for part in parts if opened.work.parts[part.id].instrument), parts[0])
        self.turn_to(next((part for part in parts if part.id == opened.in_hand), first).id)

    def _engrave(self, part: Part) -> None:
        """Have a part engraved, unless it is, with the marks that stand in it now, or is on its way."""
        marks = to_engrave(part, self.state.work.parts[part.id].marks)
        known = self._engraved.get(part.id, Engraved())
        if self.score is None or (known.whole and known.marks == marks):
            self.pages_changed.emit()
            return
        under_way = self._engraving.get(part.id)
        if under_way is not None and not under_way.stopped:
            return  # what has changed meanwhile is seen to when it is done
        document = self.score.document
        self._engraving[part.id] = self.tasks.run(
            f"Engraving {part.name}",
            lambda tick: part_for_engraving(document, part.id, marks=marks),
            partial(self._engrave_text, part, marks),
            partial(self._not_engraved, part),
        )

    def _engrave_text(self, part: Part, marks: tuple[TeacherMark, ...], text: str) -> None:
        # The first page comes by itself, so that there is music to look at while the rest is engraved.
        for most_pages in (None,) if part.id in self._engraved else (1, None):
            self._engraving[part.id] = self.tasks.run_apart(
                f"Engraving {part.name}",
                engrave,
                (text, A4, None, most_pages),
                partial(self._take_pages, part, marks, most_pages is None),
                partial(self._not_engraved, part),
            )

    def _take_pages(
        self, part: Part, marks: tuple[TeacherMark, ...], whole: bool, pages: tuple[EngravedPage, ...]
    ) -> None:
        if self.score is None or all(part is not other for other in self.score.score.parts):
            return
        self._engraved[part.id] = Engraved(pages, marks, whole)
        if self.part is part:
            self.pages_changed.emit()
        if whole:
            self._engraving.pop(part.id, None)
            if marks != to_engrave(part, self.state.work.parts[part.id].marks):
                self._engrave(part)

    def _not_engraved(self, part: Part, error: Exception) -> None:
        self._engraving.pop(part.id, None)
        self._failed(error)

    def _finger(self, part: Part) -> None:
        """Work out the fingering of a part for the first time: not an edit, so no step."""
        work = self.state.work.parts[part.id]
        if part.id in self.state.plans or work.instrument is None:
            self.plan_changed.emit()
            return

        def fingered(plan: Plan) -> None:
            now = self.state.work.parts.get(part.id)
            if now is not None and now.played == work.played:
                self.go_to(part.id, PartState(now, plan))

        self.tasks.run(f"Fingering {part.name}", lambda tick: work.plan(part, tick), fingered, self._failed)

    def _failed(self, error: Exception) -> None:
        self.failed.emit(str(error))

    # Selecting

    def select_note(self, note_id: str | None) -> None:
        """Select a note, or none."""
        if note_id != self.note_id or self.until_id is not None:
            self.note_id, self.until_id = note_id, None
            self.note_changed.emit()

    def select_until(self, note_id: str) -> None:
        """Select all notes from the one selected to another."""
        if self.note_id is None:
            self.select_note(note_id)
        elif note_id != self.until_id:
            self.until_id = None if note_id == self.note_id else note_id
            self.note_changed.emit()

    def stretch(self, steps: int) -> None:
        """Select so many notes more, or fewer, counting the part's notes in written order."""
        if self.part is None or self.note_id is None:
            self.step_note(steps)
            return
        ids = [note.id for note in self.part.notes]
        self.select_until(ids[min(max(ids.index(self.until_id or self.note_id) + steps, 0), len(ids) - 1)])

    def step_note(self, steps: int) -> None:
        """Select the note so many steps on, counting the part's notes in written order."""
        if self.part is None or not self.part.notes:
            return
        ids = [note.id for note in self.part.notes]
        if self.note_id is None:
            self.select_note(ids[0 if steps > 0 else -1])
        else:
            self.select_note(ids[min(max(ids.index(self.note_id) + steps, 0), len(ids) - 1)])

    def select_passage(self, passage: tuple[int, int] | None) -> None:
        """Select a range of measures by their indices, or none."""
        if passage != self.passage:
            self.passage = passage
            self.passage_changed.emit()

    # Editing

    def go_to(self, part_id: str, part: PartState) -> None:
        """Make that the state of a part; its views are told, and only of what is new."""
        old = self.state.part(part_id)
        if part.plan is None and part.work.played == old.work.played:
            part = replace(part, plan=old.plan)
        self.state = self.state.with_part(part_id, part)
        if part.work is not old.work:
            self.work_changed.emit()
        if self.part is None or self.part.id != part_id:
            return
        if part.plan is not old.plan or part.work.played != old.work.played:
            self.plan_changed.emit()
        if part.plan is None and part.work.instrument is not None:
            self._finger(self.part)
        if part.work.said != old.work.said:
            self.remarks_changed.emit()
        if part.work.pencilled != old.work.pencilled:
            self.marks_changed.emit()
            self._engrave(self.part)

    def note_down(self, change: Callable[[PartWork], PartWork], text: str) -> None:
        """Change what the teacher says of the part in hand or marks in it, which leaves its fingering as it is."""
        if self.part is not None and self.part_work is not None:
            changed = change(self.part_work)
            if changed != self.part_work:
                self.history.push(Step(self, text, self.part.id, PartState(changed, self.plan)))

    def set_printing(self, printing: Printing, copies: Mapping[str, Copies]) -> None:
        """Print on other paper, or another number of copies by part, as one step."""
        work = self.state.work
        changed = work.printed_as(printing, copies)
        if changed != work:
            self.history.push(PrintingStep(self, changed))

    def print_as(self, work: Work) -> None:
        """Print as ``work`` says, which leaves all else as it is."""
        copies = {part_id: part.copies for part_id, part in work.parts.items()}
        self.state = replace(self.state, work=self.state.work.printed_as(work.printing, copies))
        self.work_changed.emit()

    def lock(self, note_id: str, lock: Lock | None, text: str) -> None:
        """Fix a note, or let Handframe decide again; a lock that nothing can keep is refused in words."""
        if self.part is None or self.part_work is None:
            return
        self._relock(_changed(self.part_work.locks, note_id, lock), text, watch=note_id)

    def fix(self, locks: Mapping[str, Lock], text: str) -> None:
        """Fix several notes of the part in hand at once, as one step."""
        if locks:
            self.fix_and_mark(locks, lambda work: work, text)

    def fix_and_mark(self, locks: Mapping[str, Lock], change: Callable[[PartWork], PartWork], text: str) -> None:
        """Fix several notes and change what is marked in the part in hand, as one step."""
        part, plan, work = self.part, self.plan, self.part_work
        if part is not None and plan is not None and work is not None:
            locked = work.with_locks({**work.locks, **locks})
            changed = change(locked)
            if changed != work:
                new_plan = plan.with_locks(locked.locks) if locked.locks != work.locks else plan
                self.history.push(Step(self, text, part.id, PartState(changed, new_plan)))

    def use(self, way: Weighed, passage: tuple[int, int]) -> None:
        """Take over one way of playing a passage, as one step."""
        if self.part is not None:
            self.fix(locks_of(way), f"{way.rules.title} for {self.part.span(passage)}")

    def set_rules(self, rules: HouseRules, text: str = "") -> None:
        """Other house rules for the part in hand; ``text``: what the step is called."""
        if self.part_work is not None and rules != self.part_work.rules:
            self._reset(lambda work: replace(work, rules=rules), text or f"house rules {rules.title}")

    def set_instrument(self, instrument: Instrument) -> None:
        """Another instrument for the part in hand."""
        work = self.part_work
        if work is not None and (work.instrument is None or instrument.key != work.instrument.key):
            self._reset(lambda work: replace(work, instrument=instrument), f"played on the {instrument.name.lower()}")

    def _relock(self, locks: Mapping[str, Lock], text: str, watch: str | None = None) -> None:
        part, plan, work = self.part, self.plan, self.part_work
        if part is None or plan is None or work is None:
            return
        locked = work.with_locks(locks)
        if watch is not None and watch not in plan:
            # A note that was left out joins in: its whole voice is fingered again, which takes a moment.
            self._reset(lambda work: work.with_locks(_changed(work.locks, watch, locks.get(watch))), text)
            return
        new_plan = plan.with_locks(locks)
        if watch is not None and watch in locks and watch in new_plan.problems:
            self.said.emit(new_plan.problems[watch])
            return
        self.history.push(Step(self, text, part.id, PartState(locked, new_plan)))

    def _reset(self, change: Callable[[PartWork], PartWork], text: str) -> None:
        """Change the settings of the part in hand and finger it anew; what is edited meanwhile stays."""
        part, work, score = self.part, self.part_work, self.score
        if part is None or work is None:
            return
        changed = change(work)

        def planned(plan: Plan | None) -> None:
            if self.score is not score:
                return
            if self.state.work.parts[part.id] is not work:
                if self.part is part:
                    self._reset(change, text)
                return
            self.history.push(Step(self, text, part.id, PartState(changed, plan)))

        def given_up(error: Exception) -> None:
            self.plan_changed.emit()
            self._failed(error)

        self.tasks.run(f"Fingering {part.name}", lambda tick: changed.plan(part, tick), planned, given_up)


def _changed(locks: Mapping[str, Lock], note_id: str, lock: Lock | None) -> dict[str, Lock]:
    """The locks with one of them set, or taken off."""
    others = {key: value for key, value in locks.items() if key != note_id}
    return others if lock is None else {**others, note_id: lock}
