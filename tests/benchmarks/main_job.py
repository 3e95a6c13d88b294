"""How long the main job takes beside what its libraries need for theirs: ratios from one run.

Run from the project's root: ``python -m tests.benchmarks.main_job``. Each figure is the median of five runs, taken in turn
with the run it is compared with.
"""

from __future__ import annotations

import os
import statistics
import sys
import time
from collections.abc import Callable
from pathlib import Path
from types import MappingProxyType

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import music21
import verovio
from PySide6.QtGui import QImage, QPainter
from PySide6.QtWidgets import QApplication

from analysis.fingering.locks import Lock
from analysis.fingering.plan import Plan, make_plan
from analysis.fingering.rules import preset
from analysis.instruments import VIOLIN
from app.job.opening import open_any
from app.window.look import dress
from app.window.main_window import MainWindow
from app.window.sheets import Sheets
from engraving.engraver import engrave
from engraving.extract import part_for_engraving
from engraving.layout import A4

PIECES = {"Mozart K. 458 i": "mozart/k458/movement1.mxl", "Beethoven op. 132": "beethoven/opus132.mxl"}
RUNS = 5


def main() -> None:
    application = QApplication([])
    dress(application)
    for name, file in PIECES.items():
        path = Path(music21.__file__).parent / "corpus" / file
        print(f"{name}, violin I")
        for row in Piece(application, path).rows():
            print(f"  {row}")


def seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


class Piece:
    """One part and the work measured on it."""

    def __init__(self, application: QApplication, path: Path) -> None:
        self.application = application
        self.path = path
        self.opened = open_any(path)
        self.part = self.opened.score.parts[0]
        self.text = part_for_engraving(self.opened.document, self.part.id)
        self.one_part = path.parent / "part.musicxml"

    def rows(self) -> list[str]:
        plan = make_plan(self.part, VIOLIN, preset("first-third"))
        sheets = Sheets(engrave(self.text, A4))
        sheets.show_plan(plan)
        pairs = {
            "open the file and show the first page / verovio's load and first page": (self.show, self.verovio_page),
            "finger in first and third position / music21's parse": (lambda: self.solve("first-third"), self.parse),
            "finger in any position / music21's parse": (lambda: self.solve("any"), self.parse),
            "override to new plan / first plan": (lambda: self.override(plan), lambda: self.solve("first-third")),
            "override to digit painted / painting the page": (
                lambda: self.paint_override(plan, sheets),
                lambda: self.paint(Sheets(sheets.pages)),
            ),
        }
        return [f"{self.ratio(*pair):8.3f}  {name}" for name, pair in pairs.items()]

    @staticmethod
    def ratio(ours: Callable[[], object], theirs: Callable[[], object]) -> float:
        taken = [(seconds(ours), seconds(theirs)) for _ in range(RUNS)]
        return statistics.median(our for our, _ in taken) / statistics.median(their for _, their in taken)

    def show(self) -> None:
        """From the file to the first page with its digits in the window, which is already on screen."""
        window = MainWindow()
        window.show()
        window.open(self.path)
        while not (window.desk.pages and window.desk.plan):
            self.application.processEvents()
        window.music.viewport().repaint()
        window.tasks.shut_down()
        window.deleteLater()

    def verovio_page(self) -> None:
        toolkit = verovio.toolkit()
        toolkit.setOptions({"pageWidth": 2100, "pageHeight": 2970, "scale": 100})
        toolkit.loadData(self.text)
        toolkit.renderToSVG(1)

    def parse(self) -> None:
        music21.converter.parseData(self.text, format="musicxml")

    def solve(self, rules: str) -> Plan:
        return make_plan(self.part, VIOLIN, preset(rules))

    def override(self, plan: Plan) -> Plan:
        note_id = self.part.notes[len(self.part.notes) // 2].id
        way = plan.ways(note_id)[-1]
        return plan.with_locks(MappingProxyType({note_id: Lock.on(way.placement)}))

    def paint(self, sheets: Sheets) -> None:
        image = QImage(800, 1131, QImage.Format.Format_RGB32)
        painter = QPainter(image)
        painter.drawPixmap(0, 0, sheets.pixmap(0, 800 / 210, 1.0))
        painter.scale(800 / 210, 800 / 210)
        sheets.paint_digits(painter, 0)
        painter.end()

    def paint_override(self, plan: Plan, sheets: Sheets) -> None:
        note_id = next(note.id for note in self.part.notes if note.id in plan)
        way = plan.ways(note_id)[-1]
        sheets.show_plan(plan.with_locks({note_id: Lock.on(way.placement)}))
        self.paint(sheets)


if __name__ == "__main__":
    sys.exit(main())
