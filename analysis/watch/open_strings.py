"""Open strings that will be heard: long ones, loud ones, those that stand alone or end a slur, and the shrill open E.

An open string takes no vibrato and sounds unlike its neighbours: UNCW orchestration page. That one on its own pitch is
stopped where it lasts longer than two quarter notes, that the open E is avoided wherever a stopped one is in reach,
the louder the more so, and that it whistles after a slurred descent: common practice, no source; so are the seconds.
"""

from __future__ import annotations

import bisect
from collections.abc import Iterator, Sequence

from analysis.fingering.cautions import way_words
from analysis.fingering.chain import Chain
from analysis.fingering.placements import THUMB, Placement, finger_text
from analysis.instruments import Instrument
from analysis.language import _
from analysis.watch.finding import Finding
from analysis.watch.gathering import WHERE, Event, Step, printed, steps, told_at_once
from analysis.watch.study import Study

# A note of more quarter notes is long, whatever the house rules let ring.
_LONG_QUARTERS = 2
# A note is heard for what it is from so many seconds on; a shrill one sooner, and the loud shrill one at once.
_HEARD, _SHRILL, _SHRILL_AND_LOUD = 0.8, 0.35, 0.2
# Steps of loudness from mezzo forte.
_SOFT, _LOUD = -2, 2
_NEAR = 24
_CERTAINTY = 0.7


def watch_open_strings(study: Study) -> Iterator[Finding]:
    """Open strings that stick out though the note could be stopped."""
    alone = _Alone(study)
    events = (event for chain in study.chains for event in _events(study, chain, alone))
    yield from told_at_once(study.part, "open-string", events, _NEAR)


class _Alone:
    """Where the part is heard by itself."""

    def __init__(self, study: Study) -> None:
        here = [passage for passage in study.texture if study.part.id in passage.foremost]
        self._begins = [passage.onset for passage in here]
        self._ends = [passage.end for passage in here]

    def at(self, step: Step) -> bool:
        """Whether a stage is played by this part alone, or as a solo."""
        number = bisect.bisect_right(self._begins, step.stage.onset) - 1
        return step.note.players == "solo" or (number >= 0 and step.stage.onset < self._ends[number])


def _events(study: Study, chain: Chain, alone: _Alone) -> Iterator[Event]:
    if study.plan is None:
        return
    instrument = study.plan.setting.instrument
    every = steps(chain)
    for number, step in enumerate(every):
        way = step.single
        # A trilled string is stopped again and again, and so does not ring.
        if way is None or not way.is_open or step.stage.plucked or step.stage.trilled or step.note.grace:
            continue
        stopped = _stopped(chain, every, number)
        if stopped is not None:
            shrill, near = way.string in instrument.shrill_open, stopped.hand == way.hand
            why = _why(every, number, _seconds(study, step), alone=alone.at(step), shrill=shrill, near=near)
            if why:
                told = _("In {where} open strings may {effect}: stop them, or bow them gently.")
                closer = _("In {where} the open {letter} may {effect}: play {way}, or bow it gently.")
                letter, instead = instrument.string(way.string).letter, _way(stopped, near, instrument)
                closer = closer.format(where=WHERE, letter=letter, effect=why, way=instead)
                yield Event(told.format(where=WHERE, effect=why), (step.note,), _CERTAINTY, closer)


def _seconds(study: Study, step: Step) -> float:
    """How long a stage sounds."""
    return float(step.stage.quarters) * 60 / study.part.tempo_at(step.stage.onset, study.rules.tempo)


def _why(every: Sequence[Step], number: int, seconds: float, *, alone: bool, shrill: bool, near: bool) -> str:
    """What an open string may do; "" where it is not heard or, where no finger is ``near``, not enough to matter."""
    stage = every[number].stage
    loud, soft = stage.loudness >= _LOUD, stage.loudness <= _SOFT
    if shrill and _after_slurred_descent(every, number):
        return _("whistle after the slurred descent")
    if shrill and seconds >= (_SHRILL_AND_LOUD if loud else _SHRILL):
        return _("be shrill in the forte") if loud else _("be shrill")
    if stage.quarters > _LONG_QUARTERS:
        return _("stand out on the long note, without vibrato")
    if seconds < _HEARD:
        return ""
    if alone:
        return _("stand out where the part is alone")
    if soft and near:
        return _("stick out of the soft passage")
    return _("stick out at the end of the slur") if near and _ends_slur(every, number) else ""


def _ends_slur(every: Sequence[Step], number: int) -> bool:
    stage = every[number].stage
    return stage.slurred and not (number + 1 < len(every) and every[number + 1].stage.slurred)


def _after_slurred_descent(every: Sequence[Step], number: int) -> bool:
    """Whether the slur comes down to this note."""
    if not number or not every[number].stage.slurred:
        return False
    return every[number - 1].note.pitch.midi > every[number].note.pitch.midi


def _stopped(chain: Chain, every: Sequence[Step], number: int) -> Placement | None:
    """The nearest way to stop an open note: with the hand where it is, if it can be; ``None`` where none is allowed."""
    here = every[number].grip[0]
    ways = [grip[0] for grip in chain.grips[number] if 1 <= grip[0].finger < THUMB and not grip[0].is_extension]
    return min(ways, key=lambda way: (way.hand != here.hand, abs(way.hand - here.hand), way), default=None)


def _way(way: Placement, near: bool, instrument: Instrument) -> str:
    if near:
        letter = instrument.string(way.string).letter
        return _("{finger} on the {letter} string").format(finger=finger_text(way.finger), letter=letter)
    return printed(way_words(way, instrument))
