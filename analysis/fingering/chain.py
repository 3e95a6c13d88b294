"""One voice made ready for the solver: its stages, the grips each may use, and the effort tables."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from analysis.fingering.costs import Costs, Effort, build_costs
from analysis.fingering.grips import Grip, grips
from analysis.fingering.locks import Lock
from analysis.fingering.placements import Placement, placements
from analysis.fingering.rules import HouseRules
from analysis.fingering.solver import Solution, solve, solve_again
from analysis.fingering.stages import Stage, stages
from analysis.fingering.ticking import Tick, no_tick
from analysis.instruments import Instrument
from analysis.music import Note, Part, Pitch

# What going against a lock costs inside the solver: more than any path, so a lock is kept whenever it can be.
AGAINST_LOCK = 100_000_000


@dataclass(frozen=True, slots=True)
class Setting:
    """What holds for a whole part: the music, who plays it and under which rules."""

    part: Part
    instrument: Instrument
    rules: HouseRules

    def ways_of(self, note: Note) -> tuple[Placement, ...]:
        """Every placement of a note on the instrument, whether or not the rules allow it."""
        octaves, rest = divmod(self.part.transpose, 12)
        if rest:
            # No bowed string part transposes by less than an octave; the sounding spelling would be a guess.
            return ()
        pitch = note.pitch
        return placements(self.instrument, Pitch(pitch.step, pitch.alter, pitch.octave + octaves))

    def grips_of(self, stage: Stage) -> tuple[Grip, ...]:
        """Every grip of a stage on the instrument, whether or not the rules allow it."""
        return grips([self.ways_of(note) for note in stage.heads])

    def allowed(self, every: Sequence[Grip]) -> tuple[Grip, ...]:
        """Those grips that the rules allow; strings never played open are, where there is no other way."""
        inside = [grip for grip in every if all(self.rules.allows(placement) for placement in grip)]
        return tuple(inside or (grip for grip in every if all(self.rules.reaches(placement) for placement in grip)))


@dataclass(frozen=True, slots=True)
class Choices:
    """What a stage may be played with: its ``grips``; none means it stays unfingered.

    ``problems``: by note id, why it stays unfingered or which lock breaks.
    """

    grips: tuple[Grip, ...]
    problems: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Chain:
    """The solved stages of one voice, each with at least one grip.

    ``free`` is the effort of each stage by itself before locks are laid on.
    """

    stages: tuple[Stage, ...]
    grips: tuple[tuple[Grip, ...], ...]
    free: tuple[Effort, ...]
    costs: Costs
    solution: Solution

    def chosen(self, index: int) -> Grip:
        """The chosen grip of a stage."""
        return self.grips[index][self.solution.path[index]]

    def chosen_path(self) -> list[Grip]:
        """The chosen grip of every stage."""
        return self.on_path(self.solution.path)

    def on_path(self, path: Sequence[int]) -> list[Grip]:
        """The grips of any path through the stages."""
        return [choices[grip] for choices, grip in zip(self.grips, path, strict=True)]


def solve_voice(
    setting: Setting, notes: Sequence[Note], locks: Mapping[str, Lock], tick: Tick = no_tick
) -> tuple[Chain, dict[str, str]]:
    """The solved chain of one voice, and what is wrong with a note or its lock, in words by note id.

    Stages that cannot be fingered are left out: their neighbours then follow one another.
    """
    problems: dict[str, str] = {}
    kept: list[Note] = []
    every = stages(setting.part, notes, setting.rules.tempo)
    for stage in every:
        choices = stage_choices(setting, stage, locks)
        problems.update(choices.problems)
        if choices.grips:
            kept.extend(stage_notes(setting.part, stage))
    played = every if len(kept) == len(notes) else stages(setting.part, kept, setting.rules.tempo)
    every_grip = [stage_choices(setting, stage, locks).grips for stage in played]
    costs = build_costs(setting.instrument, setting.rules, played, every_grip, tick)
    bound = replace(costs, single=tuple(map(_locked, played, every_grip, costs.single, [locks] * len(played))))
    return Chain(played, tuple(every_grip), costs.single, bound, solve(bound)), problems


def relock(setting: Setting, chain: Chain, changed: Mapping[int, Choices], locks: Mapping[str, Lock]) -> Chain:
    """The chain under other ``locks`` that touch only the stages in ``changed``, with what they leave each of them.

    Only the tables around those stages are built again, and only what they change is solved again.
    """
    old = chain.solution
    for index, choices in changed.items():
        if choices.grips != chain.grips[index]:
            chain = _with_grips(setting, chain, index, choices.grips)
    single = list(chain.costs.single)
    for index, choices in changed.items():
        single[index] = _locked(chain.stages[index], choices.grips, chain.free[index], locks)
    costs = replace(chain.costs, single=tuple(single))
    return replace(chain, costs=costs, solution=solve_again(costs, old, min(changed), max(changed)))


def stage_choices(setting: Setting, stage: Stage, locks: Mapping[str, Lock]) -> Choices:
    """The grips a stage may use under the rules and the locks on its notes.

    A lock that goes beyond the rules is kept: the teacher's word stands. One that the instrument cannot keep is named.
    """
    every = setting.grips_of(stage)
    allowed = setting.allowed(every)
    bound = _stage_locks(stage, locks)
    if bound and not any(_keeps(grip, bound) for grip in allowed):
        beyond = [grip for grip in every if _keeps(grip, bound)]
        if beyond:
            return Choices(tuple(sorted({*allowed, *beyond})), {})
        unplayed = {} if allowed else _unplayed(setting, stage, every)
        return Choices(allowed, unplayed | _broken_locks(setting, stage, every, bound))
    return Choices(allowed, {} if allowed else _unplayed(setting, stage, every))


def _unplayed(setting: Setting, stage: Stage, every: Sequence[Grip]) -> dict[str, str]:
    """Why a stage stays unfingered, in words for each of its notes."""
    reason = _why_not(setting, stage, every)
    return {note_id: reason for ids in stage.ids for note_id in ids}


def stage_notes(part: Part, stage: Stage) -> list[Note]:
    """Every written note of a stage, tied ones too, in the order they are played."""
    return sorted((part.note(note_id) for ids in stage.ids for note_id in ids), key=lambda note: note.onset)


def _with_grips(setting: Setting, chain: Chain, index: int, choices: tuple[Grip, ...]) -> Chain:
    """The chain with other grips at one stage; its solution is still the old one."""
    every = (*chain.grips[:index], choices, *chain.grips[index + 1 :])
    low, high = max(index - 2, 0), min(index + 3, len(chain.stages))
    near = build_costs(setting.instrument, setting.rules, chain.stages[low:high], every[low:high])
    pair, triple = list(chain.costs.pair), list(chain.costs.triple)
    pair[low : high - 1] = near.pair
    triple[low : max(high - 2, low)] = near.triple
    own = near.single[index - low]
    free = (*chain.free[:index], own, *chain.free[index + 1 :])
    costs = Costs(chain.costs.single, tuple(pair), tuple(triple))
    return replace(chain, grips=every, free=free, costs=costs)


def _why_not(setting: Setting, stage: Stage, every: Sequence[Grip]) -> str:
    """Why a stage cannot be fingered, in words."""
    where = setting.part.place(stage.heads[0])
    for note in stage.heads:
        if not setting.ways_of(note):
            return f"{where}: the {setting.instrument.name.lower()} has no {note.pitch.name}"
    names = " and ".join(note.pitch.name for note in reversed(stage.heads))
    if not every:
        return f"{where}: {names} cannot be held together"
    return f"{where}: {names} is out of reach under the house rules"


def _broken_locks(
    setting: Setting, stage: Stage, every: Sequence[Grip], bound: Sequence[tuple[int, str, Lock]]
) -> dict[str, str]:
    """The locks of a stage that nothing on the instrument keeps, in words by note id."""
    broken = {}
    for head, note_id, lock in bound:
        name, words = stage.heads[head].pitch.name, lock.words(setting.instrument)
        alone = any(lock.admits(grip[head]) for grip in every)
        verb = "does not go together with the other locks here:" if alone else "cannot be played"
        broken[note_id] = f"{setting.part.place(stage.heads[head])}: {name} {verb} {words}"
    return broken


def _stage_locks(stage: Stage, locks: Mapping[str, Lock]) -> list[tuple[int, str, Lock]]:
    """The locks on a stage's notes as (head, note id, lock); a lock on a tied note holds for the whole stage."""
    return [
        (head, note_id, locks[note_id]) for head, ids in enumerate(stage.ids) for note_id in ids if note_id in locks
    ]


def _keeps(grip: Grip, bound: Iterable[tuple[int, str, Lock]]) -> bool:
    return all(lock.admits(grip[head]) for head, _, lock in bound)


def _locked(stage: Stage, choices: Sequence[Grip], free: Effort, locks: Mapping[str, Lock]) -> Effort:
    """A stage's effort by itself with the locks laid on: what goes against them costs more than anything."""
    bound = _stage_locks(stage, locks)
    if not bound or not any(_keeps(grip, bound) for grip in choices):
        return free
    against = np.array([not _keeps(grip, bound) for grip in choices])
    locked: Effort = (free + AGAINST_LOCK * against).astype(np.int32)
    return locked
