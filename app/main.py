"""Where the program begins: the window, or a command that needs none."""

from __future__ import annotations

import argparse
import io
import os
import sys
from collections.abc import Callable, Sequence

from analysis.errors import AnalysisError
from analysis.language import _
from app.cli.harmless import harmless_output
from app.cli.opening import COMMANDS, window_parser
from app.cli.parser_words import speak
from app.errors import AppError
from engraving.apart import interrupts_held_back
from engraving.errors import EngravingError


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the program with the given command line; returns the exit status, 2 for bad input."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    _show_every_sign()
    with harmless_output():
        return _status(words)


def _status(words: list[str]) -> int:
    speak()
    try:
        status = _run(words)
        if sys.stdout is not None:
            sys.stdout.flush()
    except (AppError, AnalysisError, EngravingError) as error:
        sys.stderr.write(f"handframe: {error}\n")
        return 2
    except KeyboardInterrupt:
        stopped = _("stopped")
        sys.stderr.write(f"handframe: {stopped}\n")
        return 130
    except BrokenPipeError:
        # The reader of our output has gone away; nothing more can be said to it.
        _say_no_more()
        return 0
    except OSError as error:
        if error.filename is not None:
            raise
        # A file that cannot be written is told by whoever writes it: what has no name is the output itself.
        said = _("the output cannot be written: {reason}").format(reason=error.strerror or error)
        sys.stderr.write(f"handframe: {said}\n")
        _say_no_more()
        return 2
    return status


def _show_every_sign() -> None:
    """Have a sign that the encoding of the output does not have shown by its number."""
    out = sys.stdout
    if isinstance(out, io.TextIOWrapper) and (out.errors == "strict" or out.encoding.casefold() != "utf-8"):
        out.reconfigure(errors="backslashreplace")


def _say_no_more() -> None:
    """Have what is left of the output go nowhere."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _run(words: list[str]) -> int:
    if words and words[0] in COMMANDS:
        with interrupts_held_back():  # a module that is stopped while it is loaded may say anything of it
            from app.cli.arguments import command_parser

        return _run_command(command_parser().parse_args(words))
    score = window_parser().parse_args(words).score
    if not _has_display():
        named = ", ".join(f"handframe {command} SCORE" for command in COMMANDS)
        raise AppError(
            _("there is no display to open a window on; the commands need none: {named}").format(named=named)
        )
    from app.window.run import run_window

    return run_window(score)


def _run_command(parsed: argparse.Namespace) -> int:
    """Run one of the commands that need no window; returns the exit status."""
    with interrupts_held_back():  # Qt does not bear to be stopped while it is loaded
        run = _runner(parsed.command)
    return run(parsed) or 0


def _runner(command: str) -> Callable[[argparse.Namespace], int | None]:
    """What runs a command; only what it needs is loaded."""
    match command:
        case "finger":
            from app.cli.finger import run_finger

            return run_finger
        case "ways":
            from app.cli.ways import run_ways

            return run_ways
        case "watch":
            from app.cli.watch import run_watch

            return run_watch
        case "sheet":
            from app.cli.sheet import run_sheet

            return run_sheet
        case "listen":
            from app.cli.listen import run_listen

            return run_listen
        case "parts":
            from app.cli.parts import run_parts

            return run_parts
        case _:
            from app.cli.compare import run_compare

            return run_compare


def _has_display() -> bool:
    """Whether Qt can open a window here: on Linux it needs a display server, unless told another platform."""
    if not sys.platform.startswith("linux"):
        return True
    return any(os.environ.get(name) for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"))


if __name__ == "__main__":
    sys.exit(main())
