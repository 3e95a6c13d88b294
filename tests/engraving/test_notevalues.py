"""Note values that a file leaves out are written for the engraver: MusicXML 4.0 does not ask for ``type``."""

from __future__ import annotations

import pytest
from lxml import etree

from engraving.document import read_document
from engraving.extract import part_for_engraving
from engraving.layout import Layout
from tests.engraving.pages import engraved
from tests.engraving.rawxml import raw, raw_note

TWELFTHS = "<divisions>12</divisions>"
TRIPLET = "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes></time-modification>"


def values(measure: str) -> list[str]:
    """The note values of a measure in twelfths of a quarter, a point for every dot."""
    document = read_document(raw(measure, attributes=TWELFTHS), "x.xml")
    notes = etree.fromstring(part_for_engraving(document, "P1")).iterfind(".//note")
    return [note.findtext("type", "-") + "." * len(note.findall("dot")) for note in notes]


def sounding(duration: int | str, more: str = "", before: str = "") -> str:
    return raw_note("D5", f"<duration>{duration}</duration><voice>1</voice>{more}", before)


def silent(duration: int, voice: int = 1) -> str:
    return f"<note><rest/><duration>{duration}</duration><voice>{voice}</voice></note>"


@pytest.mark.parametrize(
    ("duration", "value"),
    [(12, "quarter"), (18, "quarter."), (21, "quarter.."), (6, "eighth"), (3, "16th"), (24, "half"), (36, "half."),
     (48, "whole"), (96, "breve"), ("1.5", "32nd")],
)  # fmt: skip
def test_a_duration_gives_its_note_value(duration: int | str, value: str) -> None:
    assert values(sounding(duration)) == [value]


@pytest.mark.parametrize("duration", [4, 15, 30, 60, 0])
def test_what_is_no_plain_value_stays_without_one(duration: int) -> None:
    assert values(sounding(duration)) == ["-"]


def test_a_note_of_a_tuplet_is_written_longer_than_it_sounds() -> None:
    assert values(sounding(4, TRIPLET) + sounding(8, TRIPLET)) == ["eighth", "quarter"]


def test_every_note_of_a_chord_and_a_rest_between_notes_have_a_value() -> None:
    assert values(sounding(12) + sounding(12, before="<chord/>") + silent(18)) == ["quarter", "quarter", "quarter."]


def test_a_rest_that_fills_its_measure_stays_without_one() -> None:
    back = "<backup><duration>36</duration></backup>"
    assert values(sounding(36) + back + silent(36, voice=2)) == ["half.", "-"]


def test_the_values_of_the_file_stay() -> None:
    assert values(sounding(12, "<type>eighth</type>")) == ["eighth"]


def test_a_part_without_values_is_printed_as_one_with_them() -> None:
    bare = sounding(18) + silent(6) + sounding(24)
    full = (
        sounding(18, "<type>quarter</type><dot/>")
        + silent(6).replace("</note>", "<type>eighth</type></note>")
        + sounding(24, "<type>half</type>")
    )
    pages = [engraved(raw(music, attributes=TWELFTHS), Layout.excerpt(80)) for music in (bare, full)]
    assert pages[0][0].svg == pages[1][0].svg
    assert [place.stem for place in pages[0][0].map.notes.values()] == ["down", "down"]
