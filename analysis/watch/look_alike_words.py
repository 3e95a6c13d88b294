"""Words for intervals and strings, as a sentence about music that comes again needs them."""

from __future__ import annotations

_INTERVALS = ("", "a step", "a third", "a fourth", "a fifth", "a sixth", "a seventh")
_STEPS = ("", "a half step", "a whole step")
_NUMBERS = ("", "one", "two", "three", "four")
_OCTAVE = 7


def interval_words(letters: int, semitones: int | None) -> str:
    """How far music has moved; ``semitones`` only tell half from whole steps, ``None`` where they differ.

    >>> interval_words(-4, -7), interval_words(1, 1), interval_words(9, None), interval_words(0, 0)
    ('a fifth lower', 'a half step higher', 'an octave and a third higher', 'again')
    """
    where = "higher" if (letters or semitones or 0) > 0 else "lower"
    octaves, steps = divmod(abs(letters), _OCTAVE)
    # Without a letter between them, notes can only be a half step apart that is written on one line.
    half_steps = abs(semitones or 0)
    if not octaves and steps < len(_STEPS) and 0 < half_steps < len(_STEPS):
        return f"{_STEPS[half_steps]} {where}"
    words = [_INTERVALS[steps]] if steps else []
    if octaves:
        number = str(octaves) if octaves >= len(_NUMBERS) else _NUMBERS[octaves]
        words.insert(0, "an octave" if octaves == 1 else f"{number} octaves")
    return f"{' and '.join(words)} {where}" if words else "again"


def strings_words(number: int) -> str:
    """So many strings.

    >>> strings_words(1), strings_words(2)
    ('one string', 'two strings')
    """
    return f"{_NUMBERS[number]} string{'' if number == 1 else 's'}"
