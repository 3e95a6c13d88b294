"""Where the program begins: the window, or a command that needs none."""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence

from analysis.errors import AnalysisError
from app.cli.arguments import COMMANDS, command_parser, window_parser
from app.errors import AppError
from engraving.errors import EngravingError


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the program with the given command line; returns the exit status, 2 for bad input."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    try:
        return _run(words)
    except (AppError, AnalysisError, EngravingError) as error:
        sys.stderr.write(f"handframe: {error}\n")
        return 2
    except KeyboardInterrupt:
        sys.stderr.write("handframe: stopped\n")
        return 130
    except BrokenPipeError:
        # The reader of our output has gone away; nothing more can be said to it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0


def _run(words: list[str]) -> int:
    if words and words[0] in COMMANDS:
        parsed = command_parser().parse_args(words)
        _run_command(parsed)
        return 0
    score = window_parser().parse_args(words).score
    if not _has_display():
        named = ", ".join(f"handframe {command} SCORE" for command in COMMANDS)
        raise AppError(f"there is no display to open a window on; the commands need none: {named}")
    from app.window.run import run_window

    return run_window(score)


def _run_command(parsed: argparse.Namespace) -> None:
    """Run one of the commands that need no window; only what it needs is loaded."""
    match parsed.command:
        case "finger":
            from app.cli.finger import run_finger

            run_finger(parsed)
        case "ways":
            from app.cli.ways import run_ways

            run_ways(parsed)
        case "watch":
            from app.cli.watch import run_watch

            run_watch(parsed)
        case "sheet":
            from app.cli.sheet import run_sheet

            run_sheet(parsed)
        case "listen":
            from app.cli.listen import run_listen

            run_listen(parsed)
        case "parts":
            from app.cli.parts import run_parts

            run_parts(parsed)
        case _:
            from app.cli.compare import run_compare

            run_compare(parsed)


def _has_display() -> bool:
    """Whether Qt can open a window here: on Linux it needs a display server, unless told another platform."""
    if not sys.platform.startswith("linux"):
        return True
    return any(os.environ.get(name) for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"))
