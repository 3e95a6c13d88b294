"""Functions in a process of their own: the answer comes back, and nothing else that they do."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import pytest

from engraving.apart import BrokenOffError, OverdueError, call_apart, interrupts_held_back
from engraving.errors import ScoreFileError

MEMORY = 2 * 2**30
ROOT = Path(__file__).parents[2]


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
    with pytest.raises(OverdueError):
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


WAITING = """
import ctypes
import os
import sys
import threading
import time
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context
from engraving.apart import begin_apart


def sleep_in_native_code():
    ctypes.PyDLL(None).sleep(120)  # unlike CDLL it keeps hold of the interpreter, as the engraver does


if __name__ == "__main__":
    pool = ProcessPoolExecutor(1, get_context("spawn"), begin_apart, (10**10,))
    found = []
    begin = threading.Thread(target=lambda: found.append(pool.submit(os.getpid).result()))
    begin.start()
    begin.join()
    time.sleep(0.2)
    assert pool.submit(os.getpid).result() == found[0], "it outlives the thread that began it"
    if sys.argv[1:] == ["busy"]:
        pool.submit(sleep_in_native_code)
        time.sleep(0.5)
    print(found[0], flush=True)
    time.sleep(600)
"""


@pytest.mark.parametrize(
    "busy",
    [
        (),
        pytest.param(
            ("busy",),
            marks=pytest.mark.skipif(sys.platform != "linux", reason="only Linux ends what holds the interpreter"),
        ),
    ],
)
def test_a_process_ends_with_the_one_that_began_it_even_when_that_is_killed(
    tmp_path: Path, busy: tuple[str, ...]
) -> None:
    script = tmp_path / "waiting.py"
    script.write_text(WAITING)
    with subprocess.Popen(
        [sys.executable, script, *busy],
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        env=dict(os.environ, PYTHONPATH=str(ROOT)),
    ) as begun:
        assert begun.stdout is not None
        worker = Path(f"/proc/{int(begun.stdout.readline())}")
        assert worker.exists()
        begun.kill()
    end = time.monotonic() + 30
    while worker.exists() and time.monotonic() < end:
        time.sleep(0.05)
    assert not worker.exists()


@pytest.mark.skipif(sys.platform == "win32", reason="a signal to one thread of several")
def test_an_interrupt_that_another_thread_takes_is_held_back_too() -> None:
    """Native libraries begin threads of their own when they are loaded; the system may give any of them the signal."""
    over, done = threading.Event(), []
    before = signal.signal(signal.SIGINT, signal.default_int_handler)  # it is ignored in what runs in the background
    other = threading.Thread(target=over.wait)
    other.start()

    def load() -> None:
        with interrupts_held_back():
            signal.pthread_kill(other.ident, signal.SIGINT)
            time.sleep(0.05)
            done.append("all of it")

    try:
        with pytest.raises(KeyboardInterrupt):
            load()
        assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
    finally:
        over.set()
        other.join()
        signal.signal(signal.SIGINT, before)
    assert done == ["all of it"]
    assert signal.SIGINT not in signal.pthread_sigmask(signal.SIG_BLOCK, ())
