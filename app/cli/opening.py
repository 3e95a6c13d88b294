"""What can be said to open the window, and which commands need none."""

from __future__ import annotations

import argparse
from pathlib import Path

from analysis.language import _

COMMANDS = ("finger", "ways", "compare", "watch", "sheet", "parts", "listen")


def window_parser() -> argparse.ArgumentParser:
    """The parser for opening the window."""
    parser = argparse.ArgumentParser(
        prog="handframe",
        description=_("Opens a score or a .handframe project in the window."),
        epilog=_("Without a window: {commands} (see their --help).").format(
            commands=", ".join(f"handframe {command}" for command in COMMANDS)
        ),
    )
    parser.add_argument("score", metavar="SCORE", type=Path, nargs="?", help=_("a score or a .handframe project"))
    return parser
