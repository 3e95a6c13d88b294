"""Fingerings written into the file: they come out where they belong, and nothing else is touched."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from analysis.fingering.placements import THUMB
from analysis.music import PrintedFingering
from engraving.document import Document, open_document, read_document
from engraving.errors import EngravingError
from engraving.marks.files import write_marked
from engraving.marks.finger import Mark
from engraving.marks.teacher import TeacherMark
from engraving.marks.writing import marked_bytes, marked_tree
from engraving.reading import read_score
from tests.engraving.comparing import canonical, without_marks
from tests.engraving.rawxml import QUARTER, raw, raw_note
from tests.engraving.schema import musicxml_schema, schema_errors
from tests.scores import score

TUNE = score("Violin", "4/4", "D5/1 (E5@two F#5) r | *C5 [D4@low A4@high]/2~ [D4 A4]/2 | A5/4 & D4/2 E4")
DOCTYPE = '<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "partwise.dtd">'


@pytest.fixture(scope="module")
def schema() -> etree.XMLSchema:
    return musicxml_schema()


def plain_notes(document: Document) -> list[str]:
    return [note.id for one in read_score(document).parts for note in one]


def marks_for(document: Document, finger: int = 3, string: int | None = None) -> list[Mark]:
    return [Mark(note_id, finger, string) for note_id in plain_notes(document)]


def printed(data: bytes) -> list[PrintedFingering | None]:
    return [note.printed for note in read_score(read_document(data, "out.xml")).parts[0]]


def marked(inside: str, mark_finger: int, mark_string: int | None = None) -> str:
    """One note with ``inside`` after its duration, once it is marked."""
    document = read_document(raw(raw_note("D5", QUARTER + inside)), "x.xml")
    tree = marked_tree(document, [Mark("note-1", mark_finger, mark_string)])
    note = next(tree.iter("note"))
    return "".join(etree.tostring(child).decode() for child in list(note)[2:])


def technical(content: str) -> str:
    return f"<notations><technical>{content}</technical></notations>"


# Where a mark goes


def test_a_mark_becomes_a_fingering_and_a_string() -> None:
    assert marked("", 3) == technical("<fingering>3</fingering>")
    assert marked("", 0, 2) == technical("<fingering>0</fingering><string>2</string>")


def test_notations_go_after_the_beam_and_before_the_lyric() -> None:
    beam, lyric = '<beam number="1">begin</beam>', "<lyric><text>la</text></lyric>"
    assert marked(beam + lyric, 1) == beam + technical("<fingering>1</fingering>") + lyric


def test_a_mark_joins_the_first_notations() -> None:
    first, second = '<notations><slur type="start"/></notations>', "<notations><fermata/></notations>"
    expected = '<notations><slur type="start"/><technical><fingering>2</fingering></technical></notations>' + second
    assert marked(first + second, 2) == expected


def test_a_mark_joins_the_technical_that_is_there() -> None:
    assert marked(technical("<up-bow/>"), 2) == technical("<up-bow/><fingering>2</fingering>")


@pytest.mark.parametrize(
    ("before", "finger", "string", "after"),
    [
        ("<fingering>3</fingering>", 3, None, "<fingering>3</fingering>"),
        ("<fingering> 3 </fingering>", 3, None, "<fingering> 3 </fingering>"),
        ('<fingering placement="below">3</fingering>', 1, None, '<fingering placement="below">1</fingering>'),
        ("<fingering>3</fingering><string>2</string>", 1, 3, "<fingering>1</fingering><string>3</string>"),
        ("<fingering>3</fingering><string>2</string>", 1, None, "<fingering>1</fingering><string>2</string>"),
        ("<string>2</string>", 1, 2, "<string>2</string><fingering>1</fingering>"),
        ("<open-string/>", 0, None, "<open-string/>"),
        ("<open-string/>", 4, None, "<fingering>4</fingering>"),
        ('<open-string placement="above"/><up-bow/>', 4, None, '<fingering placement="above">4</fingering><up-bow/>'),
        ("<open-string/><fingering>0</fingering>", 0, None, "<open-string/><fingering>0</fingering>"),
        ("<open-string/><fingering>0</fingering>", 4, None, "<fingering>4</fingering>"),
        ("<fingering>0</fingering><open-string/>", 4, None, "<fingering>4</fingering>"),
        ("", THUMB, None, "<thumb-position/>"),
        ("<fingering>T</fingering>", THUMB, None, "<fingering>T</fingering>"),
        ("<fingering>T</fingering>", 1, None, "<fingering>1</fingering>"),
        ("<thumb-position/>", THUMB, None, "<thumb-position/>"),
        ('<thumb-position placement="above"/>', 3, None, '<fingering placement="above">3</fingering>'),
        ("<thumb-position/><fingering>T</fingering>", 2, None, "<fingering>2</fingering>"),
        ("<open-string/>", THUMB, None, "<thumb-position/>"),
        ('<fingering alternate="no" placement="above">3</fingering>', THUMB, None,
         '<thumb-position placement="above"/>'),
        ("<fingering>x4</fingering>", 4, None, "<fingering>x4</fingering><fingering>4</fingering>"),
        ('<fingering alternate="yes">2</fingering>', 2, None,
         '<fingering alternate="yes">2</fingering><fingering>2</fingering>'),
    ],
)  # fmt: skip
def test_a_mark_meets_what_is_printed(before: str, finger: int, string: int | None, after: str) -> None:
    assert marked(technical(before), finger, string) == technical(after)


def test_a_fingering_in_later_notations_is_changed_in_its_place() -> None:
    first = '<notations><slur type="start"/></notations>'
    assert marked(first + technical("<fingering>3</fingering>"), 4) == first + technical("<fingering>4</fingering>")


def test_each_note_of_a_chord_takes_its_own_mark() -> None:
    document = read_document(TUNE, "tune.xml")
    data = marked_bytes(document, [Mark("low", 0, 3), Mark("high", 1, 3)])
    chord = read_score(read_document(data, "out.xml")).parts[0]
    assert (chord.note("low").printed, chord.note("high").printed) == (PrintedFingering(0, 3), PrintedFingering(1, 3))


def test_new_elements_are_indented_like_their_neighbours() -> None:
    etree.indent(tree := etree.ElementTree(etree.fromstring(score("Violin", "4/4", "D5/4"))))
    document = read_document(etree.tostring(tree), "x.xml")
    lines = marked_bytes(document, [Mark("note-1", 3, 2)]).decode().splitlines()
    at = lines.index("        <notations>")
    assert lines[at : at + 7] == [
        "        <notations>",
        "          <technical>",
        "            <fingering>3</fingering>",
        "            <string>2</string>",
        "          </technical>",
        "        </notations>",
        "      </note>",
    ]


# What stays


def test_without_marks_the_score_stays_as_it_was() -> None:
    assert canonical(marked_tree(read_document(TUNE, "x.xml"), [])) == canonical(
        etree.ElementTree(etree.fromstring(TUNE))
    )


def test_a_bad_id_of_the_file_is_put_back() -> None:
    data = TUNE.replace(b'id="two"', b'id="2 two"').replace(b'id="low"', b'id="high"')
    assert canonical(marked_tree(read_document(data, "x.xml"), [])) == canonical(
        etree.ElementTree(etree.fromstring(data))
    )


def test_the_document_itself_is_not_changed() -> None:
    document = read_document(TUNE, "x.xml")
    before = canonical(document.tree)
    marked_tree(document, marks_for(document))
    assert canonical(document.tree) == before


WORDS = st.sampled_from(
    [
        "D5/1",
        "(E5 F5)",
        "[D4 A4]/2",
        "*G5 A5",
        "r/1",
        "!p",
        "!=80",
        "A4~ A4",
        "B4/1/3",
        '"dolce"',
        "x/1",
        "D4 & C5/2",
        "|",
    ]
)
LAYOUTS = st.sampled_from([None, "  ", "\t"])


@given(st.lists(WORDS, min_size=1, max_size=12), LAYOUTS, st.integers(0, 4), st.sampled_from([None, 1, 4]), st.data())
@settings(max_examples=60)
def test_taking_the_marks_out_again_gives_the_original(
    words: list[str], indent: str | None, finger: int, string: int | None, data: st.DataObject
) -> None:
    tree = etree.ElementTree(etree.fromstring(score("Violin", "4/4", " ".join(words))))
    if indent is not None:
        etree.indent(tree, indent)
    document = read_document(etree.tostring(tree), "x.xml")
    ids = plain_notes(document)
    chosen = data.draw(st.lists(st.sampled_from(ids), unique=True)) if ids else []
    result = marked_tree(document, [Mark(note_id, finger, string) for note_id in chosen])
    assert sum(1 for _ in result.iter("fingering")) == len(chosen)
    assert canonical(without_marks(result, tree)) == canonical(tree)


def test_marking_what_is_marked_changes_nothing() -> None:
    first = read_document(TUNE, "x.xml")
    once = marked_bytes(first, marks_for(first, 2, 3))
    second = read_document(once, "x.xml")
    assert marked_bytes(second, marks_for(second, 2, 3)) == once
    assert marked_bytes(second, []) == once


@pytest.mark.parametrize("encoding", ["UTF-8", "UTF-16", "ISO-8859-1"])
def test_declaration_doctype_encoding_and_comments_are_kept(encoding: str) -> None:
    head = f'<?xml version="1.0" encoding="{encoding}" standalone="no"?>\n{DOCTYPE}\n<!-- für uns -->\n<?house rule?>\n'
    text = head + TUNE.decode().split("\n", 1)[1].replace("<part-list>", "<!-- inside --><part-list>")
    document = read_document(text.encode(encoding), "x.xml")
    data = marked_bytes(document, marks_for(document))
    written = data.decode(encoding)
    first_line = written.split("\n", 1)[0].replace("'", '"')
    assert first_line == f'<?xml version="1.0" encoding="{encoding}" standalone="no"?>'
    for kept in (DOCTYPE, "<!-- für uns -->", "<?house rule?>", "<!-- inside -->"):
        assert kept in written
    assert read_document(data, "x.xml").tree.docinfo.doctype == DOCTYPE


def test_a_file_without_a_declaration_gets_none() -> None:
    document = read_document(TUNE.split(b"\n", 1)[1], "x.xml")
    assert marked_bytes(document, []).startswith(b"<score-partwise")


# Other readers


def test_the_export_is_as_valid_as_the_original(schema: etree.XMLSchema) -> None:
    document = read_document(TUNE, "x.xml")
    assert not schema_errors(schema, TUNE)
    assert not schema_errors(schema, marked_bytes(document, marks_for(document, 0, 1)))


def test_the_engraver_finds_the_same_digits_at_the_same_notes() -> None:
    import verovio

    ids = {"two": 1, "low": 0, "high": 4}
    data = marked_bytes(read_document(TUNE, "x.xml"), [Mark(note_id, finger) for note_id, finger in ids.items()])
    toolkit = verovio.toolkit()
    assert toolkit.loadData(data.decode())
    mei = etree.fromstring(toolkit.getMEI().encode())
    found = {str(fing.get("startid")).removeprefix("#"): int("".join(map(str, fing.itertext())))
             for fing in mei.iter("{http://www.music-encoding.org/ns/mei}fing")}  # fmt: skip
    assert found == ids


def test_music21_finds_the_same_digits_at_the_same_notes() -> None:
    from music21 import articulations, converter

    document = read_document(score("Violin", "4/4", "D5/1 E5 F#5 G5 | A5 B5 C#6 D6"), "x.xml")
    fingers = [0, 1, 2, 3, 4, 0, 1, 2]
    marks = [Mark(note_id, finger) for note_id, finger in zip(plain_notes(document), fingers, strict=True)]
    parsed = converter.parseData(marked_bytes(document, marks).decode(), format="musicxml")
    found = [
        [mark.fingerNumber for mark in note.articulations if isinstance(mark, articulations.Fingering)]
        for note in parsed.recurse().notes
    ]
    assert found == [[finger] for finger in fingers]


# Files


@pytest.mark.parametrize("suffix", [".musicxml", ".xml", ".mxl", ".MXL"])
def test_a_marked_score_opens_again(tmp_path: Path, suffix: str) -> None:
    document = read_document(TUNE, "tune.xml")
    path = tmp_path / f"marked{suffix}"
    write_marked(document, marks_for(document, 1), path)
    assert set(printed(open_document(path).source)) == {PrintedFingering(1)}
    assert [entry.name for entry in tmp_path.iterdir()] == [path.name]


def test_a_compressed_file_begins_with_its_media_type(tmp_path: Path) -> None:
    document = read_document(TUNE, "tune.xml")
    path = tmp_path / "Violin & friends.mxl"
    write_marked(document, [], path)
    data = path.read_bytes()
    # OCF 2.0.1, section 4, which MusicXML 4.0 follows: the media type stands first, unpacked, without an extra field,
    # so that its name begins at byte 30 and its text at byte 38.
    assert data[30:].startswith(b"mimetypeapplication/vnd.recordare.musicxml")
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        first = archive.infolist()[0]
        assert (first.filename, first.compress_type) == ("mimetype", zipfile.ZIP_STORED)
        assert archive.read("mimetype") == b"application/vnd.recordare.musicxml"
        assert archive.namelist()[1:] == ["META-INF/container.xml", "Violin & friends.musicxml"]
    assert open_document(path).source == marked_bytes(document, [])


def test_the_container_names_the_score_as_its_first_root(tmp_path: Path) -> None:
    """MusicXML 4.0, container: the first rootfile is the score, and its media type is this one."""
    path = tmp_path / "Violin & friends.mxl"
    write_marked(read_document(TUNE, "tune.xml"), [], path)
    with zipfile.ZipFile(path) as archive:
        container = etree.fromstring(archive.read("META-INF/container.xml"))
    roots = [(root.get("full-path"), root.get("media-type")) for root in container.iterfind("rootfiles/rootfile")]
    assert roots == [("Violin & friends.musicxml", "application/vnd.recordare.musicxml+xml")]


@pytest.mark.parametrize("suffix", [".musicxml", ".mxl"])
def test_the_teachers_marks_are_in_the_file_in_their_colour(tmp_path: Path, suffix: str) -> None:
    path = tmp_path / f"marked{suffix}"
    document = read_document(TUNE, "tune.xml")
    write_marked(document, [Mark("two", 2)], path, [TeacherMark("up-bow", "two")], colour="#C03020")
    tree = open_document(path).tree
    assert [sign.get("color") for sign in tree.iter("up-bow", "fingering")] == ["#C03020"] * 2


def test_an_archive_holds_no_time_so_that_the_same_marks_give_the_same_file(tmp_path: Path) -> None:
    write_marked(read_document(TUNE, "tune.xml"), [], tmp_path / "marked.mxl")
    with zipfile.ZipFile(tmp_path / "marked.mxl") as archive:
        assert {member.date_time for member in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}


# Refusals


@pytest.mark.parametrize(
    ("message", "marks"),
    [
        ("no note with the id nowhere", [Mark("nowhere", 1)]),
        ("no note with the id note-4", [Mark("note-4", 1)]),
        ("two different marks for the note two", [Mark("two", 1), Mark("two", 2)]),
    ],
)
def test_marks_that_cannot_be_written_are_refused(message: str, marks: list[Mark]) -> None:
    with pytest.raises(EngravingError, match=f"^tune.xml.*{message}"):
        marked_tree(read_document(TUNE, "tune.xml"), marks)


@pytest.mark.parametrize("sign", ["<fingering>T</fingering>", "<thumb-position/>"])
def test_the_thumb_is_read_from_its_letter_and_from_its_sign(sign: str) -> None:
    """MusicXML 4.0 has thumb-position for the sign; a fingering may be any text."""
    assert printed(raw(raw_note("D5", QUARTER + technical(sign)))) == [PrintedFingering(THUMB)]


def test_a_written_thumb_is_valid_and_read_back(schema: etree.XMLSchema) -> None:
    document = read_document(TUNE, "tune.xml")
    data = marked_bytes(document, marks_for(document, THUMB))
    assert not schema_errors(schema, data)
    assert {one.finger for one in printed(data) if one} == {THUMB}


@pytest.mark.parametrize(("finger", "string"), [(6, None), (-1, None), (1, 0)])
def test_a_mark_no_player_has_is_refused(finger: int, string: int | None) -> None:
    with pytest.raises(EngravingError):
        Mark("two", finger, string)


def test_another_suffix_is_refused(tmp_path: Path) -> None:
    with pytest.raises(EngravingError, match=r"^marked\.pdf cannot be written as MusicXML"):
        write_marked(read_document(TUNE, "tune.xml"), [], tmp_path / "marked.pdf")
