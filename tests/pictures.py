"""The pictures of the manual and of README.md, made by the program itself: ``python -m tests.pictures``.

The window is driven without a screen, with the example, at fixed sizes; what it shows is written with few colours.
"""

from __future__ import annotations

import os
import sys
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from functools import reduce
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "offscreen"
os.environ["LANGUAGE"] = "en"

import numpy as np
from PySide6.QtCore import QRect, Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication, QWidget

from analysis.fingering.rules.files import preset
from app.help.manual import ROOM
from app.job.files.example import example_score
from app.job.rules.draft import Draft
from app.window import dialogs
from app.window.main_window import MainWindow
from app.window.style.look import dress
from tests.waiting import wait

EXAMPLES = Path(__file__).parent.parent / "examples"
_COLOURS = 128
_WINDOW, _WHOLE, _COMPARISON, _RULES, _PAPER = (1120, 700), (1280, 800), (1000, 620), (1060, 660), (760, 560)
_LONGEST_MS, _STEP_MS = 60_000, 20


def main() -> None:
    """Write all of them."""
    application = QApplication(sys.argv[:1])
    dialogs.tell = lambda parent, sentence: sys.exit(sentence)  # nobody would close a dialog
    dress(application)
    window = MainWindow()
    window.resize(*_WINDOW)
    window.show()
    _write(window.start_page, "start", QRect(0, 0, window.start_page.width(), 150))
    window.open(example_score())
    _wait(lambda: bool(window.desk.pages) and window.desk.plan is not None)
    for name, shown, *parts in _states(window):
        _wait(lambda: not window.tasks.is_busy)
        _write(shown, name, _area_of(shown, parts))
    window.desk.history.setClean()
    window.close()


def _states(window: MainWindow) -> Iterator[tuple[str | QWidget, ...]]:
    """What is shown, one after the other: a name, the widget once nothing is under way, and what of it if not all."""
    desk = window.desk
    desk.select_note(_note(window, "12", "E5"))
    yield "note", window, window.music, window.ways
    desk.select_passage(_measures(window, "46", "47"))
    window.compare()
    comparison = window.compare_window
    assert comparison is not None
    comparison.resize(*_COMPARISON)
    _wait(lambda: bool(comparison.ways) and comparison.tempo.plot.scan is not None)
    yield "comparison", comparison
    comparison.close()
    rules = window.ruling.edit_rules()
    rules.resize(*_RULES)
    rules.editor.take(Draft.of(preset("home-ground")))
    _wait(lambda: bool(rules.effect.text()))
    yield "rules", rules
    rules.editor.undo()
    rules.close()
    desk.select_passage(None)
    window.lists.setCurrentWidget(window.watch_panel)
    window.watch.choose(next(entry for entry in window.watch.entries if entry.finding.kind == "single-crossing"))
    yield "watch-list", window, window.music, window.lists
    _mark(window)
    yield "marks", window.lists
    window.actions_by_name["see_part"].trigger()
    _wait(lambda: bool(window.previews.windows))
    paper = window.previews.windows[0]
    paper.resize(*_PAPER)
    yield "paper", paper
    paper.close()
    window.resize(*_WHOLE)
    window.lists.setCurrentWidget(window.watch_panel)
    window.watch.choose(next(entry for entry in window.watch.entries if entry.finding.kind == "look-alike"))
    yield "window", window


def _mark(window: MainWindow) -> None:
    """Some marks at the notes of a measure, so that they stand in the list."""
    window.watch.choose(None)
    window.lists.setCurrentWidget(window.marks_panel)
    window.desk.select_note(_note(window, "12", "E5"))
    window.pencil.place("down-bow")
    window.pencil.place("dynamic", "mf")


def _area_of(shown: QWidget, parts: Iterable[QWidget]) -> QRect:
    """The smallest area with these parts of a widget in it; all of it where none is named."""
    areas = [QRect(part.mapTo(shown, part.rect().topLeft()), part.size()) for part in parts]
    return reduce(QRect.united, areas) if areas else shown.rect()


def _note(window: MainWindow, label: str, name: str) -> str:
    """The first note of that name in a measure of the part in hand."""
    part = window.desk.part
    assert part is not None
    return next(note.id for note in part.notes if (part.measures[note.measure].label, note.pitch.name) == (label, name))


def _measures(window: MainWindow, first: str, last: str) -> tuple[int, int]:
    part = window.desk.part
    assert part is not None
    labels = [measure.label for measure in part.measures]
    return labels.index(first), labels.index(last)


def _wait(ready: Callable[[], bool]) -> None:
    for _ in range(_LONGEST_MS // _STEP_MS):
        wait(_STEP_MS)
        if ready():
            return
    raise TimeoutError("the window did not get so far")


def _write(widget: QWidget, name: str, area: QRect) -> None:
    """Write what a widget shows in an area of it, in few colours."""
    wait(300)  # what is drawn late, such as scroll bars, has come to rest
    path = (EXAMPLES if name == "window" else ROOM / "pictures") / f"{name}.png"
    image = widget.grab(area).toImage().convertToFormat(QImage.Format.Format_RGB32)
    few = image.convertToFormat(QImage.Format.Format_Indexed8, _colours(image), Qt.ImageConversionFlag.ThresholdDither)
    path.parent.mkdir(exist_ok=True)
    if not few.save(str(path), "PNG", 0):
        raise OSError(f"{path} cannot be written")
    sys.stdout.write(f"{path.name}: {path.stat().st_size / 1000:.0f} kB\n")


def _colours(image: QImage) -> list[int]:
    """The colours that an image shows most; shades that the eye hardly tells apart count as one."""
    pixels = np.frombuffer(image.constBits(), np.uint32).reshape(image.height(), -1)[:, : image.width()]
    counted: dict[int, Counter[int]] = {}
    for colour, number in zip(*np.unique(pixels, return_counts=True), strict=True):
        counted.setdefault(int(colour) & 0xFFF0F0F0, Counter())[int(colour)] += int(number)
    often = sorted(counted.values(), key=lambda shades: -shades.total())[:_COLOURS]
    return [shades.most_common(1)[0][0] for shades in often]


if __name__ == "__main__":
    main()
