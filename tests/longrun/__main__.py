"""``python -m tests.longrun [--commands N] [--seed S] [SCORE]``: the long run, and what came of it."""

from __future__ import annotations

import argparse
import os
import sys
import tempfile
from pathlib import Path

os.environ["QT_QPA_PLATFORM"] = "offscreen"
os.environ["LANGUAGE"] = "en"

from app.window.background.heap import share_one_heap


def main() -> int:
    share_one_heap()  # as the program does, before anything is loaded that begins threads

    from PySide6.QtWidgets import QApplication

    from app.window.main_window import MainWindow
    from app.window.style.look import dress
    from tests.conftest import EXAMPLE
    from tests.longrun.run import LongRun

    parser = argparse.ArgumentParser(prog="python -m tests.longrun")
    parser.add_argument("score", nargs="?", type=Path, default=EXAMPLE)
    parser.add_argument("--commands", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--stage", type=int, default=200, help="save and open again after so many")
    asked = parser.parse_args()
    application = QApplication([])
    dress(application)
    with tempfile.TemporaryDirectory() as name:
        window = MainWindow(Path(name) / "recovery")
        window.show()
        told = LongRun(window, asked.score, Path(name), asked.seed, asked.stage).run(asked.commands)
        window.close()
    sys.stdout.write(f"{told.done.total()} commands, {len(told.done)} kinds; {len(told.offences)} offences\n")
    sys.stdout.writelines(f"  {offence}\n" for offence in told.offences[:20])
    for held in told.held:
        sys.stdout.write(f"  {held.memory:5.0f} MB, lent out {held.lent:3.0f}; {held.threads} threads, ")
        sys.stdout.write(f"{held.files} files, {held.objects} objects\n")
    return bool(told.offences)


if __name__ == "__main__":
    sys.exit(main())
