"""Note values (``type`` and ``dot``) that a file leaves out, found from the durations.

MusicXML 4.0 does not ask for them; the engraver draws a black head without a stem where there is none.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from fractions import Fraction
from types import MappingProxyType

from lxml import etree

from engraving.elements import number_in

# MusicXML 4.0's note-type-value without its two longest, which no one prints.
_NAMES = ("breve", "whole", "half", "quarter", "eighth", "16th", "32nd", "64th", "128th", "256th", "512th", "1024th")
_MOST_DOTS = 2
_BEFORE_TYPE = frozenset(
    (
        "grace",
        "cue",
        "chord",
        "pitch",
        "unpitched",
        "rest",
        "duration",
        "tie",
        "instrument",
        "footnote",
        "level",
        "voice",
    )
)


def _lengths() -> Iterator[tuple[Fraction, tuple[str, int]]]:
    """Every plain value by its length in quarter notes."""
    for number, name in enumerate(_NAMES):
        for dots in range(_MOST_DOTS + 1):
            yield Fraction(8, 2**number) * (2 - Fraction(1, 2**dots)), (name, dots)


_VALUES: Mapping[Fraction, tuple[str, int]] = MappingProxyType(dict(_lengths()))


def put_in_values(part: etree._Element) -> None:
    """Give the notes and rests of a copied ``<part>`` the values they lack; what is no plain value stays as it is."""
    divisions = Fraction(1)
    for measure in part.iterfind("measure"):
        voices = Counter(note.findtext("voice", "1") for note in measure.iterfind("note"))
        for element in measure.iter("divisions", "note"):
            if element.tag == "divisions":
                divisions = number_in(element.text) or divisions
            elif _lacks_value(element) and not _is_alone(element, voices):
                _put_in_value(element, (number_in(element.findtext("duration")) or Fraction(0)) / divisions)


def _lacks_value(note: etree._Element) -> bool:
    return note.find("type") is None and note.find("grace") is None


def _is_alone(note: etree._Element, voices: Mapping[str, int]) -> bool:
    """A rest that fills its measure: the engraver draws it as a whole one, however long the measure is."""
    return note.find("rest") is not None and voices[note.findtext("voice", "1")] == 1


def put_in_type(note: etree._Element, name: str, dots: int = 0) -> None:
    """Write the value of a note that has none."""
    at = sum(1 for child in note if child.tag in _BEFORE_TYPE)
    value = etree.Element("type")
    value.text = name
    for dot in note.findall("dot"):
        note.remove(dot)
    for child in (*(etree.Element("dot") for _ in range(dots)), value):
        note.insert(at, child)


def _put_in_value(note: etree._Element, quarters: Fraction) -> None:
    value = _VALUES.get(quarters * _ratio(note))
    if value is not None:
        put_in_type(note, *value)


def _ratio(note: etree._Element) -> Fraction:
    """How many times as long as it sounds a note is written: half as long again in a triplet."""
    actual = number_in(note.findtext("time-modification/actual-notes"))
    normal = number_in(note.findtext("time-modification/normal-notes"))
    return actual / normal if actual and normal else Fraction(1)
