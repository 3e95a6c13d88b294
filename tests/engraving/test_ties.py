"""A tie that says only where it begins leads to the note it means."""

from __future__ import annotations

import re

import pytest

from engraving.document import read_document
from engraving.reading import read_score
from tests.engraving.rawxml import QUARTER, raw, raw_note
from tests.scores import score


def ties(music: str) -> str:
    """The notes with ``>`` before one that is tied from, ``~`` behind one that is tied on; all tie ends taken out."""
    data = re.sub(rb'<tie(d?) type="stop"/>', b"", score("Violin", "4/4", music))
    notes = read_score(read_document(data, "tune.xml")).parts[0].notes
    return " ".join(">" * note.tied_from + note.pitch.name + "~" * note.tied_on for note in notes)


@pytest.mark.parametrize(
    ("music", "expected"),
    [
        ("D5/1~ D5 E5", "D5~ >D5 E5"),
        ("D5/1~ D5~ | D5 D5", "D5~ >D5~ >D5 D5"),
        ("D5/1~ E5 D5", "D5~ E5 D5"),
        ("D5/1~ r D5", "D5~ D5"),
        ("C#5/1~ Db5", "C#5~ >Db5"),
        ("[D4~ A4]/1 [D4 A4]", "D4~ A4 >D4 A4"),
        ("*D5~ D5/1 D5", "D5~ >D5 D5"),
        ("D5/2~ D5 & D5/2 D5", "D5~ >D5 D5 D5"),
        ("D5/2 D5 & D5/2~ D5", "D5 D5 D5~ >D5"),
        ("*D5 *D5~ D5/1", "D5 D5~ >D5"),
        ("D5/2~ r & r/2 D5", "D5~ >D5"),
    ],
)
def test_the_note_a_tie_leads_to_is_found(music: str, expected: str) -> None:
    assert ties(music) == expected


def test_a_tie_whose_end_is_named_marks_no_other_note() -> None:
    start, stop = '<tie type="start"/>', '<tie type="stop"/>'
    upper = raw_note("D5", QUARTER + start) + raw_note("D5")
    lower = "<forward><duration>1</duration></forward>" + raw_note("D5", QUARTER + stop + "<voice>2</voice>")
    document = read_document(raw(upper + "<backup><duration>2</duration></backup>" + lower), "tune.xml")
    assert [note.tied_from for note in read_score(document).parts[0]] == [False, False, True]
