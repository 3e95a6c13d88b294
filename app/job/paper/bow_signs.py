"""Which way the bow goes, to be shown over the strokes: beside the signs that stand there already, and as they say."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from analysis.bowing.bows import DOWN, UP, directions_of
from analysis.music import Part
from engraving.marks.teacher import TeacherMark

_SIGNS = {"down-bow": DOWN, "up-bow": UP}


def bows_to_show(part: Part, marks: Iterable[TeacherMark], tempo: float | None = None) -> Mapping[str, str]:
    """The bows by the note where a sign is missing; the teacher's own signs count as printed, before those of the file.

    ``tempo`` as for :func:`analysis.bowing.bows.directions_of`.
    """
    own = {mark.first: _SIGNS[mark.kind] for mark in marks if mark.kind in _SIGNS}
    struck = {(note.onset, note.voice): own[note.id] for note in part.notes if note.id in own}
    notes = tuple(replace(note, bow=struck.get((note.onset, note.voice), note.bow)) for note in part.notes)
    signed = {(note.onset, note.voice) for note in notes if note.bow}
    shown = directions_of(replace(part, notes=notes), tempo)
    return {
        note_id: bow
        for note_id, bow in shown.items()
        if (part.note(note_id).onset, part.note(note_id).voice) not in signed
    }
