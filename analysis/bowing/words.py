"""What to do with the bow, in words."""

from __future__ import annotations

import bisect
from collections.abc import Sequence

from analysis.bowing.bows import DOWN
from analysis.bowing.cures import Change, Charge
from analysis.bowing.strokes import Stroke, Weight
from analysis.language import _
from analysis.music import Part, beat_words


def cure_words(part: Part, every: Sequence[Stroke], directions: Sequence[str], change: Change) -> str:
    """A change of the bow as an order to the player; ``directions`` are those of the strokes once it is made."""
    stroke = every[change.stroke]
    where = {"measure": part.measures[stroke.measure].label, "beat": _beat(part, stroke)}
    match change.what:
        case Charge.START if directions[change.stroke] == DOWN:
            return _("begin with a down-bow on beat {beat} of measure {measure}").format(**where)
        case Charge.START:
            return _("begin with an up-bow on beat {beat} of measure {measure}").format(**where)
        case Charge.REST:
            return _("retake at the rest in measure {measure}").format(measure=_rest_label(part, every, stroke))
        case Charge.SLUR:
            return _slur_words(part, every, change.stroke)
    if stroke.weight is Weight.FIRST:
        return _("lift the bow before measure {measure}").format(measure=where["measure"])
    return _("lift the bow before beat {beat} of measure {measure}").format(**where)


def _beat(part: Part, stroke: Stroke) -> str:
    return beat_words(part.measures[stroke.measure].beat(stroke.main.onset))


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
    first, second = (beat_words(measure.beat(one.main.onset)) for one in (before, stroke))
    same = before.note.pitch == stroke.note.pitch
    if not (before.is_single and stroke.is_single):
        words = _("take beats {first} and {second} of measure {measure} in one bow")
        return words.format(first=first, second=second, measure=measure.label)
    if number + 1 == len(every) or every[number + 1].measure != stroke.measure:
        one_bow, slur = (
            _("take the last two notes of measure {measure} in one bow"),
            _("slur the last two notes of measure {measure}"),
        )
    elif before.weight is Weight.FIRST:
        one_bow, slur = (
            _("take the first two notes of measure {measure} in one bow"),
            _("slur the first two notes of measure {measure}"),
        )
    else:
        one_bow = _("take the notes on beats {first} and {second} of measure {measure} in one bow")
        slur = _("slur the notes on beats {first} and {second} of measure {measure}")
    return (one_bow if same else slur).format(first=first, second=second, measure=measure.label)
