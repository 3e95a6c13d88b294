"""What holds for all players stands in every part that is taken out of a score, and nothing else does."""

from __future__ import annotations

import pytest
from lxml import etree

from engraving.document import open_document, read_document
from engraving.engraver import engrave
from engraving.extract import part_for_engraving
from engraving.layout import A4
from engraving.placing import Wanted, place
from tests.engraving.corpus import corpus_folder
from tests.engraving.pages import METRICS
from tests.engraving.schema import musicxml_schema, schema_errors
from tests.scores import full_score, part

BARS = "D5/1 E5 F5 G5 | A5/4 | G5/4"


def direction(content: str, more: str = "", **attributes: str) -> bytes:
    said = "".join(f' {name}="{value}"' for name, value in attributes.items())
    return f"<direction{said}><direction-type>{content}</direction-type>{more}</direction>".encode()


def second(first_says: bytes, *, measure: int = 1, upper: str = BARS, lower: str = BARS) -> etree._Element:
    """The second part of a score, taken out of it, when that direction opens a measure of the first."""
    data = full_score(part("Violin I", "4/4", upper), part("Violin II", "4/4", lower))
    head, _, tail = data.partition(b'<part id="P1">')
    pieces = tail.split(b"<note")
    before = [0, 4, 5][measure - 1]
    pieces[before] += first_says
    return etree.fromstring(
        part_for_engraving(read_document(head + b'<part id="P1">' + b"<note".join(pieces), "two.xml"), "P2")
    )


def said(score: etree._Element, measure: int = 1) -> list[str]:
    found = score.findall(f"part/measure[{measure}]/direction/direction-type/*")
    return [" ".join("".join(one.itertext()).split()) for one in found]


METRONOME = "<metronome><beat-unit>quarter</beat-unit><per-minute>96</per-minute></metronome>"


@pytest.mark.parametrize(
    ("content", "more", "attributes"),
    [
        ("<rehearsal>A</rehearsal>", "", {}),
        (METRONOME, "", {}),
        ("<segno/>", "", {}),
        ("<words>Allegro</words>", "", {}),
        ("<words>With a swing</words>", '<sound tempo="96"/>', {}),
        ("<words>D.C. al Fine</words>", '<sound dacapo="yes"/>', {}),
        ('<words font-weight="bold">II. At the Mill</words>', "", {}),
        ("<words>All wait for the bell</words>", "", {"system": "only-top"}),
    ],
    ids=["letter", "metronome", "segno", "tempo word", "sound", "da capo", "title", "told"],
)
@pytest.mark.parametrize("measure", [1, 2])
def test_what_holds_for_all_is_carried_over(content, more, attributes, measure):
    score = second(direction(content, more, **attributes), measure=measure)
    assert len(said(score, measure)) == 1
    assert said(score, 3 - measure) == []


@pytest.mark.parametrize(
    ("content", "attributes"),
    [
        ("<words>dolce</words>", {}),
        ('<words font-weight="bold">Solo</words>', {}),
        ('<words font-weight="bold">pizz.</words>', {}),
        ('<words font-weight="bold" font-style="italic">sing</words>', {}),
        ("<words>quasi allegro</words>", {}),
        ("<dynamics><f/></dynamics>", {}),
        ('<wedge type="crescendo"/>', {}),
        ("<rehearsal>A</rehearsal>", {"system": "none"}),
        ("<rehearsal>A</rehearsal>", {"print-object": "no"}),
    ],
)
def test_what_is_said_to_one_part_stays_there(content, attributes):
    assert said(second(direction(content, **attributes))) == []


def test_what_the_part_says_itself_is_not_said_twice():
    score = second(direction("<words>Allegro</words>"), lower=f'"Allegro" {BARS}')
    assert said(score) == ["Allegro"]


def test_a_mark_within_a_measure_stands_where_it_stood():
    data = full_score(part("Violin I", "4/4", BARS), part("Violin II", "4/4", BARS))
    head, _, tail = data.partition(b'<part id="P1">')
    pieces = tail.split(b"<note")
    pieces[2] += direction("<rehearsal>B</rehearsal>")
    document = read_document(head + b'<part id="P1">' + b"<note".join(pieces), "two.xml")
    score = etree.fromstring(part_for_engraving(document, "P2"))
    divisions = int(score.findtext("part/measure/attributes/divisions"))
    assert float(score.findtext("part/measure/direction/offset")) == 2 * divisions


def test_titles_in_bold_of_lower_parts_stay_in_them():
    data = full_score(part("Violin I", "4/4", BARS), part("Violin II", "4/4", BARS))
    head, _, tail = data.partition(b'<part id="P2">')
    pieces = tail.split(b"<note")
    pieces[0] += direction('<words font-weight="bold">Violas come in</words>') + direction("<rehearsal>C</rehearsal>")
    document = read_document(head + b'<part id="P2">' + b"<note".join(pieces), "two.xml")
    assert said(etree.fromstring(part_for_engraving(document, "P1"))) == ["C"]


def test_a_letter_ends_a_long_rest_and_stands_over_a_measure_of_its_own():
    """The engraver draws no words over a long rest."""
    rests = " | ".join(["r/4"] * 3)
    score = second(direction("<rehearsal>A</rehearsal>"), measure=2, lower=rests)
    assert said(score, 2) == ["A"]
    assert [measure.get("id") for measure in score.iterfind("part/measure")][:2] == ["measure.0.0", "measure.1.1"]


def test_every_part_of_the_example_has_its_letters_tempi_and_titles(example):
    document = open_document(example)
    pages = {
        entry.id: b"".join(page.svg for page in engrave(part_for_engraving(document, entry.id), A4))
        for entry in document.parts
    }
    assert len(pages) == 5
    for svg in pages.values():
        for words in (b"Morning Boat", b"Sturdy", b"Mist on the Water", b">104<"):
            assert words in svg
        letters = [text for text in (b">A<", b">B<", b">C<") if text in svg]
        assert len(letters) == 3


@pytest.mark.parametrize("name", ["haydn/opus1no1/movement1.mxl", "mozart/k155/movement1.mxl"])
def test_what_is_carried_over_breaks_no_rule_of_the_schema(name):
    document = open_document(corpus_folder() / name)
    schema = musicxml_schema()
    for entry in document.parts[1:]:
        text = part_for_engraving(document, entry.id).encode()
        assert not [error for error in schema_errors(schema, text) if "direction" in str(error)]


@pytest.mark.parametrize("part_number", [1, 2], ids=["violin II", "viola"])
def test_the_digits_of_a_double_stop_stand_under_the_tempo(example, part_number):
    """Both parts of the example open with one; a stack over the words would be far from its notes."""
    document = open_document(example)
    page = engrave(part_for_engraving(document, document.parts[part_number].id), A4)[0].map
    first = [name for name, place in page.notes.items() if place.measure == 0 and place.chord is not None][:2]
    assert len(first) == 2
    placed = place(page, [Wanted(note_id, "2") for note_id in first], METRICS)
    top = page.notes[first[0]].staff_top
    assert all(top - one.digit.rect.y0 < 6 * page.staff_space for one in placed)
