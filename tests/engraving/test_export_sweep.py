"""Every quartet of the corpus marked at every note: the marks are all there, and all else is as it was."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from fractions import Fraction
from itertools import cycle
from pathlib import Path
from typing import Any

import pytest
import verovio
from lxml import etree

from analysis.music import Note, Part, PrintedFingering
from engraving.document import Document, open_document, read_document
from engraving.marks.files import write_marked
from engraving.marks.finger import Mark
from engraving.marks.writing import marked_bytes, marked_tree
from engraving.reading import read_score
from tests.amounts import sampled
from tests.engraving.comparing import canonical, without_marks
from tests.engraving.corpus import corpus_folder, quartet_names
from tests.engraving.schema import musicxml_schema, schema_errors

pytestmark = pytest.mark.sweep

_MEI = "{http://www.music-encoding.org/ns/mei}"
SOME = ["mozart/k80/movement2.mxl", "haydn/opus74no1/movement3.mxl", "mozart/k155/movement2.mxl"]


@pytest.fixture(scope="module")
def schema() -> etree.XMLSchema:
    return musicxml_schema()


def marks_everywhere(document: Document) -> Iterator[Mark]:
    """A mark at every note, the fingers and strings taking turns."""
    hands = cycle((finger, string) for finger in range(5) for string in (None, 1, 2, 3, 4))
    for part in read_score(document).parts:
        for note, (finger, string) in zip(part, hands, strict=False):
            yield Mark(note.id, finger, string)


@pytest.mark.parametrize("name", sampled(quartet_names(), first=2))
def test_an_export_is_the_original_and_the_marks(name: str, schema: etree.XMLSchema) -> None:
    document = open_document(corpus_folder() / name)
    original = etree.fromstring(document.source).getroottree()
    marks = list(marks_everywhere(document))
    tree = marked_tree(document, marks)
    assert canonical(without_marks(tree, original)) == canonical(original)
    data = marked_bytes(document, marks)
    again = read_document(data, name)
    assert again.tree.docinfo.doctype == original.docinfo.doctype
    assert again.tree.docinfo.encoding == original.docinfo.encoding
    printed = {note.id: note.printed for part in read_score(again).parts for note in part}
    assert printed == {mark.note_id: PrintedFingering(mark.finger, mark.string) for mark in marks}
    assert marked_bytes(again, marks) == data
    assert schema_errors(schema, data) == schema_errors(schema, document.source)


@pytest.mark.parametrize("name", SOME)
def test_the_engraver_finds_the_same_digits_at_the_same_notes(name: str) -> None:
    # The ids given while reading are made the file's own, so that they are in the export for the engraver to name.
    named = read_document(etree.tostring(open_document(corpus_folder() / name).tree), name)
    marks = list(marks_everywhere(named))
    toolkit = verovio.toolkit()
    assert toolkit.loadData(marked_bytes(named, marks).decode())
    mei = etree.fromstring(toolkit.getMEI().encode())
    found = {
        str(digit.get("startid")).removeprefix("#"): "".join(map(str, digit.itertext()))
        for digit in mei.iter(f"{_MEI}fing")
    }
    assert found == {mark.note_id: str(mark.finger) for mark in marks}


@pytest.mark.parametrize("name", SOME)
def test_music21_finds_the_same_digits_at_the_same_notes(name: str, tmp_path: Path) -> None:
    from music21 import converter

    document = open_document(corpus_folder() / name)
    marks = {mark.note_id: mark.finger for mark in marks_everywhere(document)}
    path = tmp_path / "marked.musicxml"
    write_marked(document, [Mark(note_id, finger) for note_id, finger in marks.items()], path)
    parsed = converter.parse(path, forceSource=True)
    for part, theirs in zip(read_score(document).parts, parsed.parts, strict=True):
        assert music21_digits(theirs) == our_digits(part, marks)


# The digits of a chord, sorted, at (measure, onset in it, lowest key): music21 keeps them at the chord, not its notes.
Digits = Counter[tuple[int, Fraction, int, tuple[int, ...]]]


def our_digits(part: Part, marks: Mapping[str, int]) -> Digits:
    chords: dict[str, list[Note]] = defaultdict(list)
    for note in part:
        chords[note.chord or note.id].append(note)
    return Counter(
        (
            notes[0].measure,
            notes[0].onset - part.measures[notes[0].measure].onset,
            min(int(note.pitch.midi) for note in notes),
            tuple(sorted(marks[note.id] for note in notes)),
        )
        for notes in chords.values()
    )


def music21_digits(part: Any) -> Digits:
    return Counter(
        (
            index,
            Fraction(sounding.getOffsetInHierarchy(measure)),
            min(pitch.midi for pitch in sounding.pitches),
            tuple(sorted(mark.fingerNumber for mark in sounding.articulations if "Fingering" in mark.classes)),
        )
        for index, measure in enumerate(part.getElementsByClass("Measure"))
        for sounding in measure.recurse().notes
    )
