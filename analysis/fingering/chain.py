"""One voice made ready for the solver: its stages, the grips each may use, and the effort tables."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from analysis.fingering.costs import Costs, Effort, build_costs, moved_while_held, single_efforts, with_links
from analysis.fingering.grips import Grip
from analysis.fingering.line import Line, parted, seams
from analysis.fingering.locks import Asked, Lock, broken, conflicts, demands_on
from analysis.fingering.placements import Placement
from analysis.fingering.setting import Setting
from analysis.fingering.solver import Solution, solve, solve_again
from analysis.fingering.stages import Stage, stages
from analysis.fingering.standing import standing_ways
from analysis.fingering.ticking import Tick, no_tick
from analysis.language import _, n_
from analysis.music import Note, Part
from analysis.wording import comma_listed, listed

# What going against one demand of a lock costs inside the solver: more than a change of any few stages can save, so it
# is met whenever it can be; and small enough for the sums of a dozen demands to stay within 32 bits.
AGAINST_LOCK = 20_000_000
# A long tied note may carry a lock on each of its parts: beyond so many demands the whole numbers would not hold it.
_MOST_COUNTED = 20


@dataclass(frozen=True, slots=True)
class Choices:
    """What a stage may be played with: its ``grips``; none means it stays unfingered.

    ``problems``: by note id, why it stays unfingered or which locks do not go together.
    """

    grips: tuple[Grip, ...]
    problems: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Chain:
    """The solved stages of one voice, each with at least one grip.

    ``free`` is the effort of each stage by itself before locks are laid on.
    """

    line: Line
    grips: tuple[tuple[Grip, ...], ...]
    free: tuple[Effort, ...]
    costs: Costs
    solution: Solution

    @property
    def stages(self) -> tuple[Stage, ...]:
        """The stages in written order."""
        return self.line.stages

    def chosen(self, index: int) -> Grip:
        """The chosen grip of a stage."""
        return self.grips[index][self.solution.path[index]]

    def chosen_path(self) -> list[Grip]:
        """The chosen grip of every stage."""
        return self.on_path(self.solution.path)

    def on_path(self, path: Sequence[int]) -> list[Grip]:
        """The grips of any path through the stages."""
        return [choices[grip] for choices, grip in zip(self.grips, path, strict=True)]

    def kept_to(self, start: int, stop: int, fits: Callable[[Placement], bool]) -> Chain | None:
        """The chain with only fitting placements at stages ``start`` to before ``stop``; ``None`` if one has none."""
        single = list(self.costs.single)
        for k in range(start, stop):
            against = np.array([not all(map(fits, grip)) for grip in self.grips[k]])
            if against.all():
                return None
            single[k] = (single[k] + AGAINST_LOCK * against).astype(np.int32)
        return self.solved_with(replace(self.costs, single=tuple(single)), start, stop - 1)

    def solved_with(self, costs: Costs, first: int, last: int) -> Chain:
        """The chain under other tables, which differ from its own only around stages ``first`` to ``last``."""
        return replace(self, costs=costs, solution=solve_again(costs, self.solution, first, last))


def solve_voice(
    setting: Setting, notes: Sequence[Note], locks: Mapping[str, Lock], tick: Tick = no_tick
) -> tuple[Chain, dict[str, str]]:
    """The solved chain of one voice, and what is wrong with a note or its lock, in words by note id.

    Stages that cannot be fingered are left out: their neighbours then follow one another.
    """
    problems: dict[str, str] = {}
    kept: list[Note] = []
    every = stages(setting.part, notes, setting.own.tempo)
    choices = [stage_choices(setting, stage, locks) for stage in every]
    for stage, found in zip(every, choices, strict=True):
        problems.update(found.problems)
        if found.grips:
            kept.extend(stage_notes(setting.part, stage))
    played = every
    if len(kept) < len(notes):
        played = stages(setting.part, kept, setting.own.tempo)
        choices = [stage_choices(setting, stage, locks) for stage in played]
    every_grip = tuple(found.grips for found in choices)
    line = _line(setting, played)
    costs = build_costs(line, every_grip, tick)
    by_rule = tuple(stage_choices(setting, stage, {}).grips for stage in played) if locks else every_grip
    line = replace(line, standing=_standing(line, every_grip, by_rule, costs))
    free = tuple(single_efforts(line, every_grip, costs.single))
    bound = tuple(_locked(*of_stage, locks) for of_stage in zip(played, every_grip, free, strict=True))
    costs = replace(costs, single=bound)
    chain = Chain(line, every_grip, free, costs, solve(costs))
    return chain, told_of_path(setting, chain, locks) | problems


def relock(setting: Setting, chain: Chain, changed: Mapping[int, Choices], locks: Mapping[str, Lock]) -> Chain:
    """The chain under other ``locks`` that touch only the stages in ``changed``, with what they leave each of them.

    Only the tables around those stages are built again, and only what they change is solved again.
    """
    other = [index for index, choices in changed.items() if choices.grips != chain.grips[index]]
    solution = chain.solution
    for index in other:
        chain = _with_grips(chain, index, changed[index].grips)
    if other:
        chain = replace(chain, costs=with_links(chain.costs, chain.line, chain.grips, other))
    single = list(chain.costs.single)
    for index, choices in changed.items():
        single[index] = _locked(chain.stages[index], choices.grips, chain.free[index], locks)
    costs = replace(chain.costs, single=tuple(single))
    return replace(chain, solution=solution).solved_with(costs, min(changed), max(changed))


def stage_choices(setting: Setting, stage: Stage, locks: Mapping[str, Lock]) -> Choices:
    """The grips a stage may use under the rules and the locks on its notes.

    A lock that goes beyond the rules is kept: the teacher's word stands. Of locks that nothing on the instrument keeps
    together, as many as can be are kept, and the fewest that conflict are named.
    """
    every = setting.grips_of(stage)
    allowed = setting.allowed(stage)
    asked = demands_on(stage, locks) if locks else ()
    if not asked or not every:
        return Choices(allowed, {} if allowed else _unplayed(setting, stage, every))
    fewest = min(broken(grip, asked) for grip in every)
    if not any(broken(grip, asked) == fewest for grip in allowed):
        beyond = {grip for grip in every if broken(grip, asked) == fewest}
        allowed = tuple(sorted({*allowed, *beyond}))
    reasons: dict[str, list[str]] = {}
    for conflict in conflicts(every, asked):
        reason = _conflict(setting, stage, conflict)
        for note_id in dict.fromkeys(note_id for _head, note_id, _demand in conflict):
            reasons.setdefault(note_id, []).append(reason)
    told = {note_id: _at(setting, stage.heads[0], "; ".join(every_one)) for note_id, every_one in reasons.items()}
    return Choices(allowed, told)


def told_of_path(setting: Setting, chain: Chain, locks: Mapping[str, Lock]) -> dict[str, str]:
    """In words by note id, what is wrong with the chosen path: notes moved while they are held, trills left out."""
    return _trills_left_out(setting, chain) | _moved_by_locks(setting, chain, locks)


def _trills_left_out(setting: Setting, chain: Chain) -> dict[str, str]:
    found = {}
    for k in chain.line.trilled:
        for note, placement in zip(chain.stages[k].heads, chain.chosen(k), strict=True):
            if note.trill is not None and setting.leaves_trill_out(note, placement):
                words = _("{pitch} is fingered without its trill, for which the house rules or a lock leave no finger")
                found[note.id] = _at(setting, note, words.format(pitch=note.pitch.said))
    return found


def _moved_by_locks(setting: Setting, chain: Chain, locks: Mapping[str, Lock]) -> dict[str, str]:
    """In words by note id, the notes that locks move though a tie still holds them."""
    found: dict[str, str] = {}
    if not locks:
        return found
    for index, head in moved_while_held(chain.line, chain.chosen):
        locked = [one for k in (index - 1, index) for ids in chain.stages[k].ids for one in ids if one in locks]
        if locked:
            note = chain.stages[index].heads[head]
            words = _(
                "{pitch} is tied and would have to stay where it is, but the locks around the tie ask for two ways"
            )
            found[note.id] = _at(setting, note, words.format(pitch=note.pitch.said))
    return found


def _line(setting: Setting, played: tuple[Stage, ...]) -> Line:
    return Line(
        setting.played_on,
        played,
        tuple(setting.rules_at(stage) for stage in played),
        (None,) * len(played),
        seams(setting.part, played, setting.own.tempo),
        parted(setting.part, played),
    )


def retimed(setting: Setting, line: Line) -> Line:
    """The line at the tempo of the setting's part, which has the same notes."""
    notes = [note for stage in line.stages for note in stage_notes(setting.part, stage)]
    played = stages(setting.part, notes, setting.own.tempo)
    return replace(line, stages=played, seams=seams(setting.part, played, setting.own.tempo))


def _standing(
    line: Line, every_grip: Sequence[Sequence[Grip]], by_rule: Sequence[Sequence[Grip]], costs: Costs
) -> tuple[Grip | None, ...]:
    """How figures are played wherever they come; what locks add to the ways is left out, so that none changes it."""
    if not any(rules.weight("same_again") for rules in {id(rules): rules for rules in line.rules}.values()):
        return line.standing
    return standing_ways(line, every_grip, costs, by_rule)


def _unplayed(setting: Setting, stage: Stage, every: Sequence[Grip]) -> dict[str, str]:
    """Why a stage stays unfingered, in words for each of its notes."""
    reason = _why_not(setting, stage, every)
    return {note_id: reason for ids in stage.ids for note_id in ids}


def stage_notes(part: Part, stage: Stage) -> list[Note]:
    """Every written note of a stage, tied ones too, in the order they are played."""
    return sorted((part.note(note_id) for ids in stage.ids for note_id in ids), key=lambda note: note.onset)


def _with_grips(chain: Chain, index: int, choices: tuple[Grip, ...]) -> Chain:
    """The chain with other grips at one stage; its solution is still the old one."""
    every = (*chain.grips[:index], choices, *chain.grips[index + 1 :])
    low, high = max(index - 2, 0), min(index + 3, len(chain.stages))
    line = chain.line.stretch(low, high)
    near = build_costs(line, every[low:high])
    own = single_efforts(line, every[low:high], near.single)[index - low]
    pair, triple = list(chain.costs.pair), list(chain.costs.triple)
    pair[low : high - 1] = near.pair
    triple[low : max(high - 2, low)] = near.triple
    free = (*chain.free[:index], own, *chain.free[index + 1 :])
    costs = replace(chain.costs, pair=tuple(pair), triple=tuple(triple))
    return replace(chain, grips=every, free=free, costs=costs)


def _why_not(setting: Setting, stage: Stage, every: Sequence[Grip]) -> str:
    """Why a stage cannot be fingered, in words."""
    first = stage.heads[0]
    for note in stage.heads:
        if not setting.ways_of(note):
            words = _("the {instrument} has no {pitch}")
            return _at(setting, first, words.format(instrument=setting.instrument.words, pitch=note.pitch.said))
    pitches = listed(note.pitch.said for note in reversed(stage.heads))
    if every:
        words = n_(
            "{pitches} is out of reach under the house rules",
            "{pitches} are out of reach under the house rules",
            len(stage.heads),
        )
    else:
        words = _("{pitches} cannot be held together")
    return _at(setting, first, words.format(pitches=pitches))


def _conflict(setting: Setting, stage: Stage, conflict: Sequence[Asked]) -> str:
    """Locks that nothing on the instrument keeps together, in words."""
    instrument = setting.instrument
    if len({head for head, _note_id, _demand in conflict}) == 1:
        ways = _all_of(demand.way_words(instrument) for _head, _note_id, demand in conflict)
        pitch = stage.heads[conflict[0][0]].pitch.said
        return _("{pitch} cannot be played {ways}").format(pitch=pitch, ways=ways)
    named = comma_listed(
        _("{pitch} {lock}").format(pitch=stage.heads[head].pitch.said, lock=demand.words(instrument))
        for head, _note_id, demand in conflict
    )
    return _("these locks do not go together: {locks}").format(locks=named)


def _at(setting: Setting, note: Note, what: str) -> str:
    """What is the matter, after the place where it is."""
    return _("{place}: {what}").format(place=setting.part.place(note), what=what)


def _all_of(words: Iterable[str]) -> str:
    """Words of which every one counts: ``C4 and E4 and G4``."""
    return _(" and ").join(words)


def _locked(stage: Stage, choices: Sequence[Grip], free: Effort, locks: Mapping[str, Lock]) -> Effort:
    """A stage's effort by itself with the locks laid on: every demand that is not met costs more than anything."""
    asked = demands_on(stage, locks) if locks else ()
    if not asked:
        return free
    fewest = min(broken(grip, asked) for grip in choices)
    against = np.array([min(broken(grip, asked) - fewest, _MOST_COUNTED) for grip in choices])
    locked: Effort = (free + AGAINST_LOCK * against).astype(np.int32)
    return locked
