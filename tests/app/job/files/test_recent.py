"""The list of the files opened last: newest first, each once; a damaged list or a folder in the way stops nobody."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.job.files.recent import MOST, RecentFile, RecentFiles, _listed


@pytest.fixture
def recent(tmp_path):
    return RecentFiles(tmp_path / "state", tmp_path / "pictures")


@pytest.fixture
def listed(tmp_path):
    """The file that holds the list, its folder made."""
    (tmp_path / "state").mkdir()
    return tmp_path / "state" / "recent.json"


def test_nothing_was_opened_before_the_first_file(recent, tmp_path):
    assert recent.read() == ()
    assert list(tmp_path.iterdir()) == []


def test_the_file_opened_last_comes_first_and_each_stands_there_once(recent, tmp_path):
    one, two = tmp_path / "one.musicxml", tmp_path / "two.handframe"
    for file, when in ((one, 1.0), (two, 2.0), (one, 3.5)):
        recent.add(file, when)
    assert recent.read() == (RecentFile(one, 3.5), RecentFile(two, 2.0))


def test_a_file_opened_again_takes_the_place_of_no_other(recent, tmp_path):
    for number in range(8):
        recent.add(tmp_path / f"{number}.mxl", float(number))
    recent.add(tmp_path / "7.mxl", 8.0)
    assert [one.file.stem for one in recent.read()] == ["7", "6", "5", "4", "3", "2", "1", "0"]


def test_only_the_last_eight_are_kept(recent, tmp_path):
    for number in range(11):
        recent.add(tmp_path / f"{number}.mxl", float(number))
    assert MOST == 8
    assert [one.file.stem for one in recent.read()] == ["10", "9", "8", "7", "6", "5", "4", "3"]


def test_a_file_is_known_by_where_it_lies_whatever_it_is_called_from(recent, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    recent.add(Path("duo.mxl"), 1.0)
    assert recent.read() == (RecentFile(tmp_path / "duo.mxl", 1.0),)
    recent.add(tmp_path / "duo.mxl", 2.0)
    assert recent.read() == (RecentFile(tmp_path / "duo.mxl", 2.0),)


def test_names_of_any_letters_come_back_as_they_were(recent, tmp_path):
    """Names of files on Linux are bytes; those that are no text come as lone surrogates: PEP 383."""
    names = ['Übung № 3 "leicht".mxl', "二重奏.musicxml", "broken\udcff.mxl"]
    for when, name in enumerate(names):
        recent.add(tmp_path / name, float(when))
    assert [one.file.name for one in recent.read()] == names[::-1]


def test_a_file_taken_off_the_list_stays_on_the_disk_and_its_picture_goes(recent, tmp_path):
    files = [tmp_path / name for name in ("one.mxl", "two.mxl")]
    for file in files:
        file.write_bytes(b"music")
        recent.add(file, 1.0)
        recent.keep_picture(file, b"dots")
    recent.remove(files[0])
    assert [one.file for one in recent.read()] == files[1:]
    assert files[0].exists()
    assert [recent.picture_of(file).exists() for file in files] == [False, True]


def test_the_picture_of_a_file_that_fell_off_the_list_goes(recent, tmp_path):
    first = tmp_path / "first.mxl"
    recent.add(first, 0.0)
    recent.keep_picture(first, b"dots")
    assert recent.picture_of(first).read_bytes() == b"dots"
    for number in range(1, 9):
        recent.add(tmp_path / f"{number}.mxl", float(number))
    assert not recent.picture_of(first).exists()
    recent.keep_picture(first, b"dots")
    assert not recent.picture_of(first).exists()


@pytest.mark.parametrize(
    "damaged",
    [
        b"",
        b"[",
        b"\xff\xfe",
        b"{}",
        b"[1]",
        b'[{"file": "/a.mxl"}]',
        b'[{"file": 3, "opened": 1}]',
        b'[{"file": "/a.mxl", "opened": true}]',
        b'[{"file": "/a.mxl", "opened": "now"}]',
        b'[{"file": "/a.mxl", "opened": NaN}]',
        b'[{"file": "/a\\u0000.mxl", "opened": 1}]',
        b'[{"file": "a.mxl", "opened": 1}]',
        b"[" * 100_000,
    ],
)
def test_a_damaged_list_is_empty_and_the_next_file_mends_it(recent, listed, tmp_path, damaged):
    listed.write_bytes(damaged)
    assert recent.read() == ()
    recent.add(tmp_path / "new.mxl", 1.0)
    assert recent.read() == (RecentFile(tmp_path / "new.mxl", 1.0),)


PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.sampled_from(["file", "opened", "x"]), inner),
)


@given(PLAIN)
def test_whatever_the_list_holds_it_is_files_or_damaged(plain):
    try:
        files = _listed(plain)
    except ValueError:
        return
    assert len(files) <= MOST
    assert all(one.file.is_absolute() for one in files)


def test_the_list_is_written_whole_or_not_at_all(recent, listed, tmp_path, monkeypatch):
    recent.add(tmp_path / "one.mxl", 1.0)
    before = listed.read_bytes()

    def fail(*_):
        raise OSError("the disk is full")

    monkeypatch.setattr("os.fsync", fail)
    recent.add(tmp_path / "two.mxl", 2.0)
    assert listed.read_bytes() == before
    assert [path.name for path in listed.parent.iterdir()] == [listed.name]


def test_where_no_folder_can_be_made_nothing_is_kept_and_nothing_fails(tmp_path):
    (tmp_path / "in-the-way").write_text("a file")
    recent = RecentFiles(tmp_path / "in-the-way" / "state", tmp_path / "in-the-way" / "pictures")
    recent.add(tmp_path / "one.mxl", 1.0)
    recent.keep_picture(tmp_path / "one.mxl", b"dots")
    assert recent.read() == ()


def test_the_list_is_plain_json(recent, listed, tmp_path):
    recent.add(tmp_path / "one.mxl", 1.5)
    assert json.loads(listed.read_text("ascii")) == [{"file": str(tmp_path / "one.mxl"), "opened": 1.5}]
