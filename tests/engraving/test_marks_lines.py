"""The teacher's lines in the file: where hairpins end, and the numbers that keep lines apart."""

from __future__ import annotations

import pytest
from lxml import etree

from engraving.document import read_document
from engraving.errors import EngravingError
from engraving.marks.writing import marked_bytes
from tests.engraving.marked import (
    TUNE,
    mark,
    measure,
    pencilled,
)
from tests.engraving.rawxml import QUARTER, raw, raw_note
from tests.scores import score

# Hairpins that follow each other


def test_a_hairpin_ends_where_the_next_begins() -> None:
    root = pencilled(mark("crescendo", "a", "c"), mark("diminuendo", "c", "d"))
    assert measure(root, 1) == ["wedge crescendo", "a", "b", "wedge stop", "wedge diminuendo", "c", "d", "wedge stop"]


def test_a_hairpin_ends_at_the_dynamic_it_leads_to() -> None:
    root = pencilled(mark("crescendo", "a", "c"), mark("dynamic", "c", text="f"))
    assert measure(root, 1) == ["wedge crescendo", "a", "b", "dynamics", "wedge stop", "c", "d"]


def test_a_hairpin_under_one_note_lasts_as_long_as_the_note() -> None:
    root = pencilled(mark("dynamic", "c", text="p"), mark("crescendo", "c", "c"))
    assert measure(root, 1) == ["a", "b", "dynamics", "wedge crescendo", "c", "wedge stop", "d"]


def test_a_hairpin_from_a_grace_note_to_its_main_note_does_not_end_at_its_own_beginning() -> None:
    document = read_document(TUNE, "tune.xml")
    swell = mark("crescendo", "grace", "low")
    once = marked_bytes(document, [], [swell])
    assert measure(etree.fromstring(once), 2) == ["wedge crescendo", "grace", "low", "high", "wedge stop", "e"]
    assert marked_bytes(read_document(once, "tune.xml"), [], [swell]) == once


# Numbers


def numbers(root: etree._Element, tag: str) -> list[tuple[str, str]]:
    return [(sign.get("type", ""), sign.get("number", "1")) for sign in root.iter(tag)]


def test_a_slur_takes_a_number_that_no_slur_beside_it_has() -> None:
    data = score("Violin", "4/4", "D5/1@a (E5@b (F5@c G5@d | A5@e) B5) C6@f (D6 | E6@g)")
    root = pencilled(mark("slur", "a", "c"), mark("dashed-slur", "c", "g"), mark("slur", "f", "g"), data=data)
    assert [slur.get("number") for slur in root.xpath("//note[@id='a']//slur")] == ["3"]
    assert [slur.get("number") for slur in root.xpath("//note[@id='c']//slur")] == ["2", "3", "4"]
    assert [slur.get("number") for slur in root.xpath("//note[@id='f']//slur")] == ["2"]


def test_a_number_is_free_again_behind_the_line_that_had_it() -> None:
    root = pencilled(mark("crescendo", "a", "b"), mark("diminuendo", "c", "d"), mark("crescendo", "low", "e"))
    assert {number for _, number in numbers(root, "wedge")} == {"1"}


def test_lines_over_each_other_have_numbers_of_their_own() -> None:
    root = pencilled(mark("bracket", "a", "d"), mark("held-position", "b", "c"), mark("held-finger", "b", "e"))
    assert numbers(root, "dashes") == [("start", "2"), ("stop", "2")]
    assert sorted(numbers(root, "bracket")) == [("start", "1"), ("start", "3"), ("stop", "1"), ("stop", "3")]


def test_a_slur_that_the_file_never_ends_keeps_its_number() -> None:
    begun = f'{QUARTER}<notations><slur type="start"/></notations>'
    data = raw(raw_note("D5", begun), raw_note("E5", attributes=' id="a"') + raw_note("F5", attributes=' id="b"'))
    assert numbers(pencilled(mark("slur", "a", "b"), data=data), "slur")[1:] == [("start", "2"), ("stop", "2")]


@pytest.mark.parametrize(("first", "last", "number"), [("c", "d", "2"), ("e", "f", "1")])
def test_a_stray_end_of_a_slur_takes_its_number_in_its_measure_only(first: str, last: str, number: str) -> None:
    ended = f'{QUARTER}<notations><slur type="stop"/></notations>'
    notes = ["".join(raw_note("E5", attributes=f' id="{name}"') for name in names) for names in ("cd", "ef")]
    data = raw(raw_note("D5", ended) + notes[0], notes[1])
    assert numbers(pencilled(mark("slur", first, last), data=data), "slur")[1:] == [("start", number), ("stop", number)]


def test_a_slur_after_a_stray_end_keeps_its_number_to_its_own_end() -> None:
    def slurred(kind: str) -> str:
        return f'{QUARTER}<notations><slur type="{kind}"/></notations>'

    inside = raw_note("E5", attributes=' id="a"') + raw_note("F5", attributes=' id="b"')
    data = raw(
        raw_note("D5", slurred("stop")), raw_note("D5", slurred("start")) + inside + raw_note("G5", slurred("stop"))
    )
    assert numbers(pencilled(mark("slur", "a", "b"), data=data), "slur")[2:4] == [("start", "2"), ("stop", "2")]


def test_the_end_of_a_slur_may_be_written_before_its_beginning() -> None:
    def note(name: str, voice: int, slur: str = "") -> str:
        slurred = f'<notations><slur type="{slur}"/></notations>' if slur else ""
        return raw_note(name, f"{QUARTER}<voice>{voice}</voice>{slurred}")

    over = note("D5", 1) + note("E5", 1, "stop") + "<backup><duration>2</duration></backup>" + note("D4", 2, "start")
    root = pencilled(mark("slur", "note-1", "note-2"), mark("slur", "note-4", "note-5"),
                     data=raw(over, note("E4", 1) + note("F4", 1)))  # fmt: skip
    assert numbers(root, "slur") == [
        ("start", "2"),
        ("stop", "1"),
        ("stop", "2"),
        ("start", "1"),
        ("start", "1"),
        ("stop", "1"),
    ]


def test_more_lines_than_there_are_numbers_are_refused() -> None:
    data = score("Violin", "4/4", " ".join(f"D5/0.25@n{place}" for place in range(36)))
    lines = [mark("slur", f"n{place}", f"n{35 - place}") for place in range(17)]
    with pytest.raises(EngravingError, match=r"^tune\.xml: more than 16 lines of one kind"):
        pencilled(*lines, data=data)
    assert len(numbers(pencilled(*lines[:16], data=data), "slur")) == 32
