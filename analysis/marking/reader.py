"""What a player plays who reads a part with few digits in it: the assumptions of the class, exactly.

Where no digit says otherwise a player

1. plays a note that comes twice in a row as the first time,
2. leaves the hand where it is, or moves it no further than the note asks for,
3. keeps the fingers in the hand frame,
4. takes the open string rather than a finger, as long as the hand lies no higher than first position and the house
   rules do not prefer the fourth finger,
5. stays on the string, or goes to the nearest one,
6. takes the finger of the note's own spelling.

A digit, a string numeral or a position name beside it leaves only the ways that agree with it. Assumptions: common
practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from analysis.fingering.chain import Chain
from analysis.fingering.grips import Grip
from analysis.fingering.placements import Placement, hand_places
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.setting import Setting
from analysis.fingering.stages import Stage
from analysis.music import Pitch

_FIRST_POSITION = 1


@dataclass(frozen=True, slots=True)
class Print:
    """What is printed at a note: its finger; ``string`` and ``hand`` where the numeral and the position are named.

    ``hand`` as in :class:`Placement`, semitones of the hand's place above the open string.
    """

    finger: int
    string: int | None = None
    hand: float | None = None

    def agrees(self, placement: Placement) -> bool:
        """Whether a way to play the note is what is printed."""
        return (
            self.finger == placement.finger
            and self.string in (None, placement.string)
            and (self.hand is None or placement.is_open or self.hand == placement.hand)
        )


@dataclass(frozen=True, slots=True)
class Moment:
    """What a player goes on from: the pitches just played, how (nothing at the beginning), and the hand's place."""

    pitches: tuple[Pitch, ...]
    grip: Grip
    hand: float

    def after(self, stage: Stage, grip: Grip) -> Moment:
        """What the player goes on from once ``stage`` is played so."""
        stopped = [placement.hand for placement in grip if stage.trilled or not placement.is_open]
        return Moment(pitches_of(stage), grip, stopped[0] if stopped else self.hand)


class Reader:
    """A player of one part who has learnt the house rules."""

    def __init__(self, setting: Setting) -> None:
        self._setting = setting
        self._instrument = setting.played_on

    def beginning(self, rules: HouseRules) -> Moment:
        """Before the first note: the hand lies at home."""
        places = [place.place for place in hand_places(self._instrument) if place.number == rules.home]
        return Moment((), (), min(places, default=0.0))

    def plays(self, stage: Stage, prints: Sequence[Print | None], before: Moment) -> Grip | None:
        """The grip the player takes for a stage with what is printed at its heads, ``None`` where nothing agrees."""
        inside = self._agreeing(self._setting.allowed(stage), prints)
        ways = inside or self._agreeing(self._setting.grips_of(stage), prints)
        rules = self._setting.rules_at(stage)
        return min(ways, key=lambda grip: self._surprise(stage, grip, before, rules), default=None)

    def reads(self, stages: Iterable[Stage], prints: Mapping[str, Print], before: Moment) -> list[Grip | None]:
        """The grips of stages played one after the other, each from what was read before it."""
        grips: list[Grip | None] = []
        for stage in stages:
            grip = self.plays(stage, [prints.get(note.id) for note in stage.heads], before)
            grips.append(grip)
            before = before if grip is None else before.after(stage, grip)
        return grips

    @staticmethod
    def _agreeing(ways: Iterable[Grip], prints: Sequence[Print | None]) -> list[Grip]:
        return [
            grip
            for grip in ways
            if all(said is None or said.agrees(placement) for said, placement in zip(prints, grip, strict=True))
        ]

    def _surprise(
        self, stage: Stage, grip: Grip, before: Moment, rules: HouseRules
    ) -> tuple[bool, float, bool, bool, int, bool, Grip]:
        """How little a player would think of a grip; the least is taken."""
        stopped = [placement for placement in grip if stage.trilled or not placement.is_open]
        again = before.pitches == pitches_of(stage) and alike(before.grip, grip)
        string = before.grip[0].string if before.grip else grip[0].string
        high = before.hand > self._first_place()
        wants_open = rules.open_or_fourth != "fourth" and not high
        return (
            not again,
            self._way_mm(before.hand, stopped[0].hand) if stopped else 0.0,
            any(placement.is_extension for placement in grip),
            any(placement.is_open for placement in grip) != wants_open,
            abs(grip[0].string - string),
            any(placement.respelled for placement in grip),
            grip,
        )

    def _way_mm(self, here: float, there: float) -> float:
        return abs(self._instrument.distance_mm(there) - self._instrument.distance_mm(here))

    def _first_place(self) -> float:
        """The highest place of the hand in first position."""
        places = (place.place for place in hand_places(self._instrument) if place.number <= _FIRST_POSITION)
        return max(places, default=0.0)


def alike(one: Grip, other: Grip) -> bool:
    """Whether two grips are played the same: string, place of the hand, finger; over an open string it may wait."""
    return [placement.as_played for placement in one] == [placement.as_played for placement in other]


def played_after(chain: Chain) -> list[set[int]]:
    """For every stage of a voice, the stages that may have been played right before it; -1 for the beginning."""
    before: list[set[int]] = [set() for _ in chain.stages]
    if before:
        before[0].add(-1)
    for index in range(1, len(before)):
        if index - 1 not in chain.line.parted:
            before[index].add(index - 1)
    for seam in chain.line.seams:
        leaving, arriving = (seam.last, seam.first) if seam.back else (seam.first, seam.last)
        before[arriving].add(leaving)
    return before


def pitches_of(stage: Stage) -> tuple[Pitch, ...]:
    """What is struck, from high to low."""
    return tuple(note.pitch for note in stage.heads)
