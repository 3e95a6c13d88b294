"""The open score and the work on it, as the window sees it: one part in hand, every edit an undoable step."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

from PySide6.QtCore import QObject, Signal
from PySide6.QtGui import QUndoStack

from analysis.fingering.locks import Lock
from analysis.fingering.plan import Plan
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.ticking import Tick
from analysis.instruments import Instrument
from analysis.language import _
from analysis.music import Note, Part
from app.job.comparing.ways import Weighed, locks_of
from app.job.files.opening import Opened, open_any
from app.job.project.file import save_project
from app.job.recovery.lines import packed
from app.job.teacher.pencilling import to_engrave
from app.job.teacher.printing import Copies, Printing
from app.job.teacher.work import PartWork, Work
from app.job.words.names import rules_title
from app.window.background.tasks import TaskRunner
from app.window.editing.folder import Folder
from app.window.editing.press import Engraved, Marks, Music, Press
from app.window.editing.steps import PartState, PrintingStep, State, Step
from engraving.engraver import EngravedPage


class Desk(QObject):
    """What lies open. Views listen to its signals and ask it for the rest.

    ``opened``: another score lies open; ``saved``: its project is on the disk. ``work_changed``: the work is another,
    told before any view shows it. ``part_changed``: another part is in hand. ``shown_changed``: the full score is
    shown, or a part again. ``pages_changed``: the pages of what is shown are engraved.
    ``plan_changed``: its fingering or settings are others. ``remarks_changed``: what the teacher says of its
    watch-list. ``marks_changed``: the teacher's marks, passages or digits on paper. ``note_changed``,
    ``passage_changed``: what is selected. ``said``: a sentence for the status line. ``failed``: one that needs an
    answer.
    """

    opened = Signal()
    work_changed = Signal()
    part_changed = Signal()
    shown_changed = Signal()
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
        self.folder = Folder()
        self.state = State(Work(MappingProxyType({})), MappingProxyType({}))
        self.part: Part | None = None
        self.note_id: str | None = None
        self.until_id: str | None = None
        self.passage: tuple[int, int] | None = None
        self.shows_full_score = False
        self._press = Press(tasks, self)
        self._press.engraved.connect(self._take_pages)
        self._press.failed.connect(self._failed)

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
        """The engraved pages of what is shown, as far as they are there; the first page comes before the rest."""
        return self._press.pages(self._music) if self._music else Engraved()

    @property
    def pages(self) -> tuple[EngravedPage, ...]:
        """The engraved pages of what is shown, once they are there."""
        return self.engraved.pages

    @property
    def being_engraved(self) -> str:
        """The name of what is shown, while its first page is on its way; "" otherwise."""
        music = self._music
        return music.name if music and not self.pages and self._press.is_engraving(music) else ""

    @property
    def shown_parts(self) -> tuple[Part, ...]:
        """The part in hand, or all parts of the full score."""
        if self.shows_full_score and self.score is not None:
            return self.score.score.parts
        return (self.part,) if self.part else ()

    @property
    def shown_plans(self) -> tuple[Plan, ...]:
        """The fingerings of what is shown, as far as they are worked out."""
        plans = self.state.plans
        return tuple(plans[part.id] for part in self.shown_parts if part.id in plans)

    def part_of(self, note_id: str) -> Part | None:
        """The part among those shown that has a note."""
        return next((part for part in self.shown_parts if note_id in part), None)

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

        def work(tick: Tick) -> Opened:
            opened = read(path)
            packed(opened.document.source)  # the journal begins with it, on the thread of the window
            return opened

        self.tasks.run(_("Opening {name}").format(name=path.name), work, self._opened, self._failed)

    def save(self, path: Path) -> None:
        """Save the project there."""
        if self.score is None:
            return
        save_project(path, self.score.document, self.state.work)
        self.score = replace(self.score, path=path)
        self.history.setClean()
        self.saved.emit()
        self.said.emit(_("Saved {name}").format(name=path.name))

    def turn_to(self, part_id: str) -> None:
        """Take another part in hand."""
        if self.score is None or (self.part and self.part.id == part_id):
            return
        self.part = next(part for part in self.score.score.parts if part.id == part_id)
        self.note_id, self.until_id, self.passage = None, None, None
        self.part_changed.emit()
        self.note_changed.emit()
        self.passage_changed.emit()
        self._engrave()
        self._finger(self.part)

    def show_full_score(self, wanted: bool) -> None:
        """Show all parts below each other with their fingers, or the part in hand alone."""
        if self.score is None or wanted == self.shows_full_score:
            return
        self.shows_full_score = wanted
        self.shown_changed.emit()
        self._engrave()
        for part in self.shown_parts:
            if part.id not in self.state.plans:
                self._finger(part)

    def _opened(self, opened: Opened) -> None:
        self.score = opened
        self.part = None
        self.state = State(opened.work, MappingProxyType({}))
        self.shows_full_score = False
        self._press.take(opened.document)
        self.folder.move_beside(opened.file)
        self.history.clear()
        if opened.journal is not None:
            self.history.resetClean()
        self.opened.emit()
        for remark in opened.document.remarks:
            self.said.emit(remark)
        if opened.faults:
            self.failed.emit("\n\n".join(opened.faults))
        parts = opened.score.parts
        first = next((part for part in parts if opened.work.parts[part.id].instrument), parts[0])
        self.turn_to(next((part for part in parts if part.id == opened.in_hand), first).id)

    @property
    def _music(self) -> Music | None:
        """What is shown: the part in hand, or the full score."""
        if self.shows_full_score:
            return Music(_("the full score"))
        return Music(self.part.name, self.part.id) if self.part else None

    def _engrave(self) -> None:
        """Have what is shown engraved with the marks that stand in it now."""
        if self._music is not None:
            self._press.engrave(self._music, self._to_engrave())

    def _to_engrave(self) -> Marks:
        works = self.state.work.parts
        return tuple(mark for part in self.shown_parts for mark in to_engrave(part, works[part.id].marks))

    def _take_pages(self, music: Music) -> None:
        if music != self._music:
            return
        self.pages_changed.emit()
        known = self._press.pages(music)
        if known.whole and known.marks != self._to_engrave():
            self._engrave()

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

        self.tasks.run(
            _("Fingering {name}").format(name=part.name), lambda tick: work.plan(part, tick), fingered, self._failed
        )

    def _failed(self, error: Exception) -> None:
        self.failed.emit(str(error))

    # Selecting

    def select_note(self, note_id: str | None) -> None:
        """Select a note, or none."""
        if note_id != self.note_id or self.until_id is not None:
            self.note_id, self.until_id = note_id, None
            self.note_changed.emit()

    def point_at(self, note_id: str) -> None:
        """Select a note of the part in hand; a passage elsewhere is given up, which nobody would look for there."""
        self.select_note(note_id)
        note, passage = self.note, self.passage
        if note is not None and passage is not None and not passage[0] <= note.measure <= passage[1]:
            self.select_passage(None)

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
        self.select_until(_note_beside(self.part, self.until_id or self.note_id, steps))

    def step_note(self, steps: int) -> None:
        """Select the note so many steps on, counting the part's notes in written order."""
        if self.part is None or not self.part.notes:
            return
        if self.note_id is None:
            self.select_note(self.part.notes[0 if steps > 0 else -1].id)
        else:
            self.select_note(_note_beside(self.part, self.note_id, steps))

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
            if self.shows_full_score:
                self._engrave()
            return
        if part.plan is not old.plan or part.work.played != old.work.played:
            self.plan_changed.emit()
        if part.plan is None and part.work.instrument is not None:
            self._finger(self.part)
        if part.work.said != old.work.said:
            self.remarks_changed.emit()
        if part.work.pencilled != old.work.pencilled:
            self.marks_changed.emit()
            self._engrave()

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
            words = _("{rules} for {measures}").format(rules=rules_title(way.rules), measures=self.part.span(passage))
            self.fix(locks_of(way), words)

    def set_rules(self, rules: HouseRules, text: str = "") -> None:
        """Other house rules for the part in hand; ``text``: what the step is called."""
        if self.part_work is not None and rules != self.part_work.rules:
            words = text or _("house rules {rules}").format(rules=rules_title(rules))
            self._reset(lambda work: replace(work, rules=rules), words)

    def set_instrument(self, instrument: Instrument) -> None:
        """Another instrument for the part in hand."""
        work = self.part_work
        if work is not None and (work.instrument is None or instrument.key != work.instrument.key):
            words = _("played on the {instrument}").format(instrument=instrument.words)
            self._reset(lambda work: replace(work, instrument=instrument), words)

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

        self.tasks.run(
            _("Fingering {name}").format(name=part.name), lambda tick: changed.plan(part, tick), planned, given_up
        )


def _note_beside(part: Part, note_id: str, steps: int) -> str:
    """The note so many steps on, or the last one that way."""
    return part.notes[min(max(part.index(note_id) + steps, 0), len(part.notes) - 1)].id


def _changed(locks: Mapping[str, Lock], note_id: str, lock: Lock | None) -> dict[str, Lock]:
    """The locks with one of them set, or taken off."""
    others = {key: value for key, value in locks.items() if key != note_id}
    return others if lock is None else {**others, note_id: lock}
