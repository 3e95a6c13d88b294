"""How the window keeps up: frames while pages scroll, the change of parts, an override.

Run from the project's root: ``python -m tests.benchmarks.window``. Everything is painted without a screen, at 1280 by
800. A frame is one turn of the event loop in which the view scrolls on by a third and is painted; it is put beside what
verovio needs to render a page of the same score.
"""

from __future__ import annotations

import os
import statistics
import sys
import time
from pathlib import Path

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import music21
import verovio
from PySide6.QtWidgets import QApplication

from app.window.main_window import MainWindow
from app.window.style.look import dress
from engraving.engraver import warm_up
from engraving.extract import score_for_engraving
from engraving.layout import FULL_SCORE
from tests.benchmarks.timing import seconds
from tests.waiting import wait

PIECE = "beethoven/opus132.mxl"
MANY_PAGES = 75
TURNS = 20


def main() -> None:
    application = QApplication([])
    dress(application)
    window = MainWindow()
    window.resize(1280, 800)
    window.show()
    window.tasks.run_apart("Warming up", warm_up, (), lambda _: None, sys.exit)
    settle(application, window)
    bench = Bench(application, window)
    for row in (*bench.part_rows(), *bench.score_rows()):
        print(f"  {row}")
    window.tasks.shut_down()


def settle(application: QApplication, window: MainWindow) -> None:
    """Wait until the window has nothing under way."""
    while window.tasks.is_busy:
        application.processEvents()
    wait(200)


class Bench:
    """A quartet in the window, and what is measured on it."""

    def __init__(self, application: QApplication, window: MainWindow) -> None:
        self.application, self.window = application, window
        window.open(Path(music21.__file__).parent / "corpus" / PIECE)
        while window.desk.plan is None or not window.desk.pages:
            application.processEvents()
        settle(application, window)

    def part_rows(self) -> list[str]:
        page = self.render_a_page()
        self.turn(1)
        switch = statistics.median(seconds(lambda number=number: self.turn(number % 2)) for number in range(TURNS))
        repaint = statistics.median(seconds(self.repaint) for _ in range(TURNS))
        overrides = [self.override(number) for number in range(TURNS)]
        override, soon = statistics.median(overrides), sum(each < 2 / 60 for each in overrides)
        return [
            f"{switch / page:8.3f}  turn to a part seen before / verovio's render of a page",
            f"{override / repaint:8.2f}  override to digit repainted / plain repaint of the view",
            f"{soon / TURNS:8.2f}  share of overrides that were painted within two frames of a sixtieth of a second",
        ]

    def score_rows(self) -> list[str]:
        """Scrolling through the full score, page after page of it, again and again until there were 75."""
        page, view = self.render_a_page(), self.window.music
        self.window.desk.show_full_score(True)
        settle(self.application, self.window)
        pages, frames = len(self.window.desk.pages), list[float]()
        bar = view.verticalScrollBar()
        seen = 0
        while seen < MANY_PAGES:
            for value in range(0, bar.maximum() + 1, max(view.viewport().height() // 3, 1)):
                frames.append(seconds(lambda value=value: self.frame(value)))
                time.sleep(max(0.0, 1 / 60 - frames[-1]))
            seen += pages
        late = sum(frame > 1 / 60 for frame in frames)
        return [
            f"{statistics.median(frames) / page:8.3f}  a frame of scrolling through {seen} pages, median / verovio's",
            f"{max(frames) / page:8.3f}  the same, the worst of {len(frames)}",
            f"{late / len(frames):8.3f}  share of frames that took longer than a sixtieth of a second",
        ]

    def frame(self, value: int) -> None:
        self.window.music.verticalScrollBar().setValue(value)
        self.application.processEvents()

    def turn(self, number: int) -> None:
        desk = self.window.desk
        if desk.score is not None:
            desk.turn_to(desk.score.score.parts[number].id)
        while not desk.pages or desk.plan is None:
            self.application.processEvents()
        self.repaint()

    def repaint(self) -> None:
        self.window.music.viewport().repaint()

    def override(self, number: int) -> float:
        """Seconds from fixing a note of the first page, in the dearest way, to what has changed being painted."""
        desk = self.window.desk
        if desk.plan is None:
            raise ValueError("the part is not fingered")
        desk.select_note([note.id for note in desk.plan.part.notes if note.id in desk.plan][3 + number])
        settle(self.application, self.window)
        way = self.window.ways.model.ways[-1]

        def fix() -> None:
            self.window.notes.choose(way)
            self.application.processEvents()

        return seconds(fix)

    def render_a_page(self) -> float:
        """Seconds verovio takes to render a page of the full score it has laid out."""
        if self.window.desk.score is None:
            raise ValueError("no score is open")
        toolkit = verovio.toolkit()
        size = {"pageWidth": round(FULL_SCORE.width_mm * 10), "pageHeight": round(FULL_SCORE.height_mm * 10)}
        toolkit.setOptions(size)
        toolkit.loadData(score_for_engraving(self.window.desk.score.document))
        return statistics.median(seconds(lambda n=n: toolkit.renderToSVG(n)) for n in range(1, 8))


if __name__ == "__main__":
    sys.exit(main())
