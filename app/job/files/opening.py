"""Open what a teacher opens: a score file, or a project with the work already done on it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

from analysis.language import _, n_
from analysis.music import Part, Score
from app.job.project.file import is_project, open_project
from app.job.teacher.work import PartWork, Work, first_work
from engraving.document import Document, open_document
from engraving.reading import read_score


@dataclass(frozen=True)
class Opened:
    """An open score: the file's tree, its parts as values, and the work as it stood in the file.

    ``path`` is where the project lies; ``None`` while there is none yet. ``file``: what was opened. ``journal``: the
    journal that it was brought back from, work that was never saved; ``in_hand``: the part that was in hand then.
    ``faults``: what is wrong with the file, in sentences; one that is damaged is opened without its ``path``, so that
    it stays as it is.
    """

    document: Document
    score: Score
    work: Work
    path: Path | None
    file: Path | None = None
    journal: Path | None = None
    in_hand: str = ""
    faults: tuple[str, ...] = ()


def open_any(path: Path) -> Opened:
    """Open a score or a project; what is wrong with it is said in one sentence by the error raised."""
    if is_project(path):
        saved = open_project(path)
        told = (*saved.losses, *saved.remarks)
        opened = opened_with(saved.document, saved.work, None if saved.losses else path, told)
        return replace(opened, file=path)
    document = open_document(path)
    score = read_score(document)
    return Opened(document, score, first_work(score), None, file=path)


def opened_with(document: Document, saved: Work, path: Path | None, losses: tuple[str, ...] = ()) -> Opened:
    """A score with the work done on it; parts that it says nothing of are as in a score just opened.

    ``losses``: what could not be read of the work, in sentences.
    """
    score = read_score(document)
    fresh = first_work(score)
    known = {part.id: saved.parts.get(part.id, fresh.parts[part.id]) for part in score.parts}
    faults = (*losses, *_without_place(score, saved))
    return Opened(document, score, replace(saved, parts=known), path, faults=faults)


def _without_place(score: Score, saved: Work) -> Iterator[str]:
    """What of the work has no place in the score, as when the score was changed by another program; it is kept."""
    parts = {part.id: part for part in score.parts}
    for part_id, work in saved.parts.items():
        if part_id not in parts:
            words = _("The score has no part {part} any more; the work on it is kept in the file.")
            yield words.format(part=part_id)
        elif lost := _lost_notes(parts[part_id], work):
            words = n_(
                "{part}: {count} note with a fixed fingering, a mark or a note of your own is not in the score any "
                "more; what you did there is kept in the file.",
                "{part}: {count} notes with fixed fingerings, marks or notes of your own are not in the score any "
                "more; what you did there is kept in the file.",
                lost,
            )
            yield words.format(part=parts[part_id].name, count=lost)


def _lost_notes(part: Part, work: PartWork) -> int:
    ends = (end for mark in work.marks for end in (mark.first, mark.last) if end)
    return len({note_id for note_id in (*work.locks, *work.own_notes, *work.on_paper, *ends) if note_id not in part})
