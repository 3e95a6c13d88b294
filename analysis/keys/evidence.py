"""What the notes of a part tell of its key: which pitches sound for how long, and where lines come to rest.

Pitches stand on the line of fifths (... B♭ F C G D A E B F♯ ...), C = 0, so that G♯ and A♭ stay apart.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from analysis.music import Note, Part, Pitch

# On the line of fifths from F with two flats to B with two sharps.
LOWEST, SPAN = -15, 35
_NATURALS = "FCGDAEB"
# A note counts for the root of its length in quarter notes, and no longer one than this counts more.
_LONGEST = 2
# A line rests on a note of two quarter notes that is twice as long as the one before, or of one before a rest.
_LONG, _LONG_BEFORE_A_REST = 2, 1
# What a step onto a tonic speaks for it: by the place of the note before on the line of fifths, counted from the
# tonic, and by the letters moved up. First a half step up wherever it stands, then what leads to a note of rest: the
# leading note, the dominant a fifth above or a fourth below, the note above. Fitted, see ``signatures``.
_LEADS_ON = 1.0
_LEADING_NOTE = (5, 1)
_CADENCES = {_LEADING_NOTE: 3.0, (1, -4): 2.0, (1, 3): 2.0, (2, -1): 1.0}
_LEADING = frozenset(fifths for fifths, _ in _CADENCES)


@dataclass(frozen=True, slots=True)
class Evidence:
    """Two arrays of measures × ``SPAN`` places on the line of fifths.

    ``sounding``: for how much each pitch counts in a measure. ``tonics``: how much its steps speak for each tonic.
    """

    sounding: np.ndarray
    tonics: np.ndarray


def fifth_of(pitch: Pitch) -> int | None:
    """The place on the line of fifths, C = 0; ``None`` for quarter tones and triple signs.

    >>> fifth_of(Pitch("G", 1, 4)), fifth_of(Pitch("A", -1, 4))
    (8, -4)
    """
    alter = int(pitch.alter)
    if alter != pitch.alter or abs(alter) > 2:
        return None
    return _NATURALS.index(pitch.step) - 1 + 7 * alter


def fifth_words(fifth: int) -> str:
    """The letter at a place on the line of fifths as it is printed.

    >>> fifth_words(8), fifth_words(-2)
    ('G♯', 'B♭')
    """
    alter, step = divmod(fifth + 1, 7)
    return _NATURALS[step] + ("♯" * alter if alter > 0 else "♭" * -alter)


def evidence(part: Part, measures: int, transpose: int = 0) -> Evidence:
    """What a part tells in its first ``measures``, its pitches moved up by so many semitones."""
    # Twelve semitones are twelve fifths too; the fewest signs are meant.
    moved = (7 * transpose + 5) % 12 - 5 - LOWEST
    found = Evidence(np.zeros((measures, SPAN)), np.zeros((measures, SPAN)))
    for note in part.notes:
        fifth = fifth_of(note.pitch)
        if fifth is not None and note.measure < measures and 0 <= fifth + moved < SPAN:
            found.sounding[note.measure, fifth + moved] += _weight(note.duration.numerator, note.duration.denominator)
    for line in melodies(part):
        for measure, fifth, counts in _tonics(line):
            if measure < measures and 0 <= fifth + moved < SPAN:
                found.tonics[measure, fifth + moved] += counts
    return found


@lru_cache(maxsize=256)
def _weight(numerator: int, denominator: int) -> float:
    return math.sqrt(min(numerator / denominator, _LONGEST))


def melodies(part: Part) -> Iterator[list[Note]]:
    """Each voice as a line of struck notes: of a chord the highest, without grace notes and what is tied on."""
    voices: dict[tuple[int, str], list[Note]] = {}
    for note in part.notes:
        if not note.grace and not note.tied_from:
            voices.setdefault((note.staff, note.voice), []).append(note)
    for notes in voices.values():
        line: list[Note] = []
        for note in sorted(notes, key=lambda note: note.onset):
            if not line or line[-1].onset != note.onset:
                line.append(note)
            elif note.pitch.letter > line[-1].pitch.letter:
                line[-1] = note
        yield line


def _tonics(line: Sequence[Note]) -> Iterator[tuple[int, int, float]]:
    """For each step of a line that speaks for a tonic: its measure, the tonic, and how much it counts."""
    fifths = [fifth_of(note.pitch) for note in line]
    for at in range(1, len(line)):
        onto, fifth = fifths[at - 1 : at + 1]
        if onto is None or fifth is None or onto - fifth not in _LEADING:
            continue
        before, note = line[at - 1], line[at]
        step = onto - fifth, note.pitch.letter - before.pitch.letter
        if step in _CADENCES and _joins(before, note):
            counts = _LEADS_ON if step == _LEADING_NOTE else 0.0
            if comes_to_rest(before, note, line[at + 1] if at + 1 < len(line) else None):
                counts += _CADENCES[step]
            if counts:
                yield note.measure, fifth, counts


def _joins(before: Note, note: Note) -> bool:
    """Whether a line goes on to a note without a rest."""
    return before.tied_on or before.onset + before.duration >= note.onset


def comes_to_rest(before: Note, note: Note, after: Note | None) -> bool:
    """Whether a line comes to rest on a note: a long one, under a fermata, or before a rest or the end."""
    if note.fermata or note.lifted:
        return True
    # A note may be tied on to be long: what counts is when the line goes on.
    if note.duration < _LONG_BEFORE_A_REST and not note.tied_on:
        return False
    lasts = note.duration if after is None else after.onset - note.onset
    if after is None or not _joins(note, after):
        return note.duration >= _LONG_BEFORE_A_REST
    return lasts >= _LONG and lasts >= 2 * before.duration
