"""What the value of each house rule must be: every check returns it in its normal form or says what is wrong."""

from __future__ import annotations

import re
from datetime import date, time
from fractions import Fraction
from typing import Any

from analysis.errors import HouseRuleError
from analysis.fingering.placements import HIGHEST_POSITION
from analysis.fingering.terms import TERM_NAMES
from analysis.language import _
from analysis.wording import comma_listed

OPEN_OR_FOURTH = ("open", "fourth", "either")
PRINTED = ("every-note", "where-it-matters", "exceptions")
REACHES = ("small", "usual", "large")


def _written(value: Any) -> str:
    """A value as a file of house rules has it, not as Python writes it.

    >>> _written([1, True, "3/2"])
    "[1, true, '3/2']"
    """
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, list | tuple):
        return f"[{', '.join(map(_written, value))}]"
    return value.isoformat() if isinstance(value, date | time) else repr(value)


def text(name: str, value: Any) -> str:
    """A text."""
    if not isinstance(value, str):
        words = _("{name} is {value}; it must be a text in quotation marks")
        raise HouseRuleError(words.format(name=name, value=_written(value)))
    return value


def table(name: str, value: Any) -> dict[str, Any]:
    """A table of names and values, also as pairs."""
    try:
        return dict(value)
    except (TypeError, ValueError):
        words = _("{name} is {value}; it must be a table of rules")
        raise HouseRuleError(words.format(name=name, value=_written(value))) from None


def table_of_tables(name: str, value: Any) -> dict[str, dict[str, Any]]:
    """A table of tables, such as ``[instrument.cello]``."""
    return {text(name, key): table(f'{name}."{key}"', inner) for key, inner in table(name, value).items()}


def measures(name: str, value: Any) -> tuple[str, str]:
    """The labels of the first and the last measure: ``"12-16"``, ``"12"``, or a whole number."""
    shape = re.fullmatch(r"\s*(\S+?)\s*(?:[-–]\s*(\S+?)\s*)?", str(value)) if type(value) in (str, int) else None
    if shape is None:
        words = _("{name}: measures is {value}; it must be a text such as '12-16'")
        raise HouseRuleError(words.format(name=name, value=_written(value)))
    return shape[1], shape[2] or shape[1]


def _flag(name: str, value: Any) -> bool:
    if not isinstance(value, bool):
        words = _("{name} is {value}; it must be true or false")
        raise HouseRuleError(words.format(name=name, value=_written(value)))
    return value


def _one_of(name: str, value: Any, known: tuple[str, ...]) -> str:
    if value not in known:
        words = _("{name} is {value}; it must be one of {known}")
        raise HouseRuleError(words.format(name=name, value=_written(value), known=comma_listed(known)))
    return str(value)


def _number(name: str, value: Any, least: float, most: float) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not least <= value <= most:
        words = _("{name} is {value}; it must be a number from {least} to {most}")
        raise HouseRuleError(words.format(name=name, value=_written(value), least=f"{least:g}", most=f"{most:g}"))
    return float(value)


def _whole_numbers(name: str, value: Any, least: int, most: int) -> tuple[int, ...]:
    good = isinstance(value, list | tuple) and all(type(item) is int and least <= item <= most for item in value)
    if not good:
        words = _("{name} is {value}; it must be a list of whole numbers from {least} to {most}")
        raise HouseRuleError(words.format(name=name, value=_written(value), least=least, most=most))
    return tuple(sorted(set(value)))


def _positions(name: str, value: Any) -> tuple[int, ...]:
    positions = _whole_numbers(name, value, 0, HIGHEST_POSITION)
    if not positions:
        raise HouseRuleError(_("{name} is empty; the hand needs at least one position").format(name=name))
    return positions


def _position(name: str, value: Any) -> int:
    if type(value) is not int or not 0 <= value <= HIGHEST_POSITION:
        words = _("{name} is {value}; it must be a whole number from 0 to {most}")
        raise HouseRuleError(words.format(name=name, value=_written(value), most=HIGHEST_POSITION))
    return value


def _quarters(name: str, value: Any) -> Fraction:
    # A power of ten in a text could stand for a number too large to hold.
    plain = isinstance(value, int | float | Fraction) or (isinstance(value, str) and "e" not in value.casefold())
    try:
        quarters = Fraction(value) if plain else None
    except (ValueError, ZeroDivisionError, OverflowError):
        quarters = None
    if quarters is None or isinstance(value, bool) or not 0 <= quarters <= 1000:
        words = _("{name} is {value}; it must be a number of quarter notes such as 2 or '3/2'")
        raise HouseRuleError(words.format(name=name, value=_written(value)))
    return quarters


def _weights(name: str, value: Any) -> tuple[tuple[str, float], ...]:
    try:
        weights = dict(value)
    except (TypeError, ValueError):
        words = _("{name} is {value}; it must be a table of effort terms and numbers")
        raise HouseRuleError(words.format(name=name, value=_written(value))) from None
    for term, weight in weights.items():
        if term not in TERM_NAMES:
            words = _("{name} has no effort term '{term}'; there is {known}")
            raise HouseRuleError(words.format(name=name, term=term, known=comma_listed(TERM_NAMES)))
        weights[term] = _number(f"{name}.{term}", weight, 0, 20)
    return tuple(sorted(weights.items()))


CHECKS = {
    "name": text,
    "title": text,
    "positions": _positions,
    "home": _position,
    "longest_open": _quarters,
    "never_open": lambda name, value: _whole_numbers(name, value, 1, 5),
    "open_or_fourth": lambda name, value: _one_of(name, value, OPEN_OR_FOURTH),
    "fourth_saves_crossing": _flag,
    "avoid_shrill_open": _flag,
    "extensions": _flag,
    "lower_strings_to": _position,
    "keep_on": lambda name, value: _whole_numbers(name, value, 1, 5),
    "same_again": _flag,
    "printed": lambda name, value: _one_of(name, value, PRINTED),
    "tempo": lambda name, value: _number(name, value, 10, 400),
    "size": text,
    "reach": lambda name, value: _one_of(name, value, REACHES),
    "weights": _weights,
}
