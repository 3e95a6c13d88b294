"""A process that edits until it is killed, and tells on its output how many edits it has shown.

It reads folders from its input, one a line. For each it makes a copy of itself, tells the copy's number ("pid 123"),
and has the copy edit with its journal in that folder: "1", "2", ... after each edit that was shown. Once the copy was
killed, it tells "over". Everything is loaded once only.
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from types import MappingProxyType

from app.job.files.opening import Opened, open_any
from app.window.background.tasks import TaskRunner
from app.window.editing.desk import Desk
from app.window.editing.steps import State
from app.window.safe.safety import Safety

REWRITE_AFTER = 25


def text_after(edits: int) -> str:
    """What the first note says after so many edits: every fifth of them takes one back."""
    texts = [""]
    for number in range(edits):
        if number % 5 == 4:
            texts.pop()
        else:
            texts.append(f"say {number}")
    return texts[-1]


def edit_for_ever(opened: Opened, folder: Path) -> None:
    """Edit, and tell of each edit what a view that shows it would."""
    desk = Desk(TaskRunner())
    safety = Safety(desk, folder, rewrite_after=REWRITE_AFTER)
    desk.score, desk.state = opened, State(opened.work, MappingProxyType({}))
    desk.opened.emit()
    desk.part = opened.score.parts[0]
    note_id = desk.part.notes[0].id
    number = 0
    desk.remarks_changed.connect(lambda: os.write(1, b"%d\n" % (number + 1)))
    while safety is not None:
        if number % 5 == 4:
            desk.history.undo()
        else:
            text = f"say {number}"
            desk.note_down(lambda work, text=text: work.with_own_note(note_id, text), "your note")
        number += 1


def main() -> None:
    opened = open_any(Path(sys.argv[1]))
    for line in sys.stdin:
        pid = os.fork()
        if not pid:
            os.write(1, b"pid %d\n" % os.getpid())
            edit_for_ever(opened, Path(line.strip()))
        os.waitpid(pid, 0)
        os.write(1, b"over\n")


if __name__ == "__main__":
    main()
