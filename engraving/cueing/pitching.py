"""How pitches are written for one player and rewritten for another: transposition, key and clef."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from types import MappingProxyType

from lxml import etree

from analysis.music import LETTERS, Pitch
from engraving.elements import fifths_in, number_in, transposition_in

# The letters of the notes that clefs name (G4, F3, C4), and the lines on which they stand by themselves.
_CLEFS = MappingProxyType(
    {"G": (Pitch("G", 0, 4).letter, 2), "F": (Pitch("F", 0, 3).letter, 4), "C": (Pitch("C", 0, 4).letter, 3)}
)
_STAFF = 8  # letters from the lowest line to the highest
_LEDGER = 5  # two ledger lines, and the space beyond them
_OCTAVES = range(-5, 6)
_OCTAVE = (7, 12)  # letters, semitones


@dataclass(frozen=True, slots=True)
class Written:
    """What holds at the beginning of a measure.

    ``divisions`` of a quarter note; ``fifths`` of the key; ``lowest``: the letter (``Pitch.letter``) of the lowest
    line; so many ``letters`` and ``semitones`` turn written into sounding pitch.
    """

    divisions: Fraction = Fraction(1)
    fifths: int = 0
    lowest: int = 30
    letters: int = 0
    semitones: int = 0

    def changed(self, attributes: etree._Element) -> Written:
        """The same after an ``<attributes>`` element; of several staves the first counts."""
        divisions = number_in(attributes.findtext("divisions"))
        keys = (fifths_in(key) for key in attributes.iterfind("key") if key.get("number", "1") == "1")
        fifths = next((fifths for fifths in keys if fifths is not None), self.fifths)
        clefs = (_lowest_line(clef) for clef in attributes.iterfind("clef") if clef.get("number", "1") == "1")
        lowest = next((letter for letter in clefs if letter is not None), self.lowest)
        written = replace(self, divisions=divisions or self.divisions, fifths=fifths, lowest=lowest)
        transpose = attributes.find("transpose")
        if transpose is None:
            return written
        return replace(written, letters=_letters_in(transpose), semitones=transposition_in(transpose))


def _lowest_line(clef: etree._Element) -> int | None:
    """The letter of the lowest line, ``None`` for a clef that names no pitch."""
    sign = (clef.findtext("sign") or "").strip()
    if sign not in _CLEFS:
        return None
    letter, usual = _CLEFS[sign]
    line, octaves = number_in(clef.findtext("line")) or usual, number_in(clef.findtext("clef-octave-change")) or 0
    return int(letter - 2 * (line - 1) + _OCTAVE[0] * octaves)


def _letters_in(transpose: etree._Element) -> int:
    """The letters by which ``<transpose>`` moves; those that its semitones usually mean where it does not say."""
    diatonic, octaves = number_in(transpose.findtext("diatonic")), number_in(transpose.findtext("octave-change")) or 0
    if diatonic is None:
        diatonic = (number_in(transpose.findtext("chromatic")) or Fraction(0)) * Fraction(*_OCTAVE)
    return round(diatonic) + _OCTAVE[0] * int(octaves)


def written_in(part: etree._Element) -> list[Written]:
    """What holds at the first note of every measure of a ``<part>``."""
    found: list[Written] = []
    now = Written()
    for measure in part.iterfind("measure"):
        opening = True
        for child in measure:
            if opening and child.tag in ("note", "backup", "forward"):
                found.append(now)
                opening = False
            elif child.tag == "attributes":
                now = now.changed(child)
        if opening:
            found.append(now)
    return found


def rewritten(pitch: Pitch, source: Written, reader: Written) -> Pitch:
    """A pitch that is written for one player as another one has to read it to sound the same."""
    letters, semitones = source.letters - reader.letters, source.semitones - reader.semitones
    return _spelled(pitch.letter + letters, pitch.midi + semitones)


def _spelled(letter: int, midi: int | Fraction) -> Pitch:
    """The pitch on that letter, or on the nearest one that needs no more than a double accidental."""
    natural = Pitch(LETTERS[letter % 7], 0, letter // 7)
    alter = midi - natural.midi
    if not -2 <= alter <= 2:
        return _spelled(letter + (1 if alter > 0 else -1), midi)
    return replace(natural, alter=alter)


def octaves_into(staff: Written, pitches: Iterable[Pitch]) -> int:
    """The octaves that bring written pitches into reach of a staff, or as near as may be: the fewest that do."""
    letters = [pitch.letter for pitch in pitches]
    low, high = staff.lowest - _LEDGER, staff.lowest + _STAFF + _LEDGER

    def outside(octaves: int) -> int:
        return sum(max(0, low - letter - 7 * octaves, letter + 7 * octaves - high) for letter in letters)

    return min(_OCTAVES, key=lambda octaves: (outside(octaves), abs(octaves), octaves))
