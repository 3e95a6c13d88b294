"""House rules: what a teacher allows and prefers, as a value that is saved and shared as TOML.

A file holds any of the fields of :class:`HouseRules`; what it leaves out keeps its default. ``[weights]`` multiplies
the effort terms by name: 0 switches a term off, 2 doubles it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, fields
from fractions import Fraction
from importlib import resources
from pathlib import Path
from typing import Any

from analysis.errors import HouseRuleError, UnknownNameError
from analysis.fingering.placements import HIGHEST_POSITION, Placement
from analysis.fingering.terms import TERM_NAMES

PRESETS = ("first", "third", "first-third", "any")


# What each rule means, in one sentence for the teacher.
RULE_SENTENCES = {
    "name": "A short name for these rules.",
    "title": "What these rules are called on screen and on paper.",
    "positions": "The hand plays in these positions only (0 is half position).",
    "home": "The hand comes back to this position when nothing keeps it elsewhere.",
    "longest_open": "A note longer than this many quarter notes is not left on an open string.",
    "never_open": "These strings are never played open (1 is the highest string).",
    "fourth_saves_crossing": "The fourth finger saves going to the next string for one note only.",
    "avoid_shrill_open": "The violin's open E is avoided where a stopped E is in reach.",
    "extensions": "A finger may reach out of the hand frame where the music asks for it.",
    "tempo": "Quarter notes a minute, where the part gives no tempo.",
    "weights": "How much each kind of effort counts, times its usual weight.",
}


@dataclass(frozen=True, slots=True)
class HouseRules:
    """The teacher's rules for one part; ``RULE_SENTENCES`` says what each field means."""

    name: str = "first-third"
    title: str = ""
    positions: tuple[int, ...] = (1, 3)
    home: int = 1
    longest_open: Fraction = Fraction(2)
    never_open: tuple[int, ...] = ()
    fourth_saves_crossing: bool = True
    avoid_shrill_open: bool = True
    extensions: bool = True
    tempo: float = 88.0
    weights: tuple[tuple[str, float], ...] = ()

    def __post_init__(self) -> None:
        for name, check in _CHECKS.items():
            object.__setattr__(self, name, check(name, getattr(self, name)))
        if self.home not in self.positions:
            raise HouseRuleError(f"home is position {self.home}, but positions allows only {list(self.positions)}")
        if not self.title:
            object.__setattr__(self, "title", self.name)

    def reaches(self, placement: Placement) -> bool:
        """Whether the hand gets there under the rules for positions and extensions."""
        return placement.position in self.positions and (self.extensions or not placement.is_extension)

    def allows(self, placement: Placement) -> bool:
        """Whether the rules let a player stop a note this way."""
        return self.reaches(placement) and not (placement.is_open and placement.string in self.never_open)

    def weight(self, term: str) -> float:
        """What the effort term of that name is multiplied with; 1 unless the rules say otherwise."""
        return dict(self.weights).get(term, 1.0)


def preset(name: str) -> HouseRules:
    """One of the rules that come with Handframe; UnknownNameError when there is none of that name."""
    if name not in PRESETS:
        raise UnknownNameError("house rules", name, list(PRESETS))
    text = resources.files("analysis.fingering").joinpath("presets", f"{name}.toml").read_text(encoding="utf-8")
    return parse_rules(text, f"{name}.toml")


def find_rules(text: str) -> HouseRules:
    """The rules a name or a file stands for; a preset by its name, anything ending in ``.toml`` as a file."""
    if not text.casefold().endswith(".toml"):
        return preset(text)
    path = Path(text)
    try:
        content = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        reason = error.strerror if isinstance(error, OSError) else "it is not UTF-8 text"
        raise HouseRuleError(f"{path.name}: cannot be read ({reason})") from error
    return parse_rules(content, path.name)


def parse_rules(text: str, where: str) -> HouseRules:
    """Read rules from TOML; HouseRuleError begins with ``where`` and names the rule that does not fit."""
    try:
        return rules_from(tomllib.loads(text))
    except tomllib.TOMLDecodeError as error:
        raise HouseRuleError(f"{where}: not TOML ({error})") from error
    except HouseRuleError as error:
        raise HouseRuleError(f"{where}: {error}") from error


def rules_from(values: Mapping[str, Any]) -> HouseRules:
    """Rules from plain values, as TOML and JSON give them."""
    known = [rule.name for rule in fields(HouseRules)]
    for name in values:
        if name not in known:
            raise HouseRuleError(f"no rule '{name}'; there is {', '.join(known)}")
    return HouseRules(**values)


def known_rules(values: Mapping[str, Any]) -> dict[str, Any]:
    """Those of ``values`` that this program has rules and effort terms for; a newer one may have written more."""
    known = {rule.name: values[rule.name] for rule in fields(HouseRules) if rule.name in values}
    if isinstance(known.get("weights"), Mapping):
        known["weights"] = {term: weight for term, weight in known["weights"].items() if term in TERM_NAMES}
    return known


def rules_to(rules: HouseRules) -> dict[str, Any]:
    """The rules as plain values that TOML and JSON can hold; :func:`rules_from` reads them back."""
    plain: dict[str, Any] = {rule.name: getattr(rules, rule.name) for rule in fields(HouseRules)}
    plain["positions"] = list(rules.positions)
    plain["never_open"] = list(rules.never_open)
    plain["longest_open"] = str(rules.longest_open)
    plain["weights"] = dict(rules.weights)
    return plain


def _text(name: str, value: Any) -> str:
    if not isinstance(value, str):
        raise HouseRuleError(f"{name} is {value!r}; it must be a text in quotation marks")
    return value


def _flag(name: str, value: Any) -> bool:
    if not isinstance(value, bool):
        raise HouseRuleError(f"{name} is {value!r}; it must be true or false")
    return value


def _number(name: str, value: Any, least: float, most: float) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not least <= value <= most:
        raise HouseRuleError(f"{name} is {value!r}; it must be a number from {least:g} to {most:g}")
    return float(value)


def _whole_numbers(name: str, value: Any, least: int, most: int) -> tuple[int, ...]:
    good = isinstance(value, list | tuple) and all(type(item) is int and least <= item <= most for item in value)
    if not good:
        raise HouseRuleError(f"{name} is {value!r}; it must be a list of whole numbers from {least} to {most}")
    return tuple(sorted(set(value)))


def _positions(name: str, value: Any) -> tuple[int, ...]:
    positions = _whole_numbers(name, value, 0, HIGHEST_POSITION)
    if not positions:
        raise HouseRuleError(f"{name} is empty; the hand needs at least one position")
    return positions


def _home(name: str, value: Any) -> int:
    if type(value) is not int or not 0 <= value <= HIGHEST_POSITION:
        raise HouseRuleError(f"{name} is {value!r}; it must be a whole number from 0 to {HIGHEST_POSITION}")
    return value


def _quarters(name: str, value: Any) -> Fraction:
    # A power of ten in a text could stand for a number too large to hold.
    plain = isinstance(value, int | float | Fraction) or (isinstance(value, str) and "e" not in value.casefold())
    try:
        quarters = Fraction(value) if plain else None
    except (ValueError, ZeroDivisionError, OverflowError):
        quarters = None
    if quarters is None or isinstance(value, bool) or not 0 <= quarters <= 1000:
        raise HouseRuleError(f"{name} is {value!r}; it must be a number of quarter notes such as 2 or '3/2'")
    return quarters


def _weights(name: str, value: Any) -> tuple[tuple[str, float], ...]:
    try:
        weights = dict(value)
    except (TypeError, ValueError):
        raise HouseRuleError(f"{name} is {value!r}; it must be a table of effort terms and numbers") from None
    for term, weight in weights.items():
        if term not in TERM_NAMES:
            raise HouseRuleError(f"{name} has no effort term '{term}'; there is {', '.join(TERM_NAMES)}")
        weights[term] = _number(f"{name}.{term}", weight, 0, 20)
    return tuple(sorted(weights.items()))


_CHECKS = {
    "name": _text,
    "title": _text,
    "positions": _positions,
    "home": _home,
    "longest_open": _quarters,
    "never_open": lambda name, value: _whole_numbers(name, value, 1, 5),
    "fourth_saves_crossing": _flag,
    "avoid_shrill_open": _flag,
    "extensions": _flag,
    "tempo": lambda name, value: _number(name, value, 10, 400),
    "weights": _weights,
}
