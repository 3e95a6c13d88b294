"""What to do with the bow, in words."""

from __future__ import annotations

import bisect
from collections.abc import Sequence

from analysis.bowing.bows import DOWN
from analysis.bowing.cures import Change, Charge
from analysis.bowing.strokes import Stroke, Weight
from analysis.music import Part, beat_words


def cure_words(part: Part, every: Sequence[Stroke], directions: Sequence[str], change: Change) -> str:
    """A change of the bow as an order to the player; ``directions`` are those of the strokes once it is made."""
    stroke = every[change.stroke]
    label = part.measures[stroke.measure].label
    match change.what:
        case Charge.START:
            bow = "a down-bow" if directions[change.stroke] == DOWN else "an up-bow"
            return f"begin with {bow} on {_beat(part, stroke)} of measure {label}"
        case Charge.REST:
            return f"retake at the rest in measure {_rest_label(part, every, stroke)}"
        case Charge.SLUR:
            return _slur_words(part, every, change.stroke)
    if stroke.weight is Weight.FIRST:
        return f"lift the bow before measure {label}"
    return f"lift the bow before {_beat(part, stroke)} of measure {label}"


def _beat(part: Part, stroke: Stroke) -> str:
    return f"beat {beat_words(part.measures[stroke.measure].beat(stroke.main.onset))}"


def _rest_label(part: Part, every: Sequence[Stroke], stroke: Stroke) -> str:
    """The printed number of the measure in which the rest before a stroke begins."""
    if stroke.before is None:
        return part.measures[stroke.measure].label
    before = every[stroke.before].stages[-1]
    at = bisect.bisect_right(part.measures, before.onset + before.quarters, key=lambda measure: measure.onset)
    return part.measures[at - 1].label


def _slur_words(part: Part, every: Sequence[Stroke], number: int) -> str:
    before, stroke = every[number - 1], every[number]
    measure = part.measures[stroke.measure]
    of_measure = f"of measure {measure.label}"
    beats = [beat_words(measure.beat(one.main.onset)) for one in (before, stroke)]
    if not (before.is_single and stroke.is_single):
        return f"take beats {beats[0]} and {beats[1]} {of_measure} in one bow"
    if number + 1 == len(every) or every[number + 1].measure != stroke.measure:
        notes = f"the last two notes {of_measure}"
    elif before.weight is Weight.FIRST:
        notes = f"the first two notes {of_measure}"
    else:
        notes = f"the notes on beats {beats[0]} and {beats[1]} {of_measure}"
    same = before.note.pitch == stroke.note.pitch
    return f"take {notes} in one bow" if same else f"slur {notes}"
