"""How each note is to be played, from the marks in force: dynamic, pizzicato, divisi, who plays.

A mark holds from its place on, for its staff, or for all staves where it names none. Of several marks at one place a
voice follows its own.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from engraving.reading.directions import Said, dynamic_in
from engraving.reading.partwalk import WalkedMeasure, WalkedNote


@dataclass(frozen=True, slots=True)
class Playing:
    """The marks in force at a note; the fields are those of ``analysis.music.Note``."""

    dynamic: str = ""
    pizzicato: bool = False
    divisi: bool = False
    players: str = ""


@dataclass(frozen=True, slots=True)
class Mark:
    """What is said at ``onset`` in a measure to a voice ("" for none) on a staff (``None`` for all)."""

    onset: Fraction
    voice: str
    staff: int | None
    said: Said


class _InForce:
    """One kind of mark: what the latest mark says to a voice on a staff."""

    def __init__(self, kind: Callable[[Said], str | bool | None]) -> None:
        self._kind = kind
        # By staff and voice, ``None`` for all, with the place of the mark in time.
        self._latest: dict[tuple[int | None, str | None], tuple[int, str | bool]] = {}

    def take(self, moment: int, mark: Mark) -> None:
        value = self._kind(mark.said)
        if value is not None and value != "":
            self._latest[mark.staff, None] = (moment, value)
            self._latest[mark.staff, mark.voice] = (moment, value)

    def at(self, staff: int, voice: str) -> str | bool | None:
        # Of marks at one place the first in this order counts.
        keys = ((staff, voice), (None, voice), (staff, None), (None, None))
        marks = [self._latest[key] for key in keys if key in self._latest]
        return max(marks, key=lambda mark: mark[0])[1] if marks else None


class _Marks:
    """All kinds of marks together; ``at`` is asked far more often than a mark comes, so it remembers."""

    def __init__(self) -> None:
        self._dynamic = _InForce(lambda said: said.dynamic)
        self._pizzicato = _InForce(lambda said: said.pizzicato)
        self._divisi = _InForce(lambda said: said.divisi)
        self._players = _InForce(lambda said: said.players)
        self._moment = 0
        self._known: dict[tuple[int, str], Playing] = {}

    def take(self, marks: Iterator[Mark]) -> None:
        self._moment += 1
        self._known.clear()
        for mark in marks:
            for kind in (self._dynamic, self._pizzicato, self._divisi, self._players):
                kind.take(self._moment, mark)

    def at(self, note: WalkedNote) -> Playing:
        key = (note.staff, note.voice)
        known = self._known.get(key)
        if known is None:
            known = self._known[key] = Playing(
                str(self._dynamic.at(*key) or ""),
                bool(self._pizzicato.at(*key)),
                bool(self._divisi.at(*key)),
                str(self._players.at(*key) or ""),
            )
        return known


def playing(measures: Sequence[WalkedMeasure], marks_of_all: Sequence[Sequence[Mark]]) -> Iterator[Playing]:
    """How each note of the measures is to be played, in the order in which they are written, rests too.

    ``marks_of_all`` are the marks of each measure, as ``marks_in`` finds them.
    """
    in_force = _Marks()
    for measure, marks in zip(measures, marks_of_all, strict=True):
        if marks:
            yield from _over_marks(measure.notes, marks, in_force)
        else:
            yield from map(in_force.at, measure.notes)


def _over_marks(notes: Sequence[WalkedNote], marks: Sequence[Mark], in_force: _Marks) -> list[Playing]:
    """The notes of a measure with marks, gone through in the order of time and given back as they are written."""
    found: dict[int, Playing] = {}
    waiting = sorted(range(len(notes)), key=lambda place: notes[place].onset, reverse=True)
    for onset, together in groupby(marks, key=lambda mark: mark.onset):
        while waiting and notes[waiting[-1]].onset < onset:
            place = waiting.pop()
            found[place] = in_force.at(notes[place])
        in_force.take(together)
    found |= {place: in_force.at(notes[place]) for place in waiting}
    return [found[place] for place in range(len(notes))]


def marks_in(measure: WalkedMeasure) -> list[Mark]:
    """The marks of a measure in the order of time; at one place those of directions before those among notations."""
    marks = [
        Mark(direction.onset, direction.voice, direction.said.staff, direction.said)
        for direction in measure.directions
        if direction.said.is_playing
    ]
    for note in measure.notes:
        if "dynamics" in note.notations:
            levels = map(dynamic_in, note.notations["dynamics"])
            marks += [Mark(note.onset, note.voice, note.staff, Said(dynamic=level)) for level in levels]
    return sorted(marks, key=lambda mark: mark.onset) if len(marks) > 1 else marks
