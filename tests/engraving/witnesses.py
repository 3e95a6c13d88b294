"""Four witnesses of the same notes: the bare file, our reading, music21's reading, and the engraver's.

Each says of every note the same facts in its own way; the identity sweep lets them confront one another.
"""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any

import verovio
from lxml import etree

from analysis.music import Part
from engraving.document import Document
from engraving.extract import part_for_engraving

_MEI = "{http://www.music-encoding.org/ns/mei}"
_XML_ID = "{http://www.w3.org/XML/1998/namespace}id"


@dataclass(frozen=True, slots=True)
class Fact:
    """What is said of one note; ``onset`` from the start of its measure, ``chord`` how many notes its chord has."""

    measure: int
    onset: Fraction
    duration: Fraction
    pitch: tuple[str, Fraction, int]
    grace: bool
    tied_from: bool
    tied_on: bool
    chord: int
    voice: str


def facts_of_part(part: Part) -> dict[str, Fact]:
    """What our reading says, by note id."""
    sizes = Counter(note.chord for note in part)
    return {
        note.id: Fact(
            note.measure,
            note.onset - part.measures[note.measure].onset,
            note.duration,
            (note.pitch.step, Fraction(note.pitch.alter), note.pitch.octave),
            note.grace,
            note.tied_from,
            note.tied_on,
            1 if note.chord is None else sizes[note.chord],
            note.voice,
        )
        for note in part
    }


def facts_of_file(document: Document, part_id: str) -> dict[str, Fact]:
    """What the bare elements say, by note id: counted in whole divisions, without any of our reading."""
    found: dict[str, Fact] = {}
    divisions = 1
    part = next(part for part in document.tree.iterfind("part") if part.get("id") == part_id)
    for index, measure in enumerate(part.iterfind("measure")):
        now = last = 0
        for element in measure:
            divisions = int(element.findtext("divisions") or divisions) if element.tag == "attributes" else divisions
            length = int(element.findtext("duration") or 0)
            if element.tag == "backup":
                now -= length
            elif element.tag == "forward":
                now += length
            elif element.tag == "note":
                in_chord = element.find("chord") is not None
                last = last if in_chord else now
                now += 0 if in_chord else length
                if element.find("pitch") is not None and element.get("print-object") != "no":
                    onset, duration = Fraction(last, divisions), Fraction(length, divisions)
                    found[str(element.get("id"))] = _fact_of_element(element, index, onset, duration)
    return found


def _fact_of_element(element: etree._Element, measure: int, onset: Fraction, duration: Fraction) -> Fact:
    ties = element.xpath("tie/@type") or element.xpath("notations/tied/@type")
    pitch = (
        str(element.findtext("pitch/step")),
        Fraction(element.findtext("pitch/alter") or 0),
        int(element.findtext("pitch/octave") or 0),
    )
    # A chord begins at the nearest note before its members that is not marked as one, and ends before the next such.
    before = element.xpath("preceding-sibling::note[not(chord)][1]") if element.find("chord") is not None else [element]
    mates = 1
    for follower in before[0].itersiblings("note", "backup", "forward"):
        if follower.find("chord") is None:
            break
        mates += 1
    voice = element.findtext("voice") or "1"
    grace = element.find("grace") is not None
    return Fact(measure, onset, duration, pitch, grace, "stop" in ties, "start" in ties, mates, voice)


def music21_score(document: Document) -> Any:
    """The document as music21 reads it, from its text."""
    from music21 import converter

    return converter.parseData(document.source.decode(document.tree.docinfo.encoding or "UTF-8"), format="musicxml")


def music21_parts(score: Any) -> dict[str, Any]:
    """music21's parts by name; a part of two staves becomes two there and is left out."""
    from music21 import stream

    return {str(part.partName): part for part in score.parts if not isinstance(part, stream.PartStaff)}


def facts_of_music21(part: Any) -> list[Fact]:
    """What music21 says of one of its parts; it keeps no ids. The voice is empty where a measure has but one."""
    from music21 import stream

    return [
        fact
        for index, measure in enumerate(part.getElementsByClass(stream.Measure))
        for voice in (list(measure.voices) or [measure])
        for fact in _music21_voice(voice, index, "" if voice is measure else str(voice.id))
    ]


def _music21_voice(voice: Any, measure: int, name: str) -> Iterator[Fact]:
    for sounding in voice.notes:
        notes = sounding.notes if sounding.isChord else (sounding,)
        grace = sounding.duration.isGrace
        duration = Fraction(0) if grace else Fraction(sounding.duration.quarterLength)
        for note in notes:
            if any(one.hasStyleInformation and one.style.hideObjectOnPrint for one in (sounding, note)):
                continue
            tie = note.tie.type if note.tie else ""
            pitch = (note.pitch.step, Fraction(note.pitch.alter), note.pitch.octave)
            ties = (tie in ("stop", "continue"), tie in ("start", "continue"))
            yield Fact(measure, Fraction(sounding.offset), duration, pitch, grace, *ties, len(notes), name)


def music21_lengths(part: Any) -> list[Fraction]:
    """How far the notes and rests of each measure of a music21 part reach; what else stands there takes no time."""
    from music21 import stream

    return [
        max((Fraction(one.getOffsetInHierarchy(measure)) + Fraction(one.duration.quarterLength)
             for one in measure.recurse().notesAndRests), default=Fraction(0))
        for measure in part.getElementsByClass(stream.Measure)
    ]  # fmt: skip
