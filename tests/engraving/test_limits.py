"""How much a score may hold: each limit lets through what lies at it and refuses what goes over, in one sentence."""

from __future__ import annotations

import io
import zipfile
from dataclasses import fields, replace
from pathlib import Path

import pytest

from engraving import importing
from engraving.apart import BrokenOffError
from engraving.archive import archive_of
from engraving.document import open_document
from engraving.errors import ScoreFileError
from engraving.importing import import_apart
from engraving.limits import LIMITS, Limits, table
from engraving.reading import read_score
from tests.engraving.foreign import ABC
from tests.engraving.rawxml import raw, raw_note
from tests.scores import full_score, part, score

TUNE = score("Violin", "4/4", "D5/1 r E5 F#5 | G5/4")
DUET = full_score(part("Violin", "4/4", "D5/2 E5 | F5/4 | G5"), part("Viola", "4/4", "D4/4 | E4"))
BLANK = score("Violin", "4/4", "D5/4") + b" " * 2**21
TREMBLING = raw(raw_note("D5"), "<attributes><divisions>7</divisions></attributes>" + raw_note("D5"), raw_note("E5"))


def packed_ratio(data: bytes) -> int:
    """How many times its packed size the score in the archive has, rounded up."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        info = archive.infolist()[-1]
    return -(-info.file_size // info.compress_size)


# A file, the limit that it just keeps to, and what is said where the limit is a little lower.
CASES = {
    "file_bytes": (TUNE, len(TUNE), "is larger than"),
    "score_bytes": (archive_of(TUNE, "a.xml"), len(TUNE), "unpacks to more than"),
    "members": (archive_of(TUNE, "a.xml"), 3, "more than 2 files"),
    "ratio": (archive_of(BLANK, "a.xml"), packed_ratio(archive_of(BLANK, "a.xml")), "times its size, which no score"),
    "markup": (TUNE, TUNE.count(b"<") + TUNE.count(b"="), "more elements than any score"),
    "depth": (TUNE, 6, "more than 5 deep"),
    "parts": (DUET, 2, "has more than 1 parts"),
    "measures": (DUET, 5, "has more than 4 measures in all its parts"),
    "measures_of_part": (DUET, 3, "has a part of more than 2 measures"),
    "notes": (DUET, 6, "has more than 5 notes"),
    "notes_of_measure": (DUET, 2, "has a measure of more than 1 notes"),
    "quarters": (DUET, 12, "lasts longer than 11 quarter notes"),
    "denominator": (TREMBLING, 7, "have no common measure"),
}
_ELSEWHERE = {"work_bytes", "convert_seconds", "convert_bytes", "engrave_seconds", "engrave_bytes"}


def opened(folder: Path, data: bytes, limits: Limits) -> None:
    path = folder / "score.xml"
    path.write_bytes(data)
    read_score(open_document(path, limits), limits)


def test_every_limit_is_tried() -> None:
    assert {limit.name for limit in fields(Limits)} == CASES.keys() | _ELSEWHERE


def test_every_limit_says_why() -> None:
    assert [name for name, most, why in table() if most <= 0 or not why] == []


@pytest.mark.parametrize("name", CASES)
def test_what_keeps_to_a_limit_opens_and_what_goes_over_is_refused(name: str, tmp_path: Path) -> None:
    data, most, says = CASES[name]
    opened(tmp_path, data, replace(LIMITS, **{name: most}))
    with pytest.raises(ScoreFileError) as raised:
        opened(tmp_path, data, replace(LIMITS, **{name: most - 1}))
    assert str(raised.value).startswith("score.xml")
    assert says in str(raised.value)
    assert "\n" not in str(raised.value)


def test_a_part_of_ten_thousand_measures_opens(tmp_path: Path) -> None:
    rest = "<note><rest/><duration>4</duration></note>"
    measures = "".join(f'<measure number="{number}">{rest}</measure>' for number in range(2, 10_001))
    note = "<note><pitch><step>D</step><octave>5</octave></pitch><duration>4</duration></note>"
    data = raw(note).replace(b"</part>", measures.encode() + b"</part>")
    path = tmp_path / "long.mxl"
    path.write_bytes(archive_of(data, "long.xml"))
    (mine,) = read_score(open_document(path)).parts
    assert (len(mine.measures), len(mine.notes)) == (10_000, 1)
    assert mine.measures[-1].onset == 39_996


def test_a_conversion_that_takes_too_long_is_ended() -> None:
    limits = replace(LIMITS, convert_seconds=0.05)
    with pytest.raises(ScoreFileError, match=r"^tune\.abc is not converted from ABC in 0\.05 seconds"):
        import_apart(ABC.encode(), "tune.abc", "abc", limits)


@pytest.mark.parametrize(
    ("fault", "says"),
    [
        (MemoryError(), "tune.abc needs too much memory to be converted from ABC: it is too long, or damaged"),
        (BrokenOffError(), "tune.abc cannot be read as ABC: it is damaged or holds something unknown"),
    ],
)
def test_a_conversion_that_breaks_off_is_said(monkeypatch: pytest.MonkeyPatch, fault: Exception, says: str) -> None:
    def break_off(*arguments: object, **limits: object) -> None:
        raise fault

    monkeypatch.setattr(importing, "call_apart", break_off)
    with pytest.raises(ScoreFileError) as raised:
        import_apart(ABC.encode(), "tune.abc", "abc")
    assert str(raised.value) == says


def test_a_score_is_converted_in_a_process_of_its_own() -> None:
    assert import_apart(ABC.encode(), "tune.abc", "abc").musicxml.count(b"<pitch>") == 4
