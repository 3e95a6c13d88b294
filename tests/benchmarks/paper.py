"""From a plan to printed pages: the time over what the engraving library needs to load and draw the same pages.

Run from the project's root: ``python -m tests.benchmarks.paper``. Medians, taken in turn in one run. Ours engraves
with cues and page turns, places the digits that are printed, and makes a PDF; the library reads the same text and gives
its SVG.
"""

from __future__ import annotations

import os
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import verovio
from PySide6.QtGui import QGuiApplication

from analysis.cues import cues_of
from analysis.fingering.plan import Plan
from app.job.files.opening import Opened, open_any
from app.job.paper.part import paper_part
from app.job.teacher.printing import Printing
from engraving.extract import part_for_engraving
from engraving.output import Copy, pdf_bytes
from tests.benchmarks.timing import ratio
from tests.engraving.corpus import corpus_folder

PIECES = ("haydn/opus1no1/movement1.mxl", "mozart/k155/movement1.mxl", "mozart/k458/movement1.mxl")
RUNS = 5


def main() -> None:
    application = QGuiApplication([])
    print("violin I: from plan to PDF over the engraver's own load and render; the same without page turns; KB a page")
    for name in PIECES:
        row(name)
    application.shutdown()


def row(name: str) -> None:
    opened = open_any(Path(corpus_folder()) / name)
    part = opened.score.parts[0]
    plan = opened.work.parts[part.id].plan(part)
    if plan is None:
        raise SystemExit(f"{name}: the first part has no plan")
    plain = Printing(turns=False)
    figures = (
        ratio(lambda: printed(opened, plan, Printing()), lambda: library(opened, plan), runs=RUNS),
        ratio(lambda: printed(opened, plan, plain), lambda: library(opened, plan), runs=RUNS),
    )
    pages = paper_part(opened, part, plan, opened.work.parts[part.id], plain).pages
    size = len(printed(opened, plan, plain)) / 1000 / len(pages)
    print(f"{name:32}{figures[0]:8.2f}{figures[1]:8.2f}{size:8.0f}")


def printed(opened: Opened, plan: Plan, printing: Printing) -> bytes:
    paper = paper_part(opened, plan.part, plan, opened.work.parts[plan.part.id], printing)
    return pdf_bytes([Copy(plan.part.name, paper.pages)], printing.layout, plan.part.name)


def library(opened: Opened, plan: Plan) -> int:
    """The number of pages the library draws of the same text on the same paper."""
    text = part_for_engraving(opened.document, plan.part.id, cues=cues_of(opened.score, plan.part))
    layout = Printing().layout
    toolkit = verovio.toolkit()
    toolkit.setOptions(
        {
            "pageWidth": round(layout.width_mm * 10),
            "pageHeight": round(layout.height_mm * 10),
            "unit": layout.staff_mm * 10 / 8,
            "scale": 100,
            "breaks": "auto",
        }
    )
    toolkit.loadData(text)
    return sum(bool(toolkit.renderToSVG(page)) for page in range(1, toolkit.getPageCount() + 1))


if __name__ == "__main__":
    main()
