"""Stretches of music in which a letter is not what the key signature makes it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from analysis.watch.inflections import Inflection

# A stretch goes on over so many measures without the letter; where it is as usual between, over so many of those, and
# so many in all: our own figures, at which players no longer think of the letter as altered.
_WITHOUT, _USUAL, _TO_NEXT = 8, 2, 4
# With more measures that differ than one in so many, the letter goes to and fro.
_ONE_IN = 4


@dataclass(frozen=True, slots=True)
class Stretch:
    """One letter altered in one way for a while.

    ``notes`` are altered, ``others`` between them are as usual. ``before`` is the last usual note on the line of the
    first of ``notes``, ``after`` the next usual note of the letter in any octave; ``None`` where there is none in the
    same key signature.
    """

    notes: tuple[Inflection, ...]
    others: tuple[Inflection, ...]
    before: Inflection | None
    after: Inflection | None

    @property
    def step(self) -> str:
        """The letter."""
        return self.notes[0].step

    @property
    def alter(self) -> int:
        """How the letter is altered."""
        return self.notes[0].alter

    @property
    def first(self) -> Inflection:
        """The note at which it begins."""
        return self.notes[0]

    @property
    def last(self) -> Inflection:
        """The last altered note."""
        return self.notes[-1]

    @property
    def measures(self) -> tuple[int, ...]:
        """The indices of the measures in which the letter is altered."""
        return _measures(self.notes)

    @property
    def is_unbroken(self) -> bool:
        """Whether it is altered in every measure from the first to the last."""
        return self.measures[-1] - self.measures[0] == len(self.measures) - 1

    @property
    def last_measure(self) -> int:
        """The index of the last measure in which the letter is altered."""
        return self.last.note.measure

    @property
    def measures_as_usual(self) -> tuple[int, ...]:
        """The indices of the measures between in which it is as usual."""
        return _measures(self.others)

    @property
    def goes_to_and_fro(self) -> bool:
        """Whether the letter is as usual too often to speak of exceptions."""
        return _ONE_IN * len(self.measures_as_usual) > len(self.measures)


def _measures(notes: Iterable[Inflection]) -> tuple[int, ...]:
    return tuple(dict.fromkeys(one.note.measure for one in notes))


@dataclass(slots=True)
class _Open:
    """A stretch still being read, and the usual notes since its last altered one."""

    before: Inflection | None
    notes: list[Inflection]
    others: list[Inflection] = field(default_factory=list)
    since: list[Inflection] = field(default_factory=list)

    def goes_on_to(self, one: Inflection) -> bool:
        last = self.notes[-1]
        usual = {other.played for other in self.since}
        near = one.played - last.played <= (_TO_NEXT if usual else _WITHOUT)
        return last.alter == one.alter and len(usual) <= _USUAL and near

    def go_on_to(self, one: Inflection) -> None:
        self.others += self.since
        self.since = []
        self.notes.append(one)

    def close(self) -> Stretch:
        return Stretch(tuple(self.notes), tuple(self.others), self.before, next(iter(self.since), None))


def stretches(read: Iterable[Inflection]) -> list[Stretch]:
    """All stretches in the notes of a part, by the place of their first notes."""
    opened: dict[str, _Open] = {}
    usual_on: dict[tuple[int, int], Inflection] = {}
    closed: list[_Open] = []
    for one in read:
        going = opened.get(one.step)
        if going is not None and going.notes[0].fifths != one.fifths:
            going = None
        if one.is_usual:
            usual_on[one.line] = one
            if going is not None:
                going.since.append(one)
        elif going is not None and going.goes_on_to(one):
            going.go_on_to(one)
        else:
            before = usual_on.get(one.line)
            opened[one.step] = _Open(before if before is not None and before.fifths == one.fifths else None, [one])
            closed.append(opened[one.step])
    return [one.close() for one in closed]
