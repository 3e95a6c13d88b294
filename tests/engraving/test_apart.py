"""Functions in a process of their own: the answer comes back, and nothing else that they do."""

from __future__ import annotations

import os
import sys
import time

import pytest

from engraving.apart import BrokenOffError, call_apart
from engraving.errors import ScoreFileError

MEMORY = 2 * 2**30


def twice(number: int) -> int:
    return 2 * number


def complain(name: str) -> None:
    raise ScoreFileError(f"{name} is none")


def hang() -> None:
    time.sleep(600)


def die() -> None:
    os._exit(3)


def stumble() -> None:
    raise KeyError("a bug in a library")


def devour(size: int) -> int:
    return len(bytes(size))


def chatter() -> int:
    sys.stdout.write("to the terminal\n")
    os.write(2, b"to the terminal\n")
    return 1


def test_the_result_comes_back() -> None:
    assert call_apart(twice, (21,), seconds=60, memory=MEMORY) == 42


def test_an_error_of_ours_is_raised_here() -> None:
    with pytest.raises(ScoreFileError, match=r"^tune\.abc is none$"):
        call_apart(complain, ("tune.abc",), seconds=60, memory=MEMORY)


def test_what_hangs_is_ended() -> None:
    before = time.monotonic()
    with pytest.raises(TimeoutError):
        call_apart(hang, (), seconds=0.5, memory=MEMORY)
    assert time.monotonic() - before < 300


@pytest.mark.parametrize("work", [die, stumble])
def test_what_dies_or_stumbles_gives_no_answer_and_writes_nothing(
    work: object, capfd: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(BrokenOffError):
        call_apart(work, (), seconds=60, memory=MEMORY)  # type: ignore[arg-type]
    assert capfd.readouterr() == ("", "")


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux keeps to a limit of address space")
def test_what_devours_memory_is_ended() -> None:
    assert call_apart(devour, (2**20,), seconds=60, memory=MEMORY) == 2**20
    with pytest.raises(MemoryError):
        call_apart(devour, (4 * 2**30,), seconds=60, memory=MEMORY)


def test_what_it_says_is_dropped(capfd: pytest.CaptureFixture[str]) -> None:
    assert call_apart(chatter, (), seconds=60, memory=MEMORY) == 1
    assert capfd.readouterr() == ("", "")
