"""What cannot be played: notes that the instrument does not have, or not where the hand may go, and chords."""

from __future__ import annotations

from collections.abc import Iterator

from analysis.fingering.plan import Plan
from analysis.fingering.stages import Stage
from analysis.music import Note
from analysis.watch.finding import Finding
from analysis.watch.gathering import Event, told_at_once
from analysis.watch.inflections import listed
from analysis.watch.study import Study

# Alike things no more measures apart are told at once.
_NEAR = 24


def watch_range(study: Study) -> Iterator[Finding]:
    """Notes and chords that stay unfingered, and why; what is tied on is told once."""
    plan = study.plan
    if plan is None or all(note.id in plan for note in study.part):
        return
    unplayed = (stage for voice in study.voices for stage in voice if stage.ids[0][0] not in plan)
    yield from told_at_once(study.part, "range", (_event(plan, stage) for stage in unplayed), _NEAR)


def _event(plan: Plan, stage: Stage) -> Event:
    setting = plan.setting
    for note in stage.heads:
        if not setting.ways_of(note):
            return Event(_missing(plan, note), (note,))
    names = listed(note.pitch.words for note in reversed(stage.heads))
    if not setting.grips_of(stage):
        told = "In {where} the chords cannot be held: divide their notes."
        return Event(told, stage.heads, closer=f"In {{where}} {names} cannot be held together: divide them.")
    told = "In {where} notes are out of reach under the house rules: allow another position there, or divide the part."
    verb = "is" if len(stage.heads) == 1 else "are"
    closer = f"In {{where}} {names} {verb} out of reach under the house rules: allow another position there."
    return Event(told, stage.heads, closer=closer)


def _missing(plan: Plan, note: Note) -> str:
    """Why an instrument does not have a note."""
    instrument = plan.setting.instrument
    name, owner = note.pitch.words, instrument.name.partition(",")[0].lower()
    sounding = note.pitch.midi + plan.part.transpose_at(note.onset)
    if sounding != int(sounding):
        return "In {where} quarter tones get no fingers: mark them by hand."
    if sounding < instrument.strings[-1].pitch.midi:
        return f"In {{where}} {name} lies below the lowest string of the {owner}: play it an octave higher."
    return f"In {{where}} {name} lies above what the {owner} reaches: play it an octave lower."
