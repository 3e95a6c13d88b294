"""Damaged values that end the engraver's process are kept from it."""

from __future__ import annotations

import pytest
from lxml import etree

from engraving.document import read_document
from engraving.extract import part_for_engraving
from tests.engraving.rawxml import QUARTER, raw, raw_note
from tests.scores import score

TIME = b"<time><beats>4</beats><beat-type>4</beat-type></time>"


def extracted(time: bytes) -> etree._Element:
    data = score("Viola", "4/4", "D5/4").replace(TIME, time)
    return etree.fromstring(part_for_engraving(read_document(data, "x.xml"), "P1"))


@pytest.mark.parametrize("kind", ["0", "-4", "NaN", "", "x", "9" * 30, "1.5"])
def test_a_time_signature_that_counts_no_note_value_is_left_out(kind: str) -> None:
    assert extracted(TIME.replace(b"<beat-type>4", f"<beat-type>{kind}".encode())).find(".//time") is None


def test_a_time_signature_without_a_note_value_is_left_out() -> None:
    assert extracted(b"<time><beats>4</beats></time>").find(".//time") is None


@pytest.mark.parametrize(
    "time",
    [
        TIME,
        b"<time><senza-misura/></time>",
        b"<time><beats>3+2</beats><beat-type>8</beat-type><beats>1</beats><beat-type>4</beat-type></time>",
        b"<time><beats>2.5</beats><beat-type>4</beat-type></time>",
    ],
)
def test_other_time_signatures_stay(time: bytes) -> None:
    assert extracted(time).find(".//time") is not None


@pytest.mark.parametrize("beats", ["0", "-1", "x", "", "4+x", "9999999", "٣"])
def test_a_time_signature_of_no_number_of_beats_is_left_out(beats: str) -> None:
    assert extracted(TIME.replace(b"<beats>4", f"<beats>{beats}".encode())).find(".//time") is None


@pytest.mark.parametrize(
    ("inside", "path", "kept"),
    [
        ("<attributes><staves>no</staves></attributes>", "staves", "1"),
        ("<attributes><staves>2147483648</staves></attributes>", "staves", "20"),
        ("<attributes><staves>2</staves></attributes>", "staves", "2"),
        ("<staff-details><staff-lines>99999</staff-lines></staff-details>", "staff-lines", "20"),
        ("<attributes><key><fifths>-3</fifths></key></attributes>", "fifths", "-3"),
        ("<note><unpitched><display-step>E</display-step><display-octave>2147483648</display-octave></unpitched>"
         "<duration>1</duration></note>", "display-octave", "9"),
        ("<note><cue/><pitch><step>E</step><octave>-99</octave></pitch><duration>1</duration></note>", "octave", "0"),
        ("<harmony><degree><degree-value/></degree></harmony>", "degree-value", "1"),
        ("<harmony><degree><degree-value>2147483648</degree-value></degree></harmony>", "degree-value", "99"),
        ("<note><rest/><duration>1</duration><time-modification><actual-notes>0</actual-notes></time-modification>"
         "</note>", "actual-notes", "1"),
    ],
)  # fmt: skip
def test_numbers_are_kept_within_what_is_printed(inside: str, path: str, kept: str) -> None:
    document = read_document(raw(inside + raw_note("D5")), "x.xml")
    assert etree.fromstring(part_for_engraving(document, "P1")).findtext(f".//{path}") == kept


def test_numbers_of_hundreds_of_digits_are_shortened() -> None:
    endless = "9" * 3000
    tempo = (
        f'<direction><direction-type><metronome default-x="{endless}"><beat-unit>quarter</beat-unit>'
        f"<per-minute>{endless}</per-minute></metronome></direction-type></direction>"
    )
    document = read_document(raw(tempo + raw_note("D5")), "x.xml")
    metronome = etree.fromstring(part_for_engraving(document, "P1")).find(".//metronome")
    assert (metronome.get("default-x"), metronome.findtext("per-minute")) == ("1", "1")
    assert document.source.count(endless.encode()) == 2, "the document keeps what its file says"


@pytest.mark.parametrize(
    ("times", "kept"), [("3", "3"), ("100", "100"), ("1000000000", None), ("-2", None), ("1.5", None), ("x", None)]
)
def test_a_repeat_of_times_without_end_is_one_of_no_number(times: str, kept: str | None) -> None:
    repeat = f'<barline location="right"><repeat direction="backward" times="{times}"/></barline>'
    document = read_document(raw(raw_note("D5") + repeat), "x.xml")
    assert etree.fromstring(part_for_engraving(document, "P1")).find(".//repeat").get("times") == kept


def test_dots_without_end_are_left_out() -> None:
    document = read_document(raw(raw_note("D5", QUARTER + "<type>quarter</type>" + "<dot/>" * 500)), "x.xml")
    assert len(etree.fromstring(part_for_engraving(document, "P1")).findall(".//dot")) == 4


@pytest.mark.parametrize(
    ("own", "kept"), [("P1", "P1"), ("Violin_I-2.b", "Violin_I-2.b"), ("x" * 5000, "part-1"), ("9" * 5000, "part-1"),
                      ("a'b]", "part-1"), ("Gëige", "part-1"), ("a b", "part-1")],
)  # fmt: skip
def test_a_part_that_the_engraver_cannot_seek_has_another_id_there(own: str, kept: str) -> None:
    document = read_document(raw(raw_note("D5")).replace(b'id="P1"', f'id="{own}"'.encode()), "x.xml")
    score = etree.fromstring(part_for_engraving(document, own))
    assert (score.find("part").get("id"), score.find("part-list/score-part").get("id")) == (kept, kept)
    assert document.parts[0].id == own


def test_it_stays_in_the_document() -> None:
    document = read_document(score("Viola", "4/4", "D5/4").replace(TIME, b"<time><beats>4</beats></time>"), "x.xml")
    part_for_engraving(document, "P1")
    assert document.tree.find(".//time") is not None
