"""The teacher's pencil on the part in hand: marks placed, moved and taken away, each as one undoable step."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

from PySide6.QtCore import QObject, Signal

from analysis.language import _
from app.errors import AppError
from app.job.teacher.passages import Passage, boxes_of
from app.job.teacher.pencilling import marks_for, notes_between, standing, with_marks
from app.job.teacher.work import PartWork
from app.window.editing.desk import Desk
from app.window.widgets.labels import in_sentence
from engraving.errors import EngravingError
from engraving.marks.shaping import shaped_bars
from engraving.marks.teacher import MARK_KINDS, TeacherMark
from engraving.placing.boxes import PassageBox


class Pencil(QObject):
    """``changed``: other marks stand in the part, or others at the notes in hand. ``chosen``: another is in hand."""

    changed = Signal()
    chosen = Signal()

    def __init__(self, desk: Desk) -> None:
        super().__init__(desk)
        self._desk = desk
        self._mark: TeacherMark | None = None
        for signal in (desk.marks_changed, desk.part_changed, desk.opened):
            signal.connect(self._refresh)
        for signal in (desk.note_changed, desk.passage_changed):
            signal.connect(self.changed)

    @property
    def marks(self) -> tuple[TeacherMark, ...]:
        """All marks of the part in hand."""
        work, part = self._desk.part_work, self._desk.part
        return standing(part, work.marks) if work is not None and part is not None else ()

    @property
    def boxes(self) -> tuple[PassageBox, ...]:
        """The boxes around the named passages of the part in hand."""
        work, part = self._desk.part_work, self._desk.part
        return boxes_of(part, work.passages) if work is not None and part is not None else ()

    @property
    def here(self) -> tuple[TeacherMark, ...]:
        """The marks that begin or end at the notes in hand; all marks of the part when no note is in hand."""
        part, ends = self._desk.part, self._desk.ends
        if part is None or ends is None:
            return self.marks
        chords = {note.chord or note.id for note in notes_between(part, *ends)}

        def stands(note_id: str) -> bool:
            return bool(note_id) and (part.note(note_id).chord or note_id) in chords

        return tuple(mark for mark in self.marks if stands(mark.first) or stands(mark.last))

    @property
    def mark(self) -> TeacherMark | None:
        """The mark in hand."""
        return self._mark

    def choose(self, mark: TeacherMark | None) -> None:
        """Take a mark in hand, or none."""
        if mark != self._mark:
            self._mark = mark
            self.chosen.emit()

    # What the teacher does

    def place(self, kind: str, text: str = "") -> None:
        """Place marks of a kind at the notes in hand; one that stands there already is taken away again."""
        part, ends = self._desk.part, self._desk.ends
        if part is None or ends is None:
            return
        title = in_sentence(MARK_KINDS[kind].title)
        try:
            new = marks_for(part, kind, *ends, text)
        except (AppError, EngravingError) as error:
            self._desk.said.emit(str(error))
            return
        stand = {_bare(mark) for mark in self.marks}
        if all(_bare(mark) in stand for mark in new):
            self._take_away({_bare(mark) for mark in new}, _("{mark} away").format(mark=title))
            return
        self._add(new, title)
        self.choose(new[0])

    def shape_bars(self) -> None:
        """A hairpin away from the first beat of every selected measure, as one step."""
        part, passage = self._desk.part, self._desk.passage
        if part is not None and passage is not None:
            shapes = shaped_bars(part, *passage)
            if shapes:
                self._add(shapes, _("each bar shaped"))
            else:
                self._desk.said.emit(_("No bar here begins with a note that could be shaped."))

    def take_away(self) -> None:
        """Take away the mark in hand."""
        if self._mark is not None:
            title = in_sentence(MARK_KINDS[self._mark.kind].title)
            self._take_away({_bare(self._mark)}, _("{mark} away").format(mark=title))

    def take_all_away(self) -> None:
        """Take away every mark at the notes in hand."""
        if self._desk.ends is not None and self.here:
            self._take_away({_bare(mark) for mark in self.here}, _("marks away"))

    def move(self, dx: float, dy: float) -> None:
        """Have the mark in hand lie so many staff spaces to the right of its own place, and above it."""
        old = self._mark
        if old is None:
            return
        try:
            new = replace(old, dx=round(dx, 2), dy=round(dy, 2))
        except EngravingError as error:
            self._desk.said.emit(str(error))
            return
        title = in_sentence(MARK_KINDS[old.kind].title)
        self._mark = new
        self._change(
            lambda marks: [new if mark == old else mark for mark in marks], _("{mark} moved").format(mark=title)
        )
        self.chosen.emit()

    def print_digit(self, wanted: bool | None) -> None:
        """Print the digits of the notes in hand, or do not; ``None`` leaves it to the house rules."""
        part, ends = self._desk.part, self._desk.ends
        if part is None or ends is None:
            return
        note_ids = [note.id for note in notes_between(part, *ends)]

        def change(work: PartWork) -> PartWork:
            for note_id in note_ids:
                work = work.with_digit_on_paper(note_id, wanted)
            return work

        words = {True: _("digit on paper"), False: _("no digit on paper"), None: _("digit as the house rules say")}
        self._desk.note_down(change, words[wanted])

    def name_passage(self, name: str, players: str) -> None:
        """Give the selected measures a name; without one they lose the name they have."""
        measures = self._desk.passage
        if measures is None:
            return
        try:
            named = (Passage(name, *measures, players),) if name.strip() else ()
        except AppError as error:
            self._desk.said.emit(str(error))
            return

        def change(work: PartWork) -> PartWork:
            others = tuple(one for one in work.passages if (one.first, one.last) != measures)
            return replace(work, passages=tuple(sorted((*others, *named), key=lambda one: (one.first, -one.last))))

        words = _("passage {name}").format(name=name.strip()) if named else _("passage without a name")
        self._desk.note_down(change, words)

    def _add(self, new: Sequence[TeacherMark], text: str) -> None:
        part = self._desk.part
        if part is not None:
            self._change(lambda marks: with_marks(part, marks, new), text)

    def _take_away(self, gone: set[TeacherMark], text: str) -> None:
        self._change(lambda marks: [mark for mark in marks if _bare(mark) not in gone], text)

    def _change(self, change: Callable[[tuple[TeacherMark, ...]], Sequence[TeacherMark]], text: str) -> None:
        self._desk.note_down(lambda work: replace(work, marks=tuple(change(work.marks))), text)

    # What the desk tells

    def _refresh(self) -> None:
        """The marks are others; the one in hand stays in hand while it stands."""
        if self._mark is not None and self._mark not in self.marks:
            self._mark = next((mark for mark in self.marks if _bare(mark) == _bare(self._mark)), None)
            self.chosen.emit()
        self.changed.emit()


def _bare(mark: TeacherMark) -> TeacherMark:
    """The mark as if it had never been moved."""
    return replace(mark, dx=0.0, dy=0.0)
