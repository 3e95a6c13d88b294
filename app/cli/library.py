"""``handframe finger FOLDER``: finger a whole library of scores on several processes, each copy where its score is."""

from __future__ import annotations

import argparse
import hashlib
import json
import os
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, wait
from concurrent.futures import TimeoutError as TimeLimitError
from dataclasses import dataclass, field
from importlib.metadata import version
from multiprocessing import get_context
from pathlib import Path, PurePosixPath

from pebble import ProcessExpired, ProcessPool
from tqdm import tqdm

from analysis.errors import AnalysisError, one_line
from analysis.fingering.rules.files import find_rules, rules_to
from analysis.fingering.rules.house import HouseRules
from analysis.instruments import find_instrument
from analysis.language import _, catalogue, n_
from app.cli.arguments import MOST_JOBS
from app.cli.finger import MAKERS, whole_score
from app.errors import AppError
from app.job.files.opening import open_any
from app.job.library.finished import Finished, Made, digest_of
from app.job.library.folder import Source, check_folders, find_sources, output_names
from engraving.apart import begin_apart, interrupts_held_back
from engraving.errors import EngravingError
from engraving.filebytes import as_text
from engraving.limits import LIMITS

_LIMIT = 3600.0  # seconds; a score that takes longer has gone astray
PROCESS_LIFE = 40  # scores, after which a process is begun afresh, so that none keeps growing
_WAITING = 2  # scores a process that are handed out ahead; the rest wait here, and so do their results
_FAULTS = (AppError, AnalysisError, EngravingError)
# What the files made depend on besides the score and what is asked.
_VERSIONS = ("handframe", "verovio", "music21", "PySide6-Essentials")
_ONE_SCORE = ("part", "measures", "lock", "reasons", "chart")


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked for every score; it goes to other processes. ``formats``: suffixes without their dot."""

    instrument: str | None
    rules: HouseRules | None
    paper: str | None
    formats: tuple[str, ...]

    def key(self, source: Source) -> str:
        """A digest of all that a file made from this score follows from; AppError where the score cannot be read."""
        told = {
            "score": [source.path.name, digest_of(source.path)],
            "asked": [self.instrument, self.paper, None if self.rules is None else rules_to(self.rules)],
            "versions": [version(name) for name in _VERSIONS],
            "language": catalogue().info().get("language", "en"),
        }
        return hashlib.sha256(json.dumps(told, sort_keys=True).encode()).hexdigest()


@dataclass(frozen=True, slots=True)
class Copies:
    """The files made from one score, by format; remarks of the importer, and the names of parts left out."""

    files: Mapping[str, bytes]
    remarks: tuple[str, ...]
    unplayed: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Order:
    """A score to work on: what its files are called, without suffix, and the formats that are missing."""

    source: Source
    output: str
    key: str
    formats: tuple[str, ...]


@dataclass(slots=True)
class Told:
    """What is said at the end, filled as work goes on: sentences by the name of their score, and how much was done."""

    refused: list[tuple[str, str]] = field(default_factory=list)
    remarks: list[tuple[str, str]] = field(default_factory=list)
    unplayed: dict[str, int] = field(default_factory=dict)
    bugs: list[BaseException] = field(default_factory=list)
    files: int = 0
    kept: int = 0

    def refuse(self, name: str, sentence: str) -> None:
        """A score that is left out, with the reason."""
        self.refused.append((name, sentence))


def run_library(arguments: argparse.Namespace) -> int:
    """Do what ``arguments`` ask of a folder; returns 0, or 1 where a score was left out.

    AppError for what cannot be asked of a folder. After Ctrl-C all files are whole, and the next run goes on.
    """
    folder, output, jobs = _checked(arguments)
    asked = Asked(
        arguments.instrument,
        find_rules(arguments.rules) if arguments.rules else None,
        arguments.paper,
        tuple(dict.fromkeys(arguments.format)) or ("pdf",),
    )
    shelf = find_sources(folder, output)
    if not shelf.sources and not shelf.faults:
        raise AppError(_("there are no scores in {folder}").format(folder=folder))
    told = Told(refused=[("", fault) for fault in shelf.faults])
    finished = Finished(output)
    orders = list(_orders(shelf.sources, asked, finished, told))
    try:
        _work_off(orders, asked, jobs, finished, told)
    finally:
        try:
            finished.close()
        finally:
            tell(told, output)
    return 1 if told.refused else 0


def _checked(arguments: argparse.Namespace) -> tuple[Path, Path, int]:
    """The folder to read, the folder to write to, and how many processes; AppError for what does not fit."""
    if len(arguments.output) != 1:
        raise AppError(_("to finger a folder of scores, name one folder to write to with -o"))
    extra = [f"--{name}" for name in _ONE_SCORE if getattr(arguments, name)]
    if extra:
        raise AppError(_("{option} is for a single score, not for a folder").format(option=extra[0]))
    if arguments.instrument:
        find_instrument(arguments.instrument)
    jobs = min(os.cpu_count() or 1, MOST_JOBS) if arguments.jobs is None else arguments.jobs
    if jobs < 1:
        raise AppError(_("--jobs is 1 or more, not {number}").format(number=jobs))
    output = arguments.output[0]
    check_folders(arguments.score, output)
    return arguments.score, output, jobs


def _orders(sources: Sequence[Source], asked: Asked, finished: Finished, told: Told) -> Iterator[Order]:
    """What is not there yet, or was made from something else."""
    outputs = output_names([source.name for source in sources])
    for source in sources:
        output = outputs[source.name]
        try:
            key = asked.key(source)
            missing = tuple(name for name in asked.formats if not finished.has(f"{output}.{name}", key))
        except AppError as error:
            told.refuse(source.name, str(error))
            continue
        if missing:
            yield Order(source, output, key, missing)
        else:
            told.kept += 1


def _work_off(orders: Sequence[Order], asked: Asked, jobs: int, finished: Finished, told: Told) -> None:
    """Work through all orders in other processes, and write here what comes of them."""
    if not orders:
        return
    waiting: dict[Future[Copies], Order] = {}
    left = iter(orders)
    processes = ProcessPool(
        max_workers=jobs,
        max_tasks=PROCESS_LIFE,
        initializer=begin_apart,
        initargs=(LIMITS.engrave_bytes,),
        context=get_context("spawn"),
    )
    stop: Callable[[], None] = processes.stop
    _begin(processes)
    with tqdm(total=len(orders), unit=_("score"), disable=None) as bar:
        try:
            while True:
                while len(waiting) < jobs * _WAITING and (order := next(left, None)) is not None:
                    args = (order.source.path, order.formats, asked)
                    waiting[processes.schedule(make_copies, args=args, timeout=_LIMIT)] = order
                if not waiting:
                    break
                for future in wait(waiting, return_when=FIRST_COMPLETED).done:
                    settle(waiting.pop(future), future, finished, told)
                    bar.update()
        finally:
            stop()
            processes.join()


def _begin(processes: ProcessPool) -> None:
    """Begin the processes, with Ctrl-C held back from them: it is for this one, which ends them."""
    with interrupts_held_back():
        if not processes.active:  # asked for the first time, it begins them
            raise AppError(_("no process can be begun to work on the scores"))


def make_copies(path: Path, formats: Sequence[str], asked: Asked) -> Copies:
    """All files asked for of one score, as bytes; errors in one sentence. Runs in a process of its own."""
    opened = open_any(path)
    fingered, unplayed = whole_score(opened, asked.instrument, asked.rules, asked.paper)
    files = {name: MAKERS[f".{name}"](fingered, path) for name in formats}
    remarks = (*opened.document.remarks, *opened.faults)
    return Copies(files, remarks, tuple(part.name for part in unplayed))


def settle(order: Order, future: Future[Copies], finished: Finished, told: Told) -> None:
    """Write what was made, or keep the sentence that says why there is nothing."""
    name = order.source.name
    try:
        copies = future.result()
        for suffix, data in copies.files.items():
            file = f"{order.output}.{suffix}"
            finished.write(Made(file, name, order.key, hashlib.sha256(data).hexdigest()), data)
            told.files += 1
    except _FAULTS as error:
        told.refuse(name, str(error))
    except TimeLimitError:
        told.refuse(name, _("it took longer than an hour and was given up"))
    except MemoryError:
        told.refuse(name, _("it needs too much memory: it is too long, or damaged"))
    except ProcessExpired:
        told.refuse(name, _("the engraver broke down over it"))
    except Exception as error:  # noqa: BLE001 - a bug in one score; the others are worked on, and it is shown at the end
        told.refuse(name, _("it broke off; this is a fault of Handframe"))
        told.bugs.append(error)
    else:
        told.remarks.extend((name, remark) for remark in copies.remarks)
        for part in copies.unplayed:
            told.unplayed[part] = told.unplayed.get(part, 0) + 1


def tell(told: Told, output: Path) -> None:
    """What was done and, score by score, what was not."""
    wrote = n_("Wrote {files} file to {folder}", "Wrote {files} files to {folder}", told.files)
    kept = n_("{count} score was done already", "{count} scores were done already", told.kept)
    words = wrote.format(files=told.files, folder=output)
    sys.stdout.write(f"{words}; {kept.format(count=told.kept)}.\n" if told.kept else f"{words}.\n")
    for name, remark in sorted(told.remarks):
        sys.stdout.write(f"{_placed(name, remark)}\n")
    if told.unplayed:
        names = ", ".join(f"{name} ({count})" if count > 1 else name for name, count in sorted(told.unplayed.items()))
        sys.stdout.write(_("Left out, since their names say no string instrument: {parts}").format(parts=names) + "\n")
    for name, sentence in sorted(told.refused):
        sys.stderr.write(f"handframe: {_placed(name, sentence)}\n")
    if told.refused:
        count = len(told.refused)
        line = n_("{count} score was left out", "{count} scores were left out", count).format(count=count)
        sys.stderr.write(f"handframe: {line}\n")
    for bug in told.bugs:
        sys.excepthook(type(bug), bug, bug.__traceback__)


def _placed(name: str, sentence: str) -> str:
    """A sentence that names its file, with the file's folder; one that does not, with the file before it."""
    name, sentence = one_line(as_text(name)), one_line(sentence)
    file = PurePosixPath(name).name
    if not name:
        return sentence
    return f"{name[: -len(file)]}{sentence}" if sentence.startswith((f"{file} ", f"{file}:")) else f"{name}: {sentence}"
