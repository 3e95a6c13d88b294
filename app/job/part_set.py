"""The set: every part's marked copy, as many as the section needs, in one file or in one file a part."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from analysis.fingering.plan import Plan
from analysis.fingering.ticking import Tick, no_tick
from analysis.music import Part
from app.errors import AppError
from app.job.opening import Opened
from app.job.paper import Engraver, PaperPart, paper_part
from app.job.printing import Printing
from app.job.work import Work
from engraving.atomic import make_folder, write_atomically
from engraving.imprint import Imprint
from engraving.output import Copy, pdf_bytes
from engraving.painter import OWN_MARKS, OWN_MARKS_COPIED
from engraving.turning import engrave_turning

_PAINTED = 0.25  # of the whole job, what comes after engraving


@dataclass(frozen=True, slots=True)
class Written:
    """What was written: the files, how many copies and pages are in them, and what the teacher should know of it."""

    paths: tuple[Path, ...]
    copies: int
    pages: int
    remarks: tuple[str, ...]

    @property
    def text(self) -> str:
        """That in one sentence."""
        files = (
            self.paths[0].name if len(self.paths) == 1 else f"{len(self.paths)} files to {self.paths[0].parent.name}"
        )
        return f"Wrote {files}: {_counted(self.copies, 'copy', 'copies')}, {_counted(self.pages, 'page', 'pages')}."


def write_part(
    path: Path, opened: Opened, work: Work, part: Part, plan: Plan | None, engraver: Engraver = engrave_turning,
    tick: Tick = no_tick,
) -> Written:  # fmt: skip
    """Write one part as a PDF, every copy of it, all or nothing."""
    paper = paper_part(opened, part, plan, work.parts[part.id], work.printing, engraver)
    copies = list(_copies(paper, work))
    title = f"{_title(opened)}, {part.name}"
    write_atomically(path, _pdf(copies or [Copy(part.name, paper.pages, _imprint(work.printing))], work, title, tick))
    return _written((path,), copies, [paper])


def write_set(
    path: Path,
    opened: Opened,
    work: Work,
    plans: Mapping[str, Plan],
    engraver: Engraver = engrave_turning,
    tick: Tick = no_tick,
) -> Written:
    """Write every part that has copies: to one PDF with an outline, or, where ``path`` is no ``.pdf``, to that folder.

    ``plans``: the fingerings that are worked out already, by part. Nothing is written before all of it is painted, and
    every file is whole or not there. AppError when no part has copies.
    """
    wanted = [part for part in opened.score.parts if work.parts[part.id].copies.number]
    if not wanted:
        raise AppError(f"{path.name}: no part has copies to print")
    papers: list[PaperPart] = []
    for number, part in enumerate(wanted):
        tick((1 - _PAINTED) * number / len(wanted))
        own = work.parts[part.id]
        plan = plans.get(part.id) or own.plan(part)
        papers.append(paper_part(opened, part, plan, own, work.printing, engraver))

    def painting(share: float) -> None:
        tick(1 - _PAINTED + _PAINTED * share)

    copies = [copy for paper in papers for copy in _copies(paper, work)]
    title = _title(opened)
    if path.suffix.casefold() == ".pdf":
        write_atomically(path, _pdf(copies, work, title, painting))
        return _written((path,), copies, papers)
    files: dict[Path, bytes] = {}
    for number, (name, paper) in enumerate(zip(_file_names(title, wanted), papers, strict=True)):
        painting(number / len(papers))
        files[path / name] = _pdf(list(_copies(paper, work)), work, f"{title}, {paper.part.name}", no_tick)
    make_folder(path)
    for file, data in files.items():
        write_atomically(file, data)
    return _written(tuple(files), copies, papers)


def _copies(paper: PaperPart, work: Work) -> Iterator[Copy]:
    for label in work.parts[paper.part.id].copies.labels:
        outline = f"{paper.part.name}, {label}" if label else paper.part.name
        yield Copy(outline, paper.pages, _imprint(work.printing, label))


def _imprint(printing: Printing, desk: str = "") -> Imprint:
    return Imprint(desk, printing.date, printing.marked_by)


def _pdf(copies: list[Copy], work: Work, title: str, tick: Tick) -> bytes:
    marks = OWN_MARKS if work.printing.colour else OWN_MARKS_COPIED
    return pdf_bytes(copies, work.printing.layout, title, marks, tick)


def _written(paths: tuple[Path, ...], copies: list[Copy], papers: list[PaperPart]) -> Written:
    remarks = tuple(f"{paper.part.name}: {turn}" for paper in papers for turn in paper.hard_turns)
    pages = sum(len(copy.pages) for copy in copies) or sum(len(paper.pages) for paper in papers)
    return Written(paths, len(copies) or len(papers), pages, remarks)


def _title(opened: Opened) -> str:
    return opened.score.title or Path(opened.document.name).stem


def _file_names(title: str, parts: list[Part]) -> Iterator[str]:
    """A name for every part's file, with a number where two parts have one name."""
    taken: dict[str, int] = {}
    for part in parts:
        name = "".join(" " if sign in '<>:"/\\|?*' else sign for sign in f"{title}, {part.name}").strip()
        taken[name] = taken.get(name, 0) + 1
        yield f"{name}{f' {taken[name]}' if taken[name] > 1 else ''}.pdf"


def _counted(number: int, one: str, many: str) -> str:
    return f"{number} {one if number == 1 else many}"
