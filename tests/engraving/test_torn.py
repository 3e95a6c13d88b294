"""MusicXML that breaks off: what is whole of it is read, and nothing else."""

from __future__ import annotations

import pytest
from lxml import etree

from engraving.document import read_document
from engraving.errors import ScoreFileError
from engraving.limits import Limits
from engraving.torn import torn_score
from tests.scores import full_score, part

DUO = full_score(
    part("Violin", "4/4", "D5/1 E5 F#5 G5 | A5/4 | B5/2 C6", key=1),
    part("Viola", "4/4", "D4/4 | E4/2 F#4 | G4/4", key=1),
    title="Small Hours",
)


def measures_of(data: bytes) -> list[list[bytes]]:
    root = etree.fromstring(data)
    return [
        [etree.tostring(measure, method="c14n", with_tail=False) for measure in one] for one in root.iterfind("part")
    ]


def test_of_a_score_that_is_cut_anywhere_the_whole_measures_are_kept_and_no_others() -> None:
    every, before = [measure for one in measures_of(DUO) for measure in one], 0
    for end in range(0, len(DUO), 7):
        cut = DUO[:end]
        count = cut.count(b"</measure>")
        if not count:
            with pytest.raises(ScoreFileError, match=r"^x\.xml breaks off before its first measure ends$"):
                torn_score(cut, "x.xml")
            continue
        torn = torn_score(cut, "x.xml")
        assert [measure for one in measures_of(torn) for measure in one] == every[:count]
        assert [entry.name for entry in read_document(torn, "x.xml").parts] == ["Violin", "Viola"][: 1 + (count > 3)]
        assert count >= before
        before = count
    assert before == 6


@pytest.mark.parametrize("fault", [b"\0", b"<", b"</part>", b"&nothing;", b"]]>", b"<a b=1/>"])
def test_nothing_behind_a_fault_is_kept(fault: bytes) -> None:
    at = DUO.index(b"</measure>", DUO.index(b"<part id=")) + len(b"</measure>")
    at = DUO.index(b"<note", at)
    torn = torn_score(DUO[:at] + fault + DUO[at:], "x.xml")
    assert [len(one) for one in measures_of(torn)] == [1]


def test_a_text_of_too_many_elements_is_refused_before_it_is_read() -> None:
    with pytest.raises(ScoreFileError, match="more elements than any score"):
        torn_score(DUO, "x.xml", Limits(markup=50))
