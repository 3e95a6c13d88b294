"""The MusicXML of cue notes: what is left of a note of one part when it is printed small in another."""

from __future__ import annotations

import copy
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from itertools import pairwise
from types import MappingProxyType

from lxml import etree

from analysis.music import Pitch, altered_by
from engraving.elements import ties_of
from engraving.reading.partwalk import WalkedNote

_SIGNS = MappingProxyType({-2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp"})
_STEMLESS = ("whole", "breve", "long", "maxima")


@dataclass(frozen=True, slots=True)
class CueNote:
    """A note of the source; ``head`` begins its chord and has what is common to it; ``measure`` is an index.

    ``pitch`` is written for the source or, in the end, for the player who reads it. ``tied``: the ties that are kept,
    "start" and "stop".
    """

    note: WalkedNote
    head: WalkedNote
    measure: int
    pitch: Pitch
    tied: tuple[str, ...] = ()

    @property
    def end(self) -> Fraction:
        """When it ends, in quarter notes from the start of its measure."""
        return self.note.onset + self.note.duration


@dataclass(frozen=True, slots=True)
class Place:
    """Where cue notes go: voice and, where the part has several, staff; ``divisions`` of a quarter note."""

    voice: str
    staff: str | None
    divisions: Fraction


@dataclass(slots=True)
class Accidentals:
    """The accidentals of one measure in a key of so many ``fifths``."""

    fifths: int
    in_force: dict[int, int | Fraction] = field(default_factory=dict)

    def sign(self, one: CueNote) -> str:
        """The accidental to print before a note, "" for none; for quarter tones that of the source."""
        pitch = one.pitch
        usual = altered_by(self.fifths, pitch.step)
        if "stop" in one.tied or self.in_force.get(pitch.letter, usual) == pitch.alter:
            return ""
        self.in_force[pitch.letter] = pitch.alter
        if pitch.alter == int(pitch.alter):
            return _SIGNS.get(int(pitch.alter), "")
        return (one.note.element.findtext("accidental") or "").strip()


def lasting_marks(heads: Sequence[WalkedNote]) -> frozenset[etree._Element]:
    """The slurs and tuplets that begin and end among these notes: both their ends."""
    kept: set[etree._Element] = set()
    for kind in ("slur", "tuplet"):
        begun: dict[str, etree._Element] = {}
        for head in heads:
            ends = sorted(head.notations.get(kind, ()), key=lambda end: end.get("type") == "start")
            for end in ends:
                number = end.get("number", "1")
                if end.get("type") == "start":
                    begun[number] = end
                elif end.get("type") == "stop" and number in begun:
                    kept.update((begun.pop(number), end))
    return frozenset(kept)


def tied_together(notes: Sequence[CueNote]) -> list[CueNote]:
    """The notes with the ties that lead from one of them to the next."""
    kept: list[list[str]] = [[] for _ in notes]
    for number, (one, other) in enumerate(pairwise(notes)):
        is_same = one.pitch == other.pitch
        if is_same and "start" in ties_of(one.note.element) and "stop" in ties_of(other.note.element):
            kept[number].append("start")
            kept[number + 1].insert(0, "stop")
    return [replace(one, tied=tuple(ties)) for one, ties in zip(notes, kept, strict=True)]


def cue_note(one: CueNote, sign: str, place: Place, marks: frozenset[etree._Element], note_id: str) -> etree._Element:
    """One small note, stem up. Of the slurs and tuplets at it only ``marks`` are kept."""
    note = etree.Element("note", id=note_id)
    etree.SubElement(note, "cue")
    _add_pitch(note, one.pitch)
    _add_value(note, one.note, one.note.element, place)
    if sign:
        etree.SubElement(note, "accidental").text = sign
    _copy(note, one.head.element, "time-modification")
    if note.findtext("type") not in _STEMLESS:
        etree.SubElement(note, "stem").text = "up"
    _add_text(note, "staff", place.staff)
    for beam in one.head.element.iterfind("beam"):
        etree.SubElement(note, "beam", number=beam.get("number", "1")).text = beam.text
    _add_notations(note, one, marks)
    return note


def cue_rest(rest: WalkedNote, place: Place) -> etree._Element:
    """A small rest between cue notes."""
    note = etree.Element("note")
    etree.SubElement(note, "cue")
    etree.SubElement(note, "rest")
    _add_value(note, rest, rest.element, place)
    _copy(note, rest.element, "time-modification")
    _add_text(note, "staff", place.staff)
    return note


def moved_by(tag: str, quarters: Fraction, place: Place) -> etree._Element:
    """A ``forward`` or ``backup`` of so many quarter notes."""
    element = etree.Element(tag)
    etree.SubElement(element, "duration").text = in_divisions(quarters * place.divisions)
    if tag == "forward":
        _add_text(element, "voice", place.voice)
        _add_text(element, "staff", place.staff)
    return element


def name_over(name: str, place: Place) -> etree._Element:
    """The name of the part that plays, small and in italics, over what follows."""
    direction = etree.Element("direction", placement="above")
    kind = etree.SubElement(direction, "direction-type")
    etree.SubElement(kind, "words", {"font-style": "italic", "font-size": "small"}).text = name
    _add_text(direction, "voice", place.voice)
    _add_text(direction, "staff", place.staff)
    return direction


def in_divisions(number: Fraction) -> str:
    """A number as a MusicXML decimal."""
    return str(number) if number.denominator == 1 else f"{float(number):.9g}"


def _add_pitch(note: etree._Element, pitch: Pitch) -> None:
    element = etree.SubElement(note, "pitch")
    etree.SubElement(element, "step").text = pitch.step
    if pitch.alter:
        etree.SubElement(element, "alter").text = f"{float(pitch.alter):g}"
    etree.SubElement(element, "octave").text = str(pitch.octave)


def _add_value(note: etree._Element, timed: WalkedNote, written: etree._Element, place: Place) -> None:
    etree.SubElement(note, "duration").text = in_divisions(timed.duration * place.divisions)
    _add_text(note, "voice", place.voice)
    value = written.findtext("type")
    if value is not None:
        etree.SubElement(note, "type", size="cue").text = value
    for _ in written.iterfind("dot"):
        etree.SubElement(note, "dot")


def _add_notations(note: etree._Element, one: CueNote, marks: frozenset[etree._Element]) -> None:
    own = (mark for kind in ("slur", "tuplet") for mark in one.head.notations.get(kind, ()) if mark in marks)
    found = [etree.Element("tied", type=tie) for tie in one.tied] + [_mark(mark) for mark in own]
    if found:
        etree.SubElement(note, "notations").extend(found)


def _mark(mark: etree._Element) -> etree._Element:
    """A slur or tuplet without the place and the id it has in its own part."""
    kept = ("type", "number", "bracket", "show-number", "line-type")
    twin = etree.Element(mark.tag, {name: str(mark.get(name)) for name in kept if mark.get(name) is not None})
    twin.extend(copy.deepcopy(child) for child in mark)
    return twin


def _copy(note: etree._Element, written: etree._Element, tag: str) -> None:
    found = written.find(tag)
    if found is not None:
        twin = copy.deepcopy(found)
        twin.tail = None
        note.append(twin)


def _add_text(parent: etree._Element, tag: str, text: str | None) -> None:
    if text is not None:
        etree.SubElement(parent, tag).text = text
