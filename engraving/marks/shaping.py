"""Each bar shaped as one step: a hairpin from every first beat to the end of its bar."""

from __future__ import annotations

from bisect import bisect_left, bisect_right

from analysis.language import _
from analysis.music import Measure, Part
from engraving.errors import EngravingError
from engraving.marks.teacher import TeacherMark


def shaped_bars(part: Part, first_measure: int, last_measure: int) -> tuple[TeacherMark, ...]:
    """A diminuendo away from every first beat in the measures of these indices, both included.

    It reaches to the last note of the bar in the same voice; of several voices the first written one that plays on the
    beat is shaped. A bar is left as it is where nothing is struck on its first beat, as after a tie or in a pickup, and
    where a printed hairpin says otherwise. EngravingError when the part has no such measures.
    """
    if not 0 <= first_measure <= last_measure < len(part.measures):
        raise EngravingError(
            _("{part} has no measures {first} to {last}; it has {count}").format(
                part=part.name, first=first_measure + 1, last=last_measure + 1, count=len(part.measures)
            )
        )
    printed = _printed(part)
    measures = part.measures[first_measure : last_measure + 1]
    marks = (_shape(part, measure) for measure in measures if measure.index not in printed)
    return tuple(mark for mark in marks if mark is not None)


def _shape(part: Part, measure: Measure) -> TeacherMark | None:
    notes = [note for note in part.notes_in(measure.index) if not note.grace]
    first = next((note for note in notes if measure.beat(note.onset) == 1 and not note.tied_from), None)
    if first is None:
        return None
    voice = (note for note in notes if (note.voice, note.staff) == (first.voice, first.staff))
    last = max(voice, key=lambda note: note.onset)
    return TeacherMark("diminuendo", first.chord or first.id, last.chord or last.id)


def _printed(part: Part) -> set[int]:
    """The indices of the measures in which a printed hairpin lies."""
    onsets = [measure.onset for measure in part.measures]
    found: set[int] = set()
    for hairpin in part.hairpins:
        found.update(range(bisect_right(onsets, hairpin.onset) - 1, bisect_left(onsets, hairpin.end)))
    return found
