"""``python -m app.help`` writes the manual and the page of keys anew, in English, for those who read the source."""

from __future__ import annotations

import os

from app.help.manual import MANUAL, ROOM, SHORTCUTS, build_manual, build_shortcuts

PAGES = ROOM / "pages"


def pages() -> dict[str, str]:
    """The texts by the names of their files, with links to the pictures beside their folder."""
    return {MANUAL: build_manual(pictures="../pictures"), SHORTCUTS: build_shortcuts()}


if __name__ == "__main__":
    os.environ["LANGUAGE"] = "en"
    for name, text in pages().items():
        (PAGES / name).write_text(text, encoding="utf-8")
