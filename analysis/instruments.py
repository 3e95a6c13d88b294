"""The string instruments as data: strings, sizes, and the name a part gives them.

Tunings: the string pitches of music21's instrument classes; double bass as HyperPhysics gives it (E1 A1 D2 G2).
String lengths in full size: violin about 328 mm (makingtheviolin.com, measurements), viola 375 mm as stop plus neck of
a 405-410 mm body, cello 690 mm (5stringcello.com), bass about 1067 mm (jrank encyclopedia, "Bass").
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType

from analysis.errors import UnknownNameError
from analysis.language import _, later, p_
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

    ``frame`` names the hand frame: "letters", where fingers follow the letters of the scale, "cello" or "bass".
    ``shrill_open`` names the strings whose open note is avoided. ``octave`` semitones from written to sounding pitch,
    for instruments that always transpose. ``sizes``: the string length in mm of every size it is built in.
    ``reach_share``: how far a hand that fits the instrument reaches from first to highest finger, as a share of the
    string length (our own figure).
    """

    key: str
    name: str
    # The key stands for the strings; their hash would be worked out at every look into a cache.
    strings: tuple[OpenString, ...] = field(hash=False)
    string_length_mm: float
    frame: str
    sizes: Mapping[str, float] = field(compare=False, repr=False)
    reach_share: float
    shrill_open: frozenset[int] = frozenset()
    octave: int = 0

    @property
    def title(self) -> str:
        """The name in the user's language, as a list has it: ``Double bass, 5 strings``."""
        return _(self.name)

    @property
    def words(self) -> str:
        """The same as a sentence has it, without an article: ``double bass, 5 strings``."""
        return _instrument_words(self.key)

    @property
    def family(self) -> str:
        """The name in a sentence whatever the number of its strings: ``double bass``."""
        return _instrument_words(self.key.rstrip("5"))

    @property
    def letter_frame(self) -> bool:
        """Whether fingers follow the letters of the scale, as on violin and viola."""
        return self.frame == "letters"

    @property
    def size(self) -> str:
        """The name of the size it has now; its string length in mm where that has no name."""
        named = (name for name, length in self.sizes.items() if length == self.string_length_mm)
        return next(named, f"{self.string_length_mm:g} mm")

    def in_size(self, size: str) -> Instrument:
        """The same instrument with the strings of that size; UnknownNameError when it is not built so."""
        if size not in self.sizes:
            raise UnknownNameError(_("{instrument} size").format(instrument=self.words), size, list(self.sizes))
        return replace(self, string_length_mm=self.sizes[size])

    def string(self, number: int) -> OpenString:
        """The string of that number, 1 = highest."""
        return self.strings[number - 1]

    def distance_mm(self, semitones: float) -> float:
        """How far from the nut a stop ``semitones`` above the open string lies (equal temperament)."""
        return float(self.string_length_mm * (1 - 2 ** (-semitones / 12)))


def _instrument_words(key: str) -> str:
    return {
        "violin": p_("in a sentence", "violin"),
        "viola": p_("in a sentence", "viola"),
        "cello": p_("in a sentence", "cello"),
        "bass": p_("in a sentence", "double bass"),
        "bass5": p_("in a sentence", "double bass, 5 strings"),
    }[key]


def _strings(*names: str) -> tuple[OpenString, ...]:
    return tuple(OpenString(number, Pitch.parse(name)) for number, name in enumerate(names, start=1))


# Violin below full size: Wikipedia, "Scale length (string instruments)".
_VIOLIN_SIZES = MappingProxyType({"4/4": 328.0, "7/8": 317.0, "3/4": 307.0, "1/2": 287.0, "1/4": 267.0})
# Violas go by the length of the body in inches. 17, 16 and 15 1/2 in: stop plus neck of 430, 405-410 and 390 mm bodies,
# from a maker's table; the others scaled from these by the length of the body.
_VIOLA_SIZES = MappingProxyType(
    {"17 in": 380.0, "16 1/2 in": 378.0, "16 in": 375.0, "15 1/2 in": 365.0,
     "15 in": 357.0, "14 in": 333.0, "13 in": 309.0, "12 in": 285.0}
)  # fmt: skip
# Cello 7/8: 5stringcello.com. Smaller ones scaled from full size by the length of the back, 760 mm: 3/4 690 mm
# (aitchisoncellos.com, measurement guide), 1/2 650 mm and 1/4 585 mm (from memory).
_CELLO_SIZES = MappingProxyType({"4/4": 690.0, "7/8": 670.0, "3/4": 626.0, "1/2": 590.0, "1/4": 531.0})
# The usual bass is called 3/4. The others scaled from it by the length of the body, 1110 mm: 4/4 1160 mm, 1/2 1020 mm,
# 1/4 940 mm (all four from memory).
_BASS_SIZES = MappingProxyType({"4/4": 1115.0, "3/4": 1067.0, "1/2": 980.0, "1/4": 904.0})

_BASS_STRINGS = ("G2", "D2", "A1", "E1")

VIOLIN = Instrument(
    "violin", later("Violin"), _strings("E5", "A4", "D4", "G3"), 328, "letters", _VIOLIN_SIZES, 0.28, frozenset({1})
)
VIOLA = Instrument("viola", later("Viola"), _strings("A4", "D4", "G3", "C3"), 375, "letters", _VIOLA_SIZES, 0.28)
CELLO = Instrument("cello", later("Cello"), _strings("A3", "D3", "G2", "C2"), 690, "cello", _CELLO_SIZES, 0.205)
BASS = Instrument("bass", later("Double bass"), _strings(*_BASS_STRINGS), 1067, "bass", _BASS_SIZES, 0.125, octave=-12)
# The fifth string reaches down to C1 (baroque-music.com, contrabass).
BASS5 = replace(BASS, key="bass5", name=later("Double bass, 5 strings"), strings=_strings(*_BASS_STRINGS, "C1"))
INSTRUMENTS = (VIOLIN, VIOLA, CELLO, BASS, BASS5)

# Longer names first: "violoncello" and "violone" begin like "violin" and "viola".
_NAMES = (
    (CELLO, r"violoncell[oieos]*|violonc(elle)?s?|celli|cellos?|vcl?|vlc|vcello"),
    (BASS, r"(double|string|contra|kontra)?bass(e|es|i|o)?|contrabb?as(so|si|s|ses)?|contrebasses?|violone|db|cb|kb"),
    (VIOLA, r"violas?|viole|vlas?|va|bratschen?|altos?"),
    (VIOLIN, r"violin[oei]?s?|violons?|vlns?|vl|vns?|vni|viol|geigen?|fiddles?"),
)

_NOT_STRINGS = frozenset(
    {"gamba", "amore", "damore", "clarinet", "drum", "guitar", "trombone", "flute", "voice", "saxophone", "saxophones",
     "sax", "recorder", "recorders", "tuba"}
)  # fmt: skip
# Singers' names that stand for a string instrument too, and the parts that tell which of the two is meant.
_SINGERS = (
    (r"altos?", r"soprani?o?|canto|cantus|tenor[ei]?"),
    (r"bass(es|o|i|us)?", r"(contra)?tenor[ei]?|barit[oe]n[oei]?"),
)


def find_instrument(name: str) -> Instrument:
    """The instrument of that key or name; UnknownNameError when there is none."""
    for instrument in INSTRUMENTS:
        if name.casefold() in (instrument.key, instrument.name.casefold()):
            return instrument
    guess = guess_instrument(name)
    if guess is None:
        raise UnknownNameError(_("instrument"), name, [instrument.key for instrument in INSTRUMENTS])
    return guess


def guess_instrument(part_name: str) -> Instrument | None:
    """The instrument that a part's name means, however loosely it is written; ``None`` when it names no string part.

    >>> [guess_instrument(name).key for name in ("Violino II.", "1st Violin", "Vla.", "Vc.")]
    ['violin', 'violin', 'viola', 'cello']
    """
    words = _words(part_name)
    if _NOT_STRINGS.intersection(words):
        return None
    # "double bass" in two words, "Vln1" and "VlaII" in one.
    for word in words:
        for instrument, pattern in _NAMES:
            if re.fullmatch(rf"({pattern})(i{{1,3}}|iv)?", word):
                return instrument
    return None


def guess_instruments(part_names: Sequence[str]) -> list[Instrument | None]:
    """The instrument that each part's name means in one score; ``None`` for other parts and for singers.

    "Alto" is a viola and "Bass" a double bass, but beside a soprano or tenor the one is a singer, and beside a tenor or
    baritone the other (common practice, no source).

    >>> [guess and guess.key for guess in guess_instruments(("Violin", "Soprano", "Alto", "Tenor", "Bass"))]
    ['violin', None, None, None, None]
    """
    every = [_words(name) for name in part_names]
    singers = [
        own for own, beside in _SINGERS if any(re.fullmatch(beside, word) for words in every for word in words[:1])
    ]
    return [
        None if _are_only(words, singers) else guess_instrument(name)
        for name, words in zip(part_names, every, strict=True)
    ]


def _words(name: str) -> list[str]:
    plain = unicodedata.normalize("NFKD", name.casefold()).encode("ascii", "ignore").decode()
    return re.findall(r"[a-z]+", plain)


def _are_only(words: Sequence[str], singers: Sequence[str]) -> bool:
    """Whether a name is a singer's, with nothing but its number besides."""
    first, others = words[:1], words[1:]
    return any(re.fullmatch(singer, word) for singer in singers for word in first) and all(
        re.fullmatch(r"i{1,3}", word) for word in others
    )
