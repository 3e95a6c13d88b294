"""``python -m tests.supply.wheel``: the wheel as a user gets it, built, installed and used outside the tree.

Needs a package index for what the wheel depends on. Tells every step; 1 when one failed.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import venv
import zipfile
from collections.abc import Iterator, Sequence
from pathlib import Path

ROOT = Path(__file__).parents[2]
ROOMS = ("app", "engraving", "analysis")
SCORE = "three-crossings.musicxml"
WINDOW_SECONDS = 8.0
# What each command shall have written: a file, or a folder with files.
WRITING = (
    ("finger", SCORE, "-o", "fingers.csv", "-o", "marked.musicxml"),
    ("parts", SCORE, "-o", "set.pdf"),
    ("parts", SCORE, "-o", "parts"),
    ("listen", SCORE, "--part", "viola", "--measures", "1-4", "-o", "viola.wav"),
    ("sheet", SCORE, "--part", "viola", "-o", "sheet.pdf"),
)
_MANUAL = """
from app.help.manual import ROOM, build_manual
assert "#" in build_manual() and list((ROOM / "pictures").glob("*.png"))
"""


class WheelError(Exception):
    """The wheel, or what it installs, does not do what it should."""


def main() -> int:
    """Build, install and use the wheel; returns the exit status."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        try:
            for step in check(folder):
                sys.stdout.write(f"{step}\n")
                sys.stdout.flush()
        except WheelError as error:
            sys.stdout.write(f"FAILED: {error}\n")
            return 1
    return 0


def check(folder: Path) -> Iterator[str]:
    """Each step done, in words; WheelError at the first that fails."""
    wheel = build(folder)
    yield f"{wheel.name} built: {compare(wheel)} files, all of them"
    programs = install(wheel, folder)
    yield "installed in an environment of its own"
    home = folder / "home"
    home.mkdir()
    shutil.copy(ROOT / "examples" / SCORE, home)
    for words in WRITING:
        run([str(programs / "handframe"), *words], home)
        for out in (words[at + 1] for at, word in enumerate(words) if word == "-o"):
            expect_written(home / out)
        yield f"handframe {' '.join(words)}"
    run([str(programs / "python"), "-c", _MANUAL], home)
    yield "the manual and its pictures are there"
    told = {tongue: run([str(programs / "handframe"), "watch", SCORE], home, tongue) for tongue in ("en", "de")}
    if "measure" not in told["en"] or "Takt" not in told["de"]:
        raise WheelError("the watch-list is not told in English and in German")
    yield "the watch-list is told in English and in German"
    stay_open([str(programs / "handframe"), SCORE], home)
    yield f"the window stayed open for {WINDOW_SECONDS:g} s"


def build(folder: Path) -> Path:
    """The wheel of a copy of the tree, which keeps the tree clean."""
    source = folder / "source"
    for room in ROOMS:
        shutil.copytree(ROOT / room, source / room, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, source)
    words = ["-m", "pip", "wheel", "--quiet", "--no-deps", "--wheel-dir", str(folder), str(source)]
    run([sys.executable, *words], folder)
    (wheel,) = folder.glob("*.whl")
    return wheel


def compare(wheel: Path) -> int:
    """How many files the wheel holds; WheelError when one of the rooms is missing, or something else is inside."""
    held = {name for name in zipfile.ZipFile(wheel).namelist() if ".dist-info/" not in name}
    files = {path.relative_to(ROOT) for room in ROOMS for path in (ROOT / room).rglob("*") if path.is_file()}
    # The texts of a translation are the source of the compiled catalogue, which is what runs.
    meant = {path.as_posix() for path in files if "__pycache__" not in path.parts and path.suffix != ".po"}
    if held != meant:
        raise WheelError(f"missing {sorted(meant - held)}, too much {sorted(held - meant)}")
    return len(held)


def install(wheel: Path, folder: Path) -> Path:
    """The folder of the programs of a new environment that holds the wheel."""
    place = folder / "environment"
    venv.create(place, with_pip=True)
    programs = place / ("Scripts" if os.name == "nt" else "bin")
    run([str(programs / "python"), "-m", "pip", "install", "--quiet", str(wheel)], folder)
    return programs


def surroundings(home: Path, tongue: str) -> dict[str, str]:
    """The environment variables of a user without a screen, whose home is ``home``."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "XDG_"))}
    return {**kept, "HOME": str(home), "LANGUAGE": tongue, "QT_QPA_PLATFORM": "offscreen", "PYTHONUTF8": "1"}


def run(words: Sequence[str], home: Path, tongue: str = "en") -> str:
    """What a program said; WheelError when it failed."""
    done = subprocess.run(
        words, cwd=home, env=surroundings(home, tongue), capture_output=True, encoding="utf-8", timeout=600, check=False
    )
    if done.returncode:
        raise WheelError(f"{' '.join(words)}: status {done.returncode}: {done.stderr}")
    return done.stdout


def expect_written(path: Path) -> None:
    """WheelError unless a file with something in it, or a folder of such files, is there."""
    files = list(path.iterdir()) if path.is_dir() else [path]
    if not files or not all(file.is_file() and file.stat().st_size for file in files):
        raise WheelError(f"{path.name} was not written")


def stay_open(words: Sequence[str], home: Path) -> None:
    """WheelError when the program ends by itself, or says something."""
    said = home / "said.txt"
    with said.open("wb") as file:
        program = subprocess.Popen(
            words, cwd=home, env=surroundings(home, "en"), stdout=file, stderr=file, start_new_session=True
        )
        try:
            status = program.wait(WINDOW_SECONDS)
        except subprocess.TimeoutExpired:
            status = None
        # What is said when it is ended from outside is not asked for.
        text = said.read_text(encoding="utf-8", errors="replace").replace(_OFFSCREEN, "").strip()
        end_all(program)
    if status is not None or text:
        raise WheelError(f"the window ended or complained: {text}")


def end_all(program: subprocess.Popen[bytes]) -> None:
    """End a program and, where a group of processes has a name, what it started."""
    if os.name == "posix":
        with contextlib.suppress(ProcessLookupError):
            os.killpg(program.pid, signal.SIGTERM)
    else:
        program.terminate()
    program.wait()


# Said by the platform without a screen at every window shown.
_OFFSCREEN = "This plugin does not support propagateSizeHints()"


if __name__ == "__main__":
    sys.exit(main())
