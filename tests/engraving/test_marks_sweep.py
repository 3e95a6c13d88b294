"""The teacher's marks, of every kind and at random, in string scores of the corpus: nothing else is touched."""

from __future__ import annotations

import pytest
from lxml import etree

from engraving.document import Document, open_document, read_document
from engraving.marks.teacher import MARK_KINDS, TeacherMark
from engraving.marks.writing import marked_bytes, marked_tree
from engraving.reading import read_score
from tests.amounts import sampled
from tests.engraving.comparing import canonical
from tests.engraving.corpus import corpus_folder, string_score_names
from tests.engraving.pencilled import COLOUR, coloured, random_marks, without_colour
from tests.engraving.schema import musicxml_schema, schema_errors

pytestmark = pytest.mark.sweep


@pytest.fixture(scope="module")
def schema() -> etree.XMLSchema:
    return musicxml_schema()


def marks_all_over(document: Document) -> list[TeacherMark]:
    return [mark for seed, part in enumerate(read_score(document).parts) for mark in random_marks(part, seed)]


@pytest.mark.parametrize("name", sampled(string_score_names()))
def test_an_export_is_the_original_and_the_teachers_marks(name: str, schema: etree.XMLSchema) -> None:
    document = open_document(corpus_folder() / name)
    original = etree.fromstring(document.source).getroottree()
    marks = marks_all_over(document)
    assert {mark.kind for mark in marks} == set(MARK_KINDS)
    tree = marked_tree(document, [], marks, colour=COLOUR)
    assert sum(1 for _ in coloured(tree)) > len(marks)
    assert canonical(without_colour(tree, original)) == canonical(original)

    data = marked_bytes(document, [], marks)
    for sign in coloured(tree):
        del sign.attrib["color"]
    assert canonical(etree.fromstring(data).getroottree()) == canonical(tree)
    assert schema_errors(schema, data) == schema_errors(schema, document.source)
    again = read_document(data, name)
    assert marked_bytes(again, [], marks) == data
    assert music(again) == music(document)


def music(document: Document) -> list[list[tuple[object, ...]]]:
    """What sounds, note by note."""
    return [
        [(n.id, n.pitch, n.onset, n.duration, n.voice, n.chord, n.grace, n.tied_from, n.tied_on) for n in part]
        for part in read_score(document).parts
    ]
