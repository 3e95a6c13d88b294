"""What is said of one note: how it is played, and why."""

from __future__ import annotations

from analysis.fingering.placements import Placement, finger_text, hand_words
from analysis.fingering.plan import Plan
from analysis.instruments import Instrument
from analysis.music import Part


def placement_words(placement: Placement, instrument: Instrument) -> str:
    """A placement as a player says it, short enough for one line: ``Low 2 on E, 1st position``."""
    string = instrument.string(placement.string).letter
    if placement.is_open:
        return f"Open {string} string"
    lie = "" if placement.lie.word == "normal" else f"{placement.lie.word.capitalize()} "
    touch = "Harmonic " if placement.harmonic else ""
    finger, hand = finger_text(placement.finger), hand_words(placement, instrument)
    return f"{touch}{lie.lower() if touch else lie}{finger} on {string}, {hand}"


def note_words(part: Part, plan: Plan | None, note_id: str) -> str:
    """Which note it is and where, how it is played and why, a line each."""
    note = part.note(note_id)
    lines = [f"{note.pitch.words}{note.pitch.octave}, {part.place(note)}"]
    choice = plan.choice(note_id) if plan is not None else None
    if plan is not None and choice is not None:
        lines.append(placement_words(choice, plan.setting.instrument))
        lines.append("Fixed by you." if note_id in plan.locks else plan.reason(note_id))
    elif plan is not None and note_id in plan.problems:
        lines.append(plan.problems[note_id])
    return "\n".join(filter(None, lines))
