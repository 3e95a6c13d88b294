"""What a finger does when a letter is altered: how it lies then, and how it lay before."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from analysis.fingering.placements import Lie, Placement, finger_text
from analysis.language import _, p_
from analysis.watch.gathering import finger_words
from analysis.watch.inflections import Inflection
from analysis.watch.study import Study
from analysis.wording import comma_listed, listed


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
        if self.instead_of is not None:
            words = _("{finger} instead of {other}")
            return words.format(finger=finger_text(self.finger), other=finger_text(self.instead_of))
        if self.now is Lie.EXTENDED:
            words = _("the {finger} extends")
        elif self.was is Lie.EXTENDED:
            words = _("the {finger} no longer extends")
        elif self.was is None:
            words = _lies(self.now)
        else:
            words = _("the {finger} moves from {before} to {now}")
        return words.format(finger=finger_words(self.finger), before=_from(self.was), now=_to(self.now))

    @property
    def extends(self) -> bool:
        """Whether the finger leaves the hand frame, or comes back into it."""
        return Lie.EXTENDED in (self.now, self.was)

    @property
    def to_and_fro(self) -> str:
        """A clause for a finger that moves both ways, "" where nothing compares."""
        if self.instead_of is not None:
            return listed([finger_text(self.instead_of), finger_text(self.finger)])
        if self.was is None or self.extends:
            return ""
        words = _("the {finger} moves between {one} and {other}")
        return words.format(finger=finger_words(self.finger), one=_between(self.was), other=_between(self.now))

    @property
    def state(self) -> str:
        """How the finger lies after the move, as a list has it."""
        if self.instead_of is not None:
            return self.words
        if self.now is Lie.EXTENDED:
            words = _("{finger} extended")
        elif self.extends:
            words = _("{finger} no longer extended")
        else:
            words = {Lie.LOW: _("{finger} low"), Lie.HIGH: _("{finger} high")}.get(
                self.now, _("{finger} in its usual place")
            )
        return words.format(finger=finger_words(self.finger))


def _lies(lie: Lie) -> str:
    usual = _("the {finger} is in its usual place")
    return {Lie.LOW: _("the {finger} is low"), Lie.HIGH: _("the {finger} is high")}.get(lie, usual)


def _from(lie: Lie | None) -> str:
    low, high = p_("the finger moves from", "low"), p_("the finger moves from", "high")
    return _one_of(lie, low, high, p_("the finger moves from", "its usual place"))


def _to(lie: Lie) -> str:
    low, high = p_("the finger moves to", "low"), p_("the finger moves to", "high")
    return _one_of(lie, low, high, p_("the finger moves to", "its usual place"))


def _between(lie: Lie) -> str:
    low, high = p_("the finger moves between", "low"), p_("the finger moves between", "high")
    return _one_of(lie, low, high, p_("the finger moves between", "its usual place"))


def _one_of(lie: Lie | None, low: str, high: str, usual: str) -> str:
    if lie is Lie.LOW:
        return low
    return high if lie is Lie.HIGH else usual


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
    alike: dict[object, list[Move]] = {}
    for move in moves:
        alike.setdefault(_alike(move), []).append(move)
    return comma_listed(
        _("{state} on {strings}").format(
            state=same[0].state, strings=listed(dict.fromkeys(move.string for move in same))
        )
        for same in alike.values()
    )


def _alike(move: Move) -> object:
    """What moves have in common whose ``state`` is the same."""
    if move.instead_of is not None:
        return "instead", move.finger, move.instead_of
    if move.extends:
        return "extends", move.finger, move.now is Lie.EXTENDED
    return "lies", move.finger, move.now
