"""Scores ordered by measures: the same music as ordered by parts."""

from __future__ import annotations

import pytest
from lxml import etree

from engraving.document import read_document
from engraving.errors import ScoreFileError
from engraving.reading import read_score
from tests.engraving.comparing import canonical
from tests.engraving.schema import musicxml_schema, schema_errors
from tests.scores import full_score, part

DUET = full_score(
    part("Violin", "4/4", "D5/1^2 (E5 F#5) G5 | A5/4 | r/4", key=2),
    part("Viola", "4/4", "D4/4 | E4 | F4"),
    title="Duet",
)


def timewise(data: bytes) -> bytes:
    """The same score ordered by measures; MusicXML 4.0 gives both orders the same content."""
    old = etree.fromstring(data)
    score = etree.Element("score-timewise", dict(old.attrib))
    score.extend([child for child in old if child.tag != "part"])
    parts = old.findall("part")
    for measures in zip(*(one.findall("measure") for one in parts), strict=True):
        measure = etree.SubElement(score, "measure", dict(measures[0].attrib))
        for one, mine in zip(parts, measures, strict=True):
            etree.SubElement(measure, "part", id=one.get("id")).extend(list(mine))
    return etree.tostring(score)


def test_it_is_the_score_ordered_by_parts() -> None:
    document = read_document(timewise(DUET), "duet.xml")
    assert canonical(etree.fromstring(document.source).getroottree()) == canonical(etree.fromstring(DUET).getroottree())
    assert read_score(document) == read_score(read_document(DUET, "duet.xml"))


def test_it_is_valid_by_the_schema() -> None:
    assert not schema_errors(musicxml_schema(), read_document(timewise(DUET), "duet.xml").source)


def test_it_is_said_that_the_order_is_another() -> None:
    assert read_document(timewise(DUET), "duet.xml").remarks == (
        "duet.xml was ordered by measures (score-timewise); it is kept ordered by parts",
    )
    assert read_document(DUET, "duet.xml").remarks == ()


def test_what_is_kept_opens_without_being_put_in_order_again() -> None:
    once = read_document(timewise(DUET), "duet.xml")
    again = read_document(once.source, "duet.xml")
    assert again.source == once.source
    assert again.remarks == ()


def test_a_measure_without_a_part_leaves_the_parts_together() -> None:
    tree = etree.fromstring(timewise(DUET))
    first, second = tree.findall("measure")[1].findall("part")
    first.getparent().remove(first)
    violin, viola = read_score(read_document(etree.tostring(tree), "duet.xml")).parts
    assert [len(part.measures) for part in (violin, viola)] == [3, 3]
    assert [note.onset for note in viola] == [0, 4, 8]
    assert [note.pitch.name for note in violin] == ["D5", "E5", "F#5", "G5"]
    assert second.get("id") == "P2"


def test_an_id_of_a_measure_stays_one_elements_own() -> None:
    data = timewise(DUET).replace(b'<measure number="1"', b'<measure id="first" number="1"')
    tree = read_document(data, "duet.xml").tree
    assert [part.find("measure").get("id") for part in tree.iterfind("part")] == ["first", None]


def test_two_parts_of_one_id_in_a_measure_are_refused() -> None:
    data = timewise(DUET).replace(b'id="P2"><attributes>', b'id="P1"><attributes>')
    with pytest.raises(ScoreFileError, match=r"^duet\.xml, measure 1: two parts share the id P1"):
        read_document(data, "duet.xml")


def test_an_encoding_is_kept() -> None:
    text = b'<?xml version="1.0" encoding="ISO-8859-1"?>' + timewise(DUET).replace(b"Duet", b"\xc9t\xfcde")
    document = read_document(text, "duet.xml")
    assert read_score(document).title == "Étüde"
    assert document.tree.docinfo.encoding == "ISO-8859-1"
