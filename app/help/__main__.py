"""Writes the manual and the page of keys anew: ``python -m app.help docs``."""

from __future__ import annotations

import os
import sys
from pathlib import Path

from app.help.manual import MANUAL, ROOM, SHORTCUTS, build_manual, build_shortcuts


def write_manual(folder: Path) -> None:
    """Write both to a folder, in English, with links from there to the pictures."""
    os.environ["LANGUAGE"] = "en"
    pictures = os.path.relpath(ROOM / "pictures", folder.resolve()).replace(os.sep, "/")
    for name, text in ((MANUAL, build_manual(pictures=pictures)), (SHORTCUTS, build_shortcuts())):
        (folder / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("say the folder to write to: python -m app.help docs")
    write_manual(Path(sys.argv[1]))
