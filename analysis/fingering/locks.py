"""What the teacher has fixed for a note: string, position, finger, or any of them; and what does not go together."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from analysis.fingering.grips import Grip
from analysis.fingering.placements import THUMB, Placement, in_position_words
from analysis.fingering.stages import Stage
from analysis.instruments import Instrument
from analysis.language import _, p_


@dataclass(frozen=True, slots=True)
class Lock:
    """What a note's placement must be; ``None`` leaves the choice to the solver.

    ``position`` is the trade's number; ``hand`` tells apart the two places of a cellist's or bassist's hand that share
    one, in semitones of the first finger above the open string.
    """

    string: int | None = None
    position: int | None = None
    finger: int | None = None
    hand: float | None = None

    @classmethod
    def on(cls, placement: Placement) -> Lock:
        """The lock that holds a note to just this placement; an open string leaves the hand where it likes."""
        if placement.is_open:
            return cls(placement.string, None, placement.finger)
        return cls(placement.string, placement.position, placement.finger, placement.hand)

    def admits(self, placement: Placement) -> bool:
        """Whether a placement is what the lock asks for."""
        return all(demand.met_by(placement) for demand in self.demands())

    def demands(self) -> tuple[Demand, ...]:
        """What the lock asks for, one thing at a time."""
        asked = [("string", self.string), ("position", self.position), ("finger", self.finger), ("hand", self.hand)]
        return tuple(Demand(name, value) for name, value in asked if value is not None)

    def joined_with(self, other: Lock) -> Lock:
        """Both locks in one; where they ask for two things, ``other`` counts."""
        return Lock(
            self.string if other.string is None else other.string,
            self.position if other.position is None else other.position,
            self.finger if other.finger is None else other.finger,
            self.hand if other.position is None and other.hand is None else other.hand,
        )

    def words(self, instrument: Instrument) -> str:
        """The lock in words: ``finger 2 on the A string in 3rd position``."""
        order = {"finger": 0, "string": 1, "position": 2, "hand": 3}
        asked = sorted(self.demands(), key=lambda demand: order[demand.name])
        position = self.position is not None
        words = [demand.words(instrument) for demand in asked if not (demand.name == "hand" and position)]
        return " ".join(words) or _("any way")


@dataclass(frozen=True, slots=True)
class Demand:
    """One thing a lock asks of a placement: the ``name`` of a field of :class:`Placement` and its value."""

    name: str
    value: float

    def met_by(self, placement: Placement) -> bool:
        """Whether a placement is so."""
        found: float = getattr(placement, self.name)
        return found == self.value

    def words(self, instrument: Instrument) -> str:
        """The demand in words: ``on the A string``, ``in 3rd position``, ``finger 2``, ``open``."""
        value = int(self.value)
        match self.name:
            case "string" if value <= len(instrument.strings):
                return _("on the {letter} string").format(letter=instrument.string(value).letter)
            case "string":
                return _("on string {number}").format(number=value)
            case "position":
                return in_position_words(value, instrument)
            case "hand":
                return _("with the hand {number} half steps up").format(number=f"{self.value:g}")
            case "finger" if value == 0:
                return p_("a string", "open")
            case "finger" if value == THUMB:
                return _("with the thumb")
        return _("finger {number}").format(number=value)

    def way_words(self, instrument: Instrument) -> str:
        """The demand as it follows "cannot be played": ``with finger 2``."""
        if self.name == "finger" and self.value not in (0, THUMB):
            return _("with finger {number}").format(number=int(self.value))
        return self.words(instrument)


Asked = tuple[int, str, Demand]


def demands_on(stage: Stage, locks: Mapping[str, Lock]) -> tuple[Asked, ...]:
    """All that locks ask of a stage: (head, note id, demand); a lock on a tied note holds for the whole stage."""
    return tuple(
        (head, note_id, demand)
        for head, ids in enumerate(stage.ids)
        for note_id in ids
        if note_id in locks
        for demand in locks[note_id].demands()
    )


def broken(grip: Grip, asked: Sequence[Asked]) -> int:
    """How many demands a grip does not meet."""
    return sum(not demand.met_by(grip[head]) for head, _, demand in asked)


def conflicts(every: Sequence[Grip], asked: Sequence[Asked]) -> Iterator[tuple[Asked, ...]]:
    """The fewest demands that do not go together, then those of the rest, until what is left goes together."""
    while found := least_conflict(every, asked):
        yield found
        asked = [item for item in asked if item not in found]


def least_conflict(every: Sequence[Grip], asked: Sequence[Asked]) -> tuple[Asked, ...]:
    """The fewest demands that no grip meets together; none where some grip meets all of them."""
    if any(not broken(grip, asked) for grip in every):
        return ()
    met = {item: frozenset(n for n, grip in enumerate(every) if item[2].met_by(grip[item[0]])) for item in asked}
    for size in range(1, len(asked) + 1):
        for chosen in itertools.combinations(dict.fromkeys(asked), size):
            if not frozenset.intersection(*(met[item] for item in chosen)):
                return chosen
    return ()
