"""The string instruments as data: strings, sizes, and the name a part gives them.

Tunings: the string pitches of music21's instrument classes; double bass as HyperPhysics gives it (E1 A1 D2 G2).
String lengths: violin about 328 mm (makingtheviolin.com, measurements), viola 375 mm as stop plus neck of a
405-410 mm body, cello 690 mm (5stringcello.com), bass about 1067 mm.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass

from analysis.errors import UnknownNameError
from analysis.music import Pitch

ROMAN = ("", "I", "II", "III", "IV", "V")


@dataclass(frozen=True, slots=True)
class OpenString:
    """One string; ``number`` counts from the highest string, 1, as MusicXML does."""

    number: int
    pitch: Pitch

    @property
    def roman(self) -> str:
        """The string's numeral, I to V."""
        return ROMAN[self.number]

    @property
    def letter(self) -> str:
        """The letter a player calls the string by."""
        return self.pitch.spelling


@dataclass(frozen=True, slots=True)
class Instrument:
    """One instrument: its strings from high to low, the string length in mm, and how the hand lies on it.

    ``letter_frame`` tells whether fingers follow the letters of the scale, as on violin and viola; instruments with
    other hand frames cannot be fingered yet. ``shrill_open`` names the strings whose open note is avoided.
    ``octave`` semitones from written to sounding pitch, for instruments that always transpose.
    """

    key: str
    name: str
    strings: tuple[OpenString, ...]
    string_length_mm: float
    letter_frame: bool
    shrill_open: frozenset[int] = frozenset()
    octave: int = 0

    def string(self, number: int) -> OpenString:
        """The string of that number, 1 = highest."""
        return self.strings[number - 1]

    def distance_mm(self, semitones: float) -> float:
        """How far from the nut a stop ``semitones`` above the open string lies (equal temperament)."""
        return float(self.string_length_mm * (1 - 2 ** (-semitones / 12)))


def _strings(*names: str) -> tuple[OpenString, ...]:
    return tuple(OpenString(number, Pitch.parse(name)) for number, name in enumerate(names, start=1))


VIOLIN = Instrument("violin", "Violin", _strings("E5", "A4", "D4", "G3"), 328, True, frozenset({1}))
VIOLA = Instrument("viola", "Viola", _strings("A4", "D4", "G3", "C3"), 375, True)
CELLO = Instrument("cello", "Cello", _strings("A3", "D3", "G2", "C2"), 690, False)
BASS = Instrument("bass", "Double bass", _strings("G2", "D2", "A1", "E1"), 1067, False, octave=-12)
INSTRUMENTS = (VIOLIN, VIOLA, CELLO, BASS)

# Longer names first: "violoncello" and "violone" begin like "violin" and "viola".
_NAMES = (
    (CELLO, r"violoncell[oieos]*|violonc(elle)?s?|celli|cellos?|vcl?|vlc|vcello"),
    (BASS, r"(double|string|contra|kontra)?bass(e|es|i|o)?|contrabb?as(so|si|s|ses)?|contrebasses?|violone|db|cb|kb"),
    (VIOLA, r"violas?|viole|vlas?|va|bratschen?|altos?"),
    (VIOLIN, r"violin[oei]?s?|violons?|vlns?|vl|vns?|vni|viol|geigen?|fiddles?"),
)

_NOT_STRINGS = frozenset({"gamba", "amore", "damore", "clarinet", "drum", "guitar", "trombone", "flute", "voice"})


def find_instrument(name: str) -> Instrument:
    """The instrument of that key or name; UnknownNameError when there is none."""
    for instrument in INSTRUMENTS:
        if name.casefold() in (instrument.key, instrument.name.casefold()):
            return instrument
    guess = guess_instrument(name)
    if guess is None:
        raise UnknownNameError("instrument", name, [instrument.key for instrument in INSTRUMENTS])
    return guess


def guess_instrument(part_name: str) -> Instrument | None:
    """The instrument that a part's name means, however loosely it is written; ``None`` when it names no string part.

    >>> [guess_instrument(name).key for name in ("Violino II.", "1st Violin", "Vla.", "Vc.")]
    ['violin', 'violin', 'viola', 'cello']
    """
    plain = unicodedata.normalize("NFKD", part_name.casefold()).encode("ascii", "ignore").decode()
    words = re.findall(r"[a-z]+", plain)
    if _NOT_STRINGS.intersection(words):
        return None
    # "double bass" in two words, "Vln1" and "VlaII" in one.
    for word in words:
        for instrument, pattern in _NAMES:
            if re.fullmatch(rf"({pattern})(i{{1,3}}|iv)?", word):
                return instrument
    return None
