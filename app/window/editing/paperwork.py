"""Writing files from the window: the project, the printed part, the marked score."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from analysis.fingering.plan import Plan
from analysis.fingering.ticking import Tick
from analysis.language import _
from analysis.music import Part
from app.errors import AppError
from app.job.files.opening import Opened
from app.job.fingerboard.chart import write_chart
from app.job.paper.digits import marks_to_write
from app.job.paper.part_set import Written, file_name, write_part, write_set
from app.job.paper.pictures import passage_picture
from app.job.paper.practice import Practice, practice
from app.job.paper.practice_sheet import practice_sheet
from app.job.project.file import SUFFIX
from app.job.teacher.pencilling import standing
from app.job.teacher.printing import PAPERS
from app.job.teacher.work import NO_INSTRUMENT, Work
from app.window import dialogs
from app.window.editing.desk import Desk
from engraving.errors import EngravingError
from engraving.layout import Layout
from engraving.marks.files import write_marked
from engraving.marks.finger import Mark
from engraving.styles import OWN_INK

_MUSICXML = (".musicxml", ".mxl", ".xml")


@dataclass(frozen=True, eq=False)
class InHand:
    """A part at one moment, and all that is printed of it: later edits leave it as it is.

    ``plan``: its fingering, if it is worked out already.
    """

    score: Opened
    part: Part
    plan: Plan | None
    work: Work

    @property
    def sheet_layout(self) -> Layout:
        """The paper of the practice sheet."""
        return PAPERS[self.work.printing.paper]

    def is_like(self, work: Work) -> bool:
        """Whether that work has it printed alike."""
        return (work.parts.get(self.part.id), work.printing) == (self.work.parts[self.part.id], self.work.printing)

    def practice(self, tick: Tick) -> tuple[Plan, Practice]:
        """Its fingering and what is to be practised; AppError where nobody knows who plays it."""
        own = self.work.parts[self.part.id]
        plan = self.plan or own.plan(self.part, tick)
        if plan is None:
            raise AppError(f"{self.part.name}: {_(NO_INSTRUMENT)}")
        return plan, practice(self.part, own.watched(self.score.score, self.part, plan, tick), own.marks)


class Paperwork(QObject):
    """Asks where a file shall go and has it written off the GUI thread; ``window`` owns the dialogs."""

    def __init__(self, desk: Desk, window: QWidget) -> None:
        super().__init__(window)
        self._desk = desk
        self._window = window
        self._apart = desk.tasks.apart

    def save(self) -> bool:
        """Save the project where it lies, or ask where; whether it is saved now."""
        score = self._desk.score
        if score is None:
            return False
        return self.save_as() if score.path is None else self._save_to(score.path)

    def save_as(self) -> bool:
        """Ask where to save the project, and save it there; whether it is saved now."""
        score = self._desk.score
        if score is None:
            return False
        suggestion = f"{Path(score.document.name).stem}{SUFFIX}"
        path = self._ask(_("Save the project"), suggestion, dialogs.PROJECT_FILES, SUFFIX)
        return path is not None and self._save_to(path)

    def _save_to(self, path: Path) -> bool:
        try:
            self._desk.save(path)
        except EngravingError as error:
            self._desk.failed.emit(str(error))
            return False
        return True

    def choose_printing(self) -> None:
        """Ask how parts are printed and who gets a copy."""
        score, work = self._desk.score, self._desk.state.work
        if score is None:
            return
        parts = [(part.id, part.name, work.parts[part.id].copies) for part in score.score.parts]
        answer = dialogs.ask_printing(self._window, work.printing, parts)
        if answer is not None and self._desk.score is score:
            self._desk.set_printing(*answer)

    @property
    def in_hand(self) -> InHand | None:
        """The part in hand as it is now."""
        return None if self._desk.part is None else self.hold(self._desk.part)

    def hold(self, part: Part) -> InHand | None:
        """A part of the open score as it is now."""
        score, state = self._desk.score, self._desk.state
        return None if score is None else InHand(score, part, state.plans.get(part.id), state.work)

    def print_part(self, hand: InHand | None = None) -> None:
        """Ask for a PDF and write the copies of a part to it, as a rule of the part in hand."""
        one = hand or self.in_hand
        if one is None:
            return
        path = self._ask_pdf(_("Print the part to PDF"), f"{one.score.score.title}, {one.part.name}")
        if path is not None:
            self._print(path, lambda tick: write_part(path, one.score, one.work, one.part, one.plan, self._apart, tick))

    def print_set(self, *, one_file: bool) -> None:
        """Ask where to, and write the copies of every part, to one PDF or to one file a part."""
        score, state = self._desk.score, self._desk.state
        if score is None:
            return
        if one_file:
            path = self._ask_pdf(_("Print all parts to one PDF"), _("{score}, parts").format(score=score.score.title))
        else:
            path = dialogs.ask_folder(self._window, _("Print all parts, one PDF each, to a folder"), self._desk.folder)
        if path is not None:
            self._print(path, lambda tick: write_set(path, score, state.work, state.plans, self._apart, tick))

    def practice_sheet(self, hand: InHand | None = None) -> None:
        """Ask for a PDF and write the practice sheet of a part to it, as a rule of the part in hand."""
        one = hand or self.in_hand
        if one is None:
            return
        name = _("{score}, {part}, practice sheet").format(score=one.score.score.title, part=one.part.name)
        path = self._ask_pdf(_("Practice sheet to PDF"), name)
        if path is None:
            return

        def write(tick: Tick) -> None:
            plan, asked = one.practice(tick)
            practice_sheet(path, one.score.document, one.score.score.title, plan, asked, one.sheet_layout, self._apart)

        self._write(path, write)

    def passage_picture(self) -> None:
        """Ask for a PNG or SVG file and write a picture of the selected measures to it."""
        score, plan, work, measures = self._desk.score, self._desk.plan, self._desk.part_work, self._desk.passage
        if score is None or plan is None or work is None or measures is None:
            return
        name = f"{score.score.title}, {plan.part.name}, {plan.part.span(measures)}"
        path = self._ask_picture(_("Picture of the passage"), name)
        if path is None:
            return
        self._write(path, lambda tick: passage_picture(path, score.document, plan, work, measures, call=self._apart))

    def fingerboard_picture(self) -> None:
        """Ask for a PNG or SVG file and write a picture of where the fingers fall in the selected measures to it."""
        score, plan, measures = self._desk.score, self._desk.plan, self._desk.passage
        if score is None or plan is None or measures is None:
            return
        name = _("{score}, {part}, {measures}, fingerboard").format(
            score=score.score.title, part=plan.part.name, measures=plan.part.span(measures)
        )
        path = self._ask_picture(_("Picture of the fingerboard"), name)
        if path is not None:
            self._write(path, lambda tick: write_chart(path, plan, measures))

    def _ask_pdf(self, title: str, name: str) -> Path | None:
        return self._ask(title, f"{file_name(name)}.pdf", dialogs.PDF_FILES, ".pdf")

    def _ask_picture(self, title: str, name: str) -> Path | None:
        return self._ask(title, f"{file_name(name)}.png", dialogs.PICTURE_FILES, ".png", ".svg")

    def _ask(self, title: str, name: str, files: str, *endings: str) -> Path | None:
        return dialogs.ask_target(self._window, title, self._desk.folder, name, files, *endings)

    def _print(self, path: Path, write: Callable[[Tick], Written]) -> None:
        def done(written: Written) -> None:
            self._desk.said.emit(written.text)
            if written.remarks:
                self._desk.failed.emit("\n".join((_("Some pages turn where nobody rests:"), *written.remarks)))

        self._desk.tasks.run(_("Printing {name}").format(name=path.name), write, done, self._failed)

    def export(self) -> None:
        """Ask for a MusicXML file and write the score with all marks, and the fingers of every part fingered so far."""
        score, state = self._desk.score, self._desk.state
        plans = tuple(state.plans.values())
        if score is None or not plans:
            return
        marked = _("{score}-marked").format(score=Path(score.document.name).stem)
        path = self._ask(_("Write marked MusicXML"), f"{marked}.musicxml", dialogs.MUSICXML_FILES, *_MUSICXML)
        if path is None:
            return

        def write(tick: Tick) -> None:
            marks: list[Mark] = []
            for number, plan in enumerate(plans):
                tick(number / len(plans))
                marks.extend(marks_to_write(plan))
            teacher = [mark for part in score.score.parts for mark in standing(part, state.work.parts[part.id].marks)]
            colour = OWN_INK if state.work.printing.colour else None
            write_marked(score.document, marks, path, teacher, colour=colour)

        self._write(path, write)

    def _write(self, path: Path, write: Callable[[Tick], None]) -> None:
        wrote = _("Wrote {name}").format(name=path.name)
        self._desk.tasks.run(
            _("Writing {name}").format(name=path.name), write, lambda done: self._desk.said.emit(wrote), self._failed
        )

    def _failed(self, error: Exception) -> None:
        self._desk.failed.emit(str(error))
