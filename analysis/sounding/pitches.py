"""At which pitch a note sounds: as written, transposed, or as the harmonic that a touched string gives."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import lru_cache
from math import gcd, log2

from analysis.instruments import Instrument
from analysis.music import Note, Part, Pitch

_HIGHEST_PARTIAL = 6


def sounding(part: Part, note: Note, instrument: Instrument | None) -> float:
    """The MIDI pitch (60 = C4, with fractions) at which a note by itself sounds."""
    transpose = part.transpose_at(note.onset)
    if note.harmonic is None:
        return float(note.pitch.midi + transpose)
    written = note.harmonic.midi + transpose
    if not note.touched or instrument is None:
        return float(written)
    strings = [one for one in instrument.strings if note.printed is None or note.printed.string in (None, one.number)]
    found = (
        string.pitch.midi + _sounding_above()[place]
        for string in strings
        if (place := written - string.pitch.midi) in _sounding_above()
    )
    return float(min(found, default=written))


def artificial(part: Part, heads: Sequence[Note]) -> float | None:
    """The MIDI pitch of an artificial harmonic of a stopped and a touched note; ``None`` when the heads are none."""
    written = sorted(note.pitch.midi for note in heads if note.artificial)
    if len(written) < 2:
        return None
    above = _sounding_above().get(written[1] - written[0])
    return None if above is None else float(written[0] + part.transpose_at(heads[0].onset) + above)


def upper(part: Part, note: Note, pitch: Pitch) -> float:
    """The MIDI pitch of the upper note of a trill."""
    return float(pitch.midi + part.transpose_at(note.onset))


@lru_cache(maxsize=1)
def _sounding_above() -> dict[int | Fraction, int]:
    """What sounds where a string is touched, both in whole semitones above it; of several partials the lowest.

    Partial n has nodes at k/n of the string; where k and n share a factor, a lower partial speaks there.
    """
    found: dict[int | Fraction, int] = {}
    for n in range(2, _HIGHEST_PARTIAL + 1):
        for k in range(1, n):
            if gcd(k, n) == 1:
                found.setdefault(round(-12 * log2(1 - k / n)), round(12 * log2(n)))
    return found
