"""Ties made whole: some files say only where a tie begins, and leave the note it leads to unmarked."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

from analysis.music import Note


def complete_ties(notes: Sequence[Note]) -> tuple[Note, ...]:
    """The same notes, ``tied_from`` set at each note that a tie leads to though the file does not say so.

    A tie leads to a note of the same sound which begins where the tied note ends: to the one in its own voice if there
    are several. A tie without such a note is left as it stands.
    """
    arriving: dict[tuple[object, object], list[int]] = defaultdict(list)
    for place, note in enumerate(notes):
        arriving[note.onset, note.pitch.midi].append(place)
    reached = set()
    for place, note in enumerate(notes):
        if note.tied_on:
            there = [
                other
                for other in arriving[note.onset + note.duration, note.pitch.midi]
                if _may_follow(place, other, notes)
            ]
            if there and not any(notes[other].tied_from for other in there):
                reached.add(min(there, key=lambda other: (notes[other].voice != note.voice, other)))
    return tuple(replace(note, tied_from=True) if place in reached else note for place, note in enumerate(notes))


def _may_follow(place: int, other: int, notes: Sequence[Note]) -> bool:
    """Whether a tie may lead from one note to the other: not to itself, and from a grace note only forward."""
    return other > place if notes[place].grace else other != place
