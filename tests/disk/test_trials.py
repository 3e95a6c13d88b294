"""Killed, without power, or on a full disk: every file is the old one or the new one, whole.

A few jobs stand here for all; ``python -m tests.disk`` tries every job at every point.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.disk.jobs import JOBS
from tests.disk.points import Points
from tests.disk.trials import Worker, full, journal_killed, killed, working


@pytest.fixture(scope="module")
def worker(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Worker]:
    """A process that does jobs in copies of itself."""
    with working(tmp_path_factory.mktemp("disk")) as made:
        yield made


@pytest.mark.parametrize(("name", "step"), [("piece.handframe", 1), ("ours.toml", 2), ("recent.json", 3), ("set", 5)])
def test_after_a_kill_or_a_power_cut_at_any_point_each_file_is_old_or_new(worker: Worker, name: str, step: int) -> None:
    found = killed(worker, JOBS[name], step)
    assert found.offences == ()
    assert found.points >= 6


def test_what_the_disk_took_of_a_journal_is_there_after_a_kill_at_any_point(worker: Worker) -> None:
    found = journal_killed(worker, step=4)
    assert found.offences == ()
    assert found.points > 30


@pytest.mark.parametrize(("name", "step"), [("piece.handframe", 1), ("recent.json", 3), ("digits.csv", 3), ("set", 6)])
def test_on_a_disk_that_is_full_from_any_point_on_one_sentence_says_so_and_nothing_is_left_over(
    worker: Worker, name: str, step: int
) -> None:
    assert full(worker, JOBS[name], step).offences == ()


# The trials themselves see what they should


def test_what_is_written_in_place_is_counted_and_not_safe_before_it_is_synced(tmp_path: Path) -> None:
    calls: list[str] = []
    points = Points(tmp_path, lambda number, call: calls.append(call))
    pid = os.fork()
    if not pid:
        points.begin()
        handle = os.open(tmp_path / "a.json", os.O_WRONLY | os.O_CREAT)
        os.write(handle, b"[1, 2]")
        good = calls == ["open", "write", "half a write"] and points.unsynced == {str(tmp_path / "a.json"): 0}
        os.fsync(handle)
        os.close(handle)
        os._exit(0 if good and not points.unsynced and points.entries == {str(tmp_path)} else 1)
    assert os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) == 0
    assert (tmp_path / "a.json").read_bytes() == b"[1, 2]"
