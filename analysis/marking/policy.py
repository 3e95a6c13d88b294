"""Which notes get a digit on paper: every one, those where it matters, or only where a player would go wrong."""

from __future__ import annotations

import enum
import itertools
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from types import MappingProxyType

from analysis.fingering.chain import Chain
from analysis.fingering.grips import Grip
from analysis.fingering.placements import Placement
from analysis.fingering.plan import Plan
from analysis.fingering.stages import Stage
from analysis.language import later
from analysis.marking.reader import Moment, Print, Reader, alike, pitches_of, played_after

_ENTRY = Fraction(1)  # quarter notes of silence after which the players come in anew
_FIFTH = 7


class Amount(enum.Enum):
    """How much of a fingering is printed."""

    EVERY = "every-note"
    MATTERS = "where-it-matters"
    EXCEPTIONS = "exceptions"


@dataclass(frozen=True, slots=True)
class Printed:
    """What is printed at a note, and why: the reasons of ``REASONS`` that hold, ``needed`` the first of them."""

    note_id: str
    what: Print
    why: tuple[str, ...]


# Why a digit is printed, in a teacher's words. Common practice, no source.
REASONS = {
    "needed": later("A player would not guess it."),
    "entry": later("The players come in here."),
    "fourth": later("The fourth finger plays what an open string would give."),
    "shift": later("The hand moves."),
    "moved_finger": later("The finger goes to another place than it last had on the string."),
    "across": later("One finger lies across two strings."),
    "extension": later("The finger reaches out of the hand."),
    "seam": later("Playing jumps here."),
    "turn": later("A new page begins."),
    "own": later("You want it here."),
    "every": later("Every note has its finger."),
}


def printed(
    plan: Plan,
    amount: Amount | None = None,
    turned: Collection[str] = (),
    own: Mapping[str, bool] = MappingProxyType({}),
) -> tuple[Printed, ...]:
    """What is printed of a plan, in playing order, voice by voice.

    ``amount``: how much, everywhere; ``None`` goes by the house rules, passage by passage. ``own``: by note id, where
    the teacher wants a digit, and where none.
    ``turned``: ids of the notes that begin a line after a page turn. Of two equal notes in a row the second has no
    digit unless it is needed, or every note has one. Where the hand moves the position is named. Whatever the amount,
    a player who reads by the assumptions of :mod:`analysis.marking.reader` plays exactly the plan; with ``EXCEPTIONS``
    no digit can be left out.
    """
    found: list[Printed] = []
    for chain in plan.chains:
        found.extend(_Voice(plan, chain, amount, turned, own).printed())
    return tuple(found)


class _Voice:
    """One voice on its way to paper."""

    def __init__(
        self, plan: Plan, chain: Chain, amount: Amount | None, turned: Collection[str], own: Mapping[str, bool]
    ) -> None:
        self.plan, self.chain, self.amount, self.turned, self.own = plan, chain, amount, turned, own
        self.reader = Reader(plan.setting)
        self.path = chain.chosen_path()
        self.before = played_after(chain)

    def printed(self) -> Iterator[Printed]:
        moments = self._moments()
        last_place: dict[tuple[int, float, int], int] = {}
        for index, (stage, grip) in enumerate(zip(self.chain.stages, self.path, strict=True)):
            needed = self._needed(stage, grip, moments[index])
            why = [*(("needed",) if needed else ()), *self._wanted(index, moments[index], last_place)]
            for placement in grip:
                if not placement.is_open:
                    last_place[placement.string, placement.hand, placement.finger] = placement.place
            prints = needed or [Print(placement.finger) for placement in grip]
            if "shift" in why:
                prints = [
                    what if placement.is_open else replace(what, hand=placement.hand)
                    for what, placement in zip(prints, grip, strict=True)
                ]
            for head, (note, what) in enumerate(zip(stage.heads, prints, strict=True)):
                if head not in stage.held and self.own.get(note.id, bool(why)):
                    yield Printed(note.id, what, tuple(why) or ("own",))

    def _moments(self) -> list[set[Moment]]:
        """For every stage, all that a player may go on from who has read everything before it."""
        found: list[set[Moment]] = [set() for _ in self.path]
        follows: list[list[int]] = [[] for _ in self.path]
        for index, ones in enumerate(self.before):
            for one in ones:
                if one >= 0:
                    follows[one].append(index)
        waiting = [(index, self.reader.beginning(self.plan.setting.own)) for index, ones in enumerate(self.before)
                   if -1 in ones]  # fmt: skip
        while waiting:
            index, moment = waiting.pop()
            if moment not in found[index]:
                found[index].add(moment)
                after = moment.after(self.chain.stages[index], self.path[index])
                waiting.extend((following, after) for following in follows[index])
        return found

    def _needed(self, stage: Stage, grip: Grip, moments: Collection[Moment]) -> list[Print] | None:
        """The least that has to be printed at a stage, ``None`` for nothing."""
        if self._is_read(stage, grip, [None] * len(grip), moments):
            return None
        for with_string, with_hand in itertools.product((False, True), repeat=2):
            prints = [
                Print(p.finger, p.string if with_string else None, p.hand if with_hand and p.finger else None)
                for p in grip
            ]
            if self._is_read(stage, grip, prints, moments):
                break
        return prints

    def _is_read(self, stage: Stage, grip: Grip, prints: list[Print] | list[None], moments: Collection[Moment]) -> bool:
        for moment in moments:
            taken = self.reader.plays(stage, prints, moment)
            if taken is None or not alike(taken, grip):
                return False
        return True

    def _wanted(
        self, index: int, moments: Collection[Moment], last_place: Mapping[tuple[int, float, int], int]
    ) -> list[str]:
        """Why a digit is printed though it may be guessed."""
        stage, grip = self.chain.stages[index], self.path[index]
        amount = self.amount or Amount(self.plan.setting.rules_at(stage).printed)
        if amount is Amount.EVERY:
            return ["every"]
        if amount is Amount.EXCEPTIONS:
            return []
        comes_in = index == 0 or stage.quarters_rest >= _ENTRY
        jumps = any(one != index - 1 for one in self.before[index]) and index > 0
        turns = any(note.id in self.turned for note in stage.heads)
        found = [name for name, holds in (("entry", comes_in), ("seam", jumps), ("turn", turns)) if holds]
        if not found and self._is_again(index):
            return []
        if any(placement.finger == 4 and self._could_be_open(stage, head) for head, placement in enumerate(grip)):
            found.append("fourth")
        if self._moves(grip, moments):
            found.append("shift")
        if any(self._moved_finger(placement, last_place) for placement in grip):
            found.append("moved_finger")
        if index and self._lies_across(index):
            found.append("across")
        if any(placement.is_extension for placement in grip):
            found.append("extension")
        return found

    def _is_again(self, index: int) -> bool:
        """Whether the stage is the one before it once more."""
        same = pitches_of(self.chain.stages[index - 1]) == pitches_of(self.chain.stages[index])
        return same and alike(self.path[index - 1], self.path[index])

    def _could_be_open(self, stage: Stage, head: int) -> bool:
        return any(grip[head].is_open for grip in self.plan.setting.grips_of(stage))

    @staticmethod
    def _moves(grip: Grip, moments: Collection[Moment]) -> bool:
        hands = [placement.hand for placement in grip if not placement.is_open]
        return bool(hands) and any(moment.hand != hands[0] for moment in moments)

    @staticmethod
    def _moved_finger(placement: Placement, last_place: Mapping[tuple[int, float, int], int]) -> bool:
        key = placement.string, placement.hand, placement.finger
        return not placement.is_open and last_place.get(key, placement.place) != placement.place

    def _lies_across(self, index: int) -> bool:
        """Whether a finger goes on over a perfect fifth on two strings."""
        here, there = self.path[index - 1][0], self.path[index][0]
        stopped = bool(here.finger) and here.finger == there.finger
        return stopped and here.place == there.place and abs(here.string - there.string) == 1
