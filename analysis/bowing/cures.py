"""Where the bow has gone astray for long, and the least change by which the first beats fall on down-bows again.

Every stroke is played down or up, and goes the other way than the one before it unless something is changed there. The
course that costs the least is found exactly, stroke by stroke from the end; endings of a repeated section branch off.
"""

from __future__ import annotations

import enum
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from analysis.bowing.bows import DOWN, UP, Bowing, other
from analysis.bowing.strokes import Stroke, Weight

_MOZART = "Leopold Mozart, Violinschule (1756), chapter IV (from memory)"
_PRACTICE = "common practice, no source"


class Charge(enum.Enum):
    """What is charged for in a course of the bow: ``points``, the ``reason``, and the ``source`` of the rule.

    Two first beats on an up-bow are put up with, three are worth a change. The points themselves are our own.
    """

    FIRST_UP = (10, "a first beat falls on an up-bow", _MOZART)
    HALF_UP = (2, "the half of a measure falls on an up-bow; separate notes in threes have it so", _MOZART)
    CHORD_UP = (12, "a chord of three or four strings falls on an up-bow", _MOZART)
    START = (18, "the bow begins on the other side than a player expects", _PRACTICE)
    REST = (11, "the bow comes back within a short rest", _PRACTICE)
    SLUR = (16, "two notes are taken in one bow that are printed apart", _MOZART)
    RETAKE = (24, "the bow is lifted where no rest gives time for it", "Muffat, Florilegium secundum (from memory)")
    WITHIN = (3, "the bow is lifted within a measure", _PRACTICE)
    UNEVEN = (3, "the second of two notes in one bow is the longer one", _PRACTICE)
    OVER_BEAT = (2, "two notes in one bow lie across a beat", _PRACTICE)
    SAME_PITCH = (2, "the bow has to stop between two notes of one pitch", _PRACTICE)
    LONGER_SLUR = (4, "a printed slur is made longer", _PRACTICE)

    def __init__(self, points: int, reason: str, source: str) -> None:
        self.points, self.reason, self.source = points, reason, source


# In seconds: the shortest note after which the bow can be lifted without a rest, the shortest rest in which it can come
# back, and how long two strokes may last to be put in one. Common practice, no source.
_LIFT_SECONDS, _REST_SECONDS, _JOINED_SECONDS = 0.35, 0.12, 2.0
# So many first beats on an up-bow are worth a word, if they are so many times those on a down-bow among them.
_WRONG, _TIMES_RIGHT = 3, 2
# How many measures before the first wrong beat another cure may lie.
_NEAR = 1
_NEVER = 10**9


@dataclass(frozen=True, slots=True)
class Change:
    """Something done so that stroke ``stroke`` goes the other way: ``what`` is START, REST, SLUR or RETAKE."""

    stroke: int
    what: Charge
    points: int


@dataclass(frozen=True, slots=True)
class Course:
    """The course of the bow that costs the least: the direction of each stroke, and its ``points``."""

    directions: tuple[str, ...]
    points: int


@dataclass(frozen=True, slots=True)
class Astray:
    """A stretch where the bow comes out wrong as printed.

    ``wrong`` are the strokes that begin on a first beat with an up-bow. ``cure`` brings the bow right, ``instead`` does
    so in another way, and ``back`` is due where the bow would then come out wrong again.
    """

    wrong: tuple[int, ...]
    cure: Change
    instead: Change | None
    back: Change | None


def astray(bowing: Bowing, course: Course) -> Iterator[Astray]:
    """The stretches that are worth a change, in written order; ``course`` is the least of ``bowing``."""
    every = bowing.strokes
    stretch_of: dict[int, int] = {}
    stretches: list[list[int]] = []
    backs: dict[int, Change] = {}
    for number, stroke in enumerate(every):
        led = stretch_of.get(stroke.before) if stroke.before is not None and not stroke.loose else None
        if course.directions[number] != bowing.printed[number]:
            if led is None:
                led = len(stretches)
                stretches.append([])
            stretch_of[number] = led
            stretches[led].append(number)
        elif led is not None and not stroke.mark:
            backs.setdefault(led, _changed(every, number))
    for place, numbers in enumerate(stretches):
        first = [n for n in numbers if every[n].weight is Weight.FIRST]
        wrong = tuple(n for n in first if bowing.printed[n] == UP)
        if len(wrong) >= max(_WRONG, _TIMES_RIGHT * (len(first) - len(wrong))):
            cure = _changed(every, numbers[0])
            yield Astray(wrong, cure, _instead(every, wrong[0], cure), backs.get(place))


def least(bowing: Bowing) -> Course:
    """The course that costs the least; where two cost the same, the one that stays longer with what is printed."""
    every = bowing.strokes
    turns = [_turn(every, number) for number in range(len(every))]
    costs = [{way: _own(stroke, way) for way in (DOWN, UP)} for stroke in every]

    def onward(number: int, earlier: str) -> tuple[tuple[int, str], ...]:
        """What it costs to go on from a stroke that goes ``earlier``, and which way; first without a change."""
        usual = _usual(bowing, number, earlier)
        turned = other(usual)
        return (costs[number][usual], usual), (turns[number] + costs[number][turned], turned)

    points = 0
    for number in range(len(every) - 1, -1, -1):
        before = every[number].before
        if before is None:
            points += min(cost for cost, _ in onward(number, DOWN))
            continue
        for earlier in (DOWN, UP):
            costs[before][earlier] += min(cost for cost, _ in onward(number, earlier))
    made: list[str] = []
    for number, stroke in enumerate(every):
        earlier = DOWN if stroke.before is None else made[stroke.before]
        made.append(min(onward(number, earlier), key=lambda way: way[0])[1])
    return Course(tuple(made), points)


def _usual(bowing: Bowing, number: int, earlier: str) -> str:
    """Which way a stroke goes if nothing is changed at it and the one before it goes ``earlier``."""
    stroke = bowing.strokes[number]
    return bowing.printed[number] if stroke.mark or stroke.loose else other(earlier)


def _turn(every: Sequence[Stroke], number: int) -> int:
    """What it costs to change something at a stroke; more than anything else where nothing can be changed."""
    change = None if every[number].mark else change_at(every, number)
    return _NEVER if change is None else change.points


def _own(stroke: Stroke, way: str) -> int:
    """What a stroke costs by itself; one that is marked is meant so."""
    if way == DOWN or stroke.mark:
        return 0
    by_weight = {Weight.FIRST: Charge.FIRST_UP.points, Weight.HALF: Charge.HALF_UP.points, Weight.LIGHT: 0}
    return by_weight[stroke.weight] + (Charge.CHORD_UP.points if stroke.is_full_chord else 0)


def _changed(every: Sequence[Stroke], number: int) -> Change:
    change = change_at(every, number)
    if change is None:
        raise ValueError("no change of the bow can be made here")
    return change


def change_at(every: Sequence[Stroke], number: int) -> Change | None:
    """The cheapest way to make an unmarked stroke go the other way; ``None`` where there is none."""
    return min(_changes(every, number), key=lambda change: change.points, default=None)


def _changes(every: Sequence[Stroke], number: int) -> Iterator[Change]:
    stroke = every[number]
    if stroke.loose or stroke.before is None:
        yield Change(number, Charge.START, Charge.START.points)
        return
    before = every[stroke.before]
    if stroke.silence >= _REST_SECONDS:
        yield Change(number, Charge.REST, Charge.REST.points)
    elif stroke.on_the_beat and before.last_seconds + stroke.silence >= _LIFT_SECONDS:
        within = 0 if stroke.weight is Weight.FIRST else Charge.WITHIN.points
        yield Change(number, Charge.RETAKE, Charge.RETAKE.points + within)
    if stroke.before == number - 1 and _may_join(before, stroke):
        extra = sum(charge.points for charge in _slur_extras(before, stroke))
        yield Change(number, Charge.SLUR, Charge.SLUR.points + extra)


def _may_join(before: Stroke, stroke: Stroke) -> bool:
    """Whether two strokes can be taken in one bow that stays short, within a measure and not into its half."""
    return (
        not stroke.silence
        and stroke.weight is Weight.LIGHT
        and stroke.measure == before.measure
        and not (before.is_full_chord or stroke.is_full_chord or before.trembles or stroke.trembles)
        and before.seconds + stroke.seconds <= _JOINED_SECONDS
    )


def _slur_extras(before: Stroke, stroke: Stroke) -> Iterator[Charge]:
    if stroke.quarters > before.quarters:
        yield Charge.UNEVEN
    if stroke.on_the_beat and not before.on_the_beat:
        yield Charge.OVER_BEAT
    if before.stages[-1].heads[0].pitch == stroke.main.heads[0].pitch:
        yield Charge.SAME_PITCH
    if not (before.is_single and stroke.is_single):
        yield Charge.LONGER_SLUR


def _instead(every: Sequence[Stroke], wrong: int, cure: Change) -> Change | None:
    """The cheapest change of another sort than ``cure`` that has effect from stroke ``wrong`` on."""
    found: list[Change] = []
    number: int | None = wrong
    while number is not None:
        stroke = every[number]
        is_far = every[wrong].measure - stroke.measure > _NEAR
        if is_far or stroke.mark or stroke.loose or (stroke.weight is Weight.FIRST and number != wrong):
            break
        found.extend(_changes(every, number))
        number = stroke.before
    others = (change for change in found if (change.what is Charge.SLUR) != (cure.what is Charge.SLUR))
    return min(others, key=lambda change: change.points, default=None)
