"""``handframe finger``: finger parts and write what was asked for."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from analysis.fingering.plan import Plan
from app.cli.asked import set_part
from app.cli.headless import use_offscreen
from app.cli.tables import Measures, csv_text, plan_object, reading_table
from app.errors import AppError
from app.job.chart import write_chart
from app.job.digits import marks_to_write
from app.job.finding import find_measures, find_part
from app.job.locking import with_ranges_locked
from app.job.opening import Opened, open_any
from app.job.paper import PaperPage, excerpt_pages, paper_part
from app.job.pencilling import standing
from app.job.pictures import check_picture, numbered, page_pictures, passage_picture
from app.job.printing import Printing, imprint_of
from app.job.work import NO_INSTRUMENT, PartWork
from engraving.atomic import write_atomically
from engraving.marks.files import write_marked
from engraving.marks.teacher import TeacherMark
from engraving.mei import write_mei
from engraving.output import Copy, pdf_bytes
from engraving.painter import OWN_MARKS, OWN_MARKS_COPIED
from engraving.svg import OWN_INK

_MOST_NAMED = 4  # more pictures than that are named by the first and the last


@dataclass(frozen=True, slots=True)
class Fingered:
    """What the command works on: the open score, the plan of each part asked for with its measures, and how to print.

    ``width_mm`` and ``dpi`` are those of pictures. ``one_part``: a part was asked for by name.
    """

    opened: Opened
    plans: tuple[tuple[Plan, Measures], ...]
    printing: Printing
    width_mm: float
    dpi: int
    one_part: bool

    @property
    def title(self) -> str:
        """The score's, and the part's if there is but one."""
        title = self.opened.score.title or Path(self.opened.document.name).stem
        return f"{title}, {self.plans[0][0].part.name}" if len(self.plans) == 1 else title

    def work(self, plan: Plan) -> PartWork:
        """What the teacher set for the part of a plan."""
        return self.opened.work.parts[plan.part.id]

    def teacher_marks(self) -> list[TeacherMark]:
        """The teacher's marks in all parts that were asked for."""
        return [mark for plan, _ in self.plans for mark in standing(plan.part, self.work(plan).marks)]

    def pages(self) -> Iterator[PaperPage]:
        """Every part's pages, engraved with their digits."""
        for plan, measures in self.plans:
            work = self.work(plan)
            if measures is None:
                yield from paper_part(self.opened, plan.part, plan, work, self.printing).pages
            else:
                yield from excerpt_pages(self.opened.document, plan, work, self.printing.layout, measures)


def run_finger(arguments: argparse.Namespace) -> None:
    """Do what the parsed ``arguments`` ask; what is wrong with them is raised as one sentence."""
    writers = [(path, _writer(path)) for path in arguments.output]
    if arguments.chart is not None:
        check_picture(arguments.chart)
        writers.append((arguments.chart, _write_charts))
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
    printing = opened.work.printing
    if arguments.paper is not None:
        printing = replace(printing, paper=arguments.paper)
    return Fingered(opened, tuple(plans), printing, arguments.width, arguments.dpi, one_part=arguments.part is not None)


def _writer(path: Path) -> Callable[[Fingered, Path], None]:
    writers: dict[str, Callable[[Fingered, Path], None]] = {
        ".csv": _write_csv,
        ".json": _write_json,
        ".mei": _write_mei,
        ".musicxml": _write_musicxml,
        ".mxl": _write_musicxml,
        ".pdf": _write_pdf,
        ".png": _write_pictures,
        ".svg": _write_pictures,
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
    colour = OWN_INK if fingered.printing.colour else None
    write_marked(fingered.opened.document, marks, path, fingered.teacher_marks(), colour=colour)


def _write_mei(fingered: Fingered, path: Path) -> None:
    """The part asked for, or the whole score; of several parts the same measures."""
    (first, measures), *others = fingered.plans
    if any(theirs != measures for _, theirs in others):
        raise AppError(f"{path.name}: the parts number their measures otherwise; name one with --part")
    marks = [mark for plan, its in fingered.plans for mark in marks_to_write(plan, its)]
    part_id = first.part.id if fingered.one_part else None
    write_mei(path, fingered.opened.document, marks, fingered.teacher_marks(), part_id=part_id, measures=measures)


def _write_pdf(fingered: Fingered, path: Path) -> None:
    with use_offscreen():
        marks = OWN_MARKS if fingered.printing.colour else OWN_MARKS_COPIED
        copy = Copy(fingered.title, list(fingered.pages()), imprint_of(fingered.printing))
        write_atomically(path, pdf_bytes([copy], fingered.printing.layout, fingered.title, marks))


def _write_pictures(fingered: Fingered, path: Path) -> None:
    """One picture a passage or a page; where there are several their numbers follow the name."""
    with use_offscreen():
        paths = list(_passage_pictures(fingered, path)) or page_pictures(
            path, list(fingered.pages()), fingered.title, fingered.dpi, colour=fingered.printing.colour
        )
    _tell_names(paths)


def _write_charts(fingered: Fingered, path: Path) -> None:
    """A chart of the fingerboard for each part; where there are several their numbers follow the name."""
    paths = numbered(path, len(fingered.plans))
    with use_offscreen():
        for one, (plan, measures) in zip(paths, fingered.plans, strict=True):
            write_chart(one, plan, measures or (0, len(plan.part.measures) - 1), dpi=fingered.dpi)
    _tell_names(paths)


def _tell_names(paths: Sequence[Path]) -> None:
    names = [one.name for one in paths]
    sys.stdout.write(f"Wrote {', '.join(names) if len(names) <= _MOST_NAMED else f'{names[0]} to {names[-1]}'}\n")


def _passage_pictures(fingered: Fingered, path: Path) -> Iterator[Path]:
    """A picture of the measures of each part; none where the whole part was asked for."""
    passages = [(plan, measures) for plan, measures in fingered.plans if measures is not None]
    for one, (plan, measures) in zip(numbered(path, len(passages)), passages, strict=True):
        passage_picture(
            one, fingered.opened.document, plan, fingered.work(plan), measures,
            width_mm=fingered.width_mm, dpi=fingered.dpi, colour=fingered.printing.colour,
        )  # fmt: skip
        yield one
