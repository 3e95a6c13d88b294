"""The plan: a fingering for every note of a part, with every other way, its exact extra effort and the reason.

A plan is a value. Another lock makes another plan; going back is taking the old one.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import TypeVar

from analysis.fingering.chain import Chain, Choices, relock, retimed, solve_voice, stage_choices, told_of_path
from analysis.fingering.costs import UNIT, seam_term_efforts, term_efforts
from analysis.fingering.counts import Counts, count
from analysis.fingering.locks import Lock
from analysis.fingering.placements import Placement
from analysis.fingering.reasons import Difference, across_strings, because, compare_paths, why_moved
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.setting import Setting
from analysis.fingering.stages import voices
from analysis.fingering.ticking import Tick, no_tick, part_of
from analysis.instruments import Instrument
from analysis.language import _
from analysis.music import Part

_V = TypeVar("_V")


@dataclass(frozen=True, slots=True)
class Way:
    """One way to play a note.

    ``extra``: effort the whole part would pay beyond the plan's if the note were played so; below 0 where a lock keeps
    the plan from an easier way. ``differences`` say where the extra effort comes from, weightiest first. ``chosen``:
    the plan plays it so.
    """

    placement: Placement
    extra: float
    differences: tuple[Difference, ...]
    chosen: bool


@dataclass(frozen=True)
class Plan:
    """The fingering of one part under ``setting`` and ``locks``.

    ``problems``: by note id, why it is left unfingered or which lock cannot be kept, one sentence with its measure.
    """

    setting: Setting
    locks: Mapping[str, Lock]
    chains: tuple[Chain, ...]
    problems: Mapping[str, str]
    _where: Mapping[str, tuple[int, int, int]] = field(repr=False, compare=False)
    # Several panels ask for the ways of one note, each with all its reasons.
    _found: dict[tuple[int, int, int, int], Way] = field(default_factory=dict, init=False, repr=False, compare=False)

    @property
    def part(self) -> Part:
        """The music the plan is for."""
        return self.setting.part

    def __contains__(self, note_id: object) -> bool:
        return note_id in self._where

    def choice(self, note_id: str) -> Placement | None:
        """How the note is played, or ``None`` when it is left unfingered."""
        if note_id not in self._where:
            return None
        chain, stage, head = self._where[note_id]
        return self.chains[chain].chosen(stage)[head]

    def choices(self) -> Iterator[tuple[str, Placement]]:
        """Every fingered note's id and placement, chain after chain; a tied note has the placement it is tied from."""
        for chain in self.chains:
            for stage, grip in zip(chain.stages, chain.chosen_path(), strict=True):
                for ids, placement in zip(stage.ids, grip, strict=True):
                    for note_id in ids:
                        yield note_id, placement

    def struck_choices(self) -> Iterator[tuple[str, Placement]]:
        """Id and placement of every note that is attacked, chain after chain: of those that carry a digit."""
        for chain in self.chains:
            for stage, grip in zip(chain.stages, chain.chosen_path(), strict=True):
                for head, (ids, placement) in enumerate(zip(stage.ids, grip, strict=True)):
                    if head not in stage.held:
                        yield ids[0], placement

    def struck_choice(self, note_id: str) -> Placement | None:
        """How the note is played where it is attacked; ``None`` where it is tied from one before or left unfingered."""
        if note_id not in self._where:
            return None
        chain, number, head = self._where[note_id]
        stage = self.chains[chain].stages[number]
        is_struck = stage.ids[head][0] == note_id and head not in stage.held
        return self.chains[chain].chosen(number)[head] if is_struck else None

    def struck(self, note_id: str) -> bool:
        """Whether the note is attacked, not tied from one before: these are the ones that carry a digit."""
        return self.struck_choice(note_id) is not None

    def stage_id(self, note_id: str) -> str:
        """The id of the first note struck together with this one, from the top: one for every stage."""
        chain, stage, _ = self._where[note_id]
        return self.chains[chain].stages[stage].ids[0][0]

    def own_effort(self, note_id: str) -> float:
        """What the note's stage costs by itself and in coming to it from the stages before, in effort units."""
        chain, stage, _ = self._where[note_id]
        costs, path = self.chains[chain].costs, self.chains[chain].solution.path
        total = int(self.chains[chain].free[stage][path[stage]])
        if stage > 0:
            total += int(costs.pair[stage - 1][path[stage - 1], path[stage]])
        if stage > 1:
            total += int(costs.triple[stage - 2][path[stage - 2], path[stage - 1], path[stage]])
        for link in costs.links:
            if stage == link.last:
                total += int(link.effort[path[link.first], path[link.last]])
        return total / UNIT

    @property
    def effort(self) -> float:
        """The effort of the whole part, in units."""
        return sum(self._bare_effort(chain) for chain in self.chains) / UNIT

    def effort_by(self, rules: HouseRules, part: Part | None = None) -> float:
        """What the same fingering costs by other rules, in units: so that plans under unlike rules can be compared.

        Where the part gives no tempo, that of the other rules holds. ``part``: the same notes at another tempo.
        """
        other = Setting(part or self.part, self.setting.instrument, rules)
        total = 0
        for chain in self.chains:
            line = replace(chain.line, rules=tuple(other.rules_at(stage) for stage in chain.stages))
            if part is not None or other.own.tempo != self.setting.own.tempo:
                line = retimed(other, line)
            path = chain.chosen_path()
            total += sum(int(effort.sum()) for effort in term_efforts(line, path).values())
            total += sum(seam_term_efforts(line, path, line.seams).values())
        return total / UNIT

    @property
    def counts(self) -> Counts:
        """What the hand and the bow do in the whole part."""
        paths = [(chain.stages, chain.chosen_path()) for chain in self.chains]
        return count(self.setting.played_on, paths, self.effort)

    def ways(self, note_id: str) -> tuple[Way, ...]:
        """Every way to play the note under the rules, the least effort first; empty when it is left unfingered.

        For a chord the extra effort is that of the best grip with the note played so.
        """
        if note_id not in self._where:
            return ()
        where, stage, head = self._where[note_id]
        ways = self._ways(where, stage, head, self._best_grips(note_id))
        return tuple(sorted(ways, key=lambda way: (way.extra, way.placement)))

    def placements(self, note_id: str) -> tuple[Placement, ...]:
        """How the note can be played, as :meth:`ways` has it but without the reasons, which take time."""
        if note_id not in self._where:
            return ()
        where, stage, head = self._where[note_id]
        return tuple(self.chains[where].grips[stage][grip][head] for grip in self._best_grips(note_id))

    def _best_grips(self, note_id: str) -> list[int]:
        """The best grip for every way to play the note, the least effort first."""
        where, stage, head = self._where[note_id]
        chain = self.chains[where]
        extra = chain.solution.extra(chain.costs, stage)
        best: dict[Placement, int] = {}
        # Of equal grips the chosen one stands for its placement, so that one way is always the chosen one.
        chosen = chain.solution.path[stage]
        for grip in sorted(range(len(extra)), key=lambda grip: (int(extra[grip]), grip != chosen, grip)):
            best.setdefault(_without_waiting_hand(chain.grips[stage][grip][head]), grip)
        return list(best.values())

    def reason(self, note_id: str) -> str:
        """Why the note is played so, in one sentence; "" where it is played as a player would expect.

        A player expects an open string where there is one; else the hand stays where it is, or where it cannot, goes
        home; and the finger follows the spelling.
        """
        choice = self.choice(note_id)
        if choice is None or not self.struck(note_id):
            return ""
        if note_id in self.locks:
            return _("So, because it is fixed.")
        where, stage, head = self._where[note_id]
        chain, instrument = self.chains[where], self.setting.instrument
        grips = {chain.grips[stage][grip][head]: grip for grip in self._best_grips(note_id)}
        expected = min(grips, key=lambda way: self._surprise(note_id, way))
        if choice.finger and sum(other.finger == choice.finger for other in chain.chosen(stage)) > 1:
            return across_strings(choice, instrument)
        if stage and not choice.is_open and chain.chosen(stage - 1)[0].hand != choice.hand:
            return why_moved(chain, stage, choice, instrument)
        if expected.as_played == choice.as_played:
            return ""
        quarters = chain.stages[stage].quarters
        beats = quarters * self.part.measures[self.part.note(note_id).measure].time[1] / 4
        (way,) = self._ways(where, stage, head, [grips[expected]])
        return because(choice, expected, way.differences, beats, instrument)

    def _surprise(self, note_id: str, way: Placement) -> tuple[bool, bool, bool, bool, bool, Placement]:
        """How little a player would expect a way, least first."""
        chain, stage, _ = self._where[note_id]
        before = self.chains[chain].chosen(stage - 1)[0].hand if stage else None
        home = self.chains[chain].line.rules[stage].home
        return (
            not way.is_open,
            way.hand != before,
            way.position != home,
            way.is_extension,
            way.respelled,
            way,
        )

    def other_placements(self, note_id: str) -> tuple[Placement, ...]:
        """The ways the instrument has for the note but the rules do not allow; a lock can still ask for them."""
        inside = {_without_waiting_hand(way.placement) for way in self.ways(note_id)}
        every = {
            _without_waiting_hand(placement): placement for placement in self.setting.ways_of(self.part.note(note_id))
        }
        return tuple(placement for key, placement in every.items() if key not in inside)

    def with_locks(self, locks: Mapping[str, Lock]) -> Plan:
        """The plan under other locks; only what they touch is solved again."""
        changed = [note_id for note_id in {*locks, *self.locks} if locks.get(note_id) != self.locks.get(note_id)]
        if any(note_id in self.part and note_id not in self._where for note_id in changed):
            return self._anew(locks)
        touched: dict[int, dict[int, Choices]] = {}
        for chain, stage in {self._where[note_id][:2] for note_id in changed if note_id in self._where}:
            choices = stage_choices(self.setting, self.chains[chain].stages[stage], locks)
            if not choices.grips:
                return self._anew(locks)
            touched.setdefault(chain, {})[stage] = choices
        chains, problems = list(self.chains), dict(self.problems)
        for index, stages in touched.items():
            for stage in stages:
                for note_id in itertools.chain(*chains[index].stages[stage].ids):
                    problems.pop(note_id, None)
            for note_id, words in told_of_path(self.setting, chains[index], self.locks).items():
                if problems.get(note_id) == words:
                    del problems[note_id]
            for choices in stages.values():
                problems.update(choices.problems)
            chains[index] = relock(self.setting, chains[index], stages, locks)
            problems = told_of_path(self.setting, chains[index], locks) | problems
        return Plan(self.setting, _frozen(locks), tuple(chains), _frozen(problems), self._where)

    def _anew(self, locks: Mapping[str, Lock]) -> Plan:
        return make_plan(self.part, self.setting.instrument, self.setting.rules, locks)

    def _ways(self, where: int, stage: int, head: int, grips: Sequence[int]) -> list[Way]:
        """The ways of a note of some stage with each of some grips."""
        new = [grip for grip in grips if (where, stage, head, grip) not in self._found]
        if new:
            for grip, way in zip(new, _worked_out(self.chains[where], stage, head, new), strict=True):
                self._found[where, stage, head, grip] = way
        return [self._found[where, stage, head, grip] for grip in grips]

    def _bare_effort(self, chain: Chain) -> int:
        """A chain's effort in thousandths without what locks add."""
        path = chain.solution.path
        locked = sum(int(c[i]) - int(f[i]) for c, f, i in zip(chain.costs.single, chain.free, path, strict=True))
        return chain.solution.effort - locked


def make_plan(
    part: Part,
    instrument: Instrument,
    rules: HouseRules,
    locks: Mapping[str, Lock] | None = None,
    tick: Tick = no_tick,
) -> Plan:
    """Finger a part: the exact least effort under the rules, each voice for a player of its own.

    ``tick`` is called now and then with the share of the work done, 0 to 1; what it raises ends the work.
    """
    setting = Setting(part, instrument, rules)
    chains, problems = [], {}
    every = list(voices(part).values())
    for number, notes in enumerate(every):
        chain, wrong = solve_voice(setting, notes, locks or {}, part_of(tick, number, len(every)))
        chains.append(chain)
        problems.update(wrong)
    return Plan(setting, _frozen(locks or {}), tuple(chains), _frozen(problems), _places(chains))


def _worked_out(chain: Chain, stage: int, head: int, grips: Sequence[int]) -> Iterator[Way]:
    """The ways with each of some grips, compared with the chosen path."""
    solution, placements = chain.solution, [chain.grips[stage][grip][head] for grip in grips]
    paths = [solution.through(chain.costs, stage, grip) for grip in grips]
    for grip, placement, differences in zip(grips, placements, compare_paths(chain, paths), strict=True):
        chosen = solution.path[stage] == grip
        extra = 0.0 if chosen else sum(item.thousandths for item in differences) / UNIT
        yield Way(placement, extra, () if chosen else differences, chosen)


def _places(chains: list[Chain]) -> Mapping[str, tuple[int, int, int]]:
    """Chain, stage and head of every note id."""
    return {
        note_id: (index, number, head)
        for index, chain in enumerate(chains)
        for number, stage in enumerate(chain.stages)
        for head, ids in enumerate(stage.ids)
        for note_id in ids
    }


def _without_waiting_hand(placement: Placement) -> Placement:
    """Open strings that differ only in where the hand waits are one way to play."""
    if not placement.is_open:
        return placement
    return Placement(placement.string, 1, 0, 0, placement.lie)


def _frozen(mapping: Mapping[str, _V]) -> Mapping[str, _V]:
    return MappingProxyType(dict(mapping))
