"""House rules written as a TOML file, each rule with its sentence as a comment, so that the file can be edited too."""

from __future__ import annotations

from pathlib import Path

import tomlkit

from analysis.fingering.rules.files import rules_to
from analysis.fingering.rules.house import RULE_SENTENCES, HouseRules
from analysis.language import _, later
from app.job.rules.draft import TABLE_KINDS
from app.job.rules.editing import edited_text
from app.job.rules.toml import passage_tables, short, tables_by_key, weights_table
from engraving.atomic import write_atomically

SUFFIX = ".toml"
_HEAD = later(
    "House rules for Handframe. What is left out keeps its default; a table says only what is otherwise there."
)


def write_rules(path: Path, rules: HouseRules) -> None:
    """Write the rules as a file, whole or not at all; EngravingError in one sentence when that fails.

    A file of house rules that is there already keeps its comments, its order and all that is not said otherwise now.
    """
    write_atomically(path, (_edited(path, rules) or rules_text(rules)).encode())


def _edited(path: Path, rules: HouseRules) -> str:
    """The file that is there with other rules in it; "" where none is there that reads."""
    try:
        return edited_text(path.read_bytes().decode("utf-8"), rules)
    except (OSError, ValueError):
        return ""


def rules_text(rules: HouseRules) -> str:
    """The rules as TOML; :func:`analysis.fingering.rules.files.parse_rules` reads the same rules back."""
    plain = rules_to(rules)
    document = tomlkit.document()
    document.add(tomlkit.comment(_(_HEAD)))
    document.add(tomlkit.nl())
    for name, value in plain.items():
        if name not in (*TABLE_KINDS, "weights"):
            document.add(tomlkit.comment(_(RULE_SENTENCES[name])))
            document.add(name, short(name, value))
    tables = {"weights": weights_table(plain["weights"]), "passage": passage_tables(plain["passage"])}
    tables |= {kind: tables_by_key(plain[kind]) for kind in ("instrument", "part")}
    for name in ("weights", *TABLE_KINDS):
        if plain[name]:
            document.add(tomlkit.nl())
            document.add(tomlkit.comment(_(RULE_SENTENCES[name])))
            document.add(name, tables[name])
    return tomlkit.dumps(document)
