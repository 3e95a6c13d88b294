"""The left hand: where it shifts and how much time that leaves, where it reaches out, and the high third finger.

That a shift is best made over a rest or an open string, or led by the finger that played last: cellofun.eu;
julianrossviolin.com; idoublebass.com on shifting. That a hand opens from its base joints and forces no reach:
violin-works.com. That a half step up to the pitch of the fourth finger is a high third and then the fourth: common
practice, no source; so is how much time a shift takes.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from analysis.fingering.cautions import NEAR_LIMIT, easier_way, way_words
from analysis.fingering.chain import Chain
from analysis.fingering.grips import Grip
from analysis.fingering.hands import reach_mm
from analysis.fingering.placements import Lie, Placement, hand_words
from analysis.fingering.plan import Plan
from analysis.instruments import Instrument
from analysis.language import _
from analysis.music import Note, Part, altered_by
from analysis.watch.finding import Finding
from analysis.watch.gathering import WHERE, Event, Step, finger_words, printed, steps, told_at_once
from analysis.watch.study import Study
from analysis.wording import common_end, decimal, listed_once, times_word

# A shift with so many seconds to spare goes well by itself; so does one from a note of so many seconds, in a slur.
_AMPLE, _SLOW, _SLOW_IN_SLUR = 0.75, 0.6, 1.0
# Less than this is no time to spare.
_LEAST = 0.05
# Shifts no more measures apart are one way of the hand, of at most so many shifts.
_ONE_WAY, _MOST_SHIFTS = 2, 6
# Alike things no more measures apart are told at once; shifts, which each need their place, where they are close.
_NEAR, _NEAR_SHIFTS = 32, 12
_SHIFT, _REACH = 0.8, 0.9


@dataclass(frozen=True, slots=True)
class _Shift:
    """The hand moves between two stopped stages, over the ``opens`` between them; ``spare`` seconds of it are free."""

    before: Step
    after: Step
    opens: Sequence[Step]
    spare: float

    @property
    def is_hasty(self) -> bool:
        """Whether it wants care."""
        if self.spare >= _LEAST:
            return self.spare < _AMPLE
        return self.after.stage.seconds_since < (_SLOW_IN_SLUR if self.after.stage.slurred else _SLOW)

    @property
    def notes(self) -> tuple[Note, ...]:
        """The notes from the last one before it to the first one after it."""
        return tuple(note for step in (self.before, *self.opens, self.after) for note in step.notes or (step.note,))


def watch_shifts(study: Study) -> Iterator[Finding]:
    """Where the hand has little time to move, and on what."""
    if study.plan is None:
        return
    instrument, timed = study.plan.setting.instrument, bool(study.part.tempi)
    ways = (way for chain in study.chains for way in _ways(_shifts(chain)))
    events = (_way(instrument, way, timed=timed) for way in ways if any(shift.is_hasty for shift in way))
    yield from told_at_once(study.part, "shift", events, _NEAR_SHIFTS)


def _shifts(chain: Chain) -> Iterator[_Shift]:
    every = steps(chain)
    last: int | None = None
    for number, step in enumerate(every):
        if not any(placement.finger for placement in step.grip):
            continue
        if last is not None and every[last].grip[0].hand != step.grip[0].hand:
            between = range(last + 1, number)
            spare = every[last + 1].stage.seconds_rest
            spare += sum(every[k].stage.seconds_since for k in range(last + 2, number + 1))
            if chain.line.parted.isdisjoint(range(last, number)):
                yield _Shift(every[last], step, [every[k] for k in between], spare)
        last = number


def _ways(shifts: Iterable[_Shift]) -> Iterator[list[_Shift]]:
    """Shifts that belong together: out and back, or one soon after the other."""
    way: list[_Shift] = []
    for shift in shifts:
        if way and (
            way[-1].after.grip[0].hand == way[0].before.grip[0].hand
            or shift.after.stage.measure - way[-1].after.stage.measure > _ONE_WAY
            or len(way) >= _MOST_SHIFTS
        ):
            yield way
            way = []
        way.append(shift)
    if way:
        yield way


def _way(instrument: Instrument, way: Sequence[_Shift], *, timed: bool) -> Event:
    notes = tuple(note for shift in way for note in shift.notes)
    stays = (way[0].before, *(shift.after for shift in way))
    start, *hands = (printed(hand_words(step.grip[0], instrument)) for step in stays)
    out, how = _from_to(start, hands[0]), [_how(instrument, shift, timed=timed) for shift in way]
    if len(way) == 1:
        told, closer = _("In {where} shift {out} in little time."), _("In {where} shift {out} {how}.")
    elif len(way) == 2 and hands[1] == start:
        told = _("In {where} shift {out} and back in little time.")
        closer = _("In {where} shift {out} {how}, and back {how_back}.")
    else:
        told = _("In {where} the hand shifts {times}, between {positions}: practise the shifts alone first.")
        positions = listed_once(list(dict.fromkeys((start, *hands))), 1)
        return Event(told.format(where=WHERE, times=times_word(len(way)), positions=positions), notes, _SHIFT)
    return Event(
        told.format(where=WHERE, out=out),
        notes,
        _SHIFT,
        closer.format(where=WHERE, out=out, how=how[0], how_back=how[-1]),
    )


def _from_to(start: str, end: str) -> str:
    """Two places of the hand: ``from 1st to 3rd position``."""
    (begin, _end), _noun = common_end([start, end], 1)
    return _("from {start} to {end}").format(start=begin, end=end)


def _how(instrument: Instrument, shift: _Shift, *, timed: bool) -> str:
    """On what a shift is made, and the time it has."""
    before, after = shift.before.grip[0], shift.after.grip[0]
    if shift.spare < _LEAST:
        if (before.finger, before.string) == (after.finger, after.string):
            return _("on the {finger} with no time to spare").format(finger=finger_words(before.finger))
        return _("led by the {finger} with no time to spare").format(finger=finger_words(_top(shift.before).finger))
    seconds = decimal(f"{shift.spare:.1f}")
    if not shift.opens:
        return _("in the rest with {seconds} s to spare").format(seconds=seconds) if timed else _("in the rest")
    words = _("on the open {letter} with {seconds} s to spare") if timed else _("on the open {letter}")
    return words.format(letter=instrument.string(shift.opens[-1].grip[0].string).letter, seconds=seconds)


def _top(step: Step) -> Placement:
    """The highest finger down."""
    return max(step.grip, key=lambda placement: (placement.finger, placement.place))


# Out of the frame


def watch_extensions(study: Study) -> Iterator[Finding]:
    """Where a finger reaches out of the hand frame; far reaches are stretches."""
    if study.plan is not None:
        reaches = _Reaches(study.plan)
        events = (event for chain in study.chains for event in _extensions(reaches, chain))
        yield from told_at_once(study.part, "extension", events, _NEAR)


def watch_stretches(study: Study) -> Iterator[Finding]:
    """Where the fingers reach far for the size of the instrument."""
    if study.plan is not None:
        reaches = _Reaches(study.plan)
        events = (event for chain in study.chains for event in _stretches(reaches, chain))
        yield from told_at_once(study.part, "stretch", events, _NEAR)


class _Reaches:
    """How far grips reach; a grip that is used again is measured once."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self._known: dict[int, float] = {}

    def far(self, chain: Chain, number: int, grip: Grip) -> float:
        """The reach of the grip of a stage in mm where it comes near what the players reach, else 0."""
        reach = self._known.get(id(grip))
        if reach is None:
            reach = self._known[id(grip)] = reach_mm(self.plan.setting.played_on, grip)
        return reach if reach > NEAR_LIMIT * self.plan.setting.reach_limit(chain.line.rules[number]) else 0.0


def _extensions(reaches: _Reaches, chain: Chain) -> Iterator[Event]:
    letters = reaches.plan.setting.instrument.letter_frame
    for number, step in enumerate(steps(chain)):
        for head, (note, way) in enumerate(zip(step.stage.heads, step.grip, strict=True)):
            if not way.is_extension or way.harmonic or head in step.stage.held:
                continue
            if not reaches.far(chain, number, step.grip):
                told, closer = _extended(way, letters=letters)
                values = {"where": WHERE, "finger": finger_words(way.finger), "pitch": note.pitch.words}
                yield Event(told.format(**values), (note,), _REACH, closer.format(**values))


def _extended(way: Placement, *, letters: bool) -> tuple[str, str]:
    """What the hand does where a finger leaves the frame, and how; the same with the pitch."""
    if way.place < way.hand:
        return (
            _("In {where} the first finger reaches back: leave the hand where it is."),
            _("In {where} the first finger reaches back for {pitch}: leave the hand where it is."),
        )
    if letters:
        return (
            _("In {where} the {finger} extends: open the hand from its base joints, without force."),
            _("In {where} the {finger} extends for {pitch}: open the hand from its base joints, without force."),
        )
    return (
        _("In {where} the hand is extended: let the thumb go along with the second finger."),
        _("In {where} the hand is extended for {pitch}: let the thumb go along with the second finger."),
    )


def _stretches(reaches: _Reaches, chain: Chain) -> Iterator[Event]:
    for number, step in enumerate(steps(chain)):
        reach = reaches.far(chain, number, step.grip)
        if reach:
            head = max(range(len(step.grip)), key=lambda n: step.grip[n].place if step.grip[n].finger else -1)
            note = step.stage.heads[head]
            values = {"where": WHERE, "finger": finger_words(step.grip[head].finger), "mm": f"{reach:.0f}"}
            told = _(
                "In {where} the {finger} reaches {mm} mm from the first: "
                "open the hand without force, or take an easier way."
            )
            easier = easier_way(reaches.plan, chain.line.rules[number], step.stage.ids[head][0], reach)
            if easier is None:
                closer = _(
                    "In {where} the {finger} reaches {mm} mm from the first for {pitch}: "
                    "leave it out rather than force it."
                )
            else:
                closer = _("In {where} the {finger} reaches {mm} mm from the first for {pitch}: easier is {way}.")
            way = "" if easier is None else printed(way_words(easier, reaches.plan.setting.instrument))
            closer = closer.format(**values, pitch=note.pitch.words, way=way)
            yield Event(told.format(**values), step.notes or (note,), _REACH, closer)


# The high third


def watch_high_fingers(study: Study) -> Iterator[Finding]:
    """Half steps between a high third finger and the fourth close to it."""
    events = (event for chain in study.chains for event in _high_thirds(study.part, steps(chain)))
    yield from told_at_once(study.part, "high-finger", events, _NEAR)


def _high_thirds(part: Part, every: Sequence[Step]) -> Iterator[Event]:
    """Each by itself; what the key signature makes so is told the first time."""
    known: set[tuple[int, float]] = set()
    for before, after in itertools.pairwise(every):
        pair = _third_and_fourth(before, after)
        if pair is None:
            continue
        third, fourth = pair
        note, on = third.note, (third.grip[0].string, third.grip[0].hand)
        values = {"where": WHERE, "pitch": note.pitch.words, "upper": fourth.note.pitch.words}
        if third.grip[0].respelled or note.pitch.alter != altered_by(part.key_at(note.onset), note.pitch.step):
            told = _("In {where} the third finger is high, close to the fourth.")
            closer = _("In {where} the third finger is high for {pitch}, close to the fourth for {upper}.")
            yield Event(told.format(where=WHERE), (before.note, after.note), _REACH, closer.format(**values))
        elif on not in known:
            known.add(on)
            told = _("From {where} on the third finger is high for {pitch}, close to the fourth for {upper}.")
            yield Event(told.format(**values), (note,), _REACH)


def _third_and_fourth(before: Step, after: Step) -> tuple[Step, Step] | None:
    """Of two notes a half step apart on one string the one with the high third finger, then that with the fourth."""
    a, b = before.single, after.single
    if a is None or b is None or not after.joined:
        return None
    third, fourth = (before, after) if a.finger < b.finger else (after, before)
    low, high = third.grip[0], fourth.grip[0]
    near = (low.string, low.hand, low.place + 1) == (high.string, high.hand, high.place)
    return (third, fourth) if near and (low.finger, high.finger) == (3, 4) and low.lie is Lie.HIGH else None
