"""One damaged file taken the whole way: opened, read, a few notes fingered, exported, made ready to be engraved."""

from __future__ import annotations

from pathlib import Path

from analysis.errors import AnalysisError
from analysis.fingering.plan import make_plan
from analysis.fingering.rules.files import preset
from analysis.instruments import VIOLIN
from analysis.music import Part
from app.errors import AppError
from app.job.files.opening import Opened, open_any
from app.job.paper.digits import marks_to_write
from engraving.errors import EngravingError
from engraving.extract import part_for_engraving
from engraving.marks.writing import marked_bytes
from tests.fuzzing.cases import Case

# What may be said of a file; anything else is a fault of ours.
OURS = (AppError, AnalysisError, EngravingError)
_MOST_NOTES = 40


def trial(case: Case, folder: Path) -> tuple[str, str]:
    """What became of the case: the sentence it was refused in, "" if it was opened; and the part to be engraved."""
    path = folder / case.name
    path.write_bytes(case.data)
    try:
        opened = open_any(path)
        return "", _worked_on(opened)
    except OURS as error:
        sentence = str(error)
    if not sentence or "\n" in sentence:
        raise ValueError(f"this is no sentence: {sentence!r}")
    return sentence, ""


def _worked_on(opened: Opened) -> str:
    parts = opened.score.parts
    strings = [part for part in parts if opened.work.parts[part.id].instrument is not None]
    part = min(strings or parts, key=lambda one: len(one.notes))
    work = opened.work.parts[part.id]
    # The fingerings of the file are locks, but not in every part of it that is tried.
    few = _few(part)
    locks = {note_id: lock for note_id, lock in work.locks.items() if note_id in few}
    plan = make_plan(few, work.instrument or VIOLIN, preset("two-homes"), locks)
    marked_bytes(opened.document, marks_to_write(plan, None))
    return part_for_engraving(opened.document, part.id)


def _few(part: Part) -> Part:
    """The part with the notes of its first measures only."""
    last = 0
    while last + 1 < len(part.measures) and len(part.within(0, last + 1).notes) <= _MOST_NOTES:
        last += 1
        if last > _MOST_NOTES:
            break
    return part.within(0, last)
