"""Writing files from the window: the project, the printed part, the marked score."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from analysis.fingering.plan import Plan
from analysis.fingering.ticking import Tick
from app.job.digits import marks_to_write
from app.job.opening import Opened
from app.job.paper import printed_pages
from app.job.pencilling import standing
from app.job.practice import practice
from app.job.practice_sheet import practice_sheet
from app.job.printing import PAPERS
from app.job.project import SUFFIX
from app.job.work import PartWork
from app.window import dialogs
from app.window.desk import Desk
from engraving.engraver import EngravedPage, engrave, engrave_each
from engraving.errors import EngravingError
from engraving.extract import part_for_engraving
from engraving.layout import A4, Layout
from engraving.marks.files import write_marked
from engraving.marks.finger import Mark
from engraving.output import write_pdf
from engraving.svg import OWN_INK


class Paperwork(QObject):
    """Asks where a file shall go and has it written off the GUI thread; ``window`` owns the dialogs."""

    def __init__(self, desk: Desk, window: QWidget) -> None:
        super().__init__(window)
        self._desk = desk
        self._window = window

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
        answer = dialogs.ask_save(self._window, "Save the project", suggestion, dialogs.PROJECT_FILES)
        return answer is not None and self._save_to(_with_suffix(answer[0], SUFFIX))

    def _save_to(self, path: Path) -> bool:
        try:
            self._desk.save(path)
        except EngravingError as error:
            self._desk.failed.emit(str(error))
            return False
        return True

    def print_part(self) -> None:
        """Ask for a PDF and write the marked part in hand to it."""
        score, plan, work = self._desk.score, self._desk.plan, self._desk.part_work
        if score is None or plan is None or work is None:
            return
        suggestion = f"{score.score.title}, {plan.part.name}.pdf".replace("/", "-")
        answer = dialogs.ask_save(self._window, "Print the part to PDF", suggestion, ";;".join(dialogs.PDF_FILES))
        if answer is None:
            return
        path = _with_suffix(answer[0], ".pdf")
        layout = PAPERS[dialogs.PDF_FILES.get(answer[1], "a4")]
        if layout == A4 and self._desk.engraved.whole:
            # The pages on the desk are those for A4.
            self._write_pdf(path, layout, score, plan, work, self._desk.pages)
            return
        arguments = (part_for_engraving(score.document, plan.part.id), layout)
        self._desk.tasks.run_apart(
            f"Engraving {plan.part.name}",
            engrave,
            arguments,
            lambda pages: self._write_pdf(path, layout, score, plan, work, pages),
            self._failed,
        )

    def _write_pdf(
        self, path: Path, layout: Layout, score: Opened, plan: Plan, work: PartWork, pages: Iterable[EngravedPage]
    ) -> None:
        title = f"{score.score.title}, {plan.part.name}"

        def write(tick: Tick) -> None:
            write_pdf(path, printed_pages(tuple(pages), plan, work), layout, title)

        self._write(path, write)

    def practice_sheet(self) -> None:
        """Ask for a PDF and write the practice sheet of the part in hand to it."""
        desk = self._desk
        score, plan, part, work = desk.score, desk.plan, desk.part, desk.part_work
        if score is None or plan is None or part is None or work is None:
            return
        suggestion = f"{score.score.title}, {part.name}, practice sheet.pdf".replace("/", "-")
        answer = dialogs.ask_save(self._window, "Practice sheet to PDF", suggestion, ";;".join(dialogs.PDF_FILES))
        if answer is None:
            return
        path = _with_suffix(answer[0], ".pdf")
        layout = PAPERS[dialogs.PDF_FILES.get(answer[1], "a4")]

        def engraver(text: str, sheet: Layout, passages: Sequence[tuple[int, int]]) -> list[tuple[EngravedPage, ...]]:
            return desk.tasks.apart(engrave_each, text, sheet, passages)

        def write(tick: Tick) -> None:
            asked = practice(part, work.watched(score.score, part, plan, tick))
            practice_sheet(path, score.document, score.score.title, plan, asked, layout, engraver)

        self._write(path, write)

    def export(self) -> None:
        """Ask for a MusicXML file and write the score with all marks, and the fingers of every part fingered so far."""
        score, state = self._desk.score, self._desk.state
        plans = tuple(state.plans.values())
        if score is None or not plans:
            return
        suggestion = f"{Path(score.document.name).stem}-marked.musicxml"
        answer = dialogs.ask_save(self._window, "Write marked MusicXML", suggestion, dialogs.MUSICXML_FILES)
        if answer is None:
            return
        path = _with_suffix(answer[0], ".mxl" if "*.mxl" in answer[1] else ".musicxml")

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
        self._desk.tasks.run(
            f"Writing {path.name}", write, lambda _: self._desk.said.emit(f"Wrote {path.name}"), self._failed
        )

    def _failed(self, error: Exception) -> None:
        self._desk.failed.emit(str(error))


def _with_suffix(path: Path, suffix: str) -> Path:
    """The path with the suffix added unless it has it."""
    return path if path.suffix.casefold() == suffix else path.with_name(path.name + suffix)
