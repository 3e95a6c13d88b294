"""The manual and the page of keys as Markdown: the prose beside this file, with tables and keys put in.

``prose.md`` is in English, ``prose.<language>.md`` the same in another language, heading by heading. Words of menus and
of tables are those of the window, in the user's language.
"""

from __future__ import annotations

import re
from importlib import resources
from pathlib import Path

from analysis.language import _, catalogue
from app.help.tables import TABLES, Spell, key_groups, table
from app.window.commands import COMMANDS

ROOM = Path(str(resources.files("app.help")))
"""The folder that links to pictures are relative to."""
MANUAL, SHORTCUTS = "manual.md", "shortcuts.md"
_TABLE = re.compile(r"^\{\{(\w+)\}\}$", re.MULTILINE)
_COMMAND = re.compile(r"\[\[([\w-]+)\]\]")


def portable(keys: str) -> str:
    """Keys as they are written where the platform is not known."""
    return keys


def build_manual(spell: Spell = portable, *, pictures: str = "pictures") -> str:
    """The whole manual; ``pictures`` is the folder of its pictures as seen from where it lies.

    In the prose ``[[name]]`` stands for a command's place in the menus and its keys, ``{{name}}`` for a table.
    """
    places = {one.name: _place(f"{_(one.menu)} → {one.words}", spell(one.shortcut)) for one in COMMANDS}
    prose = _COMMAND.sub(lambda found: places[found[1]], _prose(_language()))
    prose = _TABLE.sub(lambda found: TABLES[found[1]](spell), prose)
    return prose.replace("](pictures/", f"]({pictures}/")


def shown_anchor(anchor: str) -> str:
    """What a heading of the manual is called in the user's language, of which ``anchor`` is the English one."""
    english, shown = _anchors(_prose("")), _anchors(_prose(_language()))
    return shown[english.index(anchor)]


def build_shortcuts(spell: Spell = portable) -> str:
    """The page of keys, grouped by menu and place."""
    parts = [f"# {_('Keys')}"]
    for name, rows in key_groups(spell).items():
        parts += [f"## {name}", table((_("Keys"), _("What they do")), ((keys, words) for words, keys in rows))]
    return "\n\n".join(parts) + "\n"


def anchor_of(heading: str) -> str:
    """What a link to a heading is called, as the common readers of Markdown form it."""
    return re.sub(r"[^\w\- ]", "", heading.casefold()).strip().replace(" ", "-")


def _language() -> str:
    """The user's language, as far as there is a catalogue for it; "" for English."""
    return catalogue().info().get("language", "")


def _prose(language: str) -> str:
    """The prose in a language; in English where it is not written in it."""
    translated = ROOM / f"prose.{language}.md"
    return (translated if translated.is_file() else ROOM / "prose.md").read_text(encoding="utf-8")


def _anchors(prose: str) -> list[str]:
    return [anchor_of(line.lstrip("# ")) for line in prose.splitlines() if line.startswith("#")]


def _place(words: str, keys: str) -> str:
    return f"*{words}* ({keys})" if keys else f"*{words}*"
