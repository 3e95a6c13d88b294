"""House rules written as a TOML file, each rule with its sentence as a comment, so that the file can be edited too."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.items import AoT, InlineTable, Table

from analysis.fingering.rules.files import rules_to
from analysis.fingering.rules.house import RULE_SENTENCES, HouseRules
from analysis.fingering.terms import TERMS
from app.job.rules_draft import TABLE_KINDS, TABLE_RULES
from engraving.atomic import write_atomically

SUFFIX = ".toml"
_HEAD = "House rules for Handframe. What is left out keeps its default; a table says only what is otherwise there."


def write_rules(path: Path, rules: HouseRules) -> None:
    """Write the rules as a file, whole or not at all; EngravingError in one sentence when that fails."""
    write_atomically(path, rules_text(rules).encode())


def rules_text(rules: HouseRules) -> str:
    """The rules as TOML; :func:`analysis.fingering.rules.files.parse_rules` reads the same rules back."""
    plain = rules_to(rules)
    document = tomlkit.document()
    document.add(tomlkit.comment(_HEAD))
    document.add(tomlkit.nl())
    for name, value in plain.items():
        if name not in (*TABLE_KINDS, "weights"):
            document.add(tomlkit.comment(RULE_SENTENCES[name]))
            document.add(name, _short(name, value))
    tables = {"weights": _weights(plain["weights"]), "passage": _passages(plain["passage"])}
    tables |= {kind: _tables(plain[kind]) for kind in ("instrument", "part")}
    for name in ("weights", *TABLE_KINDS):
        if plain[name]:
            document.add(tomlkit.nl())
            document.add(tomlkit.comment(RULE_SENTENCES[name]))
            document.add(name, tables[name])
    return tomlkit.dumps(document)


def _weights(weights: Mapping[str, float]) -> Table:
    table = tomlkit.table()
    for term in TERMS:
        if term.name in weights:
            table.add(term.name, _whole(weights[term.name]))
            table[term.name].comment(term.says)
    return table


def _tables(tables: Mapping[str, Mapping[str, Any]]) -> Table:
    every = tomlkit.table(is_super_table=True)
    for key, values in tables.items():
        table = tomlkit.table()
        for name in filter(values.__contains__, TABLE_RULES):
            table.add(name, _short(name, values[name]))
        every.add(tomlkit.key(key), table)
    return every


def _passages(passages: list[dict[str, Any]]) -> AoT:
    every = tomlkit.aot()
    for values in passages:
        table = tomlkit.table()
        if values["part"]:
            table.add("part", values["part"])
        for name in filter(values.__contains__, ("measures", *TABLE_RULES)):
            table.add(name, _short(name, values[name]))
        every.append(table)
    return every


def _short(name: str, value: Any) -> Any:
    """A value as people write it."""
    if name == "weights":
        inline: InlineTable = tomlkit.inline_table()
        inline.update({term: _whole(weight) for term, weight in value.items()})
        return inline
    if name == "longest_open":
        return int(value) if Fraction(value).denominator == 1 else value
    return _whole(value) if isinstance(value, float) else value


def _whole(number: float) -> float | int:
    return int(number) if number == int(number) else number
