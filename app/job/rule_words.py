"""House rules in a teacher's words: for what a table holds, and in short what it says."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from analysis.fingering.placements import position_name
from analysis.fingering.terms import TERMS
from analysis.instruments import INSTRUMENTS, Instrument
from app.job.rules_draft import TABLE_RULES, TableDraft

# The words of a choice, by the value that a file of house rules has for it.
CHOICES: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "open_or_fourth": MappingProxyType(
            {"either": "whichever is easier", "open": "the open string", "fourth": "the fourth finger"}
        ),
        "printed": MappingProxyType(
            {"every-note": "on every note", "where-it-matters": "where it matters", "exceptions": "exceptions only"}
        ),
        "reach": MappingProxyType({"small": "small", "usual": "usual", "large": "large"}),
    }
)
_ORDINALS = ("", "1st", "2nd", "3rd", "4th", "5th")
_RUN = 3  # from so many neighbouring positions on only the ends are named


def string_words(number: int, instrument: Instrument | None) -> str:
    """A string by its letter on the instrument, else by its number from the highest: ``D string``, ``5th string``."""
    if instrument is None or number > len(instrument.strings):
        return f"{_ORDINALS[number]} string"
    return f"{instrument.string(number).letter} string"


def positions_words(positions: Sequence[int], instrument: Instrument | None) -> str:
    """Positions by name, runs of them by their ends: ``half–4th``, ``1st, 3rd``."""
    runs = []
    for _, group in itertools.groupby(enumerate(positions), key=lambda item: item[1] - item[0]):
        run = [position_name(number, instrument) for _, number in group]
        runs += [f"{run[0]}–{run[-1]}"] if len(run) >= _RUN else run
    return ", ".join(runs)


def table_title(table: TableDraft) -> str:
    """For what a table holds: ``Double bass``, ``Violin II``, ``Violin I, measures 38–41``."""
    if table.kind == "instrument":
        return next((one.name for one in INSTRUMENTS if one.key == table.key), table.key)
    if table.kind == "part":
        return table.key
    measures = table.measures.strip()
    several = "measures" if "-" in measures or "–" in measures else "measure"
    return f"{table.key or 'Every part'}, {several} {measures.replace('-', '–') or '?'}"


def table_words(table: TableDraft, instrument: Instrument | None) -> str:
    """What a table says, in short: ``positions half–4th; size 3/4``."""
    said = [_SAYS[name](table.rules[name], instrument) for name in TABLE_RULES if name in table.rules]
    return "; ".join(said) or "nothing otherwise yet"


def _strings(numbers: Sequence[int], instrument: Instrument | None) -> str:
    words = [string_words(number, instrument).removesuffix(" string") for number in numbers]
    return f"{' and '.join(words)} string{'s' if len(words) > 1 else ''}"


def _flag(yes: str, no: str) -> Callable[[Any, Instrument | None], str]:
    return lambda value, instrument: yes if value else no


def _weights(weights: Mapping[str, float], instrument: Instrument | None) -> str:
    says = [f"{term.says} × {weights[term.name]:g}" for term in TERMS if term.name in weights]
    return ", ".join(says[:2]) + (f" and {len(says) - 2} more weights" if len(says) > 2 else "") or "usual weights"


_SAYS: Mapping[str, Callable[[Any, Instrument | None], str]] = MappingProxyType(
    {
        "positions": lambda value, instrument: (
            f"{positions_words(value, instrument) or 'no'} position{'s' if len(value) > 1 else ''}"
        ),
        "home": lambda value, instrument: f"home in {position_name(value, instrument)} position",
        "longest_open": lambda value, instrument: (
            f"open for {str(value).strip() or '?'} quarter{'' if value == '1' else 's'} at most"
        ),
        "never_open": lambda value, instrument: (
            f"never open: {_strings(value, instrument)}" if value else "any string open"
        ),
        "open_or_fourth": lambda value, instrument: f"open or fourth: {CHOICES['open_or_fourth'][value]}",
        "fourth_saves_crossing": _flag("fourth finger saves a crossing", "fourth finger saves no crossing"),
        "avoid_shrill_open": _flag("no open E", "open E"),
        "extensions": _flag("extensions", "no extensions"),
        "lower_strings_to": lambda value, instrument: f"lower strings to {position_name(value, instrument)} position",
        "keep_on": lambda value, instrument: f"on the {_strings(value, instrument)}" if value else "on all strings",
        "same_again": _flag("same fingers again", "figures need not be the same again"),
        "printed": lambda value, instrument: f"printed {CHOICES['printed'][value]}",
        "tempo": lambda value, instrument: f"{value:g} quarters a minute",
        "size": lambda value, instrument: f"size {value}",
        "reach": lambda value, instrument: f"{value} reach",
        "weights": _weights,
    }
)
