"""From a drawing to the map of its page: gathers the ink of every note, staff, measure and system."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np

from engraving.drawing import UNITS_A_MM, Drawing, Group, Mark, Shape
from engraving.heading import HEADING
from engraving.ink import InkFinder
from engraving.outlines import Floats
from engraving.page import MeasurePlace, NotePlace, PageMap, Rect, Stem, SystemPlace
from engraving.restruns import measure_span

_COLUMN_KINDS = {"notehead", "stem", "flag", "artic"}
_BEAM_REACH = 0.5  # mm beside a stem within which a beam belongs to its column


@dataclass(slots=True)
class _Home:
    """The groups a mark lies in. ``owner`` is the nearest of note, chord and beam; ``kind`` the column part it is."""

    system: Group | None = None
    measure: Group | None = None
    staff: Group | None = None
    layer: Group | None = None
    note: Group | None = None
    chord: Group | None = None
    beam: Group | None = None
    owner: Group | None = None
    kind: str = ""


@dataclass(slots=True)
class _Sorted:
    """The ink of a page by what it belongs to, in millimetres."""

    ink: list[Floats] = field(default_factory=list)
    heads: dict[Group, list[Floats]] = field(default_factory=lambda: defaultdict(list))
    stems: dict[Group, list[Floats]] = field(default_factory=lambda: defaultdict(list))
    columns: dict[Group, list[Floats]] = field(default_factory=lambda: defaultdict(list))
    beams: dict[Group, list[Floats]] = field(default_factory=lambda: defaultdict(list))
    lines: dict[Group, list[Floats]] = field(default_factory=lambda: defaultdict(list))
    heading: list[Floats] = field(default_factory=list)
    systems: dict[Group, list[Floats]] = field(default_factory=lambda: defaultdict(list))
    marks: dict[tuple[int, Group | None], list[Floats]] = field(default_factory=lambda: defaultdict(list))
    homes: dict[Group, _Home] = field(default_factory=dict)
    upper_layers: dict[Group, Group] = field(default_factory=dict)


def map_page(drawing: Drawing, ink: InkFinder, *, staff_space: float) -> PageMap:
    """The map of one page; ``staff_space`` in millimetres."""
    found = _Sorted()
    for mark in drawing.marks:
        boxes = ink.boxes(mark, drawing) / UNITS_A_MM
        if len(boxes):
            _sort(found, mark, boxes)
            _sort_by_mark(found, mark, boxes)
    systems = list(dict.fromkeys(home.system for home in found.homes.values() if home.system is not None))
    numbers = {system: number for number, system in enumerate(systems)}
    measures = _measures(found, numbers)
    return PageMap(
        drawing.width / UNITS_A_MM,
        drawing.height / UNITS_A_MM,
        staff_space,
        {note.id: _note(found, note, numbers) for note in found.heads if note.id},
        measures,
        tuple(_system(found, system, [m for m in measures if m.system == numbers[system]]) for system in systems),
        np.concatenate(found.ink) if found.ink else np.empty((0, 4)),
        max((float(boxes[:, 3].max()) for boxes in found.heading), default=0.0),
        tuple((number, _around(boxes)) for (number, _), boxes in found.marks.items()),
    )


def _sort(found: _Sorted, mark: Mark, boxes: Floats) -> None:
    home = _home(found, mark.group)
    found.ink.append(boxes)
    if home.system is not None:
        found.systems[home.system].append(boxes)
    elif mark.group is HEADING:
        found.heading.append(boxes)
    if mark.group.kind == "staff" and isinstance(mark, Shape):
        found.lines[mark.group].append(boxes)
    if home.staff is not None and home.layer is not None:
        found.upper_layers.setdefault(home.staff, home.layer)
    if home.owner is None:
        return
    if home.owner.kind == "beam" and isinstance(mark, Shape):
        found.beams[home.owner].append(boxes)
    elif home.kind:
        found.columns[home.owner].append(boxes)
        if home.kind == "notehead":
            found.heads[home.owner].append(boxes)
        elif home.kind == "stem" and isinstance(mark, Shape):
            found.stems[home.owner].append(boxes)


def _sort_by_mark(found: _Sorted, mark: Mark, boxes: Floats) -> None:
    number = mark.group.number
    if number is not None:
        found.marks[number, _home(found, mark.group).system].append(boxes)


def _home(found: _Sorted, group: Group) -> _Home:
    if group in found.homes:
        return found.homes[group]
    home = _Home()
    for outer in reversed(list(group.lineage())):
        if outer.kind in ("system", "measure", "staff", "layer"):
            setattr(home, outer.kind, outer)
        elif outer.kind in ("note", "chord", "beam"):
            setattr(home, outer.kind, outer)
            home.owner, home.kind = outer, ""
        elif home.owner is not None:
            home.kind = outer.kind if outer.kind in _COLUMN_KINDS else "" if not home.kind else home.kind
    found.homes[group] = home
    return home


def _note(found: _Sorted, note: Group, systems: dict[Group, int]) -> NotePlace:
    home = _home(found, note)
    if home.system is None or home.measure is None or home.staff is None:
        raise ValueError(f"the engraver drew note '{note.id}' outside any measure")
    own = [*found.columns[note], *(found.columns[home.chord] if home.chord else [])]
    column = _around(own)
    if home.beam is not None and found.beams[home.beam]:
        column = _with_beam(column, np.concatenate(found.beams[home.beam]))
    top, bottom = _staff(found, home.staff)
    stems = found.stems[note] or (found.stems[home.chord] if home.chord else [])
    return NotePlace(
        _around(found.heads[note]),
        column,
        systems[home.system],
        measure_span(home.measure.id)[0],
        top,
        bottom,
        _direction(_around(found.heads[note]), _around(stems)) if stems else None,
        home.chord.id if home.chord else None,
        home.layer is not found.upper_layers.get(home.staff),
    )


def _around(boxes: list[Floats]) -> Rect:
    every = np.concatenate(boxes)
    x0, y0 = every[:, :2].min(axis=0)
    x1, y1 = every[:, 2:].max(axis=0)
    return Rect(float(x0), float(y0), float(x1), float(y1))


def _with_beam(column: Rect, beams: Floats) -> Rect:
    near = beams[(beams[:, 0] < column.x1 + _BEAM_REACH) & (beams[:, 2] > column.x0 - _BEAM_REACH)]
    if not len(near):
        return column
    return Rect(column.x0, min(column.y0, float(near[:, 1].min())), column.x1, max(column.y1, float(near[:, 3].max())))


def _direction(head: Rect, stem: Rect) -> Stem:
    return "up" if head.centre[1] - stem.y0 > stem.y1 - head.centre[1] else "down"


def _staff(found: _Sorted, staff: Group) -> tuple[float, float]:
    lines = np.concatenate(found.lines[staff])
    middles = (lines[:, 1] + lines[:, 3]) / 2
    return float(middles.min()), float(middles.max())


def _measures(found: _Sorted, systems: dict[Group, int]) -> tuple[MeasurePlace, ...]:
    staves: dict[Group, list[Floats]] = defaultdict(list)
    for staff, lines in found.lines.items():
        measure = staff.within("measure")
        if measure is not None:
            staves[measure].extend(lines)
    places = []
    for measure, lines in staves.items():
        system = measure.within("system")
        if system is not None:
            places.append(MeasurePlace(*measure_span(measure.id), systems[system], _around(lines)))
    return tuple(places)


def _system(found: _Sorted, system: Group, measures: list[MeasurePlace]) -> SystemPlace:
    tops, bottoms = [m.rect.y0 for m in measures], [m.rect.y1 for m in measures]
    rect = _around(found.systems[system])
    return SystemPlace(measures[0].first, measures[-1].last, rect, min(tops), max(bottoms))
