"""Many cases run in processes of their own, each within limits of time and memory, and what became of them."""

from __future__ import annotations

import multiprocessing
import re
import resource
import signal
import tempfile
import threading
import time
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import ExitStack, suppress
from dataclasses import dataclass, field, replace
from functools import partial
from multiprocessing.connection import Connection
from pathlib import Path

from engraving.engraver import engrave
from engraving.errors import EngravingError
from engraving.layout import A4
from tests.fuzzing.cases import case
from tests.fuzzing.trial import trial

# A case may convert another format, which begins by loading music21.
MOST_SECONDS = 60.0
MOST_BYTES = 1024 * 2**20
ENGRAVER = "engraver:"
# Of each process: the engraver, which is native code, can ask for more than a computer has.
_ADDRESS_SPACE = 3 * 2**30
_PEAK = re.compile(r"VmHWM:\s+(\d+) kB")


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of a case: ``refused`` in that sentence, or ``fault``, which is ours. ``part``: to be engraved."""

    number: int
    seconds: float = 0.0
    memory: int = 0
    refused: str = ""
    fault: str = ""
    part: str = ""


@dataclass
class Report:
    """What became of all cases."""

    seed: int
    outcomes: list[Outcome] = field(default_factory=list)
    engraved: Counter[str] = field(default_factory=Counter)

    @property
    def faults(self) -> list[Outcome]:
        """The cases that neither opened nor were refused in a sentence, or took too much."""
        return [one for one in self.outcomes if one.fault]

    def lines(self) -> Iterator[str]:
        """The report for people."""
        refused = [one.refused for one in self.outcomes if one.refused]
        slowest = max(self.outcomes, key=lambda one: one.seconds)
        largest = max(self.outcomes, key=lambda one: one.memory)
        yield f"cases {len(self.outcomes)}, seed {self.seed}"
        yield f"opened {len(self.outcomes) - len(refused) - len(self.faults)}"
        yield f"refused in a sentence {len(refused)}"
        yield f"worst time {slowest.seconds:.2f} s (case {slowest.number})"
        yield f"worst memory {largest.memory / 2**20:.0f} MB more than before (case {largest.number})"
        for what, count in sorted(self.engraved.items()):
            yield f"{what} {count}"
        yield f"failures {len(self.faults)}"
        for one in sorted(self.faults, key=lambda one: one.number):
            yield f"--seed {self.seed} --case {one.number}: {one.fault}"


def run(
    seed: int,
    numbers: range,
    *,
    jobs: int = 1,
    engraving: bool = False,
    most: float = MOST_SECONDS,
    tell: Callable[[str], object] = lambda line: None,
    stop: threading.Event | None = None,
) -> Report:
    """Run the cases of these numbers; with ``engraving`` what opens is engraved as well.

    ``tell`` hears of faults. No more cases are begun once ``stop`` is set.
    """
    report, waiting, lock = Report(seed), iter(numbers), threading.Lock()

    def take() -> int | None:
        with lock:
            return None if stop is not None and stop.is_set() else next(waiting, None)

    def work() -> None:
        folder = stack.enter_context(tempfile.TemporaryDirectory())
        worker = stack.enter_context(Worker(partial(_tried, seed, Path(folder))))
        engraver = stack.enter_context(Worker(_engraved))
        while (number := take()) is not None:
            outcome = worker.ask(number, number, most)
            said = _engrave(engraver, outcome, most) if engraving and outcome.part else ""
            with lock:
                report.outcomes.append(replace(outcome, part=""))
                if said:
                    report.engraved[said] += 1
            for fault in (outcome.fault, said if said.startswith(ENGRAVER) else ""):
                if fault:
                    tell(f"--seed {seed} --case {number}: {fault}")

    with ExitStack() as stack:
        threads = [threading.Thread(target=work, name="fuzzing") for _ in range(jobs)]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
    return report


def _engrave(engraver: Worker, outcome: Outcome, most: float) -> str:
    result = engraver.ask(outcome.number, outcome.part, most)
    if result.fault:
        return f"{ENGRAVER} {result.fault.strip().splitlines()[-1]} (case {outcome.number})"
    return "refused by the engraver in a sentence" if result.refused else "engraved"


def _tried(seed: int, folder: Path, number: int) -> Outcome:
    refused, part = trial(case(seed, number), folder)
    return Outcome(number, refused=refused, part=part)


def _engraved(part: str) -> Outcome:
    try:
        engrave(part, A4, None, 2)
    except EngravingError as error:
        return Outcome(0, refused=str(error))
    return Outcome(0)


class Worker:
    """A process that answers one question after another; a new one is begun when it hangs or dies."""

    def __init__(self, answer: Callable[..., Outcome]) -> None:
        self._answer = answer
        self._process: multiprocessing.process.BaseProcess | None = None
        self._pipe: Connection | None = None

    def __enter__(self) -> Worker:
        return self

    def __exit__(self, *reason: object) -> None:
        self._end()

    def ask(self, number: int, question: object, most: float) -> Outcome:
        """The answer; an outcome with a fault when there is none in time, or the process dies."""
        if self._pipe is None:
            self._begin()
        pipe = self._pipe
        if pipe is None:
            raise RuntimeError("the process did not begin")
        try:
            pipe.send(question)
            if not pipe.poll(most):
                self._end()
                return Outcome(number, most, fault=f"no end within {most:g} s")
            outcome = pipe.recv()
        except (EOFError, OSError):
            self._end()
            return Outcome(number, fault="the process died")
        if outcome.memory > MOST_BYTES and not outcome.fault:
            outcome = replace(outcome, fault=f"took {outcome.memory / 2**20:.0f} MB")
        return replace(outcome, number=number)

    def _begin(self) -> None:
        context = multiprocessing.get_context("spawn")
        self._pipe, theirs = context.Pipe()
        process = context.Process(target=_serve, args=(theirs, self._answer))
        process.start()
        theirs.close()
        self._process = process

    def _end(self) -> None:
        if self._process is not None and self._pipe is not None:
            self._process.kill()
            self._process.join()
            self._pipe.close()
        self._process, self._pipe = None, None


def _serve(pipe: Connection, answer: Callable[..., Outcome]) -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the run ends by itself when it is interrupted
    _, most = resource.getrlimit(resource.RLIMIT_AS)
    resource.setrlimit(resource.RLIMIT_AS, (_ADDRESS_SPACE, most))
    with suppress(EOFError):
        while True:
            question = pipe.recv()
            before = _fresh_peak()
            began = time.perf_counter()
            try:
                found = answer(question)
            except Exception:  # noqa: BLE001 - which ones there are is the question
                found = Outcome(0, fault=traceback.format_exc())
            seconds, memory = time.perf_counter() - began, max(0, _peak() - before)
            pipe.send(replace(found, seconds=seconds, memory=memory))


def _fresh_peak() -> int:
    """The memory in use, from which the peak is counted anew (proc(5), clear_refs)."""
    with suppress(OSError):
        Path("/proc/self/clear_refs").write_text("5")
    return _peak()


def _peak() -> int:
    """The most memory that this process has had, in bytes."""
    try:
        found = _PEAK.search(Path("/proc/self/status").read_text())
    except OSError:
        found = None
    return int(found[1]) * 1024 if found else resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
