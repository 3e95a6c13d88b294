"""House rules as pieces of TOML, written as people write them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from typing import Any

import tomlkit
from tomlkit.items import AoT, InlineTable, Table

from analysis.fingering.terms import TERMS
from analysis.language import _
from app.job.rules.draft import TABLE_RULES


def weights_table(weights: Mapping[str, float]) -> Table:
    """The table of weights, each with what it weighs as a comment."""
    table = tomlkit.table()
    for term in TERMS:
        if term.name in weights:
            table.add(term.name, _whole(weights[term.name]))
            table[term.name].comment(_(term.says))
    return table


def tables_by_key(tables: Mapping[str, Mapping[str, Any]]) -> Table:
    """The tables for instruments or parts, by their keys."""
    every = tomlkit.table(is_super_table=True)
    for key, values in tables.items():
        every.add(tomlkit.key(key), rules_table(values))
    return every


def rules_table(values: Mapping[str, Any]) -> Table:
    """What is otherwise in one place."""
    table = tomlkit.table()
    for name in filter(values.__contains__, TABLE_RULES):
        table.add(name, short(name, values[name]))
    return table


def passage_tables(passages: Iterable[Mapping[str, Any]]) -> AoT:
    """The tables for passages, one after the other."""
    every = tomlkit.aot()
    for values in passages:
        every.append(passage_table(values))
    return every


def passage_table(values: Mapping[str, Any]) -> Table:
    """What is otherwise from one measure to another."""
    table = tomlkit.table()
    if values["part"]:
        table.add("part", values["part"])
    for name in filter(values.__contains__, ("measures", *TABLE_RULES)):
        table.add(name, short(name, values[name]))
    return table


def short(name: str, value: Any) -> Any:
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
