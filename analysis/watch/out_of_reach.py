"""What cannot be played: notes that the instrument does not have, or not where the hand may go, and chords."""

from __future__ import annotations

from collections.abc import Iterator

from analysis.fingering.plan import Plan
from analysis.fingering.stages import Stage
from analysis.language import _, n_
from analysis.music import Note
from analysis.watch.finding import Finding
from analysis.watch.gathering import WHERE, Event, told_at_once
from analysis.watch.study import Study
from analysis.wording import listed

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
        told = _("In {where} the chords cannot be held: divide their notes.")
        closer = _("In {where} {pitches} cannot be held together: divide them.")
    else:
        told = _(
            "In {where} notes are out of reach under the house rules: allow another position there, or divide the part."
        )
        closer = n_(
            "In {where} {pitches} is out of reach under the house rules: allow another position there.",
            "In {where} {pitches} are out of reach under the house rules: allow another position there.",
            len(stage.heads),
        )
    return Event(told.format(where=WHERE), stage.heads, closer=closer.format(where=WHERE, pitches=names))


def _missing(plan: Plan, note: Note) -> str:
    """Why an instrument does not have a note."""
    instrument = plan.setting.instrument
    sounding = note.pitch.midi + plan.part.transpose_at(note.onset)
    if sounding != int(sounding):
        words = _("In {where} quarter tones get no fingers: mark them by hand.")
    elif sounding < instrument.strings[-1].pitch.midi:
        words = _("In {where} {pitch} lies below the lowest string of the {instrument}: play it an octave higher.")
    else:
        words = _("In {where} {pitch} lies above what the {instrument} reaches: play it an octave lower.")
    return words.format(where=WHERE, pitch=note.pitch.words, instrument=instrument.family)
