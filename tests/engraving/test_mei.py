"""Marked scores and excerpts as MEI: what can be said of the marks is, and the same score is the same file."""

from __future__ import annotations

from pathlib import Path

import pytest
import verovio
from lxml import etree

from analysis.fingering.placements import THUMB
from engraving.document import Document, read_document
from engraving.errors import EngravingError
from engraving.marks.finger import Mark
from engraving.marks.teacher import TeacherMark
from engraving.mei import write_mei
from tests.engraving.rawxml import QUARTER, raw, raw_note
from tests.scores import full_score, part

_MEI = "{http://www.music-encoding.org/ns/mei}"
_ID = "{http://www.w3.org/XML/1998/namespace}id"
DUET = full_score(
    part("Violoncello", "4/4", "D3/1@a E3@b F3@c G3@d | A3/4@e"),
    part("Double Bass", "4/4", "D3/4@low | E3/2@bass F3"),
    title="Rondo",
)


@pytest.fixture
def duet() -> Document:
    return read_document(DUET, "duet.xml")


def written(path: Path) -> etree._Element:
    return etree.parse(str(path)).getroot()


def texts(tree: etree._Element, tag: str) -> list[str]:
    return ["".join(map(str, found.itertext())).strip() for found in tree.iter(f"{_MEI}{tag}")]


def test_the_notes_keep_their_ids_and_their_digits(tmp_path: Path, duet: Document) -> None:
    write_mei(tmp_path / "x.mei", duet, [Mark("a", 1), Mark("c", 4)])
    tree = written(tmp_path / "x.mei")
    assert [note.get(_ID) for note in tree.iter(f"{_MEI}note")][:4] == ["a", "b", "c", "d"]
    assert [(fing.get("startid"), fing.text) for fing in tree.iter(f"{_MEI}fing")] == [("#a", "1"), ("#c", "4")]


def test_what_the_engraver_would_lose_is_put_into_words(tmp_path: Path, duet: Document) -> None:
    teacher = [
        TeacherMark("high", "b"),
        TeacherMark("low", "d"),
        TeacherMark("extension", "c"),
        TeacherMark("retake", "e"),
        TeacherMark("string", "a", text="III"),
    ]
    write_mei(tmp_path / "x.mei", duet, [Mark("a", THUMB), Mark("b", 2), Mark("c", 4, 2)], teacher, colour="#C03020")
    tree = written(tmp_path / "x.mei")
    assert texts(tree, "fing") == ["T", "2↑", "4", "↓"]
    assert sorted(texts(tree, "dir")) == ["II", "III", "ext.", "retake"]
    assert [artic.get("artic") for artic in tree.iter(f"{_MEI}artic")] == []
    assert {rend.get("color") for rend in tree.iter(f"{_MEI}rend")} == {"#C03020"}


def test_later_notations_of_a_note_are_not_lost(tmp_path: Path) -> None:
    """The engraver reads the first notations of a note only."""
    twice = f"{QUARTER}<notations><fermata/></notations><notations><technical><up-bow/></technical></notations>"
    document = read_document(raw(raw_note("D5", twice)), "x.xml")
    write_mei(tmp_path / "x.mei", document, [])
    assert [artic.get("artic") for artic in written(tmp_path / "x.mei").iter(f"{_MEI}artic")] == ["upbow"]


def test_one_part_may_be_picked(tmp_path: Path, duet: Document) -> None:
    write_mei(tmp_path / "x.mei", duet, [], [TeacherMark("dynamic", "low", text="pp")], part_id="P2")
    tree = written(tmp_path / "x.mei")
    assert texts(tree, "label") == ["Double Bass"]
    assert [note.get(_ID) for note in tree.iter(f"{_MEI}note")][:2] == ["low", "bass"]
    assert texts(tree, "dynam") == ["pp"]


def test_an_excerpt_holds_its_measures_with_clef_and_metre(tmp_path: Path, duet: Document) -> None:
    write_mei(tmp_path / "x.mei", duet, [Mark("a", 1), Mark("e", 2)], measures=(1, 1))
    tree = written(tmp_path / "x.mei")
    assert [measure.get("n") for measure in tree.iter(f"{_MEI}measure")] == ["2"]
    assert (texts(tree, "fing"), [clef.get("shape") for clef in tree.iter(f"{_MEI}clef")]) == (["2"], ["F", "F"])
    assert {metre.get("count") for metre in tree.iter(f"{_MEI}meterSig")} == {"4"}


def test_the_same_score_gives_the_same_file_whenever_it_is_written(tmp_path: Path, duet: Document) -> None:
    write_mei(tmp_path / "x.mei", duet, [Mark("a", 1)], measures=(0, 1))
    once = (tmp_path / "x.mei").read_bytes()
    write_mei(tmp_path / "x.mei", duet, [Mark("a", 1)], measures=(0, 1))
    assert (tmp_path / "x.mei").read_bytes() == once
    assert b"isodate" not in once


def test_the_engraver_reads_the_file_back(tmp_path: Path, duet: Document) -> None:
    write_mei(tmp_path / "x.mei", duet, [Mark("a", 1)], [TeacherMark("slur", "a", "d")], part_id="P1", measures=(0, 0))
    toolkit = verovio.toolkit()
    assert toolkit.loadFile(str(tmp_path / "x.mei"))
    page = etree.fromstring(toolkit.renderToSVG(1).encode())
    drawn = [group.get("class") for group in page.iter("{*}g")]
    assert [drawn.count(name) for name in ("note", "slur", "fing")] == [4, 1, 1]


def test_a_utf_16_score_is_encoded_too(tmp_path: Path) -> None:
    text = DUET.decode().replace('encoding="UTF-8"', 'encoding="UTF-16"').encode("UTF-16")
    write_mei(tmp_path / "x.mei", read_document(text, "x.xml"), [])
    assert len(texts(written(tmp_path / "x.mei"), "note")) == 8


@pytest.mark.parametrize(
    ("message", "wish"),
    [
        (r"^duet\.xml: no part with the id 'P3'; there is P1 \(Violoncello\), P2 \(Double Bass\)", {"part_id": "P3"}),
        (r"^duet\.xml has no measures 2 to 3; it has 2", {"measures": (1, 2)}),
        (r"^duet\.xml has no measures 2 to 1", {"measures": (1, 0)}),
    ],
)
def test_what_is_not_there_is_refused(tmp_path: Path, duet: Document, message: str, wish: dict[str, object]) -> None:
    with pytest.raises(EngravingError, match=message):
        write_mei(tmp_path / "x.mei", duet, [], **wish)  # type: ignore[arg-type]  # any keyword
    assert list(tmp_path.iterdir()) == []
