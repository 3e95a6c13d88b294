"""House rules while they are edited: plain values, which may not fit yet, so that nothing typed is lost."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from analysis.errors import HouseRuleError
from analysis.fingering.rules.checks import CHECKS, measures
from analysis.fingering.rules.files import rules_from, rules_to
from analysis.fingering.rules.house import RULE_SENTENCES, HouseRules

TABLE_KINDS = ("instrument", "part", "passage")
# What a table may say, in the order in which it is shown; all rules but their names and the tables themselves.
TABLE_RULES = tuple(name for name in RULE_SENTENCES if name not in ("name", "title", *TABLE_KINDS))

Values = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class TableDraft:
    """Other rules for one instrument, part or passage: ``kind`` is one of ``TABLE_KINDS``.

    ``key``: the instrument's key or the part's name; of a passage its part's name, "" for every part. ``measures``: of
    a passage, as in a file of house rules, ``"12-16"``.
    """

    kind: str
    key: str
    rules: Values
    measures: str = ""

    def __post_init__(self) -> None:
        object.__setattr__(self, "rules", MappingProxyType(dict(self.rules)))


@dataclass(frozen=True, slots=True)
class Draft:
    """House rules being edited: the rules that hold everywhere, then the tables; instruments, parts, passages."""

    own: Values
    tables: tuple[TableDraft, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "own", MappingProxyType(dict(self.own)))
        object.__setattr__(
            self, "tables", tuple(sorted(self.tables, key=lambda table: TABLE_KINDS.index(table.kind)))
        )  # which keeps the order of passages: of two the later counts

    @classmethod
    def of(cls, rules: HouseRules) -> Draft:
        """The draft that says just these rules."""
        plain = rules_to(rules)
        tables = [
            TableDraft(kind, key, values) for kind in ("instrument", "part") for key, values in plain.pop(kind).items()
        ]
        for passage, written in zip(rules.passage, plain.pop("passage"), strict=True):
            values = {name: value for name, value in written.items() if name not in ("part", "measures")}
            tables.append(TableDraft("passage", passage.part, values, measures_text(passage.first, passage.last)))
        return cls(plain, tuple(tables))

    @property
    def rules(self) -> HouseRules:
        """The rules that the draft says; HouseRuleError where its values do not fit."""
        return rules_from(
            {
                **self.own,
                **{
                    kind: {table.key: table.rules for table in self.tables if table.kind == kind}
                    for kind in ("instrument", "part")
                },
                "passage": [
                    {"measures": table.measures, "part": table.key, **table.rules}
                    for table in self.tables
                    if table.kind == "passage"
                ],
            }
        )

    def values(self, row: int) -> Values:
        """What is said in one place: of the table of that number, or everywhere at -1."""
        return self.own if row < 0 else self.tables[row].rules

    def with_values(self, row: int, values: Values) -> Draft:
        """The same with other values in one place, counted as for :meth:`values`."""
        if row < 0:
            return replace(self, own=values)
        return self.with_table(row, replace(self.tables[row], rules=values))

    def with_table(self, row: int, table: TableDraft) -> Draft:
        """The same with another table of that number."""
        return replace(self, tables=(*self.tables[:row], table, *self.tables[row + 1 :]))

    def with_new(self, table: TableDraft) -> Draft:
        """The same with one table more, the last of its kind."""
        return replace(self, tables=(*self.tables, table))

    def without(self, row: int) -> Draft:
        """The same without the table of that number."""
        return replace(self, tables=(*self.tables[:row], *self.tables[row + 1 :]))

    def beneath(self, row: int, instrument: str = "") -> Values:
        """What holds where the table of that number says nothing, for a part on the instrument of that key."""
        if row < 0:
            return {}
        table, found = self.tables[row], dict(self.own)
        for other in self.tables:
            holds = (other.kind, other.key) in (("instrument", instrument), ("part", table.key))
            if holds and TABLE_KINDS.index(other.kind) < TABLE_KINDS.index(table.kind):
                weights = {**found.get("weights", {}), **other.rules.get("weights", {})}
                found |= {**other.rules, "weights": weights}
        return found


def measures_text(first: str, last: str) -> str:
    """The measures of a passage as a file of house rules has them, by their printed numbers."""
    return first if first == last else f"{first}-{last}"


def wrong_values(values: Values, beneath: Values) -> dict[str, str]:
    """By rule, what is wrong with the values said in one place, each in one sentence; empty where all of them fit.

    ``beneath``: what holds of the rules left out.
    """
    found = {}
    for name, value in values.items():
        try:
            CHECKS[name](name, value)
        except HouseRuleError as error:
            found[name] = str(error)
    positions = {**beneath, **values}["positions"]
    if "home" in values and "home" not in found and positions:
        try:
            HouseRules(positions=positions, home=values["home"])
        except HouseRuleError as error:
            found["home"] = str(error)
    return found


def wrong_in(draft: Draft) -> dict[int, dict[str, str]]:
    """What is wrong with a draft, by place (as in :meth:`Draft.values`) and rule; without the places that fit.

    What is wrong with the measures of a passage stands under ``"measures"``.
    """
    found = {-1: wrong_values(draft.own, {})}
    for row, table in enumerate(draft.tables):
        measures = wrong_measures(table.measures) if table.kind == "passage" else ""
        found[row] = ({"measures": measures} if measures else {}) | wrong_values(table.rules, draft.own)
    return {row: wrong for row, wrong in found.items() if wrong}


def wrong_measures(text: str) -> str:
    """What is wrong with the measures of a passage, in one sentence; "" where they read."""
    try:
        measures("passage", text)
    except HouseRuleError as error:
        return str(error).partition(": ")[2] or str(error)
    return ""


class Drafts:
    """The drafts of one sitting, to go back and forth between; ``now`` is the one in hand."""

    def __init__(self, draft: Draft) -> None:
        self._every, self._at, self._key = [draft], 0, ""

    @property
    def now(self) -> Draft:
        """The draft in hand."""
        return self._every[self._at]

    def take(self, draft: Draft, key: str = "") -> None:
        """Another draft; one after the other of the same ``key``, as when a text is typed, count as one."""
        if draft == self.now:
            return
        kept = self._every[: self._at + 1]
        if key and key == self._key and self._at:
            kept.pop()
        self._every, self._key = [*kept, draft], key
        self._at = len(self._every) - 1

    @property
    def can_undo(self) -> bool:
        """Whether there is a draft before."""
        return self._at > 0

    @property
    def can_redo(self) -> bool:
        """Whether a draft has been taken back."""
        return self._at < len(self._every) - 1

    def undo(self) -> None:
        """Back to the draft before."""
        self._at, self._key = max(self._at - 1, 0), ""

    def redo(self) -> None:
        """Forth again."""
        self._at, self._key = min(self._at + 1, len(self._every) - 1), ""
