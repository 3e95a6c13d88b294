"""The bridge to numpy: grips and stages as arrays that the effort terms read.

One row a stage, one column a grip, padded with copies of the last grip where a stage has fewer; the padding is cut
off again before the solver sees it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
import numpy.typing as npt

from analysis.fingering.grips import Grip
from analysis.fingering.placements import Lie, hand_place
from analysis.fingering.stages import Stage
from analysis.instruments import Instrument

Whole = npt.NDArray[np.int16]
Real = npt.NDArray[np.float64]
Flags = npt.NDArray[np.bool_]
Numbers = npt.NDArray[Any]


@dataclass(frozen=True, slots=True)
class Hands:
    """What the effort terms know of each grip; all arrays have one shape.

    ``high``, ``low``: the numbers of the highest- and lowest-pitched string in use (1 = highest). ``position``: of the
    hand; ``hand_mm``: its place from the nut. ``finger``: of a single note; of a chord the highest finger down.
    ``place``: semitones above the open string of that finger. ``opens``: open strings sounding. ``shrill``: one of them
    is to be avoided. ``single``: one note only. ``lie``: of that finger, a :class:`Lie`. ``extensions``: fingers out of
    the frame. ``respelled``: fingers on the other spelling. ``across``: the finger that stops two strings at once, or
    0. ``down1`` to ``down4``: where each finger stands, 100 x string + place, or 0 where it is up.
    """

    high: Whole
    low: Whole
    position: Whole
    hand_mm: Real
    finger: Whole
    place: Whole
    opens: Whole
    shrill: Whole
    single: Whole
    lie: Whole
    extensions: Whole
    respelled: Whole
    across: Whole
    down1: Whole
    down2: Whole
    down3: Whole
    down4: Whole

    @property
    def stopped(self) -> Flags:
        """Whether a finger is down."""
        return self.finger > 0

    def down(self, finger: int) -> Whole:
        """Where ``finger`` (1-4) stands, 100 x string + place; 0 where it is up."""
        found: Whole = getattr(self, f"down{finger}")
        return found

    def seen_as(self, axis: int, axes: int) -> Hands:
        """The same [stages, grips] arrays with the grips along ``axis`` of ``axes`` grip axes, for broadcasting."""
        shape = [1] * axes
        shape[axis] = -1
        return Hands(*(getattr(self, item.name).reshape(len(self.high), *shape) for item in fields(self)))

    def rows(self, start: int, stop: int) -> Hands:
        """The stages from ``start`` to before ``stop``."""
        return Hands(*(getattr(self, item.name)[start:stop] for item in fields(self)))


@dataclass(frozen=True, slots=True)
class Moments:
    """What the effort terms know of each stage: times in seconds and quarter notes, and the slur that leads into it."""

    quarters: Real
    since: Real
    rest: Real
    slurred: Flags

    def seen_as(self, axes: int) -> Moments:
        """The same [stages] arrays with ``axes`` grip axes of length one, for broadcasting."""
        return Moments(*(getattr(self, item.name).reshape(-1, *[1] * axes) for item in fields(self)))

    def rows(self, start: int, stop: int) -> Moments:
        """The stages from ``start`` to before ``stop``."""
        return Moments(*(getattr(self, item.name)[start:stop] for item in fields(self)))


def moments(stages: Sequence[Stage]) -> Moments:
    """The times of ``stages`` as arrays of shape [stages]."""
    return Moments(
        quarters=np.array([float(stage.quarters) for stage in stages]),
        since=np.array([stage.seconds_since for stage in stages]),
        rest=np.array([stage.seconds_rest for stage in stages]),
        slurred=np.array([stage.slurred for stage in stages], dtype=bool),
    )


def hands(instrument: Instrument, grips: Sequence[Sequence[Grip]]) -> Hands:
    """The grips of every stage as arrays of shape [stages, most grips of a stage]; every stage needs at least one."""
    width = max(len(row) for row in grips)
    known: dict[Grip, tuple[float, ...]] = {}
    table = np.empty((len(grips), width, len(fields(Hands))))
    for row, choices in enumerate(grips):
        for column, grip in enumerate(choices):
            facts = known.get(grip)
            if facts is None:
                facts = known[grip] = _facts(instrument, grip)
            table[row, column] = facts
        table[row, len(choices) :] = table[row, len(choices) - 1]
    columns: list[Numbers] = [
        table[:, :, n] if item.name == "hand_mm" else table[:, :, n].astype(np.int16)
        for n, item in enumerate(fields(Hands))
    ]
    return Hands(*columns)


def _facts(instrument: Instrument, grip: Grip) -> tuple[float, ...]:
    """One grip in the order of the fields of :class:`Hands`."""
    top = max(grip, key=lambda placement: (placement.finger, placement.place))
    opens = [placement for placement in grip if placement.is_open]
    down = {placement.finger: 100 * placement.string + placement.place for placement in grip}
    return (
        min(placement.string for placement in grip),
        max(placement.string for placement in grip),
        top.position,
        instrument.distance_mm(hand_place(top.position)),
        top.finger,
        top.place,
        len(opens),
        any(placement.string in instrument.shrill_open for placement in opens),
        len(grip) == 1,
        top.lie if top.finger else Lie.OPEN,
        sum(placement.is_extension for placement in grip),
        sum(placement.respelled for placement in grip),
        _finger_across(grip),
        *(down.get(finger, 0) for finger in (1, 2, 3, 4)),
    )


def _finger_across(grip: Grip) -> int:
    """The highest finger that stops two strings of a chord at once; 0 when none does."""
    stopped = [placement.finger for placement in grip if not placement.is_open]
    return max((finger for finger in stopped if stopped.count(finger) > 1), default=0)
