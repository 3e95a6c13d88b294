"""Writing files from the window: the project, the printed part, the marked score."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

from PySide6.QtCore import QObject
from PySide6.QtWidgets import QWidget

from analysis.fingering.ticking import Tick
from app.job.digits import marks_to_write
from app.job.finding import measures_words
from app.job.part_set import Written, file_name, score_title, write_part, write_set
from app.job.pencilling import standing
from app.job.pictures import passage_picture
from app.job.practice import practice
from app.job.practice_sheet import practice_sheet
from app.job.printing import PAPERS
from app.job.project import SUFFIX
from app.window import dialogs
from app.window.desk import Desk
from engraving.engraver import EngravedPage, engrave, engrave_each
from engraving.errors import EngravingError
from engraving.layout import Layout
from engraving.marks.files import write_marked
from engraving.marks.finger import Mark
from engraving.svg import OWN_INK
from engraving.turning import Turned, engrave_turning


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

    def choose_printing(self) -> None:
        """Ask how parts are printed and who gets a copy."""
        score, work = self._desk.score, self._desk.state.work
        if score is None:
            return
        parts = [(part.id, part.name, work.parts[part.id].copies) for part in score.score.parts]
        answer = dialogs.ask_printing(self._window, work.printing, parts)
        if answer is not None and self._desk.score is score:
            self._desk.set_printing(*answer)

    def print_part(self) -> None:
        """Ask for a PDF and write the copies of the part in hand to it."""
        score, part, plan, work = self._desk.score, self._desk.part, self._desk.plan, self._desk.state.work
        if score is None or part is None:
            return
        path = self._ask_pdf("Print the part to PDF", f"{score_title(score)}, {part.name}")
        if path is not None:
            self._print(path, lambda tick: write_part(path, score, work, part, plan, self._turner, tick))

    def print_set(self, *, one_file: bool) -> None:
        """Ask where to, and write the copies of every part, to one PDF or to one file a part."""
        score, state = self._desk.score, self._desk.state
        if score is None:
            return
        if one_file:
            path = self._ask_pdf("Print all parts to one PDF", f"{score_title(score)}, parts")
        else:
            path = dialogs.ask_folder(self._window, "Print all parts, one PDF each, to a folder")
        if path is not None:
            self._print(path, lambda tick: write_set(path, score, state.work, state.plans, self._turner, tick))

    def practice_sheet(self) -> None:
        """Ask for a PDF and write the practice sheet of the part in hand to it."""
        desk = self._desk
        score, plan, part, work = desk.score, desk.plan, desk.part, desk.part_work
        if score is None or plan is None or part is None or work is None:
            return
        path = self._ask_pdf("Practice sheet to PDF", f"{score_title(score)}, {part.name}, practice sheet")
        if path is None:
            return
        layout = PAPERS[desk.state.work.printing.paper]

        def engraver(text: str, sheet: Layout, passages: Sequence[tuple[int, int]]) -> list[tuple[EngravedPage, ...]]:
            return desk.tasks.apart(engrave_each, text, sheet, passages)

        def write(tick: Tick) -> None:
            asked = practice(part, work.watched(score.score, part, plan, tick))
            practice_sheet(path, score.document, score.score.title, plan, asked, layout, engraver)

        self._write(path, write)

    def passage_picture(self) -> None:
        """Ask for a PNG or SVG file and write a picture of the selected measures to it."""
        score, plan, work, measures = self._desk.score, self._desk.plan, self._desk.part_work, self._desk.passage
        if score is None or plan is None or work is None or measures is None:
            return
        suggestion = file_name(f"{score_title(score)}, {plan.part.name}, {measures_words(plan.part, measures)}")
        answer = dialogs.ask_save(self._window, "Picture of the passage", f"{suggestion}.png", dialogs.PICTURE_FILES)
        if answer is None:
            return
        path = _with_suffix(answer[0], ".svg" if "*.svg" in answer[1] else ".png")

        def engraver(text: str, layout: Layout, passage: tuple[int, int]) -> Sequence[EngravedPage]:
            return self._desk.tasks.apart(engrave, text, layout, passage)

        self._write(path, lambda tick: passage_picture(path, score.document, plan, work, measures, engraver=engraver))

    def _turner(self, text: str, layout: Layout, rests: Sequence[float]) -> Turned:
        """The engraver in its own process, waited for on the thread of the task."""
        return self._desk.tasks.apart(engrave_turning, text, layout, rests)

    def _ask_pdf(self, title: str, name: str) -> Path | None:
        answer = dialogs.ask_save(self._window, title, f"{file_name(name)}.pdf", dialogs.PDF_FILES)
        return None if answer is None else _with_suffix(answer[0], ".pdf")

    def _print(self, path: Path, write: Callable[[Tick], Written]) -> None:
        def done(written: Written) -> None:
            self._desk.said.emit(written.text)
            if written.remarks:
                self._desk.failed.emit("\n".join(("Some pages turn where nobody rests:", *written.remarks)))

        self._desk.tasks.run(f"Printing {path.name}", write, done, self._failed)

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
