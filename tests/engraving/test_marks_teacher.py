"""The teacher's marks as values: what a mark can be, and the table of their kinds."""

from __future__ import annotations

import math

import pytest
from lxml import etree

from engraving.errors import EngravingError
from engraving.marks.at_notes import AT_NOTES
from engraving.marks.over_notes import OVER_NOTES
from engraving.marks.teacher import MARK_KINDS, TeacherMark
from tests.engraving.schema import schema_text


def test_a_mark_is_a_value() -> None:
    assert TeacherMark("slur", "a", "b") == TeacherMark("slur", "a", "b")
    assert len({TeacherMark("accent", "a"), TeacherMark("accent", "a", dx=0)}) == 1


def test_blanks_in_the_text_of_a_mark_are_tidied() -> None:
    assert TeacherMark("text", "a", text="  listen \n to\tme ").text == "listen to me"


def test_every_kind_is_written_by_its_scope() -> None:
    assert set(AT_NOTES) == {name for name, kind in MARK_KINDS.items() if kind.scope == "note"}
    assert set(OVER_NOTES) == {name for name, kind in MARK_KINDS.items() if kind.scope == "range"}


def test_titles_tell_the_kinds_apart() -> None:
    titles = [kind.title for kind in MARK_KINDS.values()]
    assert len(set(titles)) == len(titles)
    assert all(name == kind.name for name, kind in MARK_KINDS.items())


def test_every_element_of_the_table_is_one_of_the_standard() -> None:
    """Source: the schema of MusicXML 4.0."""
    named = etree.fromstring(schema_text()).iter("{http://www.w3.org/2001/XMLSchema}element")
    assert {kind.element for kind in MARK_KINDS.values()} <= {element.get("name") for element in named}


@pytest.mark.parametrize(
    ("message", "mark"),
    [
        ("there is no mark 'upbow'; there is 'up-bow'", ("upbow", "a")),
        ("there is no mark 'xylophone'$", ("xylophone", "a")),
        ("Accent: the mark names no note", ("accent", "")),
        ("Accent: the mark stands at one note", ("accent", "a", "b")),
        ("Crescendo: the mark names no note where it ends", ("crescendo", "a")),
        ("Slur: the mark needs two notes", ("slur", "a", "a")),
        ("Hooked bow: the mark needs two notes", ("hooked-bow", "a", "a")),
        ("Dynamic: the mark says nothing", ("dynamic", "a", "", " ")),
        ("Accent: the mark has no text of its own, not 'loud'", ("accent", "a", "", "loud")),
        ("Text: the text holds signs that cannot be printed", ("text", "a", "", "bow\x07")),
        ("String: 'VI' is no string; strings are I to V", ("string", "a", "", "VI")),
        ("String: '3' is no string", ("string", "a", "", "3")),
        ("moved by 200 staff spaces at most", ("accent", "a", "", "", 201.0)),
        ("moved by 200 staff spaces at most", ("accent", "a", "", "", 0.0, math.nan)),
    ],
)
def test_a_mark_that_cannot_be_is_refused(message: str, mark: tuple[str, ...]) -> None:
    with pytest.raises(EngravingError, match=message):
        TeacherMark(*mark)  # type: ignore[arg-type]  # texts and distances stand in one row of the table


@pytest.mark.parametrize("text", ["III", "iv", "V.", "3", "2."])
@pytest.mark.parametrize("kind", ["position", "held-position"])
def test_a_position_is_never_a_numeral_that_could_name_a_string(kind: str, text: str) -> None:
    """Roman numerals name strings, arabic ones fingers. Common practice, no source."""
    with pytest.raises(EngravingError, match=f"'{text}' reads as a string or a finger"):
        TeacherMark(kind, "a", "b" if kind == "held-position" else "", text)


@pytest.mark.parametrize("text", ["3rd pos.", "III pos.", "half pos.", "thumb pos.", "I hold"])
def test_a_position_in_words_is_taken(text: str) -> None:
    assert TeacherMark("position", "a", text=text).text == text


@pytest.mark.parametrize("kind", [name for name, kind in MARK_KINDS.items() if kind.scope == "range"])
def test_a_line_may_stand_over_one_note_unless_it_joins_two(kind: str) -> None:
    text = "3rd pos." if MARK_KINDS[kind].takes_text else ""
    if MARK_KINDS[kind].element == "slur":
        with pytest.raises(EngravingError):
            TeacherMark(kind, "a", "a", text)
    else:
        assert TeacherMark(kind, "a", "a", text).last == "a"
