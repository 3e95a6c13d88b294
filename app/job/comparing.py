"""Weigh ways of playing one passage against each other: the same notes under different house rules."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from analysis.fingering.counts import COUNT_NAMES, Counts
from analysis.fingering.locks import Lock
from analysis.fingering.plan import Plan, make_plan
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.ticking import Tick, no_tick, part_of
from analysis.music import Part
from app.job.work import PartWork


@dataclass(frozen=True, slots=True)
class Weighed:
    """One way of playing a passage: the plan for its notes alone, under ``rules``.

    ``counts``: what the hand and the bow do in it; the effort is measured for all ways by the same rules.
    """

    rules: HouseRules
    plan: Plan
    counts: Counts


def weigh(
    part: Part,
    work: PartWork,
    measures: tuple[int, int],
    every_rules: Sequence[HouseRules],
    tick: Tick = no_tick,
) -> tuple[Weighed, ...]:
    """The passage of ``measures`` (indices, both included) played under each of the rules, by itself.

    The part's locks inside the passage hold in all ways. Their efforts are measured by the part's own rules: those of
    unlike rules could not be compared. Needs an instrument in ``work``.
    """
    if work.instrument is None:
        raise ValueError("the part has no instrument to weigh ways of playing on")
    passage = part.within(*measures)
    inside = {note_id: lock for note_id, lock in work.locks.items() if note_id in passage}
    ways = []
    for number, rules in enumerate(every_rules):
        plan = make_plan(passage, work.instrument, rules, inside, part_of(tick, number, len(every_rules)))
        ways.append(Weighed(rules, plan, replace(plan.counts, effort=plan.effort_by(work.rules))))
    return tuple(ways)


def comparison_rows(ways: Sequence[Weighed]) -> list[tuple[str, list[str]]]:
    """The table of a comparison: each count's name and its value for every way, ready to show."""
    rows = []
    for field, name in COUNT_NAMES.items():
        values = [getattr(way.counts, field) for way in ways]
        rows.append((name, [f"{value:.1f}" if isinstance(value, float) else str(value) for value in values]))
    missing = [sum(note_id not in way.plan for note_id in way.plan.problems) for way in ways]
    rows.append(("Notes that cannot be played so", [str(number) for number in missing]))
    return rows


def locks_of(way: Weighed) -> dict[str, Lock]:
    """The way as locks on its notes: what is taken over when a teacher uses it."""
    return {note_id: Lock.on(placement) for note_id, placement in way.plan.choices() if way.plan.struck(note_id)}
