"""Words for intervals and strings, as a sentence about music that comes again needs them."""

from __future__ import annotations

from analysis.language import _, later, n_
from analysis.wording import number_word

_INTERVALS = (
    "", later("a step"), later("a third"), later("a fourth"), later("a fifth"), later("a sixth"), later("a seventh"),
)  # fmt: skip
_STEPS = ("", later("a half step"), later("a whole step"))
_OCTAVE, _IN_WORDS = 7, 4


def interval_words(letters: int, semitones: int | None) -> str:
    """How far music has moved; ``semitones`` only tell half from whole steps, ``None`` where they differ.

    >>> interval_words(-4, -7), interval_words(1, 1), interval_words(9, None), interval_words(0, 0)
    ('a fifth lower', 'a half step higher', 'an octave and a third higher', 'again')
    """
    if is_again(letters, semitones):
        return _("again")
    words = _("{interval} higher") if (letters or semitones or 0) > 0 else _("{interval} lower")
    return words.format(interval=_interval(letters, semitones))


def is_again(letters: int, semitones: int | None) -> bool:
    """Whether music has not moved so far that one would say it."""
    return not letters and not 0 < abs(semitones or 0) < len(_STEPS)


def _interval(letters: int, semitones: int | None) -> str:
    octaves, steps = divmod(abs(letters), _OCTAVE)
    # Without a letter between them, notes can only be a half step apart that is written on one line.
    half_steps = abs(semitones or 0)
    if not octaves and steps < len(_STEPS) and 0 < half_steps < len(_STEPS):
        return _(_STEPS[half_steps])
    if not octaves:
        return _(_INTERVALS[steps])
    number = number_word(octaves, _IN_WORDS)
    words = _("an octave") if octaves == 1 else n_("{number} octave", "{number} octaves", octaves).format(number=number)
    return _("{octaves} and {interval}").format(octaves=words, interval=_(_INTERVALS[steps])) if steps else words


def strings_words(number: int) -> str:
    """So many strings.

    >>> strings_words(1), strings_words(2)
    ('one string', 'two strings')
    """
    return n_("one string", "{number} strings", number).format(number=number_word(number))
