"""Witnesses of the same notes: our reading, the bare file, music21's reading, and the engraver's.

Each says of every note the same facts in its own way; the identity sweep confronts them with one another.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import verovio
from lxml import etree

from analysis.music import Part
from engraving.document import Document
from engraving.extract import part_for_engraving
from engraving.restruns import measure_span

_MEI = "{http://www.music-encoding.org/ns/mei}"
_ACCIDENTALS = {"n": 0, "s": 1, "f": -1, "x": 2, "ss": 2, "ff": -2}
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
    ties = heard_ties(element) or drawn_ties(element)
    pitch = (
        str(element.findtext("pitch/step")),
        Fraction(element.findtext("pitch/alter") or 0),
        int(element.findtext("pitch/octave") or 0),
    )
    voice = element.findtext("voice") or "1"
    grace = element.find("grace") is not None
    return Fact(measure, onset, duration, pitch, grace, "stop" in ties, "start" in ties, _chord_size(element), voice)


def _chord_size(element: etree._Element) -> int:
    """How many notes share the chord: back to the nearest note that is not marked as a member, and on from there."""
    first = element
    while first.find("chord") is not None:
        first = next(first.itersiblings("note", preceding=True))
    size = 1
    for follower in first.itersiblings("note", "backup", "forward"):
        if follower.find("chord") is None:
            break
        size += 1
    return size


def heard_ties(note: etree._Element) -> set[str]:
    """The kinds of its ``<tie>`` elements, which say how it sounds."""
    return {str(tie.get("type")) for tie in note.iterfind("tie")}


def drawn_ties(note: etree._Element) -> set[str]:
    """The kinds of its ``<tied>`` elements, which say what is drawn."""
    return {str(tied.get("type")) for tied in note.iterfind("notations/tied")}


def music21_score(document: Document) -> Any:
    """The document as music21 reads it, from its text."""
    from music21 import converter

    return converter.parseData(document.source.decode(document.tree.docinfo.encoding or "UTF-8"), format="musicxml")


def music21_parts(score: Any) -> dict[str, Any]:
    """music21's parts by name; a part of two staves becomes two there and is left out."""
    from music21 import stream

    return {
        " ".join(str(part.partName).split()): part for part in score.parts if not isinstance(part, stream.PartStaff)
    }


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
            if _is_hidden(sounding) or _is_hidden(note):
                continue
            tie = note.tie.type if note.tie else ""
            pitch = (note.pitch.step, Fraction(note.pitch.alter), note.pitch.octave)
            ties = (tie in ("stop", "continue"), tie in ("start", "continue"))
            yield Fact(measure, Fraction(sounding.offset), duration, pitch, grace, *ties, len(notes), name)


def music21_lengths(part: Any) -> list[Fraction]:
    """How far the visible notes and rests of each measure of a music21 part reach; nothing else there takes time.

    Hidden notes are left out: music21 moves those that follow a forward beyond the end of the measure.
    """
    from music21 import stream

    def end(sounding: Any, measure: Any) -> Fraction:
        return Fraction(sounding.getOffsetInHierarchy(measure)) + Fraction(sounding.duration.quarterLength)

    return [
        max((end(one, measure) for one in measure.recurse().notesAndRests if not _is_hidden(one)), default=Fraction(0))
        for measure in part.getElementsByClass(stream.Measure)
    ]


def _is_hidden(sounding: Any) -> bool:
    return bool(sounding.hasStyleInformation and sounding.style.hideObjectOnPrint)


@dataclass(frozen=True, slots=True)
class Engraved:
    """What the engraver's own data say of one note; ``place`` counts the notes and chords of its layer."""

    measure: int
    layer: str
    place: int
    onset: Fraction
    duration: Fraction
    pitch: tuple[str, Fraction, int]
    grace: bool
    chord: int


class EngravedPart:
    """A part as the engraver holds it: ``notes`` by id, and the ids at which a tie is drawn from and to."""

    def __init__(self, musicxml: str) -> None:
        verovio.enableLog(verovio.LOG_OFF)
        toolkit = verovio.toolkit()
        if not toolkit.loadData(musicxml):
            raise ValueError("the engraver does not read the part")
        mei = etree.fromstring(toolkit.getMEI().encode())
        self.notes: dict[str, Engraved] = {}
        for measure in mei.iter(f"{_MEI}measure"):
            for layer in measure.iter(f"{_MEI}layer"):
                self._measure = measure_span(str(measure.get(_XML_ID)))[0]
                self._layer, self._place = str(layer.get("n")), 0
                self._walk(layer, Fraction(0), Fraction(1))
        ties = list(mei.iter(f"{_MEI}tie"))
        self.tied_on = {str(tie.get("startid")).removeprefix("#") for tie in ties}
        self.tied_from = {str(tie.get("endid")).removeprefix("#") for tie in ties}

    def _walk(self, holder: etree._Element, now: Fraction, scale: Fraction) -> Fraction:
        """Note down what ``holder`` holds, from ``now`` on; written values count ``scale`` times. Returns the end."""
        for element in holder:
            match str(element.tag).removeprefix(_MEI):
                case "beam" | "graceGrp" | "bTrem":
                    now = self._walk(element, now, scale)
                case "fTrem":  # Both notes are written as long as the two last together.
                    now = self._walk(element, now, scale / 2)
                case "tuplet":
                    ratio = Fraction(int(element.get("numbase", "1")), int(element.get("num", "1")))
                    now = self._walk(element, now, scale * ratio)
                case "rest" | "space":
                    now += _written_value(element) * scale
                case "note" | "chord":
                    now += self._note_or_chord(element, now, scale)
        return now

    def _note_or_chord(self, element: etree._Element, now: Fraction, scale: Fraction) -> Fraction:
        grace = element.get("grace") is not None
        length = Fraction(0) if grace else _written_value(element) * scale
        members = list(element.iter(f"{_MEI}note"))
        for note in members:
            if note.get("visible") != "false":
                place = (self._measure, self._layer, self._place)
                fact = Engraved(*place, now, length, _mei_pitch(note), grace, len(members))
                self.notes[str(note.get(_XML_ID))] = fact
        self._place += 1
        return length


def engraved_part(document: Document, part_id: str) -> EngravedPart:
    """The part as it goes to the page."""
    return EngravedPart(part_for_engraving(document, part_id))


def _written_value(element: etree._Element) -> Fraction:
    value = element.get("dur")
    if value is None:
        return Fraction(0)
    plain = Fraction(8) if value == "breve" else Fraction(4, int(value))
    return plain * (2 - Fraction(1, 2 ** int(element.get("dots", "0"))))


def _mei_pitch(note: etree._Element) -> tuple[str, Fraction, int]:
    """Step, alteration and octave as they sound: under an octave line the staff shows another octave (oct.ges)."""
    written = note.find(f"{_MEI}accid")
    holders = [note] if written is None else [note, written]
    signs = [sign for name in ("accid.ges", "accid") for holder in holders if (sign := holder.get(name)) is not None]
    alter = _ACCIDENTALS[signs[0]] if signs else 0
    return str(note.get("pname")).upper(), Fraction(alter), int(note.get("oct.ges") or note.get("oct") or 0)
