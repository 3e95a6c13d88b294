"""What single MusicXML elements mean: pitch, ties, printed fingering, metre, tempo, transposition, key."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from types import MappingProxyType

from lxml import etree

from analysis.fingering.frames.stops import THUMB, finger_in
from analysis.music import LETTERS, Pitch, PrintedFingering

_QUARTERS = {
    "breve": Fraction(8),
    "whole": Fraction(4),
    "half": Fraction(2),
    "quarter": Fraction(1),
    "eighth": Fraction(1, 2),
    "16th": Fraction(1, 4),
    "32nd": Fraction(1, 8),
}
_DECIMAL = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)", re.ASCII)
_NUMBER = re.compile(r"\d{1,9}(\.\d{1,9})?")
_MOST_FIFTHS = 14
# More than that is damaged, and would make of every sum a task of its own.
_MOST_DIGITS = 24
# MusicXML's octaves are 0 to 9; below them lies only the lowest octave of MIDI.
_OCTAVES = range(-1, 10)
_MOST_ALTER = 3
_MOST_BEATS = 1_000
_MOST_DOTS = 4
_MOST_SEMITONES = 96
_MOST_STRINGS = 99
_COURTESIES = ("cautionary", "editorial", "parentheses", "bracket")
# Less or more is no tempo, but a slip of the pen.
_LEAST_QUARTERS_A_MINUTE, _MOST_QUARTERS_A_MINUTE = 1, 10_000
# Signs that name the finger without a number.
FINGER_SIGNS = MappingProxyType({"open-string": 0, "thumb-position": THUMB})


@dataclass(frozen=True, slots=True)
class Metre:
    """A time signature: ``time`` as (beats, beat type) and the ``length`` of a full measure in quarter notes."""

    time: tuple[int, int]

    @property
    def length(self) -> Fraction:
        """Quarter notes in a full measure."""
        return Fraction(4 * self.time[0], self.time[1])


def number_in(text: str | None) -> Fraction | None:
    """The exact number an element holds, ``None`` when it holds none or one of too many digits.

    MusicXML writes numbers as XML Schema's decimals: no powers of ten (1e9), no fractions, no digits but 0 to 9.
    """
    text = (text or "").strip()
    return Fraction(text) if len(text) <= _MOST_DIGITS and _DECIMAL.fullmatch(text) else None


def pitch_in(element: etree._Element) -> Pitch | None:
    """The pitch of a ``<pitch>`` element, ``None`` when its step or octave is missing or it is none that sounds."""
    said = {str(child.tag): child.text or "" for child in element}
    return _pitch(said.get("step", ""), said.get("alter", "0"), said.get("octave", ""))


@lru_cache(maxsize=1024)
def _pitch(step: str, alter_text: str, octave_text: str) -> Pitch | None:
    """The pitch of three texts, worked out once for each; a score names the same few hundred all over."""
    step, alter, octave = step.strip(), number_in(alter_text), number_in(octave_text)
    if len(step) != 1 or step not in LETTERS or octave is None or octave.denominator != 1 or alter is None:
        return None
    if octave not in _OCTAVES or abs(alter) > _MOST_ALTER:
        return None
    return Pitch(step, int(alter) if alter.denominator == 1 else alter, int(octave))


def ties_of(note: etree._Element) -> frozenset[str]:
    """Which ties a note has, ``start`` and ``stop``: those that sound, or those that are drawn if it names no others.

    MusicXML keeps both; files now and then hold only one of the two.
    """
    sounding = {tie.get("type", "") for tie in note.iterfind("tie")}
    return frozenset(sounding or {tied.get("type", "") for tied in note.iterfind("notations/tied")})


def fingerings_of(note: etree._Element) -> Iterator[etree._Element]:
    """The ``<fingering>`` elements that name the finger of a bowed string player.

    Left out: other texts than 0 to 4 and T for the thumb, changes of finger on the note, and second choices.
    """
    for fingering in note.iterfind("notations/technical/fingering"):
        flags = (fingering.get("substitution"), fingering.get("alternate"))
        if "yes" not in flags and finger_in((fingering.text or "").strip()) is not None:
            yield fingering


def printed_fingering(note: etree._Element) -> PrintedFingering | None:
    """The fingering that stands at a note in the file, ``None`` when there is none."""
    digit = next(fingerings_of(note), None)
    finger = None if digit is None else finger_in((digit.text or "").strip())
    for sign, says in FINGER_SIGNS.items():
        if finger is None and note.find(f"notations/technical/{sign}") is not None:
            finger = says
    string = string_of(note)
    return None if finger is None and string is None else PrintedFingering(finger, string)


def string_of(note: etree._Element) -> int | None:
    """The string a note's ``<string>`` element names, counted from the highest; ``None`` when it names none."""
    number = number_in(note.findtext("notations/technical/string"))
    return int(number) if number is not None and number.denominator == 1 and 0 < number <= _MOST_STRINGS else None


def fifths_in(key: etree._Element) -> int | None:
    """The sharps (below 0 the flats) of a ``<key>`` element; ``None`` where it does not count them."""
    fifths = number_in(key.findtext("fifths"))
    if fifths is None or fifths.denominator != 1 or abs(fifths) > _MOST_FIFTHS:
        return None
    return int(fifths)


def is_courtesy(accidental: etree._Element) -> bool:
    """Whether an ``<accidental>`` is printed as a reminder, in brackets, or marked as one or as the editor's."""
    return any(accidental.get(name) == "yes" for name in _COURTESIES)


def metre_in(element: etree._Element) -> Metre | None:
    """The metre of a ``<time>`` element; ``None`` for music without measure and for what cannot be counted."""
    total, unit = Fraction(0), 1
    for beats, beat_type in zip(element.iterfind("beats"), element.iterfind("beat-type"), strict=False):
        counts = [number_in(count) for count in (beats.text or "").split("+")]
        kind = number_in(beat_type.text)
        if kind is None or kind.denominator != 1 or not 0 < kind <= _MOST_BEATS:
            return None
        unit = max(unit, int(kind))
        for count in counts:
            if count is None or count <= 0:
                return None
            total += count / kind
    beats_in_all = total * unit
    if not beats_in_all or beats_in_all.denominator != 1 or beats_in_all > _MOST_BEATS:
        return None
    return Metre((int(beats_in_all), unit))


def transposition_in(element: etree._Element) -> int:
    """Semitones that a ``<transpose>`` element adds to the written pitch to give the sounding one; 0 for too many."""
    chromatic = number_in(element.findtext("chromatic")) or Fraction(0)
    octaves = number_in(element.findtext("octave-change")) or Fraction(0)
    semitones = round(chromatic + 12 * octaves)
    return semitones if abs(semitones) <= _MOST_SEMITONES else 0


def metronome_tempo(element: etree._Element) -> float | None:
    """Quarter notes a minute that a ``<metronome>`` element states, ``None`` when it states none."""
    unit = _QUARTERS.get((element.findtext("beat-unit") or "").strip())
    found = _NUMBER.search(element.findtext("per-minute") or "")
    if unit is None or found is None:
        return None
    dots = min(sum(1 for _ in element.iterfind("beat-unit-dot")), _MOST_DOTS)
    return _tempo(Fraction(found.group()) * unit * (2 - Fraction(1, 2**dots)))


def sound_tempo(element: etree._Element) -> float | None:
    """Quarter notes a minute that a ``<sound>`` element sets, ``None`` when it sets none."""
    tempo = number_in(element.get("tempo"))
    return None if tempo is None else _tempo(tempo)


def _tempo(quarters: Fraction) -> float | None:
    return float(quarters) if _LEAST_QUARTERS_A_MINUTE <= quarters <= _MOST_QUARTERS_A_MINUTE else None
