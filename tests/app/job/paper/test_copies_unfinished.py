"""A set that is stopped or cannot be written leaves what was there."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from app.job.paper.part_set import write_part, write_set
from app.job.teacher.printing import Copies
from engraving.errors import EngravingError
from tests.app.job.paper.copies import THREE, engraver

# Stopping, and how far it is


class StopError(Exception):
    """The teacher has stopped it."""


def to_file(path, score, work, tick):
    return write_set(path / "set.pdf", score, work, {}, engraver, tick)


def to_folder(path, score, work, tick):
    return write_set(path / "parts", score, work, {}, engraver, tick)


def one_part(path, score, work, tick):
    return write_part(path / "set.pdf", score, work, score.score.parts[0], None, engraver, tick)


WAYS = pytest.mark.parametrize("write", [to_file, to_folder, one_part])


@WAYS
def test_the_share_told_goes_from_nothing_to_all_and_never_back(job, tmp_path, write):
    score, work = job(THREE, Copies(2), Copies(1), Copies(1))
    told = []
    write(tmp_path, score, work, told.append)
    assert told == sorted(told)
    assert (told[0], told[-1]) == (0.0, 1.0)
    assert len(set(told)) > 4


@WAYS
def test_stopped_at_any_moment_it_leaves_what_was_there(job, tmp_path, write):
    score, work = job(THREE, Copies(2), Copies(1), Copies(1))
    old = tmp_path / "set.pdf"
    old.write_bytes(b"old")
    before = sorted(tmp_path.rglob("*"))
    moments = 0
    stopped = True
    while stopped:
        moments += 1
        left = iter(range(moments - 1))

        def tick(share, left=left):
            if next(left, None) is None:
                raise StopError

        try:
            write(tmp_path, score, work, tick)
            stopped = False
        except StopError:
            assert sorted(tmp_path.rglob("*")) == before
            assert old.read_bytes() == b"old"
    assert moments > 5
    assert len(list(tmp_path.rglob("*.pdf"))) > 1 or old.read_bytes() != b"old"


# What cannot be written


def failing(path: Path, kind: str) -> tuple[Path, str]:
    """A place where nothing can be written, and what is said of it."""
    if kind == "no folder":
        return path / "missing" / "set.pdf", rf"set\.pdf cannot be written in .*missing: {os.strerror(errno.ENOENT)}"
    if kind == "is a folder":
        (path / "set.pdf").mkdir()
        return path / "set.pdf", r"set\.pdf cannot be written in .*: .+"
    (path / "file").write_bytes(b"old")
    if kind == "under a file":
        return path / "file" / "set.pdf", r"set\.pdf cannot be written in .*file: .+"
    return path / "file", rf"the folder file cannot be made in .*: {os.strerror(errno.EEXIST)}"


@pytest.mark.parametrize("kind", ["no folder", "is a folder", "under a file", "folder is a file"])
def test_what_cannot_be_written_is_said_in_one_sentence_and_leaves_nothing(job, tmp_path, kind):
    score, work = job(THREE)
    path, sentence = failing(tmp_path, kind)
    before = sorted(tmp_path.rglob("*"))
    with pytest.raises(EngravingError, match=f"^{sentence}$"):
        write_set(path, score, work, {}, engraver)
    assert sorted(tmp_path.rglob("*")) == before


@WAYS
@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EROFS])
def test_a_full_or_read_only_disk_leaves_the_old_file_whole(job, tmp_path, monkeypatch, write, code):
    score, work = job(THREE)
    old = tmp_path / "set.pdf"
    old.write_bytes(b"old")

    def full(_: int) -> None:
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(EngravingError, match=rf"^.*\.pdf cannot be written in .*: {os.strerror(code)}$"):
        write(tmp_path, score, work, lambda share: None)
    assert old.read_bytes() == b"old"
    assert [file.name for file in tmp_path.rglob("*.p*") if file != old] == []
