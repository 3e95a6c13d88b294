"""Open what a teacher opens: a score file, or a project with the work already done on it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from analysis.music import Score
from app.job.project import SUFFIX, open_project
from app.job.work import Work, first_work
from engraving.document import Document, open_document
from engraving.reading import read_score


@dataclass(frozen=True)
class Opened:
    """An open score: the file's tree, its parts as values, and the work as it stood in the file.

    ``path`` is where the project lies; ``None`` while there is none yet. ``file``: what was opened. ``journal``: the
    journal that it was brought back from, work that was never saved; ``in_hand``: the part that was in hand then.
    """

    document: Document
    score: Score
    work: Work
    path: Path | None
    file: Path | None = None
    journal: Path | None = None
    in_hand: str = ""


def open_any(path: Path) -> Opened:
    """Open a score or a project; what is wrong with it is said in one sentence by the error raised."""
    if path.suffix.casefold() == SUFFIX:
        document, saved = open_project(path)
        return replace(opened_with(document, saved, path), file=path)
    document = open_document(path)
    score = read_score(document)
    return Opened(document, score, first_work(score), None, file=path)


def opened_with(document: Document, saved: Work, path: Path | None) -> Opened:
    """A score with the work done on it; parts that it says nothing of are as in a score just opened."""
    score = read_score(document)
    fresh = first_work(score)
    known = {part.id: saved.parts.get(part.id, fresh.parts[part.id]) for part in score.parts}
    return Opened(document, score, replace(saved, parts=known), path)
