"""How a figure is played wherever it comes: the way that costs least if it is played alike every time."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from analysis.figures import Event, Figure, Shift, figures
from analysis.fingering.costs import Costs, Effort
from analysis.fingering.grips import Grip
from analysis.fingering.line import Line
from analysis.fingering.solver import solve
from analysis.fingering.stages import Stage
from analysis.instruments import Instrument

# Shorter stretches come again by chance.
_LEAST = 4
_Shape = tuple[tuple[int, float, int, int], ...]


def events(stages: Sequence[Stage], transpose: int = 0) -> tuple[Event, ...]:
    """The stages as events in which repeated figures can be found; ``transpose`` changes nothing but the pitches."""
    return tuple(
        Event(
            tuple((note.pitch.letter, int(note.pitch.midi + transpose)) for note in stage.heads),
            stage.quarters,
            stage.slurred,
            stage.quarters_rest,
        )
        for stage in stages
    )


def tuning_interval(instrument: Instrument) -> Shift:
    """Letters and semitones between the two highest strings."""
    high, low = instrument.strings[0].pitch, instrument.strings[1].pitch
    return high.letter - low.letter, int(high.midi - low.midi)


def line_figures(line: Line) -> tuple[Figure, ...]:
    """The figures of a line that come again, also one string over."""
    if any(note.pitch.alter != int(note.pitch.alter) for stage in line.stages for note in stage.heads):
        return ()
    return figures(events(line.stages), tuning_interval(line.instrument), _LEAST)


def standing_ways(
    line: Line, grips: Sequence[Sequence[Grip]], costs: Costs, usable: Sequence[Sequence[Grip]]
) -> tuple[Grip | None, ...]:
    """For each stage how its figure is played wherever it comes; ``None`` where nothing comes again.

    ``costs`` are the tables of ``line`` for ``grips``, of which only the ``usable`` ones are chosen from. A figure with
    a note that can nowhere be played alike has no such way there.
    """
    found: list[Grip | None] = [None] * len(line.stages)
    for figure in line_figures(line):
        for offset, shapes in _runs(figure, usable):
            chosen = _least_alike(figure, offset, shapes, grips, costs)
            for start, over in figure.places:
                for step, shape in enumerate(chosen):
                    index = start + offset + step
                    found[index] = next(grip for grip in grips[index] if _shape(grip, over) == shape)
    return tuple(found)


def _shape(grip: Grip, over: int) -> _Shape:
    """A grip as it would lie ``over`` strings lower."""
    return tuple((p.string + over, p.hand, p.finger, p.place) for p in grip)


def _runs(figure: Figure, grips: Sequence[Sequence[Grip]]) -> list[tuple[int, list[list[_Shape]]]]:
    """Stretches of a figure, from an offset on, in which each stage has grips that serve at every place."""
    runs: list[tuple[int, list[list[_Shape]]]] = []
    for offset in range(figure.length):
        (first, over), *others = figure.places
        shapes = list(dict.fromkeys(_shape(grip, over) for grip in grips[first + offset]))
        for start, moved in others:
            there = {_shape(grip, moved) for grip in grips[start + offset]}
            shapes = [shape for shape in shapes if shape in there]
        if shapes and runs and runs[-1][0] + len(runs[-1][1]) == offset:
            runs[-1][1].append(shapes)
        elif shapes:
            runs.append((offset, [shapes]))
    return runs


def _least_alike(
    figure: Figure, offset: int, shapes: Sequence[Sequence[_Shape]], grips: Sequence[Sequence[Grip]], costs: Costs
) -> list[_Shape]:
    """The shapes that cost least over all places of the figure together."""
    tables = _Sums(len(shapes))
    for start, over in figure.places:
        at = []
        for step, wanted in enumerate(shapes):
            place = {_shape(grip, over): n for n, grip in reversed(list(enumerate(grips[start + offset + step])))}
            at.append(np.array([place[shape] for shape in wanted]))
        tables.add(costs, start + offset, at)
    return [wanted[index] for wanted, index in zip(shapes, solve(tables.costs()).path, strict=True)]


class _Sums:
    """Effort tables added up over several stretches of a chain."""

    def __init__(self, count: int) -> None:
        self._tables: tuple[list[Effort], ...] = tuple([np.zeros(1, np.int32)] * max(count - n, 0) for n in range(3))

    def add(self, costs: Costs, first: int, at: Sequence[npt.NDArray[np.intp]]) -> None:
        """Add what the stretch from stage ``first`` on costs, with the grips in the order of ``at``."""
        every = (costs.single, costs.pair, costs.triple)
        for span, (tables, given) in enumerate(zip(self._tables, every, strict=True), start=1):
            for k in range(len(tables)):
                tables[k] = tables[k] + given[first + k][np.ix_(*at[k : k + span])]

    def costs(self) -> Costs:
        """The tables of the sums."""
        single, pair, triple = self._tables
        return Costs(tuple(single), tuple(pair), tuple(triple))
