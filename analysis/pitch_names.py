"""What pitches are called in the user's language.

English letters with their signs; other languages may have names of their own, as German has B for B flat, H for B.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from types import MappingProxyType

from analysis.language import _, later, p_

_LETTERS = "CDEFGAB"
# The octave of the cello's lowest string, which Helmholtz writes with capitals.
_GREAT_OCTAVE = 2
# By how far they are altered, in semitones: the names as they are printed, and as they are spoken.
_PRINTED: Mapping[int | Fraction, tuple[str, ...]] = MappingProxyType(
    {
        -2: (later("C♭♭"), later("D♭♭"), later("E♭♭"), later("F♭♭"), later("G♭♭"), later("A♭♭"), later("B♭♭")),
        -1: (later("C♭"), later("D♭"), later("E♭"), later("F♭"), later("G♭"), later("A♭"), later("B♭")),
        0: (later("C"), later("D"), later("E"), later("F"), later("G"), later("A"), later("B")),
        1: (later("C♯"), later("D♯"), later("E♯"), later("F♯"), later("G♯"), later("A♯"), later("B♯")),
        2: (later("C♯♯"), later("D♯♯"), later("E♯♯"), later("F♯♯"), later("G♯♯"), later("A♯♯"), later("B♯♯")),
    }
)
_SPOKEN: Mapping[int | Fraction, tuple[str, ...]] = MappingProxyType(
    {
        -2: (
            later("C double flat"),
            later("D double flat"),
            later("E double flat"),
            later("F double flat"),
            later("G double flat"),
            later("A double flat"),
            later("B double flat"),
        ),
        -1: (
            later("C flat"),
            later("D flat"),
            later("E flat"),
            later("F flat"),
            later("G flat"),
            later("A flat"),
            later("B flat"),
        ),
        0: (
            later("C natural"),
            later("D natural"),
            later("E natural"),
            later("F natural"),
            later("G natural"),
            later("A natural"),
            later("B natural"),
        ),
        1: (
            later("C sharp"),
            later("D sharp"),
            later("E sharp"),
            later("F sharp"),
            later("G sharp"),
            later("A sharp"),
            later("B sharp"),
        ),
        2: (
            later("C double sharp"),
            later("D double sharp"),
            later("E double sharp"),
            later("F double sharp"),
            later("G double sharp"),
            later("A double sharp"),
            later("B double sharp"),
        ),
    }
)


def pitch_name(step: str, alter: int | Fraction = 0) -> str:
    """A pitch without its octave as it is printed, ``F♯``; ``alter`` in semitones.

    >>> pitch_name("F", 1), pitch_name("B", -1), pitch_name("C"), pitch_name("C", Fraction(1, 2))
    ('F♯', 'B♭', 'C', 'C +1/4 tone')
    """
    if alter in _PRINTED:
        return _(_PRINTED[alter][_LETTERS.index(step)])
    letter = _(_PRINTED[0][_LETTERS.index(step)])
    if alter != int(alter):
        return beside(letter, alter)
    return letter + ("♯" * int(alter) if alter > 0 else "♭" * -int(alter))


def plain_pitch_name(step: str, alter: int | Fraction = 0) -> str:
    """The same where a keyboard has the signs, ``F#``, ``Bb``."""
    return pitch_name(step, alter).replace("♯", "#").replace("♭", "b")


def tone_part(alter: int | Fraction) -> str:
    """Semitones as a part of a whole tone, ``+1/4``."""
    return f"{'+' if alter > 0 else '-'}{abs(Fraction(alter) / 2)}"


def beside(name: str, alter: int | Fraction) -> str:
    """A note between those of the keyboard, by the name of one of these.

    >>> beside("A4", Fraction(1, 2)), beside("A4", Fraction(-3, 2))
    ('A4 +1/4 tone', 'A4 -3/4 tone')
    """
    return _("{name} {part} tone").format(name=name, part=tone_part(alter))


def in_octave(name: str, octave: int) -> str:
    """A name with its octave, middle C in octave 4: as a figure, or where the language has it after Helmholtz.

    There octaves are told by small letters with strokes, ``c'``, and below these by capitals and prefixes.
    """
    if p_("how is middle C written? C4 or c'", "C4") == "C4":
        return f"{name}{octave}"
    if octave > _GREAT_OCTAVE:
        return name[0].lower() + name[1:] + "'" * (octave - _GREAT_OCTAVE - 1)
    if octave == _GREAT_OCTAVE:
        return name
    below = p_("octave", "Contra") if octave == _GREAT_OCTAVE - 1 else p_("octave", "Subcontra")
    return f"{below}-{name}"


def spoken_pitch(step: str, alter: int) -> str:
    """A pitch without its octave as it is spoken, up to two signs: ``F sharp``, ``C natural``."""
    return _(_SPOKEN[alter][_LETTERS.index(step)])


def inflection_word(alter: int) -> str:
    """How a letter is altered, to follow "the letter is".

    >>> inflection_word(0), inflection_word(-1)
    ('natural', 'flat')
    """
    return {
        -2: p_("the letter is", "double flat"),
        -1: p_("the letter is", "flat"),
        0: p_("the letter is", "natural"),
        1: p_("the letter is", "sharp"),
        2: p_("the letter is", "double sharp"),
    }[alter]


def sign_word(alter: int) -> str:
    """What the sign is called that alters a letter so."""
    return {
        -2: p_("the sign", "double flat"),
        -1: p_("the sign", "flat"),
        0: p_("the sign", "natural"),
        1: p_("the sign", "sharp"),
        2: p_("the sign", "double sharp"),
    }[alter]
