"""The bridge to numpy: grips and stages as arrays that the effort terms read.

One row a stage, one column a grip, padded with copies of the last grip where a stage has fewer; the padding is cut
off again before the solver sees it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from functools import lru_cache
from typing import Any

import numpy as np
import numpy.typing as npt

from analysis.fingering.grips import Grip
from analysis.fingering.placements import THUMB, THUMB_POSITION, Lie, Placement, along_string, frame_named
from analysis.instruments import Instrument

Whole = npt.NDArray[np.int16]
Real = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Numbers = npt.NDArray[Any]
Rows = slice | npt.NDArray[np.intp]
_ALL = slice(None)


# What is known of each grip, in this order.
FACTS = (
    "high", "low", "position", "hand", "hand_mm", "finger", "place", "opens", "shrill", "single", "lie", "extensions",
    "respelled", "across", "stretch_mm", "down1", "down2", "down3", "down4", "down5", "sounding",
)  # fmt: skip


class Hands:
    """What the effort terms know of each grip: one array a fact, all of one shape, gathered when first asked for.

    ``high``, ``low``: the numbers of the highest- and lowest-pitched string in use (1 = highest). ``position``: of the
    hand; ``hand`` tells two places of it apart; ``hand_mm``: its place from the nut. ``finger``: of a single note; of a
    chord the highest finger down. ``place``: semitones above the open string of that finger. ``opens``: open strings
    sounding. ``shrill``: one of them is to be avoided. ``single``: one note only. ``lie``: of that finger, a
    :class:`Lie`. ``extensions``: fingers out of the frame. ``respelled``: fingers on the other spelling. ``across``:
    the finger that stops two strings at once, or 0. ``stretch_mm``: how far the fingers spread beyond the frame.
    ``down1`` to ``down5``: where each finger (5: the thumb) stands, 100 x string + place, or 0 where it is up.
    ``sounding``: the pitch of the highest string in use, midi. By itself: ``departs``, the notes played otherwise than
    where the figure comes elsewhere.
    """

    def __init__(
        self, facts: Mapping[str, Numbers], rows: Rows = _ALL, width: int | None = None, axis: int = 0, axes: int = 1
    ) -> None:
        self._facts, self._rows, self._width, self._axis, self._axes = facts, rows, width, axis, axes

    def __getattr__(self, name: str) -> Numbers:
        if name.startswith("_") or name not in self._facts:
            raise AttributeError(name)
        found = self._facts[name][self._rows, : self._width]
        shape = [1] * self._axes
        shape[self._axis] = -1
        array: Numbers = found.reshape(len(found), *shape)
        self.__dict__[name] = array
        return array

    @property
    def stopped(self) -> Flags:
        """Whether a finger is down."""
        found: Flags = self.finger > 0
        return found

    def down(self, finger: int) -> Numbers:
        """Where ``finger`` (1-4, 5 the thumb) stands, 100 x string + place; 0 where it is up."""
        found: Numbers = getattr(self, f"down{finger}")
        return found

    def at(self, rows: Rows, width: int | None, axis: int, axes: int) -> Hands:
        """Some stages and their first ``width`` grips, which lie along ``axis`` of ``axes`` grip axes."""
        return Hands(self._facts, rows, width, axis, axes)


@dataclass(frozen=True, slots=True)
class Moments:
    """What the effort terms know of each stage, with the rules in force there.

    Times in seconds and quarter notes; ``slurred``: a slur leads into it; ``plucked``: pizzicato; ``loud``: steps above
    mezzo forte; ``alternates``: it alternates with the stage before; ``trilled``, ``after_trill``: a finger trills, or
    did until then. ``home``, ``longest_open``, ``spare_shrill`` and
    ``spare_single`` are the rules of those names; ``favour_open`` is 1 where they prefer open strings, -1 where they
    prefer the fourth finger.
    """

    quarters: Real
    since: Real
    rest: Real
    slurred: Flags
    plucked: Flags
    loud: Real
    alternates: Flags
    trilled: Flags
    after_trill: Flags
    home: Real
    longest_open: Real
    spare_shrill: Flags
    spare_single: Flags
    favour_open: Real

    def columns(self) -> list[Numbers]:
        """Every array."""
        return [getattr(self, item.name) for item in fields(self)]

    def at(self, rows: Rows, axes: int) -> Moments:
        """Some stages, as arrays with ``axes`` grip axes of length one."""
        return Moments(*(getattr(self, item.name)[rows].reshape(-1, *[1] * axes) for item in fields(self)))


# With the thumb on the string the hand is another one than in a neck position at the same place.
_THUMB_ON = 1000


def hands(instrument: Instrument, grips: Sequence[Sequence[Grip]]) -> Hands:
    """The grips of some stages as arrays of shape [stages, most grips of a stage]; every stage needs at least one."""
    width = max(len(choices) for choices in grips)
    table = np.empty((len(grips), width, len(FACTS)))
    for row, choices in enumerate(grips):
        table[row, : len(choices)] = [_facts(instrument, grip) for grip in choices]
        table[row, len(choices) :] = table[row, len(choices) - 1]
    columns = np.moveaxis(table, -1, 0)
    return Hands(
        {
            name: np.ascontiguousarray(column if name.endswith("_mm") else column.astype(np.int16))
            for name, column in zip(FACTS, columns, strict=True)
        }
    )


def departing(grips: Sequence[Sequence[Grip]], usual: Sequence[Grip | None]) -> Hands:
    """How far each grip departs from the ``usual`` one of its stage: only the fact of that name."""
    table = np.zeros((len(grips), max(len(choices) for choices in grips)), dtype=np.int16)
    known: dict[tuple[int, int], list[int]] = {}
    for row, (choices, grip) in enumerate(zip(grips, usual, strict=True)):
        if grip is not None:
            key = (id(choices), id(grip))
            if key not in known:
                known[key] = [_departures(choice, grip) for choice in choices]
            table[row, : len(choices)] = known[key]
    return Hands({"departs": table})


def _departures(grip: Grip, usual: Grip) -> int:
    return sum(mine.as_played != theirs.as_played for mine, theirs in zip(grip, usual, strict=True))


@lru_cache(maxsize=8192)
def _facts(instrument: Instrument, grip: Grip) -> tuple[float, ...]:
    top = max(grip, key=lambda placement: (along_string(placement.finger), placement.finger, placement.place))
    opens = [placement for placement in grip if placement.is_open]
    down = {placement.finger: 100 * placement.string + placement.place for placement in grip}
    return (
        min(placement.string for placement in grip),
        max(placement.string for placement in grip),
        top.position,
        2 * top.hand + _THUMB_ON * _thumb_on(instrument, top),
        instrument.distance_mm(top.hand),
        top.finger,
        top.place,
        len(opens),
        any(placement.string in instrument.shrill_open for placement in opens),
        len(grip) == 1,
        top.lie if top.finger else Lie.OPEN,
        sum(placement.is_extension for placement in grip),
        sum(placement.respelled for placement in grip),
        _finger_across(grip),
        stretch_mm(instrument, grip),
        *(down.get(finger, 0) for finger in (1, 2, 3, 4, THUMB)),
        max(float(instrument.string(p.string).pitch.midi) + p.place for p in grip),
    )


def stretch_mm(instrument: Instrument, grip: Grip) -> float:
    """How far the fingers of a grip spread beyond a fourth (violin, viola) or the closed hand, in mm.

    The first finger counts as lying at its place in the frame unless it is drawn back.
    """
    reached = reach_mm(instrument, grip)
    hand = grip[0].hand
    span = frame_named(instrument.frame).closed_span
    frame = instrument.distance_mm(hand + span) - instrument.distance_mm(hand)
    return max(0.0, reached - frame) if reached else 0.0


def reach_mm(instrument: Instrument, grip: Grip) -> float:
    """From the first finger (where it lies in the frame) to the highest finger down, in mm; 0 with the thumb on."""
    down = [placement for placement in grip if placement.finger]
    if not down or _thumb_on(instrument, down[0]):
        return 0.0
    lowest = min(*(float(placement.place) for placement in down), down[0].hand)
    return instrument.distance_mm(max(placement.place for placement in down)) - instrument.distance_mm(lowest)


def _thumb_on(instrument: Instrument, placement: Placement) -> bool:
    return not instrument.letter_frame and placement.position == THUMB_POSITION


def _finger_across(grip: Grip) -> int:
    """The highest finger that stops two strings of a chord at once; 0 when none does."""
    stopped = [placement.finger for placement in grip if not placement.is_open]
    return max((finger for finger in stopped if stopped.count(finger) > 1), default=0)
