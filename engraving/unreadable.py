"""What the engraver cannot take: damaged values that would end its process, or make it fill the memory.

It is native code that believes what it reads. All this is done to copies; the document keeps what its file says.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

from lxml import etree

from engraving.elements import number_in

_SHORTEST = 1024
_MOST_BEATS = 1_000
_MOST_DOTS = 4
_MOST_TIMES = 100
_ENDLESS = re.compile(r"\s*[-+]?[0-9.]{100,}\s*")
# Whole numbers by their element: the least, the most, and what stands in for a text that is none. They are the ranges
# of MusicXML 4.0's types (octave, staff-line, fifths, tremolo-marks ...), or else wide of all that is printed.
_RANGES: Mapping[str, tuple[int, int, int]] = MappingProxyType({
    "octave": (0, 9, 4), "display-octave": (0, 9, 4), "tuning-octave": (0, 9, 4),
    "staves": (1, 20, 1), "staff": (1, 20, 1), "staff-lines": (0, 20, 5), "line": (-20, 20, 2),
    "clef-octave-change": (-4, 4, 0), "octave-change": (-9, 9, 0), "chromatic": (-96, 96, 0), "diatonic": (-60, 60, 0),
    "fifths": (-14, 14, 0), "multiple-rest": (1, 1_000, 1), "measure-repeat": (0, 8, 0),
    "actual-notes": (1, 999, 1), "normal-notes": (1, 999, 1), "tuplet-number": (0, 999, 0), "tremolo": (0, 8, 3),
    "degree-value": (1, 99, 1),
})  # fmt: skip


def make_readable(part: etree._Element) -> None:
    """Put right in a copied ``<part>`` what the engraver divides by, counts up to or reserves room for."""
    for element in part.iter("*"):
        _shorten_numbers(element)
    for element in part.iter(*_RANGES):
        least, most, otherwise = _RANGES[str(element.tag)]
        value = number_in(element.text)
        if value is None or value.denominator != 1:
            element.text = str(otherwise)
        elif not least <= value <= most:
            element.text = str(max(least, min(most, int(value))))
    for time in list(part.iter("time")):
        if time.find("senza-misura") is None and not _counts_notes(time):
            _remove(time)
    for note in part.iter("note"):
        for dot in note.findall("dot")[_MOST_DOTS:]:
            note.remove(dot)
    _bound_repeats(part)


def make_ids_readable(score: etree._Element) -> None:
    """Give the parts of a copied score other ids where the engraver, which seeks them by XPath, would stumble."""
    parts = {part.get("id", ""): f"part-{number}" for number, part in enumerate(score.iterfind("part"), start=1)}
    for element in (*score.iterfind("part"), *score.iterfind("part-list//score-part")):
        own = element.get("id", "")
        if own in parts and not _is_plain(own):
            element.set("id", parts[own])


def _bound_repeats(part: etree._Element) -> None:
    """The engraver makes a list of as many entries as a repeat has times; it prints no number."""
    for repeat in part.iter("repeat"):
        times = number_in(repeat.get("times", "2"))
        if times is None or times.denominator != 1 or not 0 <= times <= _MOST_TIMES:
            del repeat.attrib["times"]


def _shorten_numbers(element: etree._Element) -> None:
    """Numbers of hundreds of digits are beyond all that native code reckons with; an id is none, whatever it says."""
    if element.text is not None and _ENDLESS.fullmatch(element.text):
        element.text = "1"
    for name, value in element.items():
        if name != "id" and _ENDLESS.fullmatch(str(value)):
            element.set(name, "1")


def _is_plain(own: str) -> bool:
    return len(own) <= 64 and own.isascii() and own.replace("-", "").replace("_", "").replace(".", "").isalnum()


def _counts_notes(time: etree._Element) -> bool:
    kinds = [number_in(kind.text) for kind in time.iterfind("beat-type")]
    counts = [number_in(count) for beats in time.iterfind("beats") for count in (beats.text or "").split("+")]
    return (
        bool(kinds)
        and all(kind is not None and kind in range(1, _SHORTEST + 1) for kind in kinds)
        and all(count is not None and 0 < count <= _MOST_BEATS for count in counts)
    )


def _remove(element: etree._Element) -> None:
    parent = element.getparent()
    if parent is not None:
        parent.remove(element)
