"""The tables of the manual, made from the tables that the program itself works by. All are Markdown."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from importlib import resources
from types import MappingProxyType

import tomlkit

from analysis.errors import HouseRuleError
from analysis.fingering.rules.checks import CHECKS
from analysis.fingering.rules.files import PRESETS, preset, rules_to
from analysis.fingering.rules.house import RULE_SENTENCES, HouseRules
from analysis.fingering.terms import TERMS
from analysis.instruments import INSTRUMENTS
from analysis.language import _
from analysis.watch.kinds import KINDS
from app.job.rules.words import positions_words
from app.window.commands import COMMANDS
from app.window.keys import KEYS
from engraving.marks.teacher import MARK_KINDS

Spell = Callable[[str], str]
"""Keys as they are written on a platform, from how Qt writes them on all of them."""

_IN_PRESETS = ("violin", "cello", "bass")


def table(head: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table in Markdown."""
    lines = [head, ["---"] * len(head), *rows]
    return "\n".join(f"| {' | '.join(cell.replace('|', chr(92) + '|') for cell in line)} |" for line in lines)


def key_groups(spell: Spell) -> Mapping[str, Sequence[tuple[str, str]]]:
    """All keys with what they do: menu by menu, then place by place."""
    groups: dict[str, list[tuple[str, str]]] = {}
    for command in COMMANDS:
        if command.shortcut:
            groups.setdefault(_(command.menu), []).append((_plain(command.words), spell(command.shortcut)))
    for row in KEYS:
        groups.setdefault(_(row.place), []).append((_(row.text), _spelled(row.keys, spell)))
    return groups


def command_table(spell: Spell) -> str:
    """Every command with its menu and keys."""
    rows = ((_(one.menu), _plain(one.words), spell(one.shortcut)) for one in COMMANDS)
    return table((_("Menu"), _("Command"), _("Keys")), rows)


def key_table(spell: Spell) -> str:
    """The keys that are no commands."""
    rows = ((_(row.place), _(row.text), _spelled(row.keys, spell)) for row in KEYS)
    return table((_("Where"), _("What they do"), _("Keys")), rows)


def preset_table(spell: Spell) -> str:
    """The rules that come with the program: for whom, and the positions on some instruments."""
    played = [one for one in INSTRUMENTS if one.key in _IN_PRESETS]
    rows = []
    for name in PRESETS:
        rules = preset(name)
        positions = (positions_words(rules.for_part(one.key, "").positions, one) for one in played)
        rows.append((_(rules.title), f"`{name}`", _preset_words(name), *positions))
    where = (_("Positions: {instrument}").format(instrument=_(one.name)) for one in played)
    return table((_("Rules"), _("Name"), _("For"), *where), rows)


def rule_table(spell: Spell) -> str:
    """Every house rule with its sentence, the values it takes and its default."""
    defaults = rules_to(HouseRules())
    rows = [
        (f"`{name}`", _(sentence), _values_words(name), _default_words(name, defaults))
        for name, sentence in RULE_SENTENCES.items()
    ]
    return table((_("Rule"), _("What it means"), _("Values"), _("Default")), rows)


def effort_table(spell: Spell) -> str:
    """Every kind of effort with its words and its source."""
    rows = ((f"`{term.name}`", _(term.says), _(term.because).format(time=_("long")), term.source) for term in TERMS)
    return table((_("Name"), _("What it is"), _("Another way would …"), _("Source")), rows)


def kind_table(spell: Spell) -> str:
    """Every kind of the watch-list with what it points at and its source."""
    return table(
        (_("Kind"), _("What it points at"), _("Source")), ((_(one.title), _(one.says), one.source) for one in KINDS)
    )


def mark_table(spell: Spell) -> str:
    """Every kind of mark: where it stands, whether it says something, its keys, and how MusicXML has it."""
    keys = {one.name: spell(one.shortcut) for one in COMMANDS}
    rows = (
        (
            _(kind.title),
            _("a note") if kind.scope == "note" else _("from one note to another"),
            _("yes") if kind.takes_text else "",
            keys[f"mark-{kind.name}"],
            f"`{kind.element}`",
        )
        for kind in MARK_KINDS.values()
    )
    return table((_("Mark"), _("Stands at"), _("Words of your own"), _("Keys"), _("In MusicXML")), rows)


TABLES: Mapping[str, Callable[[Spell], str]] = MappingProxyType(
    {
        "commands": command_table,
        "keys": key_table,
        "presets": preset_table,
        "rules": rule_table,
        "efforts": effort_table,
        "kinds": kind_table,
        "marks": mark_table,
    }
)


def _spelled(keys: Sequence[str], spell: Spell) -> str:
    return ", ".join(spell(key) for key in keys)


def _plain(words: str) -> str:
    """A command's words without the dots that say that it asks something first."""
    return words.removesuffix("…")


def _preset_words(name: str) -> str:
    """For whom rules are: the first line of their file, which is not translated."""
    text = resources.files("analysis.fingering.rules").joinpath("presets", f"{name}.toml").read_text(encoding="utf-8")
    return text.splitlines()[0].removeprefix("# ")


def _values_words(name: str) -> str:
    """What a rule takes, in the words in which its own check refuses something that nobody could mean."""
    if name not in CHECKS:
        return _("a table of rules")
    try:
        CHECKS[name](name, object())
    except HouseRuleError as error:
        refused = str(error).rpartition(";")[2].strip()
        return refused.removeprefix(_("it must be")).strip()
    raise ValueError(f"the check of '{name}' takes anything")


def _default_words(name: str, defaults: Mapping[str, object]) -> str:
    value = defaults[name]
    return f"`{tomlkit.item(value).as_string()}`" if value not in ("", {}, []) or isinstance(value, list) else ""
