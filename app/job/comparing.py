"""Weigh ways of playing one passage against each other: the same notes under different house rules."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from analysis.fingering.counts import COUNT_NAMES, Counts
from analysis.fingering.locks import Lock
from analysis.fingering.plan import Plan, make_plan
from analysis.fingering.rules import HouseRules
from analysis.fingering.ticking import Tick, no_tick, part_of
from analysis.instruments import Instrument
from analysis.music import Part


@dataclass(frozen=True, slots=True)
class Weighed:
    """One way of playing a passage: the plan for its notes alone, under ``rules``."""

    rules: HouseRules
    plan: Plan

    @property
    def counts(self) -> Counts:
        """What the hand and the bow do in the passage."""
        return self.plan.counts


def weigh(
    part: Part,
    instrument: Instrument,
    measures: tuple[int, int],
    every_rules: Sequence[HouseRules],
    locks: Mapping[str, Lock],
    tick: Tick = no_tick,
) -> tuple[Weighed, ...]:
    """The passage of ``measures`` (indices, both included) played under each of the rules, by itself.

    Locks inside the passage hold in all of them.
    """
    passage = part.within(*measures)
    inside = {note_id: lock for note_id, lock in locks.items() if note_id in passage}
    return tuple(
        Weighed(rules, make_plan(passage, instrument, rules, inside, part_of(tick, number, len(every_rules))))
        for number, rules in enumerate(every_rules)
    )


def comparison_rows(ways: Sequence[Weighed]) -> list[tuple[str, list[str]]]:
    """The table of a comparison: each count's name and its value for every way, ready to show."""
    rows = []
    for field, name in COUNT_NAMES.items():
        values = [getattr(way.counts, field) for way in ways]
        rows.append((name, [f"{value:.1f}" if isinstance(value, float) else str(value) for value in values]))
    missing = [len(way.plan.problems) for way in ways]
    rows.append(("Notes that cannot be played so", [str(number) for number in missing]))
    return rows


def locks_of(way: Weighed) -> dict[str, Lock]:
    """The way as locks on its notes: what is taken over when a teacher uses it."""
    return {note_id: Lock.on(placement) for note_id, placement in way.plan.choices() if way.plan.struck(note_id)}
