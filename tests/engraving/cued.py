"""Small scores with a part that waits for another one, and what of a cue stands in the engraver's text."""

from __future__ import annotations

from pathlib import Path

from lxml import etree

from analysis.cues import cues_of
from engraving.document import Document, read_document
from engraving.extract import part_for_engraving
from engraving.reading import read_score
from tests.scores import full_score, part

EXAMPLE = Path(__file__).parents[2] / "examples" / "three-crossings.musicxml"

REST = "r/4 | r | r | r | r | r"
BEFORE = "D5/4 | D5 | D5 | D5 | D5"


def two(reader: str, source: str, name: str = "Viola", *, key: int = 0, source_name: str = "Violin I") -> Document:
    """A part that waits, and the one that plays meanwhile."""
    parts = full_score(part(name, "4/4", reader, key=key), part(source_name, "4/4", source, key=key))
    # music21 falls over a change of octave that does not say how many letters are left.
    return read_document(parts.replace(b"<chromatic>0", b"<diatonic>0</diatonic><chromatic>0"), "tune.xml")


def with_cues(document: Document, part_id: str = "P1", least_rest: int = 6) -> str:
    score = read_score(document)
    reader = next(one for one in score.parts if one.id == part_id)
    cues = cues_of(score, reader, least_rest)
    assert cues
    return part_for_engraving(document, part_id, cues=cues)


def written(text: str) -> etree._Element:
    found = etree.fromstring(text).find("part")
    assert found is not None
    return found


def cue_notes(text: str) -> list[etree._Element]:
    return [
        note for note in written(text).iter("note") if note.find("cue") is not None and note.find("pitch") is not None
    ]


def names(notes: list[etree._Element]) -> list[str]:
    """Step, accidental sign (in brackets where it is printed) and octave."""
    found = []
    for note in notes:
        sign, alter = note.findtext("accidental"), int(note.findtext("pitch/alter") or 0)
        altered = {-2: "bb", -1: "b", 0: "", 1: "#", 2: "##"}[alter]
        step, octave = note.findtext("pitch/step"), note.findtext("pitch/octave")
        found.append(f"{step}{altered}{octave}" + (f"[{sign}]" if sign else ""))
    return found
