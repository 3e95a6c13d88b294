"""House rules as TOML files and as plain values: the presets that come with Handframe, and the teacher's own.

A file holds any of the fields of :class:`HouseRules`; what it leaves out keeps its default.
"""

from __future__ import annotations

import stat
import tomllib
from collections.abc import Mapping
from dataclasses import fields
from importlib import resources
from pathlib import Path
from typing import Any

from analysis.errors import HouseRuleError, UnknownNameError
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.terms import TERM_NAMES
from analysis.language import _, later
from analysis.wording import comma_listed

_LARGEST = 2**20
PRESETS = ("home-ground", "two-homes", "whole-board", "first", "third")
# Their titles as their files have them; ``_()`` says them where a title is shown.
PRESET_TITLES = (
    later("Home ground"),
    later("Two homes"),
    later("Whole board"),
    later("First position"),
    later("Third position"),
)


def preset(name: str) -> HouseRules:
    """One of the rules that come with Handframe; UnknownNameError when there is none of that name."""
    if name not in PRESETS:
        raise UnknownNameError(_("house rules"), name, list(PRESETS))
    text = resources.files("analysis.fingering.rules").joinpath("presets", f"{name}.toml").read_text(encoding="utf-8")
    return parse_rules(text, f"{name}.toml")


def find_rules(text: str) -> HouseRules:
    """The rules a name or a file stands for; a preset by its name, anything ending in ``.toml`` as a file."""
    if not text.casefold().endswith(".toml"):
        return preset(text)
    path = Path(text)
    try:
        reason = _unfit(path)
        content = "" if reason else path.read_text(encoding="utf-8-sig")
    except (OSError, ValueError) as error:
        reason = (error.strerror or str(error)) if isinstance(error, OSError) else _("it is not UTF-8 text")
    if reason:
        raise HouseRuleError(_("{name}: cannot be read ({reason})").format(name=path.name, reason=reason))
    return parse_rules(content, path.name)


def _unfit(path: Path) -> str:
    """Why a file that is there cannot hold rules, "" if it may: a pipe would keep its reader waiting."""
    found = path.stat()
    if not stat.S_ISREG(found.st_mode):
        return _("it is not a file")
    return _("it is larger than 1 MB") if found.st_size > _LARGEST else ""


def parse_rules(text: str, where: str) -> HouseRules:
    """Read rules from TOML; HouseRuleError begins with ``where`` and names the rule that does not fit."""
    try:
        return rules_from(tomllib.loads(text))
    # ValueError: also of numbers with more digits than Python reads.
    except ValueError as error:
        raise HouseRuleError(_("{where}: not TOML ({error})").format(where=where, error=error)) from error
    except RecursionError as error:
        raise HouseRuleError(_("{where}: its lists and tables are nested too deep").format(where=where)) from error
    except HouseRuleError as error:
        raise HouseRuleError(f"{where}: {error}") from error


def rules_from(values: Mapping[str, Any]) -> HouseRules:
    """Rules from plain values, as TOML and JSON give them."""
    known = [rule.name for rule in fields(HouseRules)]
    for name in values:
        if name not in known:
            words = _("no rule '{name}'; there is {known}")
            raise HouseRuleError(words.format(name=name, known=comma_listed(known)))
    return HouseRules(**values)


def known_rules(values: Mapping[str, Any]) -> dict[str, Any]:
    """Those of ``values`` that this program has rules and effort terms for; a newer one may have written more."""
    names = [rule.name for rule in fields(HouseRules)]
    known = {name: value for name, value in values.items() if name in (*names, "measures")}
    if isinstance(known.get("weights"), Mapping):
        known["weights"] = {term: weight for term, weight in known["weights"].items() if term in TERM_NAMES}
    for name in ("instrument", "part"):
        if isinstance(known.get(name), Mapping):
            known[name] = {
                key: known_rules(table) if isinstance(table, Mapping) else table for key, table in known[name].items()
            }
    if isinstance(known.get("passage"), list):
        known["passage"] = [known_rules(item) if isinstance(item, Mapping) else item for item in known["passage"]]
    return known


def rules_to(rules: HouseRules) -> dict[str, Any]:
    """The rules as plain values that TOML and JSON can hold; :func:`rules_from` reads them back."""
    plain = _plain({rule.name: getattr(rules, rule.name) for rule in fields(HouseRules)})
    plain["instrument"] = {key: _plain(dict(table)) for key, table in rules.instrument}
    plain["part"] = {key: _plain(dict(table)) for key, table in rules.part}
    plain["passage"] = [
        {"part": passage.part, "measures": f"{passage.first}-{passage.last}", **_plain(dict(passage.rules))}
        for passage in rules.passage
    ]
    return plain


def _plain(values: Mapping[str, Any]) -> dict[str, Any]:
    plain = dict(values)
    for name, value in values.items():
        if name in ("positions", "never_open", "keep_on"):
            plain[name] = list(value)
        elif name == "longest_open":
            plain[name] = str(value)
        elif name == "weights":
            plain[name] = dict(value)
    return plain
