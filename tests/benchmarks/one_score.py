"""The whole job on one score: open, finger, watch, engrave, print, export, open again, with what it took."""

from __future__ import annotations

import re
import time
import traceback
from collections import Counter
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from pathlib import Path

from analysis.errors import AnalysisError
from analysis.fingering.plan import Plan
from analysis.instruments import VIOLIN
from analysis.music import Part, PrintedFingering, Score
from app.cli.headless import use_offscreen
from app.cli.tables import csv_text
from app.errors import AppError
from app.job.files.opening import Opened, open_any
from app.job.paper.digits import marks_to_write
from app.job.paper.part import PaperPart, paper_part
from app.job.teacher.printing import Printing
from app.job.teacher.work import PartWork
from engraving.document import read_document
from engraving.errors import EngravingError
from engraving.marks.writing import marked_bytes
from engraving.output import Copy, pdf_bytes
from engraving.reading import read_score
from tests.benchmarks.memory import forget_peak, peak_mb
from tests.engraving.corpus import corpus_folder

STEPS = ("open", "finger", "watch", "engrave", "print", "export", "reopen")
SEVERAL_PARTS = "several parts"
_TUNES = (".abc", ".krn")
_LOWEST, _HIGHEST = 55, 103  # G3 to G7 as MIDI keys: what is written for violin (common practice, no source)
_KERN_SPINES = re.compile(r"^\*\*.*$", re.MULTILINE)


@dataclass(frozen=True, slots=True)
class Refused:
    """A step that a score did not get through; ``known``: with an error that the program means for its user."""

    step: str
    text: str
    known: bool


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of one score: counts and seconds by name, and the most memory that its process had, in MB."""

    name: str
    counts: Mapping[str, int] = field(default_factory=dict)
    seconds: Mapping[str, float] = field(default_factory=dict)
    peak_mb: float = 0.0
    left_out: str = ""
    refused: Refused | None = None

    @property
    def time(self) -> float:
        """Seconds for all steps."""
        return sum(self.seconds.values())


class WrongError(Exception):
    """Something that came out of a step is not as it must be."""


@dataclass(slots=True)
class _Steps:
    """Which step is under way, and how long each took."""

    now: str = ""
    seconds: dict[str, float] = field(default_factory=dict)

    @contextmanager
    def step(self, name: str) -> Iterator[None]:
        self.now, start = name, time.perf_counter()
        yield
        self.seconds[name] = time.perf_counter() - start


def outcome_of(name: str) -> Outcome:
    """What comes of a score, given as a path in the corpus."""
    forget_peak()
    steps = _Steps()
    try:
        counts, left_out = _work_through(corpus_folder() / name, steps)
    except (AppError, AnalysisError, EngravingError) as error:
        return Outcome(name, refused=Refused(steps.now, str(error), known=True))
    except Exception as error:  # noqa: BLE001 - whatever it is, the sweep goes on and tells it
        at = traceback.extract_tb(error.__traceback__)[-1]
        where = f"{Path(at.filename).name}, line {at.lineno}"
        return Outcome(name, refused=Refused(steps.now, f"{type(error).__name__}: {error} ({where})", known=False))
    return Outcome(name, dict(counts), steps.seconds, peak_mb(), left_out)


def _work_through(path: Path, steps: _Steps) -> tuple[Counter[str], str]:
    if path.suffix == ".krn" and _kern_parts(path) > 1:
        return Counter(), SEVERAL_PARTS
    with steps.step("open"):
        opened = open_any(path)
    if path.suffix in _TUNES and (reason := _no_tune(opened.score)):
        return Counter(), reason
    works = {part.id: _played(opened.work.parts[part.id]) for part in opened.score.parts}
    with steps.step("finger"):
        plans = {part.id: _plan(works[part.id], part) for part in opened.score.parts}
    with steps.step("watch"):
        found = [works[part.id].watched(opened.score, part, plans[part.id]) for part in opened.score.parts]
    with steps.step("engrave"):
        papers = [
            paper_part(opened, part, plans[part.id], works[part.id], Printing())
            for part in opened.score.parts if part.notes
        ]  # fmt: skip
    with steps.step("print"), use_offscreen():
        _check_pdf(_pdf(opened, papers), papers)
    _export(opened, plans, steps)
    counts = _counts(opened, plans, papers)
    counts["entries in watch-lists"] = sum(map(len, found))
    return counts, ""


def _kern_parts(path: Path) -> int:
    """How many parts a kern file has, by its first exclusive interpretations; without converting it."""
    spines = _KERN_SPINES.search(path.read_text(encoding="latin-1"))
    return 0 if spines is None else spines[0].split("\t").count("**kern")


def _no_tune(score: Score) -> str:
    """Why the violin has nothing to play in a score of another format, or not alone."""
    if len(score.parts) > 1:
        return SEVERAL_PARTS
    keys = [note.pitch.midi for note in score.parts[0].notes]
    return "" if min(keys) >= _LOWEST and max(keys) <= _HIGHEST else "not in the violin's range"


def _played(work: PartWork) -> PartWork:
    return work if work.instrument is not None else replace(work, instrument=VIOLIN)


def _plan(work: PartWork, part: Part) -> Plan:
    plan = work.plan(part)
    if plan is None:
        raise WrongError(f"{part.name} has no plan")
    for note in part.notes:
        if plan.choice(note.id) is None and note.id not in plan.problems:
            raise WrongError(f"{part.name}: {note.id} has neither a finger nor a reason why")
    return plan


def _pdf(opened: Opened, papers: list[PaperPart]) -> bytes:
    copies = [Copy(paper.part.name, paper.pages) for paper in papers]
    return pdf_bytes(copies, Printing().layout, opened.score.title)


def _check_pdf(pdf: bytes, papers: list[PaperPart]) -> None:
    pages = len(re.findall(rb"/Type\s*/Page\b", pdf))
    if pages != sum(len(paper.pages) for paper in papers):
        raise WrongError(f"the PDF has {pages} pages, not {sum(len(paper.pages) for paper in papers)}")
    for paper in papers:
        placed = {note_id for page, _ in paper.pages for note_id in page.map.notes}
        missing = [note.id for note in paper.part.notes if note.id not in placed]
        if missing:
            raise WrongError(f"{paper.part.name}: {len(missing)} notes are on no page, the first is {missing[0]}")


def _export(opened: Opened, plans: Mapping[str, Plan], steps: _Steps) -> None:
    """Write the marks into the file and read them back; the notes are the same, and their fingers are the plan's."""
    with steps.step("export"):
        csv_text((plan, None) for plan in plans.values())
        marks = [mark for plan in plans.values() for mark in marks_to_write(plan)]
        data = marked_bytes(opened.document, marks)
    with steps.step("reopen"):
        again = read_score(read_document(data, opened.document.name))
    wanted = {mark.note_id: mark.finger for mark in marks}
    for part, other in zip(opened.score.parts, again.parts, strict=True):
        for note, read in zip(part.notes, other.notes, strict=True):
            if (note.id, note.pitch, note.onset, note.duration) != (read.id, read.pitch, read.onset, read.duration):
                raise WrongError(f"{part.name}: {note.id} is another note in the export")
            if note.id in wanted and _finger(read.printed) != wanted[note.id]:
                raise WrongError(f"{part.name}: {note.id} has the finger {_finger(read.printed)} in the export")


def _finger(printed: PrintedFingering | None) -> int | None:
    return None if printed is None else printed.finger


def _counts(opened: Opened, plans: Mapping[str, Plan], papers: list[PaperPart]) -> Counter[str]:
    parts = opened.score.parts
    strings = [part for part in parts if opened.work.parts[part.id].instrument is not None]
    notes = sum(len(part.notes) for part in parts)
    return Counter({
        "parts": len(parts),
        "parts of string players": len(strings),
        "notes": notes,
        "notes with a finger": sum(plan.choice(note.id) is not None for plan in plans.values() for note in plan.part),
        "pages": sum(len(paper.pages) for paper in papers),
        "digits and marks on paper": sum(len(placed) for paper in papers for _, placed in paper.pages),
        "remarks of the importer": len(opened.document.remarks),
    })  # fmt: skip
