"""House rules for some measures of one part, chosen in the score: which measures they are, and what holds there."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from analysis.errors import HouseRuleError
from analysis.fingering.rules.checks import CHECKS
from analysis.fingering.rules.checks import measures as named_measures
from analysis.fingering.rules.house import HouseRules, PassageRules
from analysis.instruments import Instrument
from analysis.language import _
from analysis.music import Part, Score
from app.errors import AppError
from app.job.rules.draft import TableDraft, measures_text, wrong_measures

Measures = tuple[int, int]


def measures_for_rules(part: Part, measures: Measures) -> str:
    """How house rules name the measures of a part, by their printed numbers: ``"12-16"``.

    AppError where the numbers would name other measures, as they do when a number stands in the part twice.
    """
    first, last = (part.measures[index].label for index in measures)
    text = measures_text(first, last)
    # A rule of no meaning, to see where it would hold.
    found = HouseRules(passage=(PassageRules(first, last, ()),)).in_measures(part)
    if wrong_measures(text) or sorted(found) != list(range(measures[0], measures[1] + 1)):
        raise AppError(
            _(
                "House rules name measures by their printed numbers, which in {part} do not tell {measures} from "
                "others: number the measures of the score anew first."
            ).format(part=part.name, measures=part.span(measures))
        )
    return text


def with_rule_in(rules: HouseRules, part: Part, measures: Measures, name: str, value: Any) -> HouseRules:
    """The rules with another value for one of them in ``measures`` of a part; all else that holds there stays.

    Of two tables for a measure only the later counts: so what an earlier one says goes into the new one. AppError as in
    :func:`measures_for_rules`; HouseRuleError where the value does not fit.
    """
    checked = CHECKS[name](name, value)
    passages = list(rules.passage)
    holding = _holding(rules, part)
    for old, group in itertools.groupby(range(measures[0], measures[1] + 1), key=holding.get):
        run = list(group)
        measures_for_rules(part, (run[0], run[-1]))
        first, last = (part.measures[index].label for index in (run[0], run[-1]))
        table = dict(passages[old].rules) if old is not None else {}
        new = PassageRules(first, last, tuple(sorted({**table, name: checked}.items())), part.name)
        if old is not None and replace(new, rules=()) == replace(passages[old], rules=()):
            passages[old] = new
        else:
            passages.append(new)
    return replace(rules, passage=tuple(passages))


def rules_held_in(rules: HouseRules, part: Part, measures: Measures) -> PassageRules | None:
    """The table for a passage that holds in all of the measures; ``None`` where none does, or several do."""
    holding = _holding(rules, part)
    found = {holding.get(index) for index in range(measures[0], measures[1] + 1)}
    number = found.pop() if len(found) == 1 else None
    return None if number is None else rules.passage[number]


def _holding(rules: HouseRules, part: Part) -> dict[int, int]:
    """Of the passages, the number of the one that holds in a measure, by its index; none where none does."""
    found: dict[int, int] = {}
    for number, passage in enumerate(rules.passage):
        if passage.part in ("", part.name):
            found |= dict.fromkeys(replace(rules, passage=(passage,)).in_measures(part), number)
    return found


def remark_on(table: TableDraft, score: Score, in_hand: Part) -> str:
    """Why a table changes nothing in a score, in one sentence; "" where it does. ``in_hand`` stands for every part."""
    if table.kind == "instrument" or not table.key:
        part: Part | None = in_hand
    else:
        part = next((one for one in score.parts if one.name == table.key), None)
    if part is None:
        return _("This score has no part named {part}.").format(part=table.key)
    if table.kind != "passage":
        return ""
    first, last = named_measures("passage", table.measures)
    labels = [measure.label for measure in part.measures]
    for label in (first, last):
        if label not in labels:
            return _("There is no measure {label} in {part}; its measures are {first} to {last}.").format(
                label=label, part=part.name, first=labels[0], last=labels[-1]
            )
    if labels.index(first) > len(labels) - 1 - labels[::-1].index(last):
        return _("Measure {last} does not come after measure {first}.").format(last=last, first=first)
    return ""


def misfit(rules: HouseRules, parts: Iterable[tuple[Part, Instrument | None]]) -> str:
    """Why the rules do not go together in one of the parts, in one sentence; "" where they do in all of them.

    Tables are checked one by one; those for an instrument, a part and a passage may still contradict each other.
    """
    for part, instrument in parts:
        if instrument is not None:
            try:
                rules.for_part(instrument.key, part.name).in_measures(part)
            except HouseRuleError as error:
                return f"{part.name}: {error}"
    return ""
