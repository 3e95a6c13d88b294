"""Weigh ways of playing one passage against each other: the same notes under different house rules."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from analysis.fingering.counts import COUNT_NAMES, Counts
from analysis.fingering.locks import Lock
from analysis.fingering.plan import Plan, make_plan
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.ticking import Tick, no_tick, part_of
from analysis.language import _
from analysis.music import Part
from app.job.teacher.work import PartWork


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
        rows.append((_(name), [f"{value:.1f}" if isinstance(value, float) else str(value) for value in values]))
    rows.append((_("Notes that cannot be played so"), [str(unplayed(way)) for way in ways]))
    return rows


def unplayed(way: Weighed) -> int:
    """How many notes cannot be played this way."""
    return sum(note_id not in way.plan for note_id in way.plan.problems)


def differing(ways: Sequence[Weighed]) -> frozenset[str]:
    """The ids of the notes that the ways do not all play with one finger on one string."""
    found: dict[str, set[tuple[int, int]]] = {}
    for way in ways:
        for note_id, placement in way.plan.choices():
            found.setdefault(note_id, set()).add((placement.string, placement.finger))
    return frozenset(
        note_id for note_id, played in found.items() if len(played) > 1 or any(note_id not in way.plan for way in ways)
    )


def other_strings(ways: Sequence[Weighed], way: Weighed) -> frozenset[str]:
    """The ids of the notes at which ``way`` comes to a string that another of the ways does not take there."""
    found: set[str] = set()
    before: int | None = None
    for note_id, placement in way.plan.choices():
        others = {choice.string for other in ways if (choice := other.plan.choice(note_id)) is not None}
        here = placement.string if others - {placement.string} else None
        if here is not None and here != before:
            found.add(note_id)
        before = here
    return frozenset(found)


def difference_words(first: str, value: str) -> str:
    """How much a value of the table is more or less than that of the first way, ``+2``; "" where they are equal."""
    apart = float(value) - float(first)
    digits = 1 if "." in value else 0
    return "" if round(apart, digits) == 0 else f"{apart:+.{digits}f}".replace("-", "−")


def locks_of(way: Weighed) -> dict[str, Lock]:
    """The way as locks on its notes: what is taken over when a teacher uses it."""
    return {note_id: Lock.on(placement) for note_id, placement in way.plan.choices() if way.plan.struck(note_id)}
