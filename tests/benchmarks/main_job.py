"""How long the main job takes beside what its libraries need for theirs: ratios from one run.

Run from the project's root: ``python -m tests.benchmarks.main_job``. Each figure is the median of five runs, taken in
turn with the run it is compared with.
"""

from __future__ import annotations

import os
import statistics
import sys
from collections.abc import Callable
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import music21
import verovio
from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import QApplication

from analysis.fingering.locks import Lock
from analysis.fingering.plan import Plan, make_plan
from analysis.fingering.rules.files import preset
from analysis.instruments import VIOLIN
from app.job.files.opening import open_any
from app.window.main_window import MainWindow
from app.window.music.sheets import Sheets
from app.window.style.look import dress
from engraving.engraver import engrave, warm_up
from engraving.extract import part_for_engraving
from engraving.layout import A4
from tests.benchmarks.timing import seconds

PIECES = {"Mozart K. 458 i": "mozart/k458/movement1.mxl", "Beethoven op. 132": "beethoven/opus132.mxl"}
RUNS = 5


def main() -> None:
    application = QApplication([])
    dress(application)
    for name, file in PIECES.items():
        window = MainWindow()
        window.show()
        window.tasks.run_apart("Warming up", warm_up, (), lambda _: None, sys.exit)
        settle(application, window)
        path = Path(music21.__file__).parent / "corpus" / file
        print(f"{name}, violin I")
        for row in Piece(application, path).rows(window):
            print(f"  {row}")
        window.tasks.shut_down()


def settle(application: QApplication, window: MainWindow) -> None:
    """Wait until the window has nothing under way."""
    while window.tasks.is_busy:
        application.processEvents()


class Piece:
    """One part and the work measured on it."""

    def __init__(self, application: QApplication, path: Path) -> None:
        self.application = application
        self.path = path
        self.opened = open_any(path)
        self.part = self.opened.score.parts[0]
        self.text = part_for_engraving(self.opened.document, self.part.id)

    def rows(self, window: MainWindow) -> list[str]:
        plan = make_plan(self.part, VIOLIN, preset("two-homes"))
        sheets = Sheets(engrave(self.text, A4))
        sheets.show_plans([plan])
        self.paint(sheets)
        in_the_middle, on_first_page = self.other_way(plan, len(self.part.notes) // 2), self.other_way(plan, 3)
        pairs = {
            "open the file and show the first page / verovio's load and first page": (
                lambda: self.show(window),
                self.verovio_page,
            ),
            "finger in first and third position / music21's parse": (lambda: self.solve("two-homes"), self.parse),
            "finger in any position / music21's parse": (lambda: self.solve("whole-board"), self.parse),
            "override to new plan / first plan": (
                lambda: plan.with_locks(in_the_middle),
                lambda: self.solve("two-homes"),
            ),
            "override to digit painted / painting the page anew": (
                lambda: self.paint_override(plan.with_locks(on_first_page), sheets),
                lambda: self.paint(Sheets(sheets.pages)),
            ),
        }
        return [f"{self.ratio(*pair, window):8.3f}  {name}" for name, pair in pairs.items()]

    def ratio(self, ours: Callable[[], object], theirs: Callable[[], object], window: MainWindow) -> float:
        taken = []
        for _ in range(RUNS):
            taken.append((seconds(ours), seconds(theirs)))
            settle(self.application, window)
        return statistics.median(our for our, _ in taken) / statistics.median(their for _, their in taken)

    def show(self, window: MainWindow) -> None:
        """From the file to the first page with its digits, in a window that is already on screen."""
        before = window.desk.score
        window.open(self.path)
        while window.desk.score is before or window.desk.score.document.name != self.path.name or not window.desk.pages:
            self.application.processEvents()
        while window.desk.plan is None:
            self.application.processEvents()
        window.music.viewport().repaint()

    def verovio_page(self) -> None:
        toolkit = verovio.toolkit()
        toolkit.setOptions({"pageWidth": 2100, "pageHeight": 2970, "scale": 100})
        toolkit.loadData(self.text)
        toolkit.renderToSVG(1)

    def parse(self) -> None:
        music21.converter.parseData(self.text, format="musicxml")

    def solve(self, rules: str) -> Plan:
        return make_plan(self.part, VIOLIN, preset(rules))

    def other_way(self, plan: Plan, number: int) -> dict[str, Lock]:
        """The hardest way to play a note, as a lock; ``number`` counts the fingered notes."""
        note_id = [note.id for note in self.part.notes if note.id in plan][number]
        return {note_id: Lock.on(plan.ways(note_id)[-1].placement)}

    def paint(self, sheets: Sheets) -> None:
        image = QImage(800, 1131, QImage.Format.Format_RGB32)
        painter = QPainter(image)
        sheets.paint_picture(painter, 0, 800 / 210, 1.0)
        painter.scale(800 / 210, 800 / 210)
        sheets.paint_digits(painter, 0)
        painter.end()

    def paint_override(self, plan: Plan, sheets: Sheets) -> None:
        sheets.show_plans([plan])
        self.paint(sheets)


if __name__ == "__main__":
    sys.exit(main())
