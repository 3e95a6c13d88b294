"""The watch-list of the part in hand: read anew behind the window whenever the fingering changes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from PySide6.QtCore import QObject, Signal

from analysis.fingering.carrying import carried
from analysis.fingering.plan import Plan
from analysis.fingering.ticking import Tick
from analysis.language import _, n_
from analysis.music import Part
from analysis.watch.finding import Finding
from analysis.watch.watchlist import watch_list
from app.job.teacher.pencilling import carry_pencilled
from app.job.teacher.watching import OWN, Entry, Remark, Standing, entries
from app.window.background.tasks import Task
from app.window.editing.desk import Desk

# Reading waits until what an edit changed is painted, and for the next edit of somebody who is quick.
_AFTER_EDIT_MS = 150
_Read = tuple[Plan | None, tuple[Finding, ...]]


class Watch(QObject):
    """``changed``: the entries are others. ``chosen``: another one is in hand, whose notes are lit."""

    changed = Signal()
    chosen = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._desk = desk
        self._read: dict[str, _Read] = {}
        self._reading: Task | None = None
        self._entry: Entry | None = None
        desk.opened.connect(self._read.clear)
        desk.part_changed.connect(self._turn)
        desk.plan_changed.connect(self._read_anew)
        desk.remarks_changed.connect(self._tell)

    @property
    def entries(self) -> tuple[Entry, ...]:
        """All entries of the part in hand, hidden ones too, as last read; none before that."""
        part, work = self._desk.part, self._desk.part_work
        if part is None or work is None or part.id not in self._read:
            return ()
        return entries(part, self._read[part.id][1], work.remarks, work.own_notes)

    @property
    def is_read(self) -> bool:
        """Whether the part in hand has been read."""
        return self._desk.part is not None and self._desk.part.id in self._read

    @property
    def entry(self) -> Entry | None:
        """The entry in hand."""
        return self._entry

    def choose(self, entry: Entry | None) -> None:
        """Take an entry in hand: its notes are lit, and the first of them is selected."""
        if entry is self._entry:
            return
        self._entry = entry
        self.chosen.emit()
        if entry is not None:
            self._desk.select_note(entry.finding.note_ids[0])

    # What the teacher does with the entry in hand

    def accept(self) -> None:
        """Take it to the practice sheet, or off it again."""
        self._stand(Standing.ACCEPTED, _("to the practice sheet"), _("off the practice sheet"))

    def hide(self) -> None:
        """Put it away, or bring it back."""
        self._stand(Standing.HIDDEN, _("hidden"), _("shown again"))

    def reword(self, text: str) -> None:
        """Say it in the teacher's words; none brings ours back."""
        entry = self._entry
        if entry is not None and entry.finding.kind == OWN:
            self.note(text)
        elif entry is not None:
            text = "" if text.strip() == entry.finding.text else text.strip()
            self._remark(replace(entry.remark, text=text), _("other words"))

    def join(self, note: str) -> None:
        """Add a sentence of the teacher's own to the entry in hand."""
        if self._entry is not None:
            self._remark(replace(self._entry.remark, note=note.strip()), _("your note"))

    def note(self, text: str) -> None:
        """Write an entry of the teacher's own at the selected note; no text takes it away."""
        note_id = self._desk.note_id
        if note_id is not None:
            self._desk.note_down(lambda work: work.with_own_note(note_id, text.strip()), _("your note"))

    def carry(self) -> None:
        """Give music that comes again the fingers and marks it had before, as one step."""
        entry, desk = self._entry, self._desk
        if entry is None or not entry.finding.again or desk.score is None or desk.part is None:
            return
        source = next(part for part in desk.score.score.parts if entry.finding.again[0] in part)
        known = desk.plan if source is desk.part else desk.state.plans.get(source.id)
        if known is not None:
            self._carry_from(known, entry.finding, desk.part)
            return
        work, part = desk.state.work.parts[source.id], desk.part

        def done(plan: Plan | None) -> None:
            if plan is not None and desk.part is part:
                self._carry_from(plan, entry.finding, part)

        desk.tasks.run(
            _("Fingering {name}").format(name=source.name),
            lambda tick: work.plan(source, tick),
            done,
            lambda error: desk.failed.emit(str(error)),
        )

    def _carry_from(self, source: Plan, finding: Finding, part: Part) -> None:
        if self._desk.plan is None:
            return
        work = self._desk.state.work.parts[source.part.id]
        found = carried(source, self._desk.plan, finding.note_ids, finding.again)
        change = carry_pencilled(part, source.part, work, finding.note_ids, finding.again, found.locks)
        label = source.part.measures[source.part.note(finding.again[0]).measure].label
        words = _("fingers and marks from measure {label} on")
        if source.part is not part:
            words = _("fingers and marks of {part} from measure {label} on")
        self._desk.fix_and_mark(found.locks, change, words.format(part=source.part.name, label=label))
        if found.left_out:
            others = len(found.left_out) - 1
            more = n_("(and {number} more note)", "(and {number} more notes)", others).format(number=others)
            first = next(iter(found.left_out.values()))
            self._desk.said.emit(f"{first} {more}" if others else first)

    def _stand(self, standing: Standing, done: str, undone: str) -> None:
        entry = self._entry
        if entry is not None and entry.finding.kind != OWN:
            taken = entry.remark.standing is standing
            self._remark(
                replace(entry.remark, standing=Standing.OPEN if taken else standing), undone if taken else done
            )

    def _remark(self, remark: Remark, text: str) -> None:
        if self._entry is not None:
            key = self._entry.finding.key
            self._desk.note_down(lambda work: work.with_remark(key, remark), _("watch-list: {step}").format(step=text))

    # What the desk tells

    def _turn(self) -> None:
        self._entry = None
        self.chosen.emit()
        self.changed.emit()

    def _read_anew(self) -> None:
        """Read the part under its present fingering, off the GUI thread."""
        desk, part, plan = self._desk, self._desk.part, self._desk.plan
        if part is None or desk.score is None or desk.part_work is None:
            return
        if plan is None and desk.part_work.instrument is not None:
            return  # the fingering is on its way
        read = self._read.get(part.id)
        if read is not None and read[0] is plan:
            return
        score = desk.score.score

        def work(tick: Tick) -> tuple[Finding, ...]:
            return watch_list(score, part, plan, tick)

        if self._reading is not None:
            desk.tasks.drop(self._reading)  # of a fingering that is no longer the present one

        def done(findings: tuple[Finding, ...]) -> None:
            if desk.score is not None and desk.score.score is score and desk.state.plans.get(part.id) is plan:
                self._read[part.id] = (plan, findings)
                if desk.part is part:
                    self._tell()

        label, wait = _("Reading {name}").format(name=part.name), 0 if read is None else _AFTER_EDIT_MS
        self._reading = desk.tasks.run(label, work, done, self._failed(part), wait)

    def _failed(self, part: Part) -> Callable[[Exception], None]:
        words = _("{part}: the watch-list cannot be made: {error}")
        return lambda error: self._desk.failed.emit(words.format(part=part.name, error=error))

    def _tell(self) -> None:
        """The entries are others; the one in hand stays in hand as it is now."""
        if self._entry is not None:
            key = self._entry.finding.key
            now = next((entry for entry in self.entries if entry.finding.key == key), None)
            if now != self._entry:
                self._entry = now
                self.chosen.emit()
        self.changed.emit()
