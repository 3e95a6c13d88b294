"""Fingerings by professional violinists, read from CSV files and laid beside the engine's own ways of a note.

One file a player and piece, ``vioN_PIECE.csv``, with the columns pitch (midi), start and duration (quarter notes,
start counted from the measure), string (1 = G ... 4 = E, 0 = not given), position (0 = not given) and finger. The form
is that of the TNUA Violin Fingering Dataset: Jen, Chen, Sun and Su, ACM IUI 2021, doi 10.1145/3397481.3450661.
"""

from __future__ import annotations

import csv
import difflib
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from analysis.instruments import VIOLIN
from analysis.music import Measure, Note, Part, Pitch

# Places on the line of fifths, C = 0, and how often the spelling of all notes is looked over again.
_FIFTHS = {"F": -1, "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5}
_NEIGHBOURS, _ROUNDS = 24, 4

Way = tuple[int, int, int]


@dataclass(frozen=True, slots=True)
class Row:
    """One note as one player fingers it; times in quarter notes, ``start`` from the measure's beginning."""

    midi: int
    start: Fraction
    duration: Fraction
    string: int
    position: int
    finger: int

    @property
    def way(self) -> Way | None:
        """String (1 = highest), position and finger; ``None`` where it is not given or cannot be so."""
        if not 1 <= self.string <= len(VIOLIN.strings) or self.position < 1:
            return None
        string = len(VIOLIN.strings) + 1 - self.string
        above = self.midi - int(VIOLIN.string(string).pitch.midi)
        return None if above < 0 or (above == 0) != (self.finger == 0) else (string, self.position, self.finger)


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece as a part, and how each player fingers it: string, position and finger by note id."""

    name: str
    part: Part
    players: tuple[dict[str, Way], ...]


def read_pieces(folder: Path) -> list[Piece]:
    """Every piece of which the folder holds files, by name; FileNotFoundError when there is none."""
    files: dict[str, list[tuple[int, Path]]] = {}
    for path in folder.glob("vio*_*.csv"):
        shape = re.fullmatch(r"vio(\d+)_(.+)", path.stem)
        if shape is not None:
            files.setdefault(shape[2], []).append((int(shape[1]), path))
    if not files:
        raise FileNotFoundError(f"{folder} holds no files named vioN_PIECE.csv")
    return [_piece(name, [_rows(path) for _, path in sorted(files[name])]) for name in sorted(files)]


def _rows(path: Path) -> list[Row]:
    with path.open(newline="", encoding="utf-8") as file:
        return [
            Row(
                round(float(row["pitch"])),
                _time(row["start"]),
                _time(row["duration"]),
                *(round(float(row[name] or 0)) for name in ("string", "position", "finger")),
            )
            for row in csv.DictReader(file)
        ]


def _time(text: str) -> Fraction:
    return Fraction(float(text)).limit_denominator(96)


def _piece(name: str, players: Sequence[list[Row]]) -> Piece:
    """The piece after the first player's file; the other players' rows are laid beside it pitch by pitch."""
    rows = players[0]
    onsets = _onsets(rows)
    first_at: dict[Fraction, str] = {}
    together = Counter(onsets)
    notes = []
    for number, (row, onset, pitch) in enumerate(zip(rows, onsets, spelled([row.midi for row in rows]), strict=True)):
        chord = first_at.setdefault(onset, f"n{number}") if together[onset] > 1 else None
        notes.append(Note(f"n{number}", pitch, onset - onsets[0], row.duration, 0, chord=chord))
    end = max(note.onset + note.duration for note in notes)
    part = Part("P1", name, (Measure(0, "1", Fraction(0), end),), tuple(notes))
    return Piece(name, part, tuple(_fingered(rows, other) for other in players))


def _onsets(rows: Sequence[Row]) -> list[Fraction]:
    """When each note is struck; a start that does not go on, and is no chord with the note before, begins a measure."""
    length = Fraction(max(round(row.start + row.duration) for row in rows))
    found: list[Fraction] = []
    measure = Fraction(0)
    for number, row in enumerate(rows):
        if number:
            before = rows[number - 1]
            together = row.start == before.start and row.duration == before.duration
            chord = together and row.midi != before.midi and row.string != before.string
            if row.start < before.start or (row.start == before.start and not chord):
                measure += length
        found.append(measure + row.start)
    return found


def _fingered(rows: Sequence[Row], other: Sequence[Row]) -> dict[str, Way]:
    pitches, theirs = [row.midi for row in rows], [row.midi for row in other]
    blocks = difflib.SequenceMatcher(None, pitches, theirs, autojunk=False).get_matching_blocks()
    found = {}
    for block in blocks:
        for step in range(block.size):
            way = other[block.b + step].way
            if way is not None:
                found[f"n{block.a + step}"] = way
    return found


def spelled(midis: Sequence[int]) -> list[Pitch]:
    """Pitches spelled by what is near: each takes the name that lies closest on the line of fifths to those around."""
    options = [_names(midi) for midi in midis]
    chosen = [min(names, key=lambda name: abs(_fifths(name) - 2)) for names in options]
    for _ in range(_ROUNDS):
        near = [chosen[max(0, n - _NEIGHBOURS) : n + _NEIGHBOURS + 1] for n in range(len(chosen))]
        middle = [sum(map(_fifths, names)) / len(names) for names in near]
        chosen = [
            min(names, key=lambda name, here=here: (abs(_fifths(name) - here), name.name))
            for names, here in zip(options, middle, strict=True)
        ]
    return chosen


def _names(midi: int) -> list[Pitch]:
    """The spellings of a pitch with at most one accidental."""
    names = [
        Pitch(step, alter, midi // 12 - 1 + octave)
        for step in "CDEFGAB"
        for alter in (-1, 0, 1)
        for octave in (-1, 0, 1)
    ]
    return [pitch for pitch in names if pitch.midi == midi]


def _fifths(pitch: Pitch) -> int:
    return _FIFTHS[pitch.step] + 7 * int(pitch.alter)
