"""``handframe finger``: finger parts and write what was asked for."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from analysis.fingering.plan import Plan
from app.cli.asked import set_part
from app.cli.headless import use_offscreen
from app.cli.tables import Measures, csv_text, plan_object, reading_table
from app.errors import AppError
from app.job.digits import marks_to_write
from app.job.finding import find_measures, find_part
from app.job.locking import with_ranges_locked
from app.job.opening import Opened, open_any
from app.job.paper import PAPERS, PaperPage, marked_pages
from app.job.work import NO_INSTRUMENT
from engraving.atomic import write_atomically
from engraving.marks.files import write_marked
from engraving.output import write_pdf, write_png


@dataclass(frozen=True, slots=True)
class Fingered:
    """What the command works on: the open score, the plan of each part asked for with its measures, the paper."""

    opened: Opened
    plans: tuple[tuple[Plan, Measures], ...]
    paper: str

    def pages(self) -> Iterator[PaperPage]:
        """Every part's pages, engraved with their digits."""
        for plan, measures in self.plans:
            yield from marked_pages(self.opened.document, plan, PAPERS[self.paper], measures)


def run_finger(arguments: argparse.Namespace) -> None:
    """Do what the parsed ``arguments`` ask; what is wrong with them is raised as one sentence."""
    writers = [(path, _writer(path)) for path in arguments.output]
    fingered = _finger(arguments)
    for path, write in writers:
        write(fingered, path)
    if not writers:
        for plan, measures in fingered.plans:
            sys.stdout.writelines(f"{line}\n" for line in reading_table(plan, measures, reasons=arguments.reasons))


def _finger(arguments: argparse.Namespace) -> Fingered:
    opened = open_any(arguments.score)
    parts = [find_part(opened.score, arguments.part)] if arguments.part else opened.score.parts
    if arguments.lock and len(parts) > 1:
        raise AppError("to fix notes with --lock, name one part with --part")
    plans: list[tuple[Plan, Measures]] = []
    for part in parts:
        work = set_part(opened, part, arguments.instrument, arguments.rules)
        if work.instrument is None:
            sys.stderr.write(f"handframe: {part.name}: {NO_INSTRUMENT}\n")
            continue
        plan = work.with_locks(with_ranges_locked(part, work.instrument, work.locks, arguments.lock)).plan(part)
        if plan is not None:
            plans.append((plan, find_measures(part, arguments.measures) if arguments.measures else None))
    if not plans:
        raise AppError(f"{opened.document.name} has no string part to finger; name one with --part and --instrument")
    return Fingered(opened, tuple(plans), arguments.paper)


def _writer(path: Path) -> Callable[[Fingered, Path], None]:
    writers: dict[str, Callable[[Fingered, Path], None]] = {
        ".csv": _write_csv,
        ".json": _write_json,
        ".musicxml": _write_musicxml,
        ".mxl": _write_musicxml,
        ".pdf": _write_pdf,
        ".png": _write_png,
    }
    writer = writers.get(path.suffix.casefold())
    if writer is None:
        raise AppError(f"{path.name}: the file to write ends in {', '.join(writers)}")
    return writer


def _write_csv(fingered: Fingered, path: Path) -> None:
    write_atomically(path, csv_text(fingered.plans).encode("utf-8"))


def _write_json(fingered: Fingered, path: Path) -> None:
    parts = [plan_object(plan, measures) for plan, measures in fingered.plans]
    text = json.dumps({"score": fingered.opened.score.title, "parts": parts}, indent=1, ensure_ascii=False)
    write_atomically(path, f"{text}\n".encode())


def _write_musicxml(fingered: Fingered, path: Path) -> None:
    marks = [mark for plan, measures in fingered.plans for mark in marks_to_write(plan, measures)]
    write_marked(fingered.opened.document, marks, path)


def _write_pdf(fingered: Fingered, path: Path) -> None:
    with use_offscreen():
        write_pdf(path, list(fingered.pages()), PAPERS[fingered.paper], fingered.opened.score.title)


def _write_png(fingered: Fingered, path: Path) -> None:
    """One picture a page; with several pages their numbers follow the name."""
    with use_offscreen():
        pages = list(fingered.pages())
        for number, (page, placed) in enumerate(pages, start=1):
            name = path.name if len(pages) == 1 else f"{path.stem}-{number}{path.suffix}"
            write_png(path.with_name(name), page, placed)
