"""How a figure is played wherever it comes: the way that costs least if it is played alike every time."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.figures import Event, Figure, Shift, figures
from analysis.fingering.costs import Costs
from analysis.fingering.grips import Grip
from analysis.fingering.line import Line
from analysis.fingering.solver import best_path
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
    alike = _Alike(grips, usable, costs)
    for figure in line_figures(line):
        for offset, shapes in alike.runs(figure):
            chosen = alike.least(figure, offset, shapes)
            for start, over in figure.places:
                for step, shape in enumerate(chosen):
                    index = start + offset + step
                    found[index] = grips[index][alike.numbers(grips[index], over)[shape]]
    return tuple(found)


class _Alike:
    """Grips and their effort seen as shapes, which are the same wherever a figure comes."""

    def __init__(self, grips: Sequence[Sequence[Grip]], usable: Sequence[Sequence[Grip]], costs: Costs) -> None:
        self.grips, self.usable, self.costs = grips, usable, costs
        # Stages of one pitch share their grips, as one object.
        self._numbers: dict[tuple[int, int], dict[_Shape, int]] = {}

    def numbers(self, choices: Sequence[Grip], over: int) -> dict[_Shape, int]:
        """The number of the grip of each shape, when the grips are seen ``over`` strings lower."""
        found = self._numbers.get((id(choices), over))
        if found is None:
            shapes = [tuple((p.string + over, p.hand, p.finger, p.place) for p in grip) for grip in choices]
            found = {shape: number for number, shape in reversed(list(enumerate(shapes)))}
            self._numbers[id(choices), over] = found
        return found

    def runs(self, figure: Figure) -> list[tuple[int, list[list[_Shape]]]]:
        """Stretches of a figure, from an offset on, in which each stage has grips that serve at every place."""
        runs: list[tuple[int, list[list[_Shape]]]] = []
        for offset in range(figure.length):
            (first, over), *others = figure.places
            shapes = list(reversed(self.numbers(self.usable[first + offset], over)))
            for start, moved in others:
                there = self.numbers(self.usable[start + offset], moved)
                shapes = [shape for shape in shapes if shape in there]
            if shapes and runs and runs[-1][0] + len(runs[-1][1]) == offset:
                runs[-1][1].append(shapes)
            elif shapes:
                runs.append((offset, [shapes]))
        return runs

    def least(self, figure: Figure, offset: int, shapes: Sequence[Sequence[_Shape]]) -> list[_Shape]:
        """The shapes that cost least over all places of the figure together."""
        single, pair, triple = ([np.zeros(1, np.int32)] * max(len(shapes) - n, 0) for n in range(3))
        for start, over in figure.places:
            first = start + offset
            numbers = [self.numbers(self.grips[first + step], over) for step in range(len(shapes))]
            at = [[number[shape] for shape in wanted] for number, wanted in zip(numbers, shapes, strict=True)]
            plain = [here == list(range(len(self.grips[first + step]))) for step, here in enumerate(at)]
            every = (self.costs.single, self.costs.pair, self.costs.triple)
            for span, (sums, given) in enumerate(zip((single, pair, triple), every, strict=True), start=1):
                for k in range(len(sums)):
                    table = given[first + k]
                    # Mostly all grips serve, in their own order.
                    part = table if all(plain[k : k + span]) else table[np.ix_(*at[k : k + span])]
                    sums[k] = sums[k] + part
        path = best_path(Costs(tuple(single), tuple(pair), tuple(triple)))
        return [wanted[index] for wanted, index in zip(shapes, path, strict=True)]
