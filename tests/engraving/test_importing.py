"""Scores in other formats come in as MusicXML: the same notes, no words of the converter, one sentence on failure."""

from __future__ import annotations

import warnings
from pathlib import Path

import pytest

from engraving.document import Document, open_document
from engraving.errors import ScoreFileError
from engraving.importing import foreign_format, import_score
from engraving.reading import read_score
from tests.engraving.foreign import ABC, KERN, MEI, TWO_TUNES, midi


def opened(folder: Path, name: str, data: bytes | str) -> Document:
    path = folder / name
    path.write_bytes(data if isinstance(data, bytes) else data.encode())
    # Converted here and now: a process of its own, as programs use, takes music21's time to load for each file.
    return open_document(path, convert=import_score)


def names_in(document: Document) -> list[str]:
    return [note.pitch.name for note in read_score(document).parts[0]]


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("tune.mid", midi(62, 64, 66, 67)),
        ("tune.midi", midi(62, 64, 66, 67)),
        ("tune.abc", ABC),
        ("tune.abc", ABC.encode("utf-16")),
        ("tune.krn", KERN),
        ("tune.mei", MEI),
    ],
)
def test_the_notes_come_in(tmp_path: Path, name: str, data: bytes | str) -> None:
    document = opened(tmp_path, name, data)
    notes = read_score(document).parts[0].notes
    assert [(note.pitch.name, note.onset, note.duration) for note in notes] == [
        ("D4", 0, 1), ("E4", 1, 1), ("F#4", 2, 1), ("G4", 3, 1),
    ]  # fmt: skip
    assert document.source.startswith(b"<?xml")
    assert document.remarks == ()


@pytest.mark.parametrize(
    ("data", "suffix", "expected"),
    [
        (midi(62), ".musicxml", "midi"),
        (MEI.encode(), ".xml", "mei"),
        (MEI.encode("utf-16"), ".xml", "mei"),
        (b"<?xml version='1.0'?><m:mei xmlns:m='http://www.music-encoding.org/ns/mei'/>", ".xml", "mei"),
        (KERN.encode(), ".txt", "humdrum"),
        (b"!!!COM: nobody\n**kern\n", ".txt", "humdrum"),
        (ABC.encode(), ".txt", "abc"),
        (b"M:4/4\nK:G\nDEFG|", ".abc", "abc"),
        (b"4d 4e", ".KRN", "humdrum"),
        (b"<score-partwise/>", ".abc", None),
        (b"PK\x03\x04", ".abc", None),
        (b"Dear colleague,", ".mid", None),
        (b"", ".abc", None),
    ],
)
def test_the_content_tells_the_format_before_the_suffix(data: bytes, suffix: str, expected: str | None) -> None:
    assert foreign_format(data, suffix) == expected


def test_of_several_tunes_the_first_is_opened_and_that_is_said(tmp_path: Path) -> None:
    document = opened(tmp_path, "book.abc", TWO_TUNES)
    assert read_score(document).title == "First tune"
    assert names_in(document) == ["D4", "E4", "F#4", "G4"]
    assert document.remarks == ("book.abc holds 2 tunes; the first was opened",)


def test_tunes_of_one_number_are_still_several(tmp_path: Path) -> None:
    document = opened(tmp_path, "book.abc", TWO_TUNES.replace("X:2", "X:1"))
    assert document.remarks[0] == "book.abc holds 2 tunes; the first was opened"
    assert names_in(document)[:4] == ["D4", "E4", "F#4", "G4"]


def test_an_untitled_score_is_called_after_its_file(tmp_path: Path) -> None:
    assert read_score(opened(tmp_path, "autumn song.mid", midi(62, 64))).title == "autumn song"


def test_no_composer_is_made_up(tmp_path: Path) -> None:
    assert opened(tmp_path, "tune.mid", midi(62)).tree.find("identification/creator") is None


def test_a_composer_of_the_source_is_kept(tmp_path: Path) -> None:
    document = opened(tmp_path, "tune.abc", ABC.replace("M:4/4", "C:A. Nonymous\nM:4/4"))
    assert document.tree.findtext("identification/creator") == "A. Nonymous"


def test_the_same_file_gives_the_same_note_ids(tmp_path: Path) -> None:
    first, second = (opened(tmp_path, "tune.abc", ABC) for _ in range(2))
    assert [note.get("id") for note in first.tree.iter("note")] == [note.get("id") for note in second.tree.iter("note")]


def test_a_doubt_of_the_converter_is_passed_on(monkeypatch: pytest.MonkeyPatch) -> None:
    from music21 import converter

    parse = converter.parseData

    def doubtful(*arguments: object, **options: object) -> object:
        for _ in range(2):
            warnings.warn("measure 3 is too long", UserWarning, stacklevel=1)
        return parse(*arguments, **options)

    monkeypatch.setattr(converter, "parseData", doubtful)
    assert import_score(ABC.encode(), "tune.abc", "abc").remarks == ("tune.abc: measure 3 is too long",)


@pytest.mark.parametrize(
    ("name", "data", "message"),
    [
        ("tune.mid", midi(62)[:20], "cannot be read as MIDI"),
        ("tune.mid", b"MThd", "cannot be read as MIDI"),
        ("tune.mid", midi(), "holds no notes that can be read as MIDI"),
        ("tune.mid", b"", "is empty"),
        ("tune.abc", "X:1\nT:Nothing\nK:C\n", "holds no notes that can be read as ABC"),
        ("tune.krn", "**kern\n*-\n", "holds no notes that can be read as kern"),
        ("tune.mei", MEI[:300], "is not readable XML"),
        ("tune.mei", '<mei xmlns="http://www.music-encoding.org/ns/mei"/>', "cannot be read as MEI"),
    ],
)
def test_a_damaged_file_is_refused_in_one_sentence(tmp_path: Path, name: str, data: bytes | str, message: str) -> None:
    with pytest.raises(ScoreFileError) as raised:
        opened(tmp_path, name, data)
    assert str(raised.value).startswith(f"{name} {message}")
    assert "\n" not in str(raised.value)
