"""House rules: what a teacher allows and prefers, as a value.

A rule *binds* (other ways are out) or *weighs* (other ways cost more). What holds for one instrument, one part or one
passage stands in tables of its own, which say only what is otherwise there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from fractions import Fraction
from typing import Any

from analysis.errors import HouseRuleError
from analysis.fingering.frames.letters import ordinal
from analysis.fingering.placements import Placement, position_name
from analysis.fingering.position_words import full_position
from analysis.fingering.rules import checks
from analysis.language import _, later
from analysis.music import Part
from analysis.wording import comma_listed, listed

# What each rule means, in one sentence for the teacher.
RULE_SENTENCES = {
    "name": later("A short name for these rules."),
    "title": later("What these rules are called on screen and on paper."),
    "positions": later(
        "The hand plays in these positions only (0 is half position, 8 on cello and bass thumb position)."
    ),
    "home": later("The hand comes back to this position when nothing keeps it elsewhere."),
    "longest_open": later("A note longer than this many quarter notes is not left on an open string."),
    "never_open": later("These strings are never played open (1 is the highest string)."),
    "open_or_fourth": later(
        "Where both will do, take the open string, take the fourth finger, or whichever is easier."
    ),
    "fourth_saves_crossing": later("The fourth finger saves going to the next string for one note only."),
    "avoid_shrill_open": later("The violin's open E is avoided where a stopped E is in reach."),
    "extensions": later("A finger may reach out of the hand frame where the music asks for it."),
    "lower_strings_to": later("On the lower strings the hand goes no higher than this position."),
    "keep_on": later("Play on these strings only (1 is the highest string); an empty list leaves all of them."),
    "same_again": later("A figure that comes again gets the same fingers, also one string over."),
    "printed": later("Print a finger on every note, where it matters, or only where a player would take another one."),
    "tempo": later("Quarter notes a minute, where the part gives no tempo."),
    "size": later(
        "The size of the instrument, such as 3/4; an instrument that is not built in it counts as full size."
    ),
    "reach": later("How far the players' hands reach for the size of their instruments."),
    "weights": later("How much each kind of effort counts, times its usual weight."),
    "instrument": later("Other rules for one kind of instrument."),
    "part": later("Other rules for one part, by its name in the score."),
    "passage": later("Other rules from one measure of a part to another."),
}


@dataclass(frozen=True, slots=True)
class PassageRules:
    """Other ``rules`` (name and checked value) from measure ``first`` to ``last``, labels as printed.

    ``part`` names the part; "" stands for every part.
    """

    first: str
    last: str
    rules: tuple[tuple[str, Any], ...]
    part: str = ""


Table = tuple[tuple[str, Any], ...]


@dataclass(frozen=True, slots=True)
class HouseRules:
    """The teacher's rules; ``RULE_SENTENCES`` says what each field means.

    HouseRuleError names the rule whose value does not fit.
    """

    name: str = "two-homes"
    title: str = ""
    positions: tuple[int, ...] = (1, 3)
    home: int = 1
    longest_open: Fraction = Fraction(2)
    never_open: tuple[int, ...] = ()
    open_or_fourth: str = "either"
    fourth_saves_crossing: bool = True
    avoid_shrill_open: bool = True
    extensions: bool = True
    lower_strings_to: int = 8
    keep_on: tuple[int, ...] = ()
    same_again: bool = True
    printed: str = "where-it-matters"
    tempo: float = 88.0
    size: str = "4/4"
    reach: str = "usual"
    weights: tuple[tuple[str, float], ...] = ()
    instrument: tuple[tuple[str, Table], ...] = ()
    part: tuple[tuple[str, Table], ...] = ()
    passage: tuple[PassageRules, ...] = ()

    def __post_init__(self) -> None:
        for name, check in checks.CHECKS.items():
            object.__setattr__(self, name, check(name, getattr(self, name)))
        if self.home not in self.positions:
            words = _("home is {position}, which is not among the positions allowed: {allowed}")
            allowed = listed(position_name(position) for position in self.positions)
            raise HouseRuleError(words.format(position=full_position(ordinal(self.home)), allowed=allowed))
        if not self.title:
            object.__setattr__(self, "title", self.name)
        object.__setattr__(self, "instrument", self._tables("instrument", self.instrument))
        object.__setattr__(self, "part", self._tables("part", self.part))
        object.__setattr__(self, "passage", tuple(self._passage(n, item) for n, item in enumerate(self.passage, 1)))

    def reaches(self, placement: Placement) -> bool:
        """Whether the hand gets there under the rules for positions, strings and extensions."""
        return (
            placement.position in self.positions
            and (self.extensions or not placement.is_extension)
            and (placement.string == 1 or placement.position <= self.lower_strings_to)
            and (not self.keep_on or placement.string in self.keep_on)
        )

    def allows(self, placement: Placement) -> bool:
        """Whether the rules let a player stop a note this way."""
        return self.reaches(placement) and not (placement.is_open and placement.string in self.never_open)

    def weight(self, term: str) -> float:
        """What the effort term of that name is multiplied with; 1 unless the rules say otherwise."""
        if term == "same_again" and not self.same_again:
            return 0.0
        return dict(self.weights).get(term, 1.0)

    def for_part(self, instrument_key: str, part_name: str) -> HouseRules:
        """The rules that hold for one part on one instrument, with only the passages of that part left in them.

        What stands for the part counts more than what stands for its instrument.
        """
        rules = replace(
            self, instrument=(), part=(), passage=tuple(p for p in self.passage if p.part in ("", part_name))
        )
        for key, tables in ((instrument_key, self.instrument), (part_name, self.part)):
            rules = rules.with_table(dict(tables).get(key, ()))
        return rules

    def in_measures(self, part: Part) -> Mapping[int, HouseRules]:
        """The rules of the passages, by the index of every measure that lies in one; of two the later one counts.

        A passage whose measures the part does not have changes nothing.
        """
        first_of: dict[str, int] = {}
        last_of: dict[str, int] = {}
        for measure in part.measures:
            first_of.setdefault(measure.label, measure.index)
            last_of[measure.label] = measure.index
        found: dict[int, HouseRules] = {}
        for passage in self.passage:
            if passage.first in first_of and passage.last in last_of:
                rules = self.with_table(passage.rules)
                found |= dict.fromkeys(range(first_of[passage.first], last_of[passage.last] + 1), rules)
        return found

    def with_table(self, table: Table) -> HouseRules:
        """These rules with other values for some of them; weights are joined, and home follows the positions."""
        changes = dict(table)
        if "weights" in changes:
            changes["weights"] = tuple(sorted((dict(self.weights) | dict(changes["weights"])).items()))
        if "positions" in changes and "home" not in changes and self.home not in changes["positions"]:
            changes["home"] = min(changes["positions"])
        return replace(self, **changes) if changes else self

    def _tables(self, name: str, value: Any) -> tuple[tuple[str, Table], ...]:
        tables = checks.table_of_tables(name, value)
        return tuple(sorted((key, self._table(f'{name}."{key}"', inner)) for key, inner in tables.items()))

    def _table(self, where: str, values: Mapping[str, Any]) -> Table:
        """A table of other rules, checked as it will be used."""
        allowed = [rule.name for rule in fields(HouseRules)][2:-3]
        for name in values:
            if name not in allowed:
                words = _("{where} has no rule '{name}'; there is {known}")
                raise HouseRuleError(words.format(where=where, name=name, known=comma_listed(allowed)))
        try:
            plain = replace(self, instrument=(), part=(), passage=())
            checked = tuple((name, checks.CHECKS[name](name, value)) for name, value in sorted(values.items()))
            plain.with_table(checked)
        except HouseRuleError as error:
            raise HouseRuleError(f"{where}: {error}") from error
        return checked

    def _passage(self, number: int, value: Any) -> PassageRules:
        if isinstance(value, PassageRules):
            return value
        where = _("passage {number}").format(number=number)
        values = checks.table(where, value)
        first, last = checks.measures(where, values.pop("measures", None))
        part = checks.text(_("{where}: part").format(where=where), values.pop("part", ""))
        return PassageRules(first, last, self._table(where, values), part)
