"""A voice as the hand meets it: stage after stage.

A *stage* is what sounds from one attack on: a note or a chord, with whatever is tied to it.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction

from analysis.music import Note, Part, Pitch

GRACE_SECONDS = 0.12
LONG_SILENCE = 4.0
_NONE = Fraction(0)
_LOUDNESS = {"ppp": -4, "pp": -3, "p": -2, "mp": -1, "mf": 0, "f": 2, "ff": 3, "fff": 4}


@dataclass(frozen=True, slots=True)
class Stage:
    """One attack of a voice.

    ``heads`` are the notes struck, from high to low; ``ids`` holds for each of them its own id and those tied on to it.
    Times: ``onset`` and ``quarters`` (length with ties) in quarter notes; ``seconds_since`` the attack before and
    ``seconds_rest`` of silence before this one. ``slurred``: a slur leads into it. ``held`` numbers the heads that are
    tied from the stage before while others are struck anew. ``quarters_rest``: the silence before it in quarter notes.
    ``alternates``: it is the second note of a tremolo between two. ``after_trill``: a trill goes on until it is struck.
    """

    heads: tuple[Note, ...]
    ids: tuple[tuple[str, ...], ...]
    onset: Fraction
    quarters: Fraction
    seconds_since: float
    seconds_rest: float
    slurred: bool
    held: tuple[int, ...] = ()
    quarters_rest: Fraction = Fraction(0)
    alternates: bool = False
    after_trill: bool = False

    @property
    def measure(self) -> int:
        """The index of the measure in which it is struck."""
        return self.heads[0].measure

    @property
    def trilled(self) -> bool:
        """Whether a finger trills, which binds the hand to its place also over an open string."""
        return _trilled(self.heads)

    @property
    def plucked(self) -> bool:
        """Whether it is played pizzicato."""
        return self.heads[0].pizzicato

    @property
    def loudness(self) -> int:
        """The dynamic in force in steps from mezzo forte: -3 for pianissimo to 3 for fortissimo; 0 where none is."""
        return _LOUDNESS.get(self.heads[0].dynamic, 0)


def _trilled(heads: Iterable[Note]) -> bool:
    return any(note.trill is not None and note.harmonic is None for note in heads)


def voices(part: Part) -> dict[tuple[int, str, int], list[Note]]:
    """The notes of each (staff, voice, player), in the order in which they are played.

    A voice has one player, 0; where it is divided, the second note of a chord from the top goes to player 1, and so on.
    """
    found: dict[tuple[int, str, int], list[Note]] = {}
    chords: dict[str, list[Note]] = {}
    for note in part.notes:
        if note.chord is not None and note.divisi:
            chords.setdefault(note.chord, []).append(note)
    players = {
        note.id: player
        for heads in chords.values()
        for player, note in enumerate(sorted(heads, key=lambda note: (-note.pitch.midi, note.id)))
    }
    for note in part.notes:
        found.setdefault((note.staff, note.voice, players.get(note.id, 0)), []).append(note)
    for notes in found.values():
        # Grace notes stand at the onset of the note they lead to, written before it.
        notes.sort(key=lambda note: note.onset)
    return found


def stages(part: Part, notes: Iterable[Note], default_tempo: float) -> tuple[Stage, ...]:
    """The stages of one voice; ``default_tempo`` in quarter notes a minute holds before the first tempo mark."""
    made: list[_Open] = []
    for struck in _attacks(notes):
        if made and made[-1].ties_on_to(struck):
            made[-1].tie_on(struck)
        else:
            made.append(_Open(struck))
    result: list[Stage] = []
    for before, stage in zip([None, *made], made, strict=False):
        result.append(stage.close(before, 60.0 / part.tempo_at(stage.onset, default_tempo)))
    return tuple(result)


def _attacks(notes: Iterable[Note]) -> Iterator[tuple[Note, ...]]:
    """Notes grouped into chords, each from high to low."""
    for _, group in itertools.groupby(notes, key=lambda note: (note.onset, note.chord or note.id)):
        struck = tuple(group)
        yield struck if len(struck) == 1 else tuple(sorted(struck, key=lambda note: (-note.pitch.midi, note.id)))


class _Open:
    """A stage still being put together."""

    def __init__(self, struck: tuple[Note, ...]) -> None:
        self.heads = struck
        self.ids = [[note.id] for note in struck]
        self.last = struck
        self.onset = struck[0].onset
        self.end = self.onset + max(note.duration for note in struck)
        self.slurred_on = any(note.slurred_on for note in struck)

    def ties_on_to(self, struck: tuple[Note, ...]) -> bool:
        """Whether all of ``struck`` only goes on sounding from this stage."""
        here = [note.pitch for note in self.last if note.tied_on]
        return len(struck) == len(self.last) and all(note.tied_from and note.pitch in here for note in struck)

    def tie_on(self, struck: tuple[Note, ...]) -> None:
        for ids, note in zip(self.ids, struck, strict=True):
            ids.append(note.id)
        self.last = struck
        self.end = max(note.onset + note.duration for note in struck)
        self.slurred_on = any(note.slurred_on for note in struck)

    def close(self, before: _Open | None, seconds_a_quarter: float) -> Stage:
        silence = _NONE
        if before is None or self.onset > before.end:
            silence = self.onset - (before.end if before else 0)
        since = seconds_a_quarter * float(self.onset - before.onset) if before else LONG_SILENCE
        rest = seconds_a_quarter * float(silence) if before else LONG_SILENCE
        after_trill = before is not None and not silence and _trilled(before.heads)
        if after_trill and self.heads[0].grace:
            # Notes that close a trill come out of it: until then the hand has no time for anything else.
            since = GRACE_SECONDS
        sounding = {note.pitch for note in before.last if note.tied_on} if before else set[Pitch]()
        return Stage(
            heads=self.heads,
            ids=tuple(tuple(ids) for ids in self.ids),
            onset=self.onset,
            quarters=self.end - self.onset,
            seconds_since=max(since, GRACE_SECONDS),
            seconds_rest=rest,
            slurred=before is not None and before.slurred_on,
            held=tuple(n for n, note in enumerate(self.heads) if note.tied_from and note.pitch in sounding),
            quarters_rest=silence,
            alternates=before is not None and before.heads[0].tremolo == "fingered",
            after_trill=after_trill,
        )
