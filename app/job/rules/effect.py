"""What other house rules would do to a part: which digits change, and what the hand and the bow do then."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

from analysis.fingering.costs import UNIT, seam_term_efforts, term_efforts
from analysis.fingering.counts import COUNT_NAMES, Counts, count
from analysis.fingering.plan import Plan
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.setting import Setting
from analysis.fingering.terms import TERMS
from analysis.fingering.ticking import Tick, no_tick
from analysis.language import _, later, n_
from app.job.paper.digits import digits_on_paper
from app.job.teacher.work import PartWork

Pair = tuple[int, int]
_SPANS = {term.name: term.span for term in TERMS}
# What is said where a count, or the digits, are no longer as many as they were.
_CHANGES = MappingProxyType(
    {
        "notes": later("notes fingered {then} → {now}"),
        "shifts": later("shifts {then} → {now}"),
        "hand_travel_mm": later("hand travel {then} → {now} mm"),
        "crossings": later("string crossings {then} → {now}"),
        "single_crossings": later("crossings for a single note {then} → {now}"),
        "open_strings": later("open strings {then} → {now}"),
        "fourth_fingers": later("fourth fingers {then} → {now}"),
        "extensions": later("extensions {then} → {now}"),
        "low_high_changes": later("low/high changes {then} → {now}"),
        "effort": later("effort {then} → {now}"),
        "printed": later("digits on paper {then} → {now}"),
        "missing": later("notes without a finger {then} → {now}"),
    }
)


@dataclass(frozen=True, slots=True)
class Effect:
    """Two plans of some measures beside each other: as they are played now, and as they would be.

    ``notes``: those that carry a digit in either. ``digits``: how many of these get another one. ``moved``: how many
    keep their digit on another string or in another place of the hand. ``before``, ``after``: what hand and bow do,
    both efforts by the rules of now, since those of unlike rules could not be compared. ``printed``, ``missing``: the
    digits on paper and the notes without a finger, before and after.
    """

    notes: int
    digits: int
    moved: int
    before: Counts
    after: Counts
    printed: Pair
    missing: Pair

    @property
    def text(self) -> str:
        """The effect in one sentence."""
        told = [_("no digit changes")]
        if self.digits:
            told = [_("{digits} of {notes} digits change").format(digits=self.digits, notes=self.notes)]
        if self.moved:
            moved = n_(
                "{count} note keeps its digit in another place",
                "{count} notes keep their digit in another place",
                self.moved,
            )
            told.append(moved.format(count=self.moved))
        pairs = {field: _shown(field, self.before, self.after) for field in COUNT_NAMES}
        pairs |= {"printed": _texts(self.printed), "missing": _texts(self.missing)}
        differ = [_(_CHANGES[what]).format(then=then, now=now) for what, (then, now) in pairs.items() if then != now]
        sentence = "; ".join([", ".join(told), *([", ".join(differ)] if differ else [])])
        return f"{sentence[0].upper()}{sentence[1:]}."


def effect_of(
    plan: Plan, work: PartWork, rules: HouseRules, measures: Pair | None = None, tick: Tick = no_tick
) -> Effect:
    """What ``rules`` would do to a part that is now played as ``plan``, in ``measures`` (indices, both included).

    The whole part is fingered under them, since what is chosen before and after reaches into a passage. HouseRuleError
    where the rules do not go together for this part.
    """
    other = replace(work, rules=rules).plan(plan.part, tick)
    if other is None:
        raise ValueError("the part has no instrument to be fingered for")
    inside = measures or (0, len(plan.part.measures) - 1)
    ids = [note.id for note in plan.part.notes if inside[0] <= note.measure <= inside[1]]
    struck = [note_id for note_id in ids if plan.struck(note_id) or other.struck(note_id)]
    pairs = [(plan.choice(note_id), other.choice(note_id)) for note_id in struck]
    same = [(old, new) for old, new in pairs if old is not None and new is not None and old.finger == new.finger]
    return Effect(
        notes=len(struck),
        digits=len(struck) - len(same),
        moved=sum(old.as_played != new.as_played for old, new in same),
        before=counts_in(plan, inside, work.rules),
        after=counts_in(other, inside, work.rules),
        printed=(_printed(plan, work, inside), _printed(other, work, inside)),
        missing=(_missing(plan, ids), _missing(other, ids)),
    )


def counts_in(plan: Plan, measures: Pair, by: HouseRules) -> Counts:
    """What the hand and the bow do in ``measures`` of a plan, and its effort there by the rules ``by``, in units.

    Moves count inside the passage. Effort counts where it arrives: those of neighbouring passages add up to the part's.
    """
    setting, total = Setting(plan.part, plan.setting.instrument, by), Counts()
    for chain in plan.chains:
        inside = [k for k, stage in enumerate(chain.stages) if measures[0] <= stage.measure <= measures[1]]
        if not inside:
            continue
        start, stop, path = inside[0], inside[-1] + 1, chain.chosen_path()
        line = replace(chain.line, rules=tuple(setting.rules_at(stage) for stage in chain.stages))
        thousandths = sum(
            int(effort[max(start - _SPANS.get(name, 1) + 1, 0) : max(stop - _SPANS.get(name, 1) + 1, 0)].sum())
            for name, effort in term_efforts(line, path).items()
        )
        ending = [seam for seam in line.seams if start <= seam.last < stop]
        thousandths += sum(seam_term_efforts(line, path, ending).values())
        voice = (chain.stages[start:stop], path[start:stop])
        total = total + count(plan.setting.played_on, [voice], thousandths / UNIT)
    return total


def _printed(plan: Plan, work: PartWork, measures: Pair) -> int:
    return len(digits_on_paper(plan, own=work.on_paper, measures=measures))


def _missing(plan: Plan, note_ids: Sequence[str]) -> int:
    return sum(note_id not in plan for note_id in note_ids)


def _shown(field: str, before: Counts, after: Counts) -> tuple[str, str]:
    """A count before and after, efforts finer where they would look alike."""
    then, now = getattr(before, field), getattr(after, field)
    digits = 1 if field == "effort" and f"{then:.0f}" == f"{now:.0f}" else 0
    return f"{then:.{digits}f}", f"{now:.{digits}f}"


def _texts(pair: Pair) -> tuple[str, str]:
    return str(pair[0]), str(pair[1])
