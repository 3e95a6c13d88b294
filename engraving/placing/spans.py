"""What a mark from one note to another covers on a page: a stretch of each of its systems."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from engraving.page import NotePlace, PageMap


@dataclass(frozen=True, slots=True)
class Span:
    """A stretch of one system from ``x0`` to ``x1``, in mm, and the ``notes`` it covers on its staff.

    ``begins`` and ``ends``: the mark's first and last note stand here; it goes on from or to another system otherwise.
    """

    system: int
    x0: float
    x1: float
    notes: tuple[NotePlace, ...]
    begins: bool
    ends: bool


def spans(page: PageMap, first_id: str, last_id: str) -> Iterator[Span]:
    """The stretches between two notes, of which one at least lies on the page; none where neither does."""
    first, last = page.notes.get(first_id), page.notes.get(last_id or first_id)
    known = first or last
    if known is None:
        return
    start = first.system if first else 0
    stop = last.system if last else len(page.systems) - 1
    for system in range(start, stop + 1):
        begins, ends = first is not None and system == start, last is not None and system == stop
        x0 = first.head.x0 if first and begins else min(_heads(page, system), default=page.systems[system].rect.x0)
        x1 = last.head.x1 if last and ends else page.systems[system].rect.x1
        covered = (
            note
            for note in page.notes.values()
            if note.system == system and x0 <= note.head.centre[0] <= x1 and note.lower_voice == known.lower_voice
        )
        yield Span(system, x0, x1, tuple(sorted(covered, key=lambda note: note.head.x0)), begins, ends)


def _heads(page: PageMap, system: int) -> Iterator[float]:
    return (note.head.x0 for note in page.notes.values() if note.system == system)
