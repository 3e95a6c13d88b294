"""A file of house rules edited where it stands: comments, order and blank lines stay, and all that is still so."""

from __future__ import annotations

from collections.abc import Mapping, MutableMapping
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from analysis.errors import HouseRuleError
from analysis.fingering.rules.files import parse_rules, rules_to
from analysis.fingering.rules.house import HouseRules
from app.job.rules.draft import TABLE_KINDS
from app.job.rules.toml import passage_table, passage_tables, rules_table, short, tables_by_key, weights_table

Values = Mapping[str, Any]


def edited_text(text: str, rules: HouseRules) -> str:
    """The TOML in ``text`` with these rules in place of those in it; "" where it does not read, or cannot be edited so.

    Of what the text leaves out only that is written which is not the default.
    """
    try:
        before, document = parse_rules(text, ""), tomlkit.parse(text)
        _edit(document, rules_to(before), rules_to(rules))
        edited = tomlkit.dumps(document)
        # Whatever ways there are to write TOML: what does not read back as these rules is not written.
        return edited if parse_rules(edited, "") == rules else ""
    except (HouseRuleError, TOMLKitError, LookupError, TypeError, ValueError):
        return ""


def _edit(document: MutableMapping[str, Any], before: Values, after: Values) -> None:
    defaults = rules_to(HouseRules())
    for name, value in after.items():
        if name in (*TABLE_KINDS, "weights"):
            continue
        if before[name] != value if name in document else defaults[name] != value:
            document[name] = short(name, value)
    if "weights" in document:
        _edit_table(document["weights"], before["weights"], after["weights"])
    elif after["weights"]:
        document["weights"] = weights_table(after["weights"])
    for kind in ("instrument", "part"):
        if kind in document:
            _edit_tables(document[kind], before[kind], after[kind])
        elif after[kind]:
            document[kind] = tables_by_key(after[kind])
    if before["passage"] != after["passage"]:
        _edit_passages(document, before["passage"], after["passage"])


def _edit_tables(tables: MutableMapping[str, Any], before: Values, after: Values) -> None:
    for key in [key for key in tables if key not in after]:
        del tables[key]
    for key, values in after.items():
        if key in tables:
            _edit_table(tables[key], before[key], values)
        else:
            tables[key] = rules_table(values)


def _edit_table(table: MutableMapping[str, Any], before: Values, after: Values) -> None:
    for name in [name for name in table if name not in after]:
        del table[name]
    for name, value in after.items():
        if name not in table:
            table[name] = short(name, value)
        elif before[name] != value:
            if name == "weights":
                _edit_table(table[name], before[name], value)
            else:
                table[name] = short(name, value)


def _edit_passages(document: MutableMapping[str, Any], before: list[Values], after: list[Values]) -> None:
    """Passages that are still there stay as they are written, but for what is said otherwise."""
    if not after:
        del document["passage"]
        return
    if not before:
        document["passage"] = passage_tables(after)
        return
    tables = document["passage"]
    places = [_place(values) for values in before]
    for number, values in enumerate(after):
        if number < len(places) and _place(values) == places[number]:
            _edit_passage(tables[number], before[number], values)
        elif number < len(places):
            # Another came in between or went: from here on they are written anew.
            del tables[number:]
            places = places[:number]
        if number >= len(places):
            tables.append(passage_table(values))
    del tables[len(after) :]


def _edit_passage(table: MutableMapping[str, Any], before: Values, after: Values) -> None:
    place = {name: table[name] for name in ("part", "measures") if name in table}
    old, new = ({name: said[name] for name in said if name not in ("part", "measures")} for said in (before, after))
    _edit_table(table, {**old, **place}, {**new, **place})


def _place(values: Values) -> tuple[str, str]:
    return values["part"], values["measures"]
