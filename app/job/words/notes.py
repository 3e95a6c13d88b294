"""What is said of one note: how it is played, and why."""

from __future__ import annotations

from types import MappingProxyType

from analysis.fingering.placements import Lie, Placement, finger_text, hand_words
from analysis.fingering.plan import Plan
from analysis.instruments import Instrument
from analysis.language import _, later
from analysis.music import Part

_STOPPING = MappingProxyType(
    {
        Lie.LOW: later("Low {finger} on {string}, {hand}"),
        Lie.NORMAL: later("{finger} on {string}, {hand}"),
        Lie.HIGH: later("High {finger} on {string}, {hand}"),
        Lie.EXTENDED: later("Extended {finger} on {string}, {hand}"),
    }
)
_TOUCHING = MappingProxyType(
    {
        Lie.LOW: later("Harmonic low {finger} on {string}, {hand}"),
        Lie.NORMAL: later("Harmonic {finger} on {string}, {hand}"),
        Lie.HIGH: later("Harmonic high {finger} on {string}, {hand}"),
        Lie.EXTENDED: later("Harmonic extended {finger} on {string}, {hand}"),
    }
)


def placement_words(placement: Placement, instrument: Instrument) -> str:
    """A placement as a player says it, short enough for one line: ``Low 2 on E, 1st position``."""
    string = instrument.string(placement.string).letter
    if placement.is_open:
        return _("Open {string} string").format(string=string)
    said = _(_TOUCHING[placement.lie] if placement.harmonic else _STOPPING[placement.lie])
    return said.format(finger=finger_text(placement.finger), string=string, hand=hand_words(placement, instrument))


def note_words(part: Part, plan: Plan | None, note_id: str) -> str:
    """Which note it is and where, how it is played and why, a line each."""
    note = part.note(note_id)
    lines = [f"{note.pitch.printed}, {part.place(note)}"]
    choice = plan.choice(note_id) if plan is not None else None
    if plan is not None and choice is not None:
        lines.append(placement_words(choice, plan.setting.instrument))
        lines.append(_("Fixed by you.") if note_id in plan.locks else plan.reason(note_id))
    elif plan is not None and note_id in plan.problems:
        lines.append(plan.problems[note_id])
    return "\n".join(filter(None, lines))
