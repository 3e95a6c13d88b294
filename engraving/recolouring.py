"""The teacher's dynamics found again in the drawing: the engraver sets their letters in black, whatever their colour.

It draws the dynamics of a measure in the order in which they are written, and so they are told apart.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace

from lxml import etree

from engraving.drawing import Drawing, Group, Mark
from engraving.marks.tags import number_of


def numbers_of_dynamics(score: etree._Element) -> dict[str, list[int | None]]:
    """For each measure with a dynamic of the teacher's, by the measure's id: whose mark each of its dynamics is."""
    found: dict[str, list[int | None]] = defaultdict(list)
    for measure in score.iterfind("part/measure"):
        found[measure.get("id", "")] += [
            number_of(dynamics.get("color")) for dynamics in measure.iterfind("direction/direction-type/dynamics")
        ]
    return {
        measure_id: numbers for measure_id, numbers in found.items() if any(number is not None for number in numbers)
    }


def recoloured(drawing: Drawing, numbers: Mapping[str, list[int | None]]) -> Drawing:
    """The drawing with every dynamic of the teacher's knowing its number.

    A measure of which the engraver has not drawn just the dynamics that are written in it is left as it is.
    """
    if not numbers:
        return drawing
    drawn: dict[str, dict[Group, None]] = defaultdict(dict)
    for mark in drawing.marks:
        dynamic, measure = mark.group.within("dynam"), mark.group.within("measure")
        if dynamic is not None and measure is not None and measure.id in numbers:
            drawn[measure.id][dynamic] = None
    owned: dict[Group, Group] = {}
    for measure_id, groups in drawn.items():
        if len(groups) == len(numbers[measure_id]):
            for group, number in zip(groups, numbers[measure_id], strict=True):
                if number is not None:
                    owned[group] = replace(group, number=number)
    return replace(drawing, marks=tuple(_owned(mark, owned) for mark in drawing.marks))


def _owned(mark: Mark, owned: Mapping[Group, Group]) -> Mark:
    dynamic = mark.group.within("dynam")
    return replace(mark, group=owned[dynamic]) if dynamic is not None and dynamic in owned else mark
