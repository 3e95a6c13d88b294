"""Tempo words as numbers: Adagio, Allegro ma non troppo and their kin, in beats a minute.

The numbers are common practice, no source: the middle of the range in which a word is usually taken, as metronomes
print it.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

BEATS_A_MINUTE = {
    "grave": 40,
    "largo": 46,
    "lento": 52,
    "adagio": 56,
    "larghetto": 63,
    "andante": 76,
    "andantino": 84,
    "moderato": 92,
    "allegretto": 108,
    "allegro": 132,
    "vivace": 160,
    "presto": 184,
    "prestissimo": 204,
}
# From here on a word is a quick one, so that its "molto" is quicker and not slower.
_QUICK = 100
_STEP = 1.1
_NUDGES = {
    "molto": 1,
    "di molto": 1,
    "assai": 1,
    "un poco": -1,
    "poco": -1,
    "ma non troppo": -1,
    "non troppo": -1,
    "ma non tanto": -1,
    "non tanto": -1,
    "moderato": -1,
}
# Companions that mean the same after any word: quicker or slower.
_SHIFTS = {"con moto": 1, "mosso": 1, "con brio": 1, "con fuoco": 1, "vivace": 1, "sostenuto": -1}

_WORD = "|".join(sorted(BEATS_A_MINUTE, key=len, reverse=True))
_BEFORE = "molto|assai|un poco|poco"
_AFTER = "|".join(sorted((*_NUDGES, *_SHIFTS), key=len, reverse=True))
_MARK = re.compile(rf"\b(?:(?P<before>{_BEFORE}) )?(?P<word>{_WORD})\b(?:,? (?P<after>{_AFTER})\b)?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class TempoWord:
    """A tempo as words give it: ``text`` as printed, with its companions, and the beats a minute that it stands for."""

    text: str
    beats_a_minute: float


@lru_cache(maxsize=1024)
def tempo_word(text: str) -> TempoWord | None:
    """The first tempo word in a text, whole words only and in any case; ``None`` when there is none.

    A companion next to it moves the tempo by a tenth: "molto" away from the middle, "poco", "non troppo" and "moderato"
    towards it, "con moto" and its like up, "sostenuto" down.

    >>> tempo_word("Allegro ma non troppo, e cantabile")
    TempoWord(text='Allegro ma non troppo', beats_a_minute=120.0)
    """
    found = _MARK.search(" ".join(text.split()))
    if found is None:
        return None
    beats = BEATS_A_MINUTE[found["word"].lower()]
    steps = 0
    for companion in ((found["before"] or "").lower(), (found["after"] or "").lower()):
        steps += _SHIFTS.get(companion, 0)
        steps += _NUDGES.get(companion, 0) * (1 if beats >= _QUICK else -1)
    return TempoWord(found.group(), float(round(beats * _STEP**steps)))


def counted_beat(time: tuple[int, int]) -> Fraction:
    """Quarter notes in the beat that a tempo word counts: the note of the metre's lower number.

    In 6/8, 9/8, 12/8 and their like in shorter notes it is three of them, a dotted quarter; so 3/8 counts eighths and
    2/2 counts halves.
    """
    beats, unit = time
    beat = Fraction(4, unit)
    return 3 * beat if unit >= 8 and beats > 3 and beats % 3 == 0 else beat
