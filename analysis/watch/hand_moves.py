"""What a finger does when a letter is altered: how it lies then, and how it lay before."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from analysis.fingering.placements import Lie, Placement, finger_text
from analysis.watch.inflections import Inflection, listed
from analysis.watch.study import Study

_ORDINALS = ("", "first", "second", "third", "fourth")


@dataclass(frozen=True, slots=True)
class Move:
    """One finger on one string, by its letter: how it lies now and how it ``was``, ``None`` where nothing compares.

    Where a letter goes to the next finger, as on cello and bass, ``instead_of`` is the finger before.
    """

    string: str
    finger: int
    now: Lie
    was: Lie | None = None
    instead_of: int | None = None

    @property
    def words(self) -> str:
        """A clause for one move."""
        finger = f"the {_ORDINALS[self.finger]} finger"
        if self.instead_of is not None:
            return f"{finger_text(self.finger)} instead of {finger_text(self.instead_of)}"
        if self.now is Lie.EXTENDED:
            return f"{finger} extends"
        if self.was is Lie.EXTENDED:
            return f"{finger} no longer extends"
        if self.was is None:
            return f"{finger} {_lies(self.now)}"
        return f"{finger} moves from {_where(self.was)} to {_where(self.now)}"

    @property
    def extends(self) -> bool:
        """Whether the finger leaves the hand frame, or comes back into it."""
        return Lie.EXTENDED in (self.now, self.was)

    @property
    def to_and_fro(self) -> str:
        """A clause for a finger that moves both ways, "" where nothing compares."""
        if self.instead_of is not None:
            return f"{finger_text(self.instead_of)} and {finger_text(self.finger)}"
        if self.was is None or self.extends:
            return ""
        return f"the {_ORDINALS[self.finger]} finger moves between {_where(self.was)} and {_where(self.now)}"


def _lies(lie: Lie) -> str:
    return f"is {'in ' if lie is Lie.NORMAL else ''}{_where(lie)}"


def _where(lie: Lie) -> str:
    return lie.word if lie in (Lie.LOW, Lie.HIGH) else "its usual place"


def finger_move(study: Study, now: Inflection, was: Inflection | None) -> Move | None:
    """What the finger of a note does that ``was`` played before on the same line.

    ``None`` where another hand, string or, on violin and viola, finger takes the letter: there only the note counts.
    """
    here = _stopped(study, now)
    if here is None or study.plan is None:
        return None
    instrument = study.plan.setting.instrument
    string = instrument.string(here.string).letter
    before = None if was is None else _stopped(study, was)
    if before is None:
        spoken = was is None and instrument.letter_frame and here.lie is not Lie.NORMAL
        return Move(string, here.finger, here.lie) if spoken else None
    if (before.string, before.position, before.hand) != (here.string, here.position, here.hand):
        return None
    if before.finger == here.finger:
        lies = [Lie.EXTENDED if way.is_extension else way.lie for way in (here, before)]
        return Move(string, here.finger, *lies) if lies[0] is not lies[1] else None
    return None if instrument.letter_frame else Move(string, here.finger, here.lie, instead_of=before.finger)


def _stopped(study: Study, one: Inflection) -> Placement | None:
    """How a note is stopped by the finger that its letter names; ``None`` where it is not."""
    placement = study.placement(one.note)
    if placement is None or placement.harmonic or placement.respelled or not 1 <= placement.finger <= 4:
        return None
    return placement


def moves_words(moves: Iterable[Move]) -> str:
    """A clause for several moves at one place: how each finger lies now, and where.

    >>> moves_words([Move("D", 2, Lie.LOW, Lie.HIGH), Move("A", 2, Lie.LOW, Lie.HIGH), Move("E", 1, Lie.LOW)])
    'second finger low on D and A, first finger low on E'
    """
    strings: dict[str, dict[str, None]] = {}
    for move in moves:
        strings.setdefault(_state(move), {})[move.string] = None
    return ", ".join(f"{state} on {listed(on)}" for state, on in strings.items())


def _state(move: Move) -> str:
    """How a finger lies after a move."""
    if move.instead_of is not None:
        return move.words
    lies = _where(move.now).replace("its", "in its")
    if move.extends:
        lies = "extended" if move.now is Lie.EXTENDED else "no longer extended"
    return f"{_ORDINALS[move.finger]} finger {lies}"
