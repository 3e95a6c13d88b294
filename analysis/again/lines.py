"""The attacks of voices as columns of numbers, and three ways in which two stretches of them are the same music."""

from __future__ import annotations

import enum
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from numpy.typing import NDArray

from analysis.again.suffixes import Numbers
from analysis.music import LETTERS, Note, Part

# Pitches are counted in hundredths of a semitone, so that quarter tones are whole numbers too.
_HUNDREDTHS = 100
_LETTERS = {step: number for number, step in enumerate(LETTERS)}
_NATURAL = (0, 2, 4, 5, 7, 9, 11)


class Likeness(enum.IntEnum):
    """How two stretches are alike, from the strictest: what is one is all that come after it, too."""

    EXACT = 0  # the same pitches
    MOVED = 1  # the same steps between the notes, by letter and in semitones
    IN_KEY = 2  # the same steps by letter: half and whole steps may differ


@dataclass(frozen=True)
class Lines:
    """Voices one after the other, one row an attack; ties only make the attack before them longer.

    ``heads`` are the notes struck, from high to low; ``tied`` has for rows with ties the ids tied on to each of them.
    ``voice`` and ``part`` number the row's voice and part, ``end`` is the row after the last of its voice. ``letter``
    (steps from C0) and ``pitch`` (hundredths of a semitone) are the highest note's as it sounds; ``chord`` and
    ``letters`` number what lies below it, exactly and by letters alone. ``onset`` in ``ticks`` a quarter note.
    """

    heads: tuple[tuple[Note, ...], ...]
    tied: Mapping[int, tuple[tuple[str, ...], ...]]
    voice: Numbers
    part: Numbers
    end: Numbers
    letter: Numbers
    pitch: Numbers
    chord: Numbers
    letters: Numbers
    onset: Numbers
    ticks: int

    def __len__(self) -> int:
        return len(self.heads)

    def tokens(self, likeness: Likeness) -> Numbers:
        """A number for each row: what it and the next one are and how far apart, in so far as the likeness minds it.

        The last row of a voice has a number of its own. So equal numbers over m rows are stretches of m + 1 rows that
        are alike; how long the last of them lasts does not count.
        """
        follows = np.minimum(np.arange(len(self)) + 1, np.maximum(self.end - 1, 0))
        wait = self.onset[follows] - self.onset
        match likeness:
            case Likeness.EXACT:
                one = (self.letter, self.pitch, self.chord)
                columns = (*one, *(column[follows] for column in one), wait)
            case Likeness.MOVED:
                steps = (self.letter[follows] - self.letter, self.pitch[follows] - self.pitch)
                columns = (*steps, self.chord, self.chord[follows], wait)
            case Likeness.IN_KEY:
                columns = (self.letter[follows] - self.letter, self.letters, self.letters[follows], wait)
        numbers = _numbered(columns)
        last = np.flatnonzero(self.end == np.arange(len(self)) + 1)
        numbers[last] = len(self) + np.arange(len(last))
        return numbers

    def likeness(self, ones: Numbers, others: Numbers) -> Likeness | None:
        """How rows are alike pair by pair, their rhythm apart; ``None`` where not even the letters are."""
        letter = self.letter[ones] - self.letter[others]
        pitch = self.pitch[ones] - self.pitch[others]
        if np.any(letter != letter[0]) or np.any(self.letters[ones] != self.letters[others]):
            return None
        if np.any(pitch != pitch[0]) or np.any(self.chord[ones] != self.chord[others]):
            return Likeness.IN_KEY
        return Likeness.MOVED if letter[0] or pitch[0] else Likeness.EXACT


def lines(parts: Sequence[Part]) -> Lines:
    """The voices of some parts, in their order; the notes of one voice that are struck at once are one row."""
    return _Written(parts).close()


def _numbered(columns: Sequence[Numbers]) -> Numbers:
    """A number from 0 on for each row of the columns, the same for the same row."""
    numbers, known = np.zeros(len(columns[0]), dtype=np.int64), 1
    for column in columns:
        if not len(column):
            continue
        low = int(column.min())
        width = int(column.max()) - low + 1
        if known * width > np.iinfo(np.int64).max:
            distinct, numbers = np.unique(numbers, return_inverse=True)
            known = len(distinct)
        numbers = numbers * width + (column - low)
        known *= width
    return np.asarray(np.unique(numbers, return_inverse=True)[1], dtype=np.int64)


class _Written:
    """Notes as columns, in the order in which they are played, with where each attack begins."""

    def __init__(self, parts: Sequence[Part]) -> None:
        notes = [note for part in parts for note in part.notes]
        count = len(notes)
        self.ticks = math.lcm(*{note.onset.denominator for note in notes})
        number = np.repeat(np.arange(len(parts)), [len(part.notes) for part in parts])
        voices: dict[tuple[int, int, str], int] = {}
        keys = zip(number.tolist(), notes, strict=True)
        voice = _column(voices.setdefault((part, note.staff, note.voice), len(voices)) for part, note in keys)
        onset = _column(note.onset.numerator * (self.ticks // note.onset.denominator) for note in notes)
        letter = _column(7 * note.pitch.octave + _LETTERS[note.pitch.step] for note in notes)
        pitch = _column(_hundredths(note) for note in notes)
        semitones = _column(transpose for part in parts for transpose in _transposes(part))
        letter, pitch = letter + np.rint(semitones * 7 / 12).astype(np.int64), pitch + _HUNDREDTHS * semitones
        firsts: dict[str, int] = {}
        struck = _column(
            place if note.chord is None else firsts.setdefault(note.chord, place) for place, note in enumerate(notes)
        )
        # Grace notes stand at the onset of the note they lead to, written before it.
        order = np.lexsort((np.arange(count), -pitch, struck, onset, voice))
        self.notes = [notes[place] for place in order.tolist()]
        self.part, self.voice, self.onset = number[order], voice[order], onset[order]
        self.letter, self.pitch = letter[order], pitch[order]
        joins = np.ones(max(count - 1, 0), dtype=bool)
        for column in (self.voice, self.onset, struck[order]):
            joins &= np.diff(column) == 0
        self.begins = np.flatnonzero(np.concatenate((np.ones(min(count, 1), dtype=bool), ~joins)))

    def close(self) -> Lines:
        """The rows: attacks that are no mere ties."""
        begins = self.begins
        ends = np.append(begins[1:], len(self.notes))
        tied = self._ties(ends - begins)
        rows, stops = begins[~tied], ends[~tied]
        chord = np.zeros(len(rows), dtype=np.int64)
        letters = np.zeros(len(rows), dtype=np.int64)
        exactly: dict[bytes, int] = {}
        by_letters: dict[bytes, int] = {}
        for row in np.flatnonzero(stops - rows > 1).tolist():
            inside = slice(rows[row], stops[row])
            below = (self.letter[inside] - self.letter[rows[row]]).tobytes()
            exact = below + (self.pitch[inside] - self.pitch[rows[row]]).tobytes()
            chord[row] = exactly.setdefault(exact, len(exactly) + 1)
            letters[row] = by_letters.setdefault(below, len(by_letters) + 1)
        voice = self.voice[rows]
        return Lines(
            heads=tuple(tuple(self.notes[low:high]) for low, high in zip(rows.tolist(), stops.tolist(), strict=True)),
            tied=self._tied_on(tied, ends),
            voice=voice,
            part=self.part[rows],
            end=np.searchsorted(voice, voice, side="right"),
            letter=self.letter[rows],
            pitch=self.pitch[rows],
            chord=chord,
            letters=letters,
            onset=self.onset[rows],
            ticks=self.ticks,
        )

    def _ties(self, sizes: Numbers) -> NDArray[np.bool_]:
        """For each attack, whether all its notes only go on sounding from the one before it in its voice."""
        if not len(sizes):
            return np.zeros(0, dtype=bool)
        tied_from = np.array([note.tied_from for note in self.notes], dtype=bool)
        tied = np.logical_and.reduceat(tied_from, self.begins)
        tied[0] = False
        tied[1:] &= (np.diff(sizes) == 0) & (np.diff(self.voice[self.begins]) == 0)
        return tied

    def _tied_on(self, tied: NDArray[np.bool_], ends: Numbers) -> Mapping[int, tuple[tuple[str, ...], ...]]:
        found: dict[int, tuple[tuple[str, ...], ...]] = {}
        row_of = np.cumsum(~tied) - 1
        for attack in np.flatnonzero(tied).tolist():
            ids = [note.id for note in self.notes[self.begins[attack] : ends[attack]]]
            before = found.get(int(row_of[attack]), ((),) * len(ids))
            found[int(row_of[attack])] = tuple((*one, other) for one, other in zip(before, ids, strict=True))
        return MappingProxyType(found)


def _column(values: Iterable[int]) -> Numbers:
    return np.fromiter(values, dtype=np.int64)


def _transposes(part: Part) -> Iterable[int]:
    """The semitones from written to sounding pitch, note by note."""
    if not part.transpositions:
        return (part.transpose,) * len(part.notes)
    return (part.transpose_at(note.onset) for note in part.notes)


def _hundredths(note: Note) -> int:
    """The written pitch with C-1 = 0."""
    pitch = note.pitch
    natural = _HUNDREDTHS * (12 * (pitch.octave + 1) + _NATURAL[_LETTERS[pitch.step]])
    alter = pitch.alter
    return natural + (_HUNDREDTHS * alter if isinstance(alter, int) else round(_HUNDREDTHS * alter))
