"""How soon the program stands on the screen: the front, and then the whole window, beside an empty Qt window.

Run from the project's root: ``python -m tests.benchmarks.start``. Every start is a process of its own, without a
screen; they take turns, and the median of each kind counts. Bytecode is there before the first is timed.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import tempfile
import time

ROUNDS = 9
_EMPTY = """
import time
from PySide6.QtCore import QEvent, QTimer
from PySide6.QtWidgets import QApplication, QWidget

class Empty(QWidget):
    def event(self, event):
        handled = super().event(event)
        if event.type() == QEvent.Type.Paint:
            print(time.time(), flush=True)
            QTimer.singleShot(0, application.quit)
        return handled

application = QApplication([])
window = Empty()
window.show()
application.exec()
"""
_FRONT = """
import time
from app import main
from app.window import run
from app.window.start.front import Front

class Timed(Front):
    def __init__(self, *given):
        super().__init__(*given)
        self.painted.connect(lambda: (print(time.time(), flush=True), run.QTimer.singleShot(0, self.close)))

run.Front = Timed
main.main([])
"""
_WINDOW = """
import time
from app import main
from app.window import run

class Timed(run._Starting):
    def _put_in_place(self):
        super()._put_in_place()
        from app.window.main_window import MainWindow
        (self.window,) = (one for one in run.QApplication.topLevelWidgets() if isinstance(one, MainWindow))
        self.window.repaint()
        print(time.time(), flush=True)
        run.QTimer.singleShot(0, self.window.close)

run._Starting = Timed
main.main([])
"""


def seconds(program: str, home: str) -> float:
    """From the start of a process until it says that it is painted."""
    places = {"HOME": home, "XDG_DATA_HOME": home, "XDG_CONFIG_HOME": home, "QT_QPA_PLATFORM": "offscreen"}
    begun = time.time()
    done = subprocess.run(
        [sys.executable, "-c", program], env={**os.environ, **places}, capture_output=True, text=True, check=True
    )
    return float(done.stdout.split()[0]) - begun


def main() -> None:
    programs = {"an empty Qt window": _EMPTY, "the front": _FRONT, "the whole window": _WINDOW}
    with tempfile.TemporaryDirectory() as home:
        for program in programs.values():
            seconds(program, home)
        taken = [{name: seconds(program, home) for name, program in programs.items()} for _ in range(ROUNDS)]
    middle = {name: statistics.median(one[name] for one in taken) for name in programs}
    empty = middle["an empty Qt window"]
    for name, value in middle.items():
        print(f"  {value / empty:6.2f}  {name} painted / an empty Qt window painted  ({value:.2f} s)")


if __name__ == "__main__":
    sys.exit(main())
