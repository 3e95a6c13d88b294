"""What a plan puts on the page and into the file: digits to draw, marks to write."""

from __future__ import annotations

from collections.abc import Iterator

from analysis.fingering.locks import Lock
from analysis.fingering.placements import Placement, finger_text
from analysis.fingering.plan import Plan, make_plan
from analysis.fingering.rules.files import preset
from analysis.music import Note
from engraving.marks import Mark
from engraving.placing import Wanted


def struck_notes(plan: Plan, measures: tuple[int, int] | None = None) -> Iterator[tuple[Note, Placement]]:
    """The notes that carry a digit, with their placements: those fingered and not tied from one before."""
    for note in plan.part.notes:
        placement = plan.choice(note.id)
        inside = measures is None or measures[0] <= note.measure <= measures[1]
        if placement is not None and inside and plan.struck(note.id):
            yield note, placement


def wanted_digits(plan: Plan, measures: tuple[int, int] | None = None) -> tuple[Wanted, ...]:
    """The digits of a plan for the page."""
    return tuple(Wanted(note.id, finger_text(placement.finger)) for note, placement in struck_notes(plan, measures))


def marks_to_write(plan: Plan, measures: tuple[int, int] | None = None) -> tuple[Mark, ...]:
    """The marks of a plan for the file: a finger for every struck note, and its string where the finger does not tell.

    A string is written where reading the fingers alone back, under the plan's own rules or in any position, would
    lead to another placement.
    """
    placements = {note.id: placement for note, placement in struck_notes(plan, measures)}
    strings: set[str] = set()
    for rules in (plan.setting.rules, preset("whole-board")):
        while True:
            locks = {
                note_id: Lock(string=placement.string if note_id in strings else None, finger=placement.finger)
                for note_id, placement in placements.items()
            }
            read_back = make_plan(plan.part, plan.setting.instrument, rules, locks)
            astray = {note_id for note_id, placement in placements.items() if _differs(read_back, note_id, placement)}
            if astray <= strings:
                break
            strings |= astray
    return tuple(
        Mark(note_id, placement.finger, placement.string if note_id in strings else None)
        for note_id, placement in placements.items()
    )


def _differs(plan: Plan, note_id: str, placement: Placement) -> bool:
    there = plan.choice(note_id)
    return there is None or (there.string, there.finger) != (placement.string, placement.finger)
