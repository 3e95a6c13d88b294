"""``handframe finger``: finger parts and write what was asked for."""

from __future__ import annotations

import argparse
import json
import stat
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType

from analysis.fingering.plan import Plan
from analysis.fingering.rules.house import HouseRules
from analysis.language import _
from analysis.music import Part
from app.cli.asked import open_asked, set_part
from app.cli.engraver import engraver_apart
from app.cli.headless import use_offscreen
from app.cli.tables import Measures, csv_text, plan_object, reading_table
from app.errors import AppError
from app.job.files.opening import Opened
from app.job.fingerboard.chart import write_chart
from app.job.paper.digits import marks_to_write
from app.job.paper.part import PaperPage, excerpt_pages, paper_part
from app.job.paper.picture_size import PASSAGE_WIDTH_MM, PICTURE_DPI
from app.job.paper.pictures import check_picture, numbered, page_pictures, passage_picture
from app.job.teacher.locking import with_ranges_locked
from app.job.teacher.pencilling import standing
from app.job.teacher.printing import Printing, imprint_of
from app.job.teacher.work import NO_INSTRUMENT, PartWork
from app.job.words.finding import find_measures, find_part
from engraving.apart import Call, here
from engraving.archive import archive_of
from engraving.atomic import write_atomically
from engraving.filebytes import mode_of
from engraving.marks.teacher import TeacherMark
from engraving.marks.writing import marked_bytes
from engraving.mei import write_mei
from engraving.output import Copy, pdf_bytes
from engraving.styles import OWN_INK, OWN_MARKS, OWN_MARKS_COPIED

_MOST_NAMED = 4  # more pictures than that are named by the first and the last


@dataclass(frozen=True, slots=True)
class Fingered:
    """What the command works on: the open score, the plan of each part asked for with its measures, and how to print.

    ``width_mm`` and ``dpi`` are those of pictures. ``one_part``: a part was asked for by name. ``call`` calls the
    engraver.
    """

    opened: Opened
    plans: tuple[tuple[Plan, Measures], ...]
    printing: Printing
    width_mm: float
    dpi: int
    one_part: bool
    call: Call = here

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
                yield from paper_part(self.opened, plan.part, plan, work, self.printing, self.call).pages
            else:
                yield from excerpt_pages(self.opened.document, plan, work, self.printing.layout, measures, self.call)


def run_finger(arguments: argparse.Namespace) -> int:
    """Do what the parsed ``arguments`` ask; what is wrong with them is raised as one sentence.

    Returns the exit status: 0, and for a folder of scores 1 where some of them were left out.
    """
    if stat.S_ISDIR(mode_of(arguments.score)):
        from app.cli.library import run_library  # a single score does not wait for it

        return run_library(arguments)
    if arguments.format or arguments.jobs is not None:
        raise AppError(_("--format and --jobs are for a folder of scores; {file} is none").format(file=arguments.score))
    writers = [(path, _writer(path)) for path in arguments.output]
    if arguments.chart is not None:
        check_picture(arguments.chart)
        writers.append((arguments.chart, _write_charts))
    fingered = _finger(arguments)
    with engraver_apart(fingered.opened.document.name) as call:
        for path, write in writers:
            write(replace(fingered, call=call), path)
    if not writers:
        for plan, measures in fingered.plans:
            sys.stdout.writelines(f"{line}\n" for line in reading_table(plan, measures, reasons=arguments.reasons))
    return 0


def whole_score(
    opened: Opened, instrument: str | None, rules: HouseRules | None, paper: str | None
) -> tuple[Fingered, tuple[Part, ...]]:
    """A score with all its parts fingered, and the parts for which nobody knows who plays them.

    AppError where that is all of them.
    """
    parts = opened.score.parts
    plans, unplayed = _plans(
        opened, parts, lambda part: set_part(opened, part, instrument, rules, named=len(parts) == 1)
    )
    every = tuple((plan, None) for plan in plans)
    return Fingered(opened, every, _printing(opened, paper), PASSAGE_WIDTH_MM, PICTURE_DPI, one_part=False), unplayed


def _finger(arguments: argparse.Namespace) -> Fingered:
    opened = open_asked(arguments.score)
    parts = [find_part(opened.score, arguments.part)] if arguments.part else opened.score.parts
    if arguments.lock and len(parts) > 1:
        raise AppError(_("to fix notes with --lock, name one part with --part"))

    def locked(part: Part) -> PartWork:
        work = set_part(opened, part, arguments.instrument, arguments.rules, named=len(parts) == 1)
        if work.instrument is None:
            sys.stderr.write(f"handframe: {part.name}: {_(NO_INSTRUMENT)}\n")
            return work
        return work.with_locks(with_ranges_locked(part, work.instrument, work.locks, arguments.lock))

    plans, _unplayed = _plans(opened, parts, locked)
    asked = tuple(
        (plan, find_measures(plan.part, arguments.measures) if arguments.measures else None) for plan in plans
    )
    printing, one_part = _printing(opened, arguments.paper), arguments.part is not None
    return Fingered(opened, asked, printing, arguments.width, arguments.dpi, one_part=one_part)


def _plans(
    opened: Opened, parts: Sequence[Part], work_of: Callable[[Part], PartWork]
) -> tuple[list[Plan], tuple[Part, ...]]:
    """The plans of parts as they are set, and the parts that have none; AppError where none has one."""
    planned = [(part, work_of(part).plan(part)) for part in parts]
    plans = [plan for _part, plan in planned if plan is not None]
    if not plans:
        raise AppError(
            _("{file} has no string part to finger; say who plays with --instrument").format(file=opened.document.name)
        )
    return plans, tuple(part for part, plan in planned if plan is None)


def _printing(opened: Opened, paper: str | None) -> Printing:
    printing = opened.work.printing
    return printing if paper is None else replace(printing, paper=paper)


def _writer(path: Path) -> Callable[[Fingered, Path], None]:
    writers: dict[str, Callable[[Fingered, Path], None]] = {
        ".mei": _write_mei,
        ".png": _write_pictures,
        ".svg": _write_pictures,
    }
    suffix = path.suffix.casefold()
    if suffix in MAKERS:
        return lambda fingered, path: write_atomically(path, MAKERS[suffix](fingered, path))
    if suffix not in writers:
        suffixes = ", ".join(sorted((*MAKERS, *writers)))
        raise AppError(_("{file}: the file to write ends in {suffixes}").format(file=path.name, suffixes=suffixes))
    return writers[suffix]


def _csv(fingered: Fingered, path: Path) -> bytes:
    return csv_text(fingered.plans).encode("utf-8")


def _json(fingered: Fingered, path: Path) -> bytes:
    parts = [plan_object(plan, measures) for plan, measures in fingered.plans]
    text = json.dumps({"score": fingered.opened.score.title, "parts": parts}, indent=1, ensure_ascii=False)
    return f"{text}\n".encode()


def _musicxml(fingered: Fingered, path: Path) -> bytes:
    marks = [mark for plan, measures in fingered.plans for mark in marks_to_write(plan, measures)]
    colour = OWN_INK if fingered.printing.colour else None
    return marked_bytes(fingered.opened.document, marks, fingered.teacher_marks(), colour=colour)


def _mxl(fingered: Fingered, path: Path) -> bytes:
    return archive_of(_musicxml(fingered, path), f"{path.stem}.musicxml")


def _write_mei(fingered: Fingered, path: Path) -> None:
    """The part asked for, or the whole score; of several parts the same measures."""
    (first, measures), *others = fingered.plans
    if any(theirs != measures for _, theirs in others):
        raise AppError(
            _("{file}: the parts number their measures otherwise; name one with --part").format(file=path.name)
        )
    marks = [mark for plan, its in fingered.plans for mark in marks_to_write(plan, its)]
    part_id = first.part.id if fingered.one_part else None
    write_mei(
        path, fingered.opened.document, marks, fingered.teacher_marks(),
        part_id=part_id, measures=measures, call=fingered.call,
    )  # fmt: skip


def _pdf(fingered: Fingered, path: Path) -> bytes:
    with use_offscreen():
        marks = OWN_MARKS if fingered.printing.colour else OWN_MARKS_COPIED
        copy = Copy(fingered.title, list(fingered.pages()), imprint_of(fingered.printing))
        return pdf_bytes([copy], fingered.printing.layout, fingered.title, marks)


# What makes a file of one piece, by its suffix; it is given the path for the name alone, and writes nothing.
MAKERS: Mapping[str, Callable[[Fingered, Path], bytes]] = MappingProxyType(
    {".csv": _csv, ".json": _json, ".musicxml": _musicxml, ".mxl": _mxl, ".pdf": _pdf}
)


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
    if len(names) <= _MOST_NAMED:
        said = _("Wrote {files}").format(files=", ".join(names))
    else:
        said = _("Wrote {first} to {last}").format(first=names[0], last=names[-1])
    sys.stdout.write(f"{said}\n")


def _passage_pictures(fingered: Fingered, path: Path) -> Iterator[Path]:
    """A picture of the measures of each part; none where the whole part was asked for."""
    passages = [(plan, measures) for plan, measures in fingered.plans if measures is not None]
    for one, (plan, measures) in zip(numbered(path, len(passages)), passages, strict=True):
        passage_picture(
            one, fingered.opened.document, plan, fingered.work(plan), measures,
            width_mm=fingered.width_mm, dpi=fingered.dpi, colour=fingered.printing.colour, call=fingered.call,
        )  # fmt: skip
        yield one
