"""House rules in a teacher's words: for what a table holds, and in short what it says."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from analysis.fingering.placements import position_name
from analysis.fingering.position_words import full_position
from analysis.fingering.terms import TERMS
from analysis.instruments import INSTRUMENTS, Instrument
from analysis.language import _, later, n_
from analysis.wording import decimal
from app.job.rules.draft import TABLE_RULES, TableDraft
from app.job.words.names import position_key

# The words of a choice, in English, by the value that a file of house rules has for it.
CHOICES: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "open_or_fourth": MappingProxyType(
            {
                "either": later("whichever is easier"),
                "open": later("the open string"),
                "fourth": later("the fourth finger"),
            }
        ),
        "printed": MappingProxyType(
            {
                "every-note": later("on every note"),
                "where-it-matters": later("where it matters"),
                "exceptions": later("exceptions only"),
            }
        ),
        "reach": MappingProxyType({"small": later("small"), "usual": later("usual"), "large": later("large")}),
    }
)
_ORDINALS = ("", later("1st"), later("2nd"), later("3rd"), later("4th"), later("5th"))
_RUN = 3  # from so many neighbouring positions on only the ends are named


def string_words(number: int, instrument: Instrument | None) -> str:
    """A string by its letter on the instrument, else by its number from the highest: ``D string``, ``5th string``."""
    if instrument is None or number > len(instrument.strings):
        return _("{ordinal} string").format(ordinal=_(_ORDINALS[number]))
    return _("{letter} string").format(letter=instrument.string(number).letter)


def positions_words(positions: Sequence[int], instrument: Instrument | None) -> str:
    """Positions by name, runs of them by their ends: ``half–4th``, ``1st, 3rd``."""
    runs = []
    for _step, group in itertools.groupby(enumerate(positions), key=lambda item: item[1] - item[0]):
        run = [position_name(number, instrument) for _index, number in group]
        runs += [f"{run[0]}–{run[-1]}"] if len(run) >= _RUN else run
    return ", ".join(runs)


def table_title(table: TableDraft) -> str:
    """For what a table holds: ``Double bass``, ``Violin II``, ``Violin I, measures 38–41``."""
    if table.kind == "instrument":
        return next((one.title for one in INSTRUMENTS if one.key == table.key), table.key)
    if table.kind == "part":
        return table.key
    measures = table.measures.strip()
    said = _("{part}, measures {measures}") if "-" in measures or "–" in measures else _("{part}, measure {measures}")
    return said.format(part=table.key or _("Every part"), measures=measures.replace("-", "–") or "?")


def table_words(table: TableDraft, instrument: Instrument | None) -> str:
    """What a table says, in short: ``positions half–4th; size 3/4``."""
    said = [_SAYS[name](table.rules[name], instrument) for name in TABLE_RULES if name in table.rules]
    return "; ".join(said) or _("nothing otherwise yet")


def _strings(numbers: Sequence[int], instrument: Instrument | None) -> str:
    known = len(instrument.strings) if instrument is not None else 0
    names = [
        instrument.string(number).letter if instrument is not None and number <= known else _(_ORDINALS[number])
        for number in numbers
    ]
    return n_("{strings} string", "{strings} strings", len(names)).format(strings=_(" and ").join(names))


def _flag(yes: str, no: str) -> Callable[[Any, Instrument | None], str]:
    return lambda value, instrument: _(yes if value else no)


def _said(sentence: str, words: Callable[[Any, Instrument | None], str]) -> Callable[[Any, Instrument | None], str]:
    """A sentence for a rule with the words for its value in it."""
    return lambda value, instrument: _(sentence).format(value=words(value, instrument))


def _position(number: int, instrument: Instrument | None) -> str:
    return full_position(position_key(number, instrument))


def _choice(name: str) -> Callable[[Any, Instrument | None], str]:
    return lambda value, instrument: _(CHOICES[name].get(value, str(value)))


def _plain(value: Any, instrument: Instrument | None) -> str:
    return decimal(f"{value:g}") if isinstance(value, float) else str(value)


def _positions(numbers: Sequence[int], instrument: Instrument | None) -> str:
    if not numbers:
        return _("no position")
    said = n_("{positions} position", "{positions} positions", len(numbers))
    return said.format(positions=positions_words(numbers, instrument))


def _longest_open(quarters: Any, instrument: Instrument | None) -> str:
    said = _("open for {quarters} quarter at most") if quarters == "1" else _("open for {quarters} quarters at most")
    return said.format(quarters=str(quarters).strip() or "?")


def _never_open(numbers: Sequence[int], instrument: Instrument | None) -> str:
    if not numbers:
        return _("any string open")
    return _("never open: {strings}").format(strings=_strings(numbers, instrument))


def _keep_on(numbers: Sequence[int], instrument: Instrument | None) -> str:
    if not numbers:
        return _("on all strings")
    return _("on the {strings}").format(strings=_strings(numbers, instrument))


def _weights(weights: Mapping[str, float], instrument: Instrument | None) -> str:
    says = [f"{_(term.says)} × {decimal(f'{weights[term.name]:g}')}" for term in TERMS if term.name in weights]
    if not says:
        return _("usual weights")
    first = ", ".join(says[:2])
    more = len(says) - 2
    return _("{first} and {more} more weights").format(first=first, more=more) if more > 0 else first


_SAYS: Mapping[str, Callable[[Any, Instrument | None], str]] = MappingProxyType(
    {
        "positions": _positions,
        "home": _said(later("home in {value}"), _position),
        "longest_open": _longest_open,
        "never_open": _never_open,
        "open_or_fourth": _said(later("open or fourth: {value}"), _choice("open_or_fourth")),
        "fourth_saves_crossing": _flag(
            later("fourth finger saves a crossing"), later("fourth finger saves no crossing")
        ),
        "avoid_shrill_open": _flag(later("no open E"), later("open E")),
        "extensions": _flag(later("extensions"), later("no extensions")),
        "lower_strings_to": _said(later("lower strings to {value}"), _position),
        "keep_on": _keep_on,
        "same_again": _flag(later("same fingers again"), later("figures need not be the same again")),
        "printed": _said(later("printed {value}"), _choice("printed")),
        "tempo": _said(later("{value} quarters a minute"), _plain),
        "size": _said(later("size {value}"), _plain),
        "reach": _said(later("{value} reach"), _choice("reach")),
        "weights": _weights,
    }
)
