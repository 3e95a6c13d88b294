"""Files that cannot be opened, as a user meets them: one sentence, and what lies open stays as it is."""

from __future__ import annotations

import os
import struct
import zlib
from dataclasses import replace

import pytest

from app.errors import AppError
from app.job.files.opening import open_any
from app.job.project import archive
from app.main import main
from app.window.background.tasks import TaskRunner
from app.window.editing.desk import Desk
from engraving.errors import ScoreFileError
from engraving.limits import LIMITS
from tests.engraving.hostile import HOSTILE, TUNE
from tests.engraving.strange import STRANGE

REFUSED = [one for one in STRANGE if one.refused]


@pytest.fixture
def desk(qtbot):
    runner = TaskRunner()
    yield Desk(runner)
    runner.shut_down()


@pytest.fixture
def laid(tmp_path, monkeypatch):
    """Every file that cannot be opened, with a part of what is said of it."""
    monkeypatch.chdir(tmp_path)
    files = []
    for one in HOSTILE:
        one.lay(tmp_path / one.name)
        files.append((tmp_path / one.name, one.says))
    for number, one in enumerate(REFUSED):
        path = tmp_path / f"refused-{number}.musicxml"
        path.write_bytes(one.data)
        files.append((path, one.says))
    return files


def test_the_command_line_says_one_sentence_and_ends_with_2(laid, capsys):
    for path, says in laid:
        assert main(["watch", str(path), "--part", "1"]) == 2, path.name
        out, err = capsys.readouterr()
        assert out == ""
        assert err.startswith(f"handframe: {path.name}")
        assert says in err
        assert err.count("\n") == 1


def test_the_window_says_one_sentence_and_what_lies_open_stays(qtbot, desk, laid, tmp_path):
    good = tmp_path / "good.musicxml"
    good.write_bytes(TUNE)
    desk._opened(open_any(good))
    qtbot.waitUntil(lambda: not desk.tasks.is_busy, timeout=30_000)
    score, state, part, pages = desk.score, desk.state, desk.part, desk.pages
    told = []
    desk.failed.connect(told.append)
    for path, _ in laid:
        desk.open(path)
    qtbot.waitUntil(lambda: not desk.tasks.is_busy, timeout=60_000)
    assert len(told) == len(laid)
    for sentence, (path, says) in zip(told, laid, strict=True):
        assert sentence.startswith(path.name)
        assert says in sentence
    assert desk.score is score
    assert (desk.state, desk.part, desk.pages) == (state, part, pages)


def test_the_window_says_what_is_not_read_as_it_may_be_meant(qtbot, desk, tmp_path):
    said = []
    desk.said.connect(said.append)
    doubtful = [one for one in STRANGE if one.says and not one.refused]
    for number, one in enumerate(doubtful):
        path = tmp_path / f"doubtful-{number}.musicxml"
        path.write_bytes(one.data)
        desk.open(path)
        qtbot.waitUntil(lambda: not desk.tasks.is_busy, timeout=30_000)
        assert any(one.says in sentence for sentence in said), one.name


@pytest.mark.skipif(os.name != "posix", reason="pipes with names are of POSIX systems")
def test_a_project_that_is_a_pipe_holds_up_nobody(tmp_path):
    os.mkfifo(tmp_path / "pipe.handframe")
    with pytest.raises(AppError, match=r"^pipe\.handframe is a pipe, a socket or a device"):
        open_any(tmp_path / "pipe.handframe")


def test_a_damaged_project_is_not_unpacked_beyond_measure():
    packer = zlib.compressobj(9, zlib.DEFLATED, -zlib.MAX_WBITS)
    packed = packer.compress(bytes(10 * 2**20)) + packer.flush()
    header = struct.pack("<4s5H3I2H", b"PK\x03\x04", 20, 0, 8, 0, 0, 0, len(packed), 10 * 2**20, 1, 0)
    with pytest.raises(ScoreFileError, match=r"^two\.handframe unpacks to more than 400 times its size"):
        archive.contents(header + b"a" + packed, "two.handframe", {"a": 2**30})
    with pytest.raises(ScoreFileError, match=r"^two\.handframe unpacks to more than 1 MB"):
        archive.contents(header + b"a" + packed, "two.handframe", {"a": 2**20}, replace(LIMITS, ratio=2_000))
