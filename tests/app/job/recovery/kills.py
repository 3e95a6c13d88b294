"""A window's edits in a process that is killed at random moments, and whether the last one shown is there after it."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from app.job.recovery.folder import RecoveryFolder, bring_back
from tests.app.job.recovery.edits import text_after
from tests.scores import score


@contextmanager
def editing(folder: Path) -> Iterator[subprocess.Popen[str]]:
    """A process that makes copies of itself, each of which edits until it is killed."""
    path = folder / "piece.musicxml"
    path.write_bytes(score("Recorder", "4/4", "D5/1 E5 F#5 G5"))
    command = [sys.executable, "-m", "tests.app.job.recovery.edits", str(path)]
    pipes = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE}
    with subprocess.Popen(command, **pipes, text=True, start_new_session=True) as process:
        yield process
        os.killpg(process.pid, signal.SIGKILL)


def killed_often(editor: subprocess.Popen[str], folder: Path, rounds: int, seed: int) -> list[int]:
    """Kill a copy so many times: how many edits each had shown. Each time the last one, or one more, is there."""
    chance, shown = random.Random(seed), []
    for number in range(rounds):
        own = folder / f"round{number}"
        shown.append(_shown_when_killed(editor, own, chance.uniform(0, 0.12)))
        left = RecoveryFolder(own).left_behind()
        assert not list(own.glob("*.part"))
        assert not list(own.glob("*.lock"))
        text = ""
        if left:
            opened = bring_back(left[0].journal)
            (part,) = opened.score.parts
            text = opened.work.parts[part.id].own_notes.get(part.notes[0].id, "")
            assert left[0].lost == 0
        # What was in the making when it was killed may be there too.
        assert text in (text_after(shown[-1]), text_after(shown[-1] + 1))
    return shown


def _shown_when_killed(editor: subprocess.Popen[str], folder: Path, seconds: float) -> int:
    """Have a copy edit for so long and kill it: how many edits it has shown."""
    assert editor.stdin is not None
    assert editor.stdout is not None
    editor.stdin.write(f"{folder}\n")
    editor.stdin.flush()
    word, pid = editor.stdout.readline().split()
    assert word == "pid"
    time.sleep(seconds)
    os.kill(int(pid), signal.SIGKILL)
    lines = list(iter(editor.stdout.readline, "over\n"))
    return int(lines[-1]) if lines else 0
