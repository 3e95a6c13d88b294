"""Dangerous and misnamed files: each is refused in one sentence, or known by what it holds."""

from __future__ import annotations

import os
import stat
import warnings
from pathlib import Path

import pytest

from engraving import filebytes
from engraving.document import open_document, read_document
from engraving.errors import EngravingError, ScoreFileError
from engraving.importing import import_score
from engraving.reading import read_score
from tests.engraving.hostile import CONTAINER, HOSTILE, MISNAMED, TUNE, Hostile, zipped


@pytest.mark.parametrize("one", HOSTILE, ids=lambda one: one.name[:30])
def test_it_is_refused_in_one_sentence_that_says_what_and_where(
    one: Hostile, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    one.lay(tmp_path / one.name)
    with pytest.raises(ScoreFileError) as raised:
        read_score(open_document(tmp_path / one.name))
    sentence = str(raised.value)
    assert sentence.startswith(one.name)
    assert one.says in sentence
    assert "\n" not in sentence


@pytest.mark.parametrize(("name", "data"), MISNAMED, ids=[name for name, _ in MISNAMED])
def test_what_a_file_holds_decides_not_its_suffix(name: str, data: bytes, tmp_path: Path) -> None:
    (tmp_path / name).write_bytes(data)
    (part,) = read_score(open_document(tmp_path / name, convert=import_score)).parts
    assert part.notes[0].pitch.step == "D"


def test_a_member_that_is_there_twice_is_refused() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UserWarning)  # of zipfile, which writes it all the same
        data = zipped(("a.xml", TUNE), ("a.xml", TUNE))
    with pytest.raises(ScoreFileError, match=r"^x\.mxl is an archive that holds a\.xml twice"):
        read_document(data, "x.mxl")


def test_what_a_container_names_outside_of_the_archive_is_not_sought() -> None:
    container = CONTAINER.replace(b"a.xml", b"../../../../etc/passwd")
    with pytest.raises(ScoreFileError, match="without a score inside"):
        read_document(zipped(("META-INF/container.xml", container)), "x.mxl")


def test_a_packing_that_is_not_known_is_refused() -> None:
    data = bytearray(zipped(("a.xml", TUNE)))
    # The way of packing in both headers (ZIP application note, 4.3.7 and 4.3.12); 99 is none that zipfile knows.
    data[8] = data[data.rindex(b"PK\x01\x02") + 10] = 99
    with pytest.raises(ScoreFileError, match="unusual packing"):
        read_document(bytes(data), "x.mxl")


def test_a_file_without_rights_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "locked.musicxml"
    path.write_bytes(TUNE)
    path.chmod(0)
    if os.access(path, os.R_OK):  # The superuser may read everything, so the refusal is made by hand.

        def refuse(*arguments: object) -> int:
            raise PermissionError(13, "Permission denied")

        monkeypatch.setattr(filebytes.os, "open", refuse)
    with pytest.raises(ScoreFileError, match=r"^locked\.musicxml may not be read"):
        open_document(path)


def test_a_file_that_vanishes_while_it_is_opened_is_missed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "going.musicxml"
    path.write_bytes(TUNE)
    look = filebytes._check_kind

    def look_and_lose(mode: int, name: str) -> None:
        path.unlink(missing_ok=True)
        look(mode, name)

    monkeypatch.setattr(filebytes, "_check_kind", look_and_lose)
    with pytest.raises(ScoreFileError, match=r"^going\.musicxml: there is no such file"):
        open_document(path)


@pytest.mark.skipif(os.name != "posix", reason="pipes with names are of POSIX systems")
def test_a_file_that_a_pipe_takes_the_place_of_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "changing.musicxml"
    path.write_bytes(TUNE)
    look = filebytes._check_kind

    def look_and_change(mode: int, name: str) -> None:
        if stat.S_ISREG(mode):
            path.unlink()
            os.mkfifo(path)
        look(mode, name)

    monkeypatch.setattr(filebytes, "_check_kind", look_and_change)
    with pytest.raises(ScoreFileError, match="is a pipe, a socket or a device"):
        open_document(path)


def test_a_file_that_says_it_has_no_length_is_read_to_its_limit_only() -> None:
    # What lies in /proc has the length 0 and is as long as it likes (proc(5)).
    endless = Path("/proc/kallsyms")
    if not endless.exists():
        pytest.skip("there is no such file here")
    with pytest.raises(ScoreFileError, match="is larger than"):
        filebytes.file_bytes(endless, 1000)


# Encodings

UTF_16 = TUNE.decode().replace("UTF-8", "UTF-16")
BARE = TUNE.decode().split("\n", 1)[1]


@pytest.mark.parametrize("codec", ["utf-16-le", "utf-16-be"])
@pytest.mark.parametrize("mark", ["", "\ufeff"])
@pytest.mark.parametrize("text", [UTF_16, TUNE.decode(), BARE], ids=["declared", "declared-otherwise", "undeclared"])
def test_utf_16_is_read_with_and_without_a_mark_or_a_declaration(codec: str, mark: str, text: str) -> None:
    (part,) = read_score(read_document((mark + text.replace("Violin", "Zoë")).encode(codec), "x.xml")).parts
    assert (part.name, len(part.notes)) == ("Zoë", 3)


@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
@pytest.mark.parametrize("text", [UTF_16, TUNE.decode(), BARE], ids=["declared-otherwise", "declared", "undeclared"])
def test_utf_8_is_read_whatever_it_says_it_is(mark: bytes, text: str) -> None:
    (part,) = read_score(read_document(mark + text.replace("Violin", "Zoë").encode(), "x.xml")).parts
    assert part.name == "Zoë"


def test_a_sentence_is_one_line_of_bearable_length() -> None:
    assert str(EngravingError("a\nb\r\nc")) == "a b c"
    assert len(str(EngravingError("novel " * 10_000))) < 1_010
