"""Opening MusicXML files: what is kept of them, which id each note gets, and what is said of a file that is none."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from engraving.archive import archive_of
from engraving.document import open_document, read_document
from engraving.errors import ScoreFileError
from engraving.identity import take_ids_back
from engraving.marks.writing import marked_bytes
from engraving.reading import read_score
from tests.scores import full_score, part, score

TUNE = score("Violin", "4/4", "D5/1 r E5 F#5")


def note_ids(data: bytes) -> list[str | None]:
    return [note.get("id") for note in read_document(data, "tune.xml").tree.iter("note")]


def names_in(data: bytes) -> list[str]:
    return [note.pitch.name for note in read_score(read_document(data, "tune.xml")).parts[0]]


def refusal(data: bytes, name: str = "tune.musicxml") -> str:
    with pytest.raises(ScoreFileError) as raised:
        read_document(data, name)
    message = str(raised.value)
    assert message.startswith(name)
    assert "\n" not in message
    return message


def zipped(**members: bytes) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name, content)
    return buffer.getvalue()


def declared(encoding: str) -> str:
    return TUNE.decode().replace('encoding="UTF-8"', f'encoding="{encoding}"')


# Ids


def test_every_note_and_rest_gets_an_id() -> None:
    ids = note_ids(TUNE)
    assert len(ids) == 4
    assert None not in ids
    assert len(set(ids)) == 4


def test_the_same_bytes_give_the_same_ids() -> None:
    assert note_ids(TUNE) == note_ids(TUNE)


def test_an_id_of_the_file_is_kept() -> None:
    document = read_document(score("Violin", "4/4", "D5@mine E5"), "x.xml")
    assert next(note.get("id") for note in document.tree.iter("note")) == "mine"
    assert "mine" not in document.given_ids


@pytest.mark.parametrize("bad_id", ["7th", "a b", "", "x:y"])
def test_an_id_that_is_no_xml_id_is_replaced(bad_id: str) -> None:
    data = score("Violin", "4/4", "D5@mine E5").replace(b'id="mine"', f'id="{bad_id}"'.encode())
    document = read_document(data, "x.xml")
    first = next(document.tree.iter("note")).get("id")
    assert first in document.given_ids
    assert document.stands_for[str(first)] == bad_id


def test_two_notes_of_one_id_both_get_another() -> None:
    document = read_document(score("Violin", "4/4", "D5@mine E5@mine"), "x.xml")
    assert list(document.stands_for.values()) == ["mine", "mine"]


def test_an_id_that_another_element_uses_is_replaced() -> None:
    data = score("Violin", "4/4", "D5@mine E5").replace(b"<measure ", b'<measure id="mine" ')
    assert note_ids(data)[0] != "mine"


def test_a_given_id_never_meets_one_of_the_file() -> None:
    ids = note_ids(score("Violin", "4/4", "D5 E5@note-1 F5@note-3 G5@note-4-"))
    assert len(set(ids)) == 4
    assert ids[1:] == ["note-1", "note-3", "note-4-"]


@given(st.lists(st.sampled_from(["", "@a", "@b", "@note-1", "@note-2", "@note-3-"]), min_size=1, max_size=6))
def test_ids_are_unique_and_can_be_taken_back(marks: list[str]) -> None:
    data = score("Violin", "4/4", " ".join(f"D5{mark}" for mark in marks))
    document = read_document(data, "x.xml")
    ids = [note.get("id") for note in document.tree.iter("note")]
    assert len(set(ids)) == len(marks)
    take_ids_back(document.tree, document.stands_for)
    assert etree.tostring(document.tree, method="c14n") == etree.tostring(etree.fromstring(data), method="c14n")


# Encodings and archives


@pytest.mark.parametrize("mark", ["\ufeff", ""])
@pytest.mark.parametrize("codec", ["utf-32-le", "utf-32-be"])
def test_utf_32_is_read_in_either_byte_order(codec: str, mark: str) -> None:
    """XML 1.0, appendix F: how the first bytes tell."""
    assert names_in(f"{mark}{declared('UTF-32')}".encode(codec)) == ["D5", "E5", "F#5"]


@pytest.mark.parametrize("codec", ["utf-32", "utf-7"])
def test_what_is_written_can_be_read_whatever_it_was_read_from(codec: str) -> None:
    """XML 1.0, 4.3.3: every processor reads UTF-8 and UTF-16, none need read another encoding."""
    document = read_document(declared(codec).encode(codec), "tune.xml")
    again = marked_bytes(document, [])
    assert names_in(again) == ["D5", "E5", "F#5"]
    assert read_document(again, "tune.xml").tree.docinfo.encoding == "UTF-8"


@pytest.mark.parametrize("blanks", ["", "\r\n", " \t\n"])
@pytest.mark.parametrize("mark", ["\ufeff", ""])
@pytest.mark.parametrize("codec", ["utf-8", "utf-16-le", "utf-16-be"])
def test_blanks_before_the_declaration_do_no_harm(codec: str, mark: str, blanks: str) -> None:
    text = declared("UTF-8" if codec == "utf-8" else "UTF-16")
    assert names_in(f"{mark}{blanks}{text}".encode(codec)) == ["D5", "E5", "F#5"]


def test_a_name_with_signs_that_do_something_is_shown_with_blanks_for_them() -> None:
    document = read_document(TUNE, "tu\x1b[2Jne\n.xml")
    assert document.name == "tu [2Jne .xml"
    assert read_score(document).title == "tu [2Jne "


def test_a_comment_in_the_midst_of_a_text_hides_nothing_of_it() -> None:
    """XML 1.0, 2.5: comments may appear anywhere outside other markup."""
    text = TUNE.decode()
    for tag in ("duration", "step", "octave", "part-name", "divisions"):
        text = text.replace(f"<{tag}>", f"<{tag}><!-- c -->")
    text = text.replace("Violin<", "Vio<?x y?>l<!-- d -->in<")
    document = read_document(text.encode(), "tune.xml")
    assert [entry.name for entry in document.parts] == ["Violin"]
    assert [note.pitch.name for note in read_score(document).parts[0]] == names_in(TUNE)
    again = marked_bytes(document, []).decode()
    assert again.count("<!-- c -->") == text.count("<!-- c -->")
    assert "<part-name>Violin<!-- c --><?x y?><!-- d --></part-name>" in again


@pytest.mark.parametrize("codec", ["utf-16", "utf-16-le", "utf-16-be"])
def test_utf_16_is_read_in_either_byte_order(codec: str) -> None:
    mark = "" if codec == "utf-16" else "\ufeff"
    assert names_in((mark + declared("UTF-16")).encode(codec)) == ["D5", "E5", "F#5"]


@pytest.mark.parametrize("encoding", ["ISO-8859-1", "windows-1252", "UTF-8"])
def test_a_declared_encoding_is_obeyed(encoding: str) -> None:
    text = declared(encoding).replace("Violin", "Altgeige für Zoé")
    assert read_document(text.encode(encoding), "x.xml").parts[0].name == "Altgeige für Zoé"


def test_a_byte_order_mark_before_utf_8_is_no_fault() -> None:
    assert names_in(TUNE.decode().encode("utf-8-sig")) == ["D5", "E5", "F#5"]


def test_the_source_is_the_untouched_text() -> None:
    assert read_document(TUNE, "x.xml").source == TUNE
    assert read_document(archive_of(TUNE, "x.musicxml"), "x.mxl").source == TUNE


def test_an_archive_is_known_by_its_content_not_its_suffix(tmp_path: Path) -> None:
    path = tmp_path / "packed.xml"
    path.write_bytes(archive_of(TUNE, "x.musicxml"))
    assert open_document(path).source == TUNE


def test_plain_text_is_read_under_the_suffix_of_an_archive(tmp_path: Path) -> None:
    path = tmp_path / "plain.mxl"
    path.write_bytes(TUNE)
    assert open_document(path).source == TUNE


def test_the_container_says_which_file_is_the_score() -> None:
    container = b'<container><rootfiles><rootfile full-path="deep/a.xml"/></rootfiles></container>'
    data = zipped(**{"other.xml": b"<x/>", "META-INF/container.xml": container, "deep/a.xml": TUNE})
    assert names_in(data) == ["D5", "E5", "F#5"]


def test_a_container_may_use_a_namespace() -> None:
    container = (
        b'<container xmlns="urn:oasis:names:tc:opendocument:xmlns:container">'
        b'<rootfiles><rootfile full-path="a.xml"/></rootfiles></container>'
    )
    assert names_in(zipped(**{"META-INF/container.xml": container, "a.xml": TUNE, "b.xml": b"<b/>"}))


def test_without_a_container_the_only_score_is_taken() -> None:
    assert names_in(zipped(**{"a.musicxml": TUNE, "readme.txt": b"hello", "__MACOSX/._a.xml": b"?"}))


def test_a_container_that_names_what_is_not_there_is_passed_over() -> None:
    container = b'<container><rootfiles><rootfile full-path="gone.xml"/></rootfiles></container>'
    assert names_in(zipped(**{"META-INF/container.xml": container, "a.xml": TUNE})) == ["D5", "E5", "F#5"]


# Parts


def test_parts_are_named_as_the_score_lists_them() -> None:
    data = full_score(part("Violin I", "4/4", "D5/4"), part("Viola", "4/4", "D4/4"))
    data = data.replace(b"<part-name>Viola</part-name>", b"<part-name>Viola</part-name>"
                        b"<part-abbreviation>Vla.</part-abbreviation>")  # fmt: skip
    entries = read_document(data, "x.xml").parts
    assert [(entry.id, entry.name, entry.abbreviation) for entry in entries] == [
        ("P1", "Violin I", ""), ("P2", "Viola", "Vla."),
    ]  # fmt: skip


def test_a_part_without_a_name_is_counted() -> None:
    assert read_document(TUNE.replace(b"Violin", b" "), "x.xml").parts[0].name == "Part 1"


def test_a_part_that_is_not_listed_is_counted() -> None:
    assert read_document(TUNE.replace(b'<part id="P1"', b'<part id="P9"'), "x.xml").parts[0].name == "Part 1"


# Safety


def test_entities_are_refused_not_expanded() -> None:
    text = b'<!DOCTYPE score-partwise [<!ENTITY a "boo">]>' + TUNE.split(b"\n", 1)[1].replace(b"Violin", b"&a;")
    assert "entities" in refusal(text)


def test_an_external_entity_is_refused(tmp_path: Path) -> None:
    secret = tmp_path / "secret.txt"
    secret.write_text("secret")
    doctype = f'<!DOCTYPE score-partwise [<!ENTITY a SYSTEM "{secret.as_uri()}">]>'.encode()
    assert "entities" in refusal(doctype + TUNE.split(b"\n", 1)[1].replace(b"Violin", b"&a;"))


def test_the_dtd_a_doctype_names_is_not_loaded(tmp_path: Path) -> None:
    dtd = tmp_path / "made-up.dtd"
    dtd.write_text('<!ATTLIST note color CDATA "#FF0000">')
    doctype = f'<!DOCTYPE score-partwise SYSTEM "{dtd.as_uri()}">'.encode()
    document = read_document(doctype + TUNE.split(b"\n", 1)[1], "x.xml")
    assert next(document.tree.iter("note")).get("color") is None


# Refusals


def test_an_empty_file_is_refused() -> None:
    assert "is empty" in refusal(b"")
    assert "is empty" in refusal(b" \n")


def test_text_that_is_no_xml_is_refused() -> None:
    assert "neither MusicXML" in refusal(b"Dear colleague,")


def test_broken_xml_is_refused_with_its_line() -> None:
    broken = TUNE.replace(b"<measure", b"\n<measure").replace(b"</measure>", b"</measur>")
    assert "line 3" in refusal(broken)


def test_xml_that_is_no_score_is_refused() -> None:
    assert "begins with <html>" in refusal(b"<html><body/></html>")


def test_a_score_without_parts_is_refused() -> None:
    assert "no parts" in refusal(b"<score-partwise><part-list/></score-partwise>")


def test_two_parts_of_one_id_are_refused() -> None:
    data = full_score(part("Violin I", "4/4", "D5/4"), part("Violin II", "4/4", "D5/4"))
    assert "P1" in refusal(data.replace(b'<part id="P2"', b'<part id="P1"'))


def test_a_part_without_an_id_is_refused() -> None:
    assert "part 1 has no id" in refusal(TUNE.replace(b'<part id="P1"', b"<part"))


def test_an_archive_without_a_score_is_refused() -> None:
    assert "without a score" in refusal(zipped(**{"readme.txt": b"hello"}), "tune.mxl")


def test_an_archive_that_does_not_say_which_of_two_is_the_score_is_refused() -> None:
    assert "does not say which" in refusal(zipped(**{"a.xml": TUNE, "b.xml": TUNE}), "tune.mxl")


@pytest.mark.parametrize("keep", [4, 40, -30])
def test_a_cut_off_archive_is_refused(keep: int) -> None:
    assert "damaged" in refusal(archive_of(TUNE, "x.musicxml")[:keep], "tune.mxl")


def test_an_archive_with_a_flipped_bit_is_refused() -> None:
    data = bytearray(zipped(**{"a.xml": TUNE}))
    data[60] ^= 0xFF
    assert "damaged" in refusal(bytes(data), "tune.mxl")
