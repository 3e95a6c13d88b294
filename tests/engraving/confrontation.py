"""The witnesses of one corpus file confronted: every sentence returned is a disagreement that nothing explains.

What is known to differ is listed below, narrowly, each with its reason; music21 and the file decide who is right.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from lxml import etree

from analysis.music import Part, Score
from engraving.document import Document, open_document
from engraving.engraver import engrave
from engraving.extract import part_for_engraving
from engraving.layout import A4
from engraving.reading import read_score
from tests.engraving.corpus import corpus_folder
from tests.engraving.witnesses import (
    Fact,
    drawn_ties,
    engraved_part,
    facts_of_file,
    facts_of_music21,
    facts_of_part,
    heard_ties,
    music21_lengths,
    music21_parts,
    music21_score,
)

STRINGS = re.compile(r"viol|cello", re.IGNORECASE)

# Notes whose written value is not the duration the file gives. The engraver spaces by the value; time is the duration.
WRITTEN_OTHERWISE = {
    # Triplets with a time-modification but without <tuplet>: the engraver reads plain eighths.
    "beethoven/opus59no1/movement1.mxl": 723,
    # Triplets counted as 341, 342 and 341 parts of 1024.
    "beethoven/opus59no2/movement2.mxl": 611,
    # One part counts 17 divisions a quarter note, so that a dotted quarter is 25 of them.
    "schumann_robert/opus41no1/movement1.mxl": 1004,
    # Long notes without any <type>.
    "schumann_robert/opus41no1/movement4.mxl": 37,
    # Grace notes that begin a tuplet of their own, or two tuplets under one beam: the engraver nests the tuplets.
    "beethoven/opus18no5.mxl": 12,
    "beethoven/opus59no1/movement3.mxl": 3,
    "beethoven/opus74.mxl": 3,
    "mozart/k458/movement3.mxl": 3,
    "mozart/k80/movement1.mxl": 3,
    "schumann_clara/opus17/movement3.xml": 2,
    # A dotted 16th that lasts an eighth.
    "beethoven/opus18no1/movement1.mxl": 1,
}
# Measures in which the file goes on with a voice without going back: the engraver puts two voices into one layer.
TWO_VOICES_IN_A_LAYER = {
    "beethoven/opus132.mxl": 6,
    "beethoven/opus18no4.mxl": 1,
    "schumann_robert/opus41no1/movement5.mxl": 7,
}
# A grace note with the end of a tie that begins nowhere; the engraver draws nothing.
TIES_FROM_NOWHERE = {"beethoven/opus59no1/movement2.mxl": 1}


def confront(name: str) -> tuple[int, list[str]]:
    """How many notes of string parts the file has, and what its witnesses disagree about."""
    document = open_document(corpus_folder() / name)
    score = read_score(document)
    parts = [part for part in score.parts if STRINGS.search(part.name)]
    quarrels = [*_with_music21(document, score, parts), *_with_page(document, parts, name)]
    for part in parts:
        quarrels += [f"{part.name}: {quarrel}" for quarrel in _with_file(document, part)]
    return sum(len(part.notes) for part in parts), quarrels


def _with_file(document: Document, part: Part) -> Iterator[str]:
    """Our reading says what the elements say, and marks the end of a tie only where a tie leads."""
    read, bare = facts_of_part(part), facts_of_file(document, part.id)
    if list(read) != list(bare):
        yield f"other notes than in the file: {sorted(read.keys() ^ bare.keys())[:5]}"
        return
    tied = {(note.onset + note.duration, note.pitch.midi) for note in part if note.tied_on}
    for note in part:
        fact, other = read[note.id], bare[note.id]
        if fact != other and not (fact == replace(other, tied_from=True) and (note.onset, note.pitch.midi) in tied):
            yield f"{note.id} is read as {fact} but written as {other}"


def _with_music21(document: Document, score: Score, parts: list[Part]) -> Iterator[str]:
    theirs = music21_score(document)
    by_name = music21_parts(theirs)
    for part in parts:
        other = by_name[part.name]
        found = Counter(facts_of_music21(other))
        for fact in _as_music21_says(document, part, {(fact.measure, fact.voice) for fact in found}):
            found[fact] -= 1
        if any(found.values()):
            yield f"{part.name}: music21 differs: {[item for item in found.items() if item[1]][:3]}"
    yield from _lengths(score, [music21_lengths(part) for part in theirs.parts], _ending_in_silence(document))


def _as_music21_says(document: Document, part: Part, voices: set[tuple[int, str]]) -> Iterator[Fact]:
    """The part's facts as far as music21 goes: it hears no tie that is only drawn, and infers no end of a tie.

    It names voices only in measures that have several.
    """
    elements = {note.get("id"): note for note in document.tree.iter("note")}
    for note_id, fact in facts_of_part(part).items():
        heard = heard_ties(elements[note_id])
        named = fact.voice if (fact.measure, "") not in voices else ""
        yield replace(fact, tied_from="stop" in heard, tied_on="start" in heard, voice=named)


def _ending_in_silence(document: Document) -> set[int]:
    """The measures that some part fills up with a ``<forward>``, whose time music21 does not count."""
    found = set()
    for part in document.tree.iterfind("part"):
        for index, measure in enumerate(part.iterfind("measure")):
            moving = [element for element in measure if element.tag in ("note", "backup", "forward")]
            if moving and moving[-1].tag == "forward" and moving[-1].findtext("duration") != "0":
                found.add(index)
    return found


def _lengths(score: Score, theirs: list[list[Fraction]], ending_in_silence: set[int]) -> Iterator[str]:
    """A measure lasts in all parts as long as the longest of them makes it, and all begin it together."""
    now = Fraction(0)
    for index, measure in enumerate(score.parts[0].measures):
        longest = max(lengths[index] for lengths in theirs)
        if longest != measure.length and index not in ending_in_silence:
            yield f"measure {measure.label} lasts {measure.length}, in music21 {longest}"
        if {part.measures[index].onset for part in score.parts} != {now}:
            yield f"measure {measure.label} does not begin at {now} in every part"
        now += measure.length


def _with_page(document: Document, parts: list[Part], name: str) -> Iterator[str]:
    elements = {str(note.get("id")): note for note in document.tree.iter("note")}
    found = Counter[str]()
    for part in parts:
        for quarrel in _with_engraver(document, part, elements, found):
            yield f"{part.name}: {quarrel}"
        pages = engrave(part_for_engraving(document, part.id), A4)
        drawn = Counter(note_id for page in pages for note_id in page.map.notes)
        seen = {note_id: times for note_id, times in drawn.items() if elements[note_id].get("print-object") != "no"}
        if seen != {note.id: 1 for note in part}:
            yield f"{part.name}: not every note is on the pages once"
    for kind, known in (
        ("written otherwise", WRITTEN_OTHERWISE),
        ("two voices in a layer", TWO_VOICES_IN_A_LAYER),
        ("ties from nowhere", TIES_FROM_NOWHERE),
    ):
        if found[kind] != known.get(name, 0):
            yield f"{kind}: {found[kind]}, known are {known.get(name, 0)}"


def _with_engraver(
    document: Document, part: Part, elements: dict[str, etree._Element], found: Counter[str]
) -> Iterator[str]:
    """The engraver holds the same notes; what it may hold otherwise is counted in ``found``."""
    read, engraved = facts_of_part(part), engraved_part(document, part.id)
    if read.keys() != engraved.notes.keys():
        yield f"the engraver has other notes: {sorted(read.keys() ^ engraved.notes.keys())[:5]}"
        return
    layers: dict[tuple[int, str], list[str]] = {}
    for note_id, other in engraved.notes.items():
        fact, ties = read[note_id], drawn_ties(elements[note_id])
        layers.setdefault((other.measure, other.layer), []).append(note_id)
        found["written otherwise"] += fact.duration != other.duration
        if (fact.measure, fact.pitch, fact.grace, fact.chord) != (other.measure, other.pitch, other.grace, other.chord):
            yield f"{note_id} is {fact}, on the page {other}"
        if ("start" in ties) != (note_id in engraved.tied_on):
            yield f"{note_id}: a tie on is in one of file and page"
        found["ties from nowhere"] += ("stop" in ties) != (note_id in engraved.tied_from)
    for place, ids in layers.items():
        if len({read[note_id].voice for note_id in ids}) > 1:
            found["two voices in a layer"] += 1
        elif all(read[note_id].duration == engraved.notes[note_id].duration for note_id in ids):
            if any(read[note_id].onset != engraved.notes[note_id].onset for note_id in ids):
                yield f"measure {place[0]}: the page gives other onsets"
        elif [read[note_id].onset for note_id in ids] != sorted(read[note_id].onset for note_id in ids):
            yield f"measure {place[0]}: the page has another order"
