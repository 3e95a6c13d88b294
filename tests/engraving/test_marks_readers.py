"""The teacher's marks as other programs read them: the engraver's MEI and music21, each mark alone and in quartets."""

from __future__ import annotations

from collections import Counter
from typing import Any

import pytest
import verovio
from lxml import etree

from engraving.document import Document, open_document, read_document
from engraving.marks.sites import find_sites
from engraving.marks.teacher import MARK_KINDS, TeacherMark
from engraving.marks.writing import marked_bytes
from engraving.reading import read_score
from tests.engraving.corpus import corpus_folder
from tests.engraving.pencilled import TEXTS, random_marks
from tests.scores import score

_MEI = "{http://www.music-encoding.org/ns/mei}"
TUNE = score("Violin", "4/4", "C5/1 D5 E5 F5 | A5/1@a B5@b C6@c D6@d | G5/4")
_LOST_BY_THE_ENGRAVER = {"retake", "high", "low", "extension", "string", "circle"}
SOME = ["mozart/k80/movement2.mxl", "haydn/opus74no1/movement3.mxl", "schumann_clara/opus17/movement3.xml"]


def one(kind: str) -> TeacherMark:
    text = TEXTS.get(kind, ("",))[0]
    return TeacherMark(kind, "a", "c" if MARK_KINDS[kind].scope == "range" else "", text)


def toolkit(data: bytes) -> Any:
    verovio.enableLog(verovio.LOG_OFF)
    reader = verovio.toolkit()
    reader.setOptions({"xmlIdChecksum": True})
    assert reader.loadData(etree.tostring(etree.fromstring(data), encoding="unicode"))
    return reader


def mei(data: bytes) -> etree._Element:
    return etree.fromstring(toolkit(data).getMEI().encode())


def marked(kind: str) -> bytes:
    return marked_bytes(read_document(TUNE, "tune.xml"), [], [one(kind)])


# The engraver


@pytest.mark.parametrize(
    ("kind", "element", "attributes"),
    [
        ("down-bow", "artic", {"artic": "dnbow", "place": "above"}),
        ("up-bow", "artic", {"artic": "upbow", "place": "above"}),
        ("tenuto", "artic", {"artic": "ten"}),
        ("accent", "artic", {"artic": "acc"}),
        ("staccato", "artic", {"artic": "stacc"}),
        ("breath", "breath", {}),
        ("courtesy", "accid", {"accid": "n", "func": "caution", "enclose": "paren"}),
        ("dynamic", "dynam", {"tstamp": "1", "place": "below"}),
        ("text", "dir", {"tstamp": "1", "place": "above"}),
        ("margin-text", "dir", {"tstamp": "1", "place": "above"}),
        ("position", "dir", {"tstamp": "1", "place": "above"}),
        ("slur", "slur", {"startid": "#a", "endid": "#c"}),
        ("dashed-slur", "slur", {"startid": "#a", "endid": "#c", "lform": "dashed"}),
        ("hooked-bow", "slur", {"startid": "#a", "endid": "#c"}),
        ("crescendo", "hairpin", {"form": "cres", "tstamp": "1", "tstamp2": "0m+4", "place": "below"}),
        ("diminuendo", "hairpin", {"form": "dim", "tstamp": "1", "tstamp2": "0m+4", "place": "below"}),
        ("bracket", "bracketSpan", {"lstartsym": "angledown", "lendsym": "angledown", "tstamp2": "0m+4"}),
        ("held-finger", "bracketSpan", {"lstartsym": "none", "lendsym": "none", "tstamp2": "0m+4"}),
        ("held-position", "dir", {"extender": "true", "lform": "dashed", "tstamp2": "0m+4"}),
    ],
)
def test_the_engraver_reads_a_mark_where_it_was_put(kind: str, element: str, attributes: dict[str, str]) -> None:
    measure = mei(marked(kind)).findall(f".//{_MEI}measure")[1]
    found = list(measure.iter(f"{_MEI}{element}"))
    assert len(found) == 1
    assert {name: found[0].get(name) for name in attributes} == attributes
    if MARK_KINDS[kind].takes_text:
        assert "".join(map(str, found[0].itertext())).strip() == one(kind).text


def test_the_engraver_reads_the_dots_of_a_hooked_bow() -> None:
    tree = mei(marked("hooked-bow"))
    dots = [artic.getparent() for artic in tree.iter(f"{_MEI}artic") if artic.get("artic") == "stacc"]
    ids = [note.get("{http://www.w3.org/XML/1998/namespace}id") for note in dots if note is not None]
    assert ids == ["a", "b", "c"]


@pytest.mark.parametrize("kind", MARK_KINDS)
def test_the_table_says_which_marks_the_engraver_draws(kind: str) -> None:
    drawn = [group_count(data) for data in (TUNE, marked(kind))]
    if MARK_KINDS[kind].engraved:
        assert drawn[1] > drawn[0]
    if kind in _LOST_BY_THE_ENGRAVER:
        assert not MARK_KINDS[kind].engraved
        assert drawn[1] == drawn[0]


def group_count(data: bytes) -> int:
    """How many shapes and letterings the engraver draws."""
    page = etree.fromstring(toolkit(data).renderToSVG(1).encode())
    return sum(1 for element in page.iter("{*}use", "{*}path", "{*}polyline", "{*}polygon", "{*}rect", "{*}text"))


# music21


def music21_measure(kind: str) -> tuple[Any, Any]:
    from music21 import converter

    parsed = converter.parseData(marked(kind).decode(), format="musicxml")
    return parsed, parsed.parts[0].getElementsByClass("Measure")[1]


@pytest.mark.parametrize(
    ("kind", "name"),
    [
        ("down-bow", "DownBow"),
        ("up-bow", "UpBow"),
        ("retake", "TechnicalIndication"),
        ("extension", "TechnicalIndication"),
        ("tenuto", "Tenuto"),
        ("accent", "Accent"),
        ("staccato", "Staccato"),
        ("breath", "BreathMark"),
        ("string", "StringIndication"),
    ],
)
def test_music21_reads_a_sign_at_its_note(kind: str, name: str) -> None:
    found = [[type(sign).__name__ for sign in note.articulations] for note in music21_measure(kind)[1].notes]
    assert found == [[name], [], [], []]


def test_music21_reads_the_reminder_and_the_string() -> None:
    reminded = music21_measure("courtesy")[1].notes[0].pitch.accidental
    assert (reminded.name, reminded.displayStatus) == ("natural", True)
    assert music21_measure("string")[1].notes[0].articulations[0].number == 1


@pytest.mark.parametrize("kind", ["text", "margin-text", "position", "held-position", "dynamic"])
def test_music21_reads_words_and_dynamics_at_their_onset(kind: str) -> None:
    _, measure = music21_measure(kind)
    said = [(sign.offset, sign.value) for sign in measure.getElementsByClass("Dynamic")]
    said += [(sign.offset, sign.content) for sign in measure.getElementsByClass("TextExpression")]
    assert said == [(0.0, one(kind).text)]


@pytest.mark.parametrize(
    ("kind", "name", "line"),
    [
        ("slur", "Slur", None),
        ("dashed-slur", "Slur", "dashed"),
        ("hooked-bow", "Slur", None),
        ("crescendo", "Crescendo", None),
        ("diminuendo", "Diminuendo", None),
        ("bracket", "Line", "solid"),
        ("held-finger", "Line", "solid"),
        ("held-position", "Line", "dashed"),
    ],
)
def test_music21_reads_a_line_from_its_first_note_to_its_last(kind: str, name: str, line: str | None) -> None:
    parsed, measure = music21_measure(kind)
    found = [
        spanner for spanner in parsed.recurse().getElementsByClass("Spanner") if "PartStaff" not in spanner.classes
    ]
    lines = [spanner for spanner in found if type(spanner).__name__ == name]
    assert len(lines) == 1
    spanned = lines[0].getSpannedElements()
    assert (spanned[0], spanned[-1]) == (measure.notes[0], measure.notes[2])
    assert line is None or lines[0].lineType == line


@pytest.mark.parametrize("kind", ["high", "low", "circle"])
def test_music21_passes_over_arrows_and_other_notations(kind: str) -> None:
    _, measure = music21_measure(kind)
    assert [(note.pitch.nameWithOctave, note.articulations) for note in measure.notes] == [
        ("A5", []), ("B5", []), ("C6", []), ("D6", [])
    ]  # fmt: skip


# A whole quartet


def named(name: str) -> Document:
    """A corpus file whose note ids are its own, so that readers that keep ids name its notes as we do."""
    return read_document(etree.tostring(open_document(corpus_folder() / name).tree), name)


def slurs(tree: etree._Element) -> Counter[tuple[str, str, str | None]]:
    return Counter(
        (slur.get("startid", "#")[1:], slur.get("endid", "#")[1:], slur.get("lform"))
        for slur in tree.iter(f"{_MEI}slur")
    )


def hairpins(tree: etree._Element) -> Counter[tuple[str | None, ...]]:
    return Counter(
        (str(place), *map(hairpin.get, ("staff", "form", "tstamp", "tstamp2")))
        for place, measure in enumerate(tree.iter(f"{_MEI}measure"))
        for hairpin in measure.iter(f"{_MEI}hairpin")
    )


@pytest.mark.parametrize("name", SOME)
def test_the_engraver_reads_the_slurs_of_the_composer_and_of_the_teacher(name: str) -> None:
    document = named(name)
    marks = [mark for seed, part in enumerate(read_score(document).parts) for mark in random_marks(part, seed)]
    before, after = mei(marked_bytes(document, [])), mei(marked_bytes(document, [], marks))
    heads = {note: str(site.head.get("id")) for note, site in find_sites(document.tree).items()}
    ours = {
        (heads[mark.first], heads[mark.last], "dashed" if mark.kind == "dashed-slur" else None)
        for mark in marks
        if MARK_KINDS[mark.kind].element == "slur"
    }
    assert len(ours) > 20
    assert slurs(after) == slurs(before) | Counter(ours)
    swells = [mark for mark in marks if MARK_KINDS[mark.kind].element == "wedge"]
    assert hairpins(before) <= hairpins(after)
    assert hairpins(after).total() == hairpins(before).total() + len(swells)
