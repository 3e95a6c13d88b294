"""Functions run in a process of their own, within limits of time and memory: for code that may hang or run riot."""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any, Protocol, TypeVar

from engraving.errors import EngravingError

_V = TypeVar("_V")


class BrokenOffError(Exception):
    """The process ended without an answer: it crashed, or met an error that nobody foresaw."""


class OverdueError(Exception):
    """The process had no answer in its time and was ended."""


class Call(Protocol):
    """How a module-level function is called: :func:`here`, or by :class:`Worker` in another process."""

    def __call__(self, work: Callable[..., _V], /, *arguments: Any) -> _V:
        """What ``work`` returns for these arguments."""


def here(work: Callable[..., _V], /, *arguments: Any) -> _V:
    """Call a function in this process."""
    return work(*arguments)


class Worker:
    """A process that waits for work, begun for the first of it, and anew after it broke down.

    ``memory``: bytes of address space, where the system can limit it. Any thread may ask.
    """

    def __init__(self, memory: int) -> None:
        self._memory = memory
        self._pool: ProcessPoolExecutor | None = None
        self._lock = threading.Lock()

    def submit(self, work: Callable[..., _V], /, *arguments: Any) -> Future[_V]:
        """Have a module-level function called after what was submitted before; arguments and result are copied.

        The future's error is BrokenProcessPool when the process broke down or was ended.
        """
        with self._lock, interrupts_held_back():
            try:
                return self._begun().submit(work, *arguments)
            except BrokenProcessPool:  # by the work before
                self._end()
                return self._begun().submit(work, *arguments)

    def call(self, work: Callable[..., _V], /, *arguments: Any, seconds: float) -> _V:
        """The same, waited for; OverdueError after so many seconds, BrokenOffError when the process breaks down."""
        future = self.submit(work, *arguments)
        try:
            return future.result(seconds)
        except TimeoutError:
            if future.done():
                raise  # of the work itself
            self.interrupt()
            raise OverdueError from None
        except BrokenProcessPool as error:
            raise BrokenOffError from error

    def interrupt(self) -> None:
        """End the process whatever it is at; what engraves a damaged score may never end by itself.

        All that was submitted to it breaks down, and what is submitted from now on has another.
        """
        with self._lock:
            self._kill()
            self._pool = None

    def end(self) -> None:
        """End the process, and wait until it is gone."""
        with self._lock:
            self._end()

    def _begun(self) -> ProcessPoolExecutor:
        if self._pool is None:
            context = multiprocessing.get_context("spawn")
            self._pool = ProcessPoolExecutor(1, context, begin_apart, (self._memory,))
        return self._pool

    def _kill(self) -> None:
        if self._pool is not None:
            for process in list((self._pool._processes or {}).values()):
                process.kill()

    def _end(self) -> None:
        self._kill()
        if self._pool is not None:
            self._pool.shutdown(wait=True, cancel_futures=True)
            self._pool = None


def call_apart(work: Callable[..., _V], arguments: tuple[Any, ...], *, seconds: float, memory: int) -> _V:
    """What a module-level function returns in another process, which ends with it; arguments and result are copied.

    An EngravingError of ``work`` is raised here, and so is MemoryError when it needs more than ``memory`` bytes of
    address space (where the system can limit it). OverdueError after so many ``seconds``, BrokenOffError when no answer
    comes. What it writes on the standard streams is dropped.
    """
    context = multiprocessing.get_context("spawn")
    receiver, sender = context.Pipe(duplex=False)
    process = context.Process(target=_answer, args=(sender, memory, work, arguments), daemon=True)
    process.start()
    sender.close()
    try:
        if not receiver.poll(seconds):
            raise OverdueError
        answer = receiver.recv()
    except (EOFError, OSError) as error:
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


@contextmanager
def interrupts_held_back() -> Iterator[None]:
    """Have Ctrl-C come when this is done, and never to threads and processes begun meanwhile, where the system can."""
    if sys.platform == "win32":
        with _interrupts_kept():
            yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, (signal.SIGINT,))
    try:
        with _interrupts_kept():
            yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


@contextmanager
def _interrupts_kept() -> Iterator[None]:
    """Keep Ctrl-C that any thread of native code may take: it comes in the main thread, which may do this alone."""
    usual = signal.getsignal(signal.SIGINT)
    if usual is None or threading.current_thread() is not threading.main_thread():
        yield
        return
    came: list[int] = []
    signal.signal(signal.SIGINT, lambda number, frame: came.append(number))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, usual)
    if came:
        signal.raise_signal(signal.SIGINT)


def begin_apart(memory: int) -> None:
    """What a process that waits for work begins with: a limit of memory, and an end when the one that began it ends.

    Ctrl-C in a terminal is for the one that began it.
    """
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    limit_memory(memory)
    _end_with_parent()


def _end_with_parent() -> None:
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
