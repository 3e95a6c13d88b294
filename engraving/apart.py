"""A function run in a process of its own, within limits of time and memory: for code that may hang or run riot."""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any, TypeVar

from engraving.errors import EngravingError

_V = TypeVar("_V")


class BrokenOffError(Exception):
    """The process ended without an answer: it crashed, or met an error that nobody foresaw."""


def call_apart(work: Callable[..., _V], arguments: tuple[Any, ...], *, seconds: float, memory: int) -> _V:
    """What a module-level function returns in another process, which ends with it; arguments and result are copied.

    An EngravingError of ``work`` is raised here, and so is MemoryError when it needs more than ``memory`` bytes of
    address space (where the system can limit it). TimeoutError after so many ``seconds``, BrokenOffError when no answer
    comes. What it writes on the standard streams is dropped.
    """
    context = multiprocessing.get_context("spawn")
    receiver, sender = context.Pipe(duplex=False)
    process = context.Process(target=_answer, args=(sender, memory, work, arguments), daemon=True)
    process.start()
    sender.close()
    try:
        if not receiver.poll(seconds):
            raise TimeoutError
        answer = receiver.recv()
    except (EOFError, OSError) as error:
        if isinstance(error, TimeoutError):
            raise
        raise BrokenOffError from error
    finally:
        process.kill()
        process.join()
        process.close()
        receiver.close()
    if isinstance(answer, (EngravingError, MemoryError)):
        raise answer
    result: _V = answer
    return result


def begin_apart(memory: int) -> None:
    """What a process that waits for work begins with: a limit of memory, and an end when the one that began it ends."""
    limit_memory(memory)
    end_with_parent()


def end_with_parent() -> None:
    """Have this process end when the one that began it ends, even when that was killed."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        _be_ended_with(parent.sentinel)
        threading.Thread(target=_end_with, args=(parent,), name="parent", daemon=True).start()


def _be_ended_with(pipe: int) -> None:
    """Have the system end this process at once when the other end of ``pipe`` is closed, where the system can.

    A thread of our own comes to its turn only when native code lets go of the interpreter, minutes later perhaps.
    """
    if sys.platform == "linux":
        import fcntl

        fcntl.fcntl(pipe, fcntl.F_SETOWN, os.getpid())
        fcntl.fcntl(pipe, fcntl.F_SETSIG, signal.SIGKILL)
        fcntl.fcntl(pipe, fcntl.F_SETFL, fcntl.fcntl(pipe, fcntl.F_GETFL) | os.O_ASYNC)


def _end_with(parent: BaseProcess) -> None:
    parent.join()
    os._exit(1)


def _answer(sender: Connection, memory: int, work: Callable[..., Any], arguments: tuple[Any, ...]) -> None:
    begin_apart(memory)
    _be_silent()
    try:
        answer = work(*arguments)
    except (EngravingError, MemoryError) as error:
        answer = error
    sender.send(answer)


def _be_silent() -> None:
    """Let nothing reach the standard streams, a traceback least of all: the answer says what there is to say."""
    nowhere = os.open(os.devnull, os.O_WRONLY)
    for stream in (1, 2):
        os.dup2(nowhere, stream)


def limit_memory(memory: int) -> None:
    """Let this process have no more than so many bytes of address space, where the system can limit it."""
    if sys.platform != "win32":
        import resource

        _, most = resource.getrlimit(resource.RLIMIT_AS)
        allowed = memory if most == resource.RLIM_INFINITY else min(memory, most)
        resource.setrlimit(resource.RLIMIT_AS, (allowed, most))
