"""Handframe in a process of its own: in an own home, without a display, and what it loads."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).parents[2]
_COMMAND = "import sys; from app.main import main; sys.exit(main())"

Done = subprocess.CompletedProcess[str]


def at_home(home: Path, program: str, *words: str) -> Done:
    """A program whose user lives in ``home``, a new folder, run to its end, which is no error."""
    home.mkdir()
    places = {"HOME": str(home), "XDG_DATA_HOME": str(home), "XDG_CONFIG_HOME": str(home)}
    done = _run(["-c", program, *words], {**os.environ, **places})
    assert done.returncode == 0, done.stderr
    return done


def without_display(*words: str) -> Done:
    """The command ``handframe`` where there is no screen and nobody says how to paint without one."""
    bare = {name: value for name, value in os.environ.items() if name not in ("DISPLAY", "QT_QPA_PLATFORM")}
    return _run(["-c", _COMMAND, *words], bare)


def loaded_by(imports: str, names: Sequence[str]) -> list[str]:
    """Which of the modules are loaded once that is imported."""
    code = f"import sys; import {imports}; print(*[name for name in {tuple(names)!r} if name in sys.modules])"
    done = _run(["-c", code], dict(os.environ))
    assert done.returncode == 0, done.stderr
    return done.stdout.split()


def _run(words: Sequence[str], places: dict[str, str]) -> Done:
    return subprocess.run(
        [sys.executable, *words], env=places, cwd=ROOT, capture_output=True, text=True, timeout=120, check=False
    )
