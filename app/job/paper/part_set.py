"""The set: every part's marked copy, as many as the section needs, in one file or in one file a part."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from analysis.fingering.plan import Plan
from analysis.fingering.ticking import Tick, no_tick, part_of
from analysis.language import _, n_
from analysis.music import Part
from app.errors import AppError
from app.job.files.opening import Opened
from app.job.paper.part import PaperPart, paper_part
from app.job.teacher.printing import imprint_of
from app.job.teacher.work import Work
from engraving.apart import Call, here
from engraving.atomic import make_folder, write_atomically
from engraving.output import Copy, painted_pages, pdf_bytes
from engraving.paper import PaintedPage
from engraving.styles import OWN_MARKS, OWN_MARKS_COPIED, MarkStyle

_PAINTED = 0.25  # of the whole job, what comes after engraving
_IN_PATHS = '<>:"/\\|?*'
_LONGEST_NAME = 200  # bytes; most file systems take 255, with all that is added


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
        copies = n_("{count} copy", "{count} copies", self.copies).format(count=self.copies)
        pages = n_("{count} page", "{count} pages", self.pages).format(count=self.pages)
        if len(self.paths) == 1:
            return _("Wrote {file}: {copies}, {pages}.").format(file=self.paths[0].name, copies=copies, pages=pages)
        return _("Wrote {count} files to {folder}: {copies}, {pages}.").format(
            count=len(self.paths), folder=self.paths[0].parent.name, copies=copies, pages=pages
        )


def write_part(
    path: Path, opened: Opened, work: Work, part: Part, plan: Plan | None, call: Call = here,
    tick: Tick = no_tick,
) -> Written:  # fmt: skip
    """Write one part as a PDF, every copy of it, all or nothing; one copy where it has none.

    ``plan``: its fingering, if it is worked out already. ``tick`` is told how far the work is, 0 to 1; what it raises
    ends the work with nothing written.
    """
    paper = _paper(opened, work, part, plan, call, _engraving(tick))
    copies = _copies_or_one(paper, work)
    data = _pdf(copies, work, f"{opened.score.title}, {part.name}", _painting(tick))
    tick(1.0)
    write_atomically(path, data)
    return _written((path,), copies, [paper])


@dataclass(frozen=True, eq=False)
class PartSeen:
    """What :func:`write_part` writes, to be looked at first.

    ``pages`` are those of the first copy; ``copies`` says which one that is, "" of a single copy without a name.
    ``hard_turns`` as in :class:`app.job.paper.part.PaperPart`.
    """

    pages: tuple[PaintedPage, ...]
    copies: str
    hard_turns: tuple[str, ...]


def see_part(
    opened: Opened, work: Work, part: Part, plan: Plan | None, call: Call = here,
    tick: Tick = no_tick,
) -> PartSeen:  # fmt: skip
    """The first copy of a part as :func:`write_part` writes it, which has the same arguments."""
    paper = _paper(opened, work, part, plan, call, _engraving(tick))
    first, *others = _copies_or_one(paper, work)
    pages = painted_pages(first, work.printing.layout, _marks(work), _painting(tick))
    return PartSeen(pages, _which(first.imprint.desk, len(others) + 1), paper.hard_turns)


def _which(desk: str, count: int) -> str:
    """Which copy the first of so many is, made for that desk or for none."""
    if count > 1:
        said = _("The first of {count} copies, for {desk}") if desk else _("The first of {count} copies")
    else:
        said = _("The copy, for {desk}") if desk else ""
    return said.format(count=count, desk=desk)


def write_set(
    path: Path,
    opened: Opened,
    work: Work,
    plans: Mapping[str, Plan],
    call: Call = here,
    tick: Tick = no_tick,
) -> Written:
    """Write every part that has copies: to one PDF with an outline, or, where ``path`` is no ``.pdf``, to that folder.

    ``plans``: the fingerings that are worked out already, by part. ``tick`` is as for :func:`write_part`. Nothing is
    written before all of it is painted, and every file is whole or not there. AppError when no part has copies.
    """
    wanted = [part for part in opened.score.parts if work.parts[part.id].copies.number]
    if not wanted:
        raise AppError(_("{file}: no part has copies to print").format(file=path.name))
    papers = [
        _paper(opened, work, part, plans.get(part.id), call, part_of(_engraving(tick), number, len(wanted)))
        for number, part in enumerate(wanted)
    ]
    copies = [copy for paper in papers for copy in _copies(paper, work)]
    if path.suffix.casefold() == ".pdf":
        files = {path: _pdf(copies, work, opened.score.title, _painting(tick))}
    else:
        files = dict(_files(path, opened, work, papers, _painting(tick)))
    tick(1.0)
    if path not in files:
        make_folder(path)
    for file, data in files.items():
        write_atomically(file, data)
    return _written(tuple(files), copies, papers)


def file_name(words: str, longest: int = _LONGEST_NAME) -> str:
    """Words as the name of a file on any system: one line, without signs that mean something in paths, not too long.

    ``longest``: in bytes.
    """
    line = "".join(sign if sign.isprintable() and sign not in _IN_PATHS else " " for sign in words)
    cut = " ".join(line.split()).encode()[:longest].decode(errors="ignore")
    return cut.strip(" .")


def _engraving(tick: Tick) -> Tick:
    return lambda share: tick((1 - _PAINTED) * share)


def _painting(tick: Tick) -> Tick:
    return lambda share: tick(1 - _PAINTED + _PAINTED * share)


def _paper(opened: Opened, work: Work, part: Part, plan: Plan | None, call: Call, tick: Tick) -> PaperPart:
    """A part engraved, and fingered before if it is not."""
    tick(0.0)
    own = work.parts[part.id]
    if plan is None:
        plan = own.plan(part, part_of(tick, 0, 2))
    tick(0.5)
    return paper_part(opened, part, plan, own, work.printing, call)


def _files(
    folder: Path, opened: Opened, work: Work, papers: list[PaperPart], tick: Tick
) -> Iterator[tuple[Path, bytes]]:
    """Every part's file in a folder."""
    names = _file_names(opened.score.title, [paper.part for paper in papers])
    for number, (name, paper) in enumerate(zip(names, papers, strict=True)):
        title = f"{opened.score.title}, {paper.part.name}"
        yield folder / name, _pdf(list(_copies(paper, work)), work, title, part_of(tick, number, len(papers)))


def _copies_or_one(paper: PaperPart, work: Work) -> list[Copy]:
    return list(_copies(paper, work)) or [Copy(paper.part.name, paper.pages, imprint_of(work.printing))]


def _copies(paper: PaperPart, work: Work) -> Iterator[Copy]:
    for label in work.parts[paper.part.id].copies.labels:
        outline = f"{paper.part.name}, {label}" if label else paper.part.name
        yield Copy(outline, paper.pages, imprint_of(work.printing, label))


def _pdf(copies: list[Copy], work: Work, title: str, tick: Tick) -> bytes:
    return pdf_bytes(copies, work.printing.layout, title, _marks(work), tick)


def _marks(work: Work) -> MarkStyle:
    return OWN_MARKS if work.printing.colour else OWN_MARKS_COPIED


def _written(paths: tuple[Path, ...], copies: list[Copy], papers: list[PaperPart]) -> Written:
    remarks = tuple(f"{paper.part.name}: {turn}" for paper in papers for turn in paper.hard_turns)
    pages = sum(len(copy.pages) for copy in copies) or sum(len(paper.pages) for paper in papers)
    return Written(paths, len(copies) or len(papers), pages, remarks)


def _file_names(title: str, parts: list[Part]) -> Iterator[str]:
    """A name for every part's file, with a number where two names are one to some file system."""
    longest = _LONGEST_NAME // 2
    plain = [", ".join(filter(None, (file_name(title, longest), file_name(part.name, longest)))) for part in parts]
    taken: set[str] = set()
    for name in plain:
        numbered, number = name, 1
        while _folded(numbered) in taken or (number > 1 and _folded(numbered) in map(_folded, plain)):
            number += 1
            numbered = f"{name} {number}"
        taken.add(_folded(numbered))
        yield f"{numbered}.pdf"


def _folded(name: str) -> str:
    """What two names have in common that differ in capitals only, or in how their accents are written."""
    return unicodedata.normalize("NFC", name).casefold()
