"""From a drawing to the map of its page: gathers the ink of every note, staff, measure and system."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
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
    bodies: dict[Group, list[Floats]] = field(default_factory=lambda: defaultdict(list))
    beams: dict[Group, list[Floats]] = field(default_factory=lambda: defaultdict(list))
    lines: dict[Group, list[Floats]] = field(default_factory=lambda: defaultdict(list))
    heading: list[Floats] = field(default_factory=list)
    systems: dict[Group, list[Floats]] = field(default_factory=lambda: defaultdict(list))
    marks: dict[tuple[int, Group | None], list[Floats]] = field(default_factory=lambda: defaultdict(list))
    homes: dict[Group, _Home] = field(default_factory=dict)
    upper_layers: dict[Group, Group] = field(default_factory=dict)
    staves: dict[Group, list[Floats]] = field(default_factory=lambda: defaultdict(list))


def map_page(drawing: Drawing, ink: InkFinder, *, staff_space: float, by_staff: bool = False) -> PageMap:
    """The map of one page; ``staff_space`` in millimetres. ``by_staff``: every staff is a system of its own."""
    found = _Sorted()
    for mark in drawing.marks:
        boxes = ink.boxes(mark, drawing) / UNITS_A_MM
        if len(boxes):
            _sort(found, mark, boxes)
            _sort_by_mark(found, mark, boxes)
    numbers = _numbers_by_staff(found) if by_staff else _numbers_by_system(found)
    measures = _measures(found, numbers)
    return PageMap(
        drawing.width / UNITS_A_MM,
        drawing.height / UNITS_A_MM,
        staff_space,
        {note.id: _note(found, note, numbers) for note in found.heads if note.id},
        measures,
        _systems(found, numbers, measures, by_staff=by_staff),
        np.concatenate(found.ink) if found.ink else np.empty((0, 4)),
        max((float(boxes[:, 3].max()) for boxes in found.heading), default=0.0),
        tuple((number, _around(boxes)) for (number, _), boxes in found.marks.items()),
    )


def _sort(found: _Sorted, mark: Mark, boxes: Floats) -> None:
    home = _home(found, mark.group)
    _sort_by_line(found, mark, home, boxes)
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
        if home.kind != "artic":
            found.bodies[home.owner].append(boxes)
        if home.kind == "notehead":
            found.heads[home.owner].append(boxes)
        elif home.kind == "stem" and isinstance(mark, Shape):
            found.stems[home.owner].append(boxes)


def _sort_by_line(found: _Sorted, mark: Mark, home: _Home, boxes: Floats) -> None:
    found.ink.append(boxes)
    if home.system is not None:
        found.systems[home.system].append(boxes)
    elif mark.group is HEADING:
        found.heading.append(boxes)
    if home.staff is not None:
        found.staves[home.staff].append(boxes)


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


def _numbers_by_system(found: _Sorted) -> dict[Group, int]:
    """For every staff of a measure the number of its system."""
    homes = {staff: found.homes[staff].system for staff in found.lines}
    systems = list(dict.fromkeys(homes.values()))
    return {staff: systems.index(system) for staff, system in homes.items()}


def _numbers_by_staff(found: _Sorted) -> dict[Group, int]:
    """For every staff of a measure a number, the same along a system, counted down the page."""
    seen: Counter[Group | None] = Counter()
    lines: dict[Group, tuple[Group | None, int]] = {}
    for staff in found.lines:
        home = found.homes[staff]
        lines[staff] = home.system, seen[home.measure]
        seen[home.measure] += 1
    order = {line: number for number, line in enumerate(dict.fromkeys(lines.values()))}
    return {staff: order[line] for staff, line in lines.items()}


def _note(found: _Sorted, note: Group, systems: Mapping[Group, int]) -> NotePlace:
    home = _home(found, note)
    if home.measure is None or home.staff is None:
        raise ValueError(f"the engraver drew note '{note.id}' outside any measure")
    column, body = (
        _around([*inked[note], *(inked[home.chord] if home.chord else [])]) for inked in (found.columns, found.bodies)
    )
    if home.beam is not None and found.beams[home.beam]:
        beams = np.concatenate(found.beams[home.beam])
        column, body = _with_beam(column, beams), _with_beam(body, beams)
    top, bottom = _staff(found, home.staff)
    stems = found.stems[note] or (found.stems[home.chord] if home.chord else [])
    return NotePlace(
        _around(found.heads[note]),
        column,
        body,
        systems[home.staff],
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


def _measures(found: _Sorted, systems: Mapping[Group, int]) -> tuple[MeasurePlace, ...]:
    staves: dict[tuple[Group, int], list[Floats]] = defaultdict(list)
    for staff, lines in found.lines.items():
        measure = staff.within("measure")
        if measure is not None:
            staves[measure, systems[staff]].extend(lines)
    return tuple(
        MeasurePlace(*measure_span(measure.id), system, _around(lines)) for (measure, system), lines in staves.items()
    )


def _systems(
    found: _Sorted, numbers: Mapping[Group, int], measures: Iterable[MeasurePlace], *, by_staff: bool
) -> tuple[SystemPlace, ...]:
    ink: dict[int, list[Floats]] = defaultdict(list)
    for staff, number in numbers.items():
        system = found.homes[staff].system
        if by_staff:
            ink[number].extend(found.staves[staff])
        elif system is not None and number not in ink:
            ink[number] = found.systems[system]
    inside: dict[int, list[MeasurePlace]] = defaultdict(list)
    for measure in measures:
        inside[measure.system].append(measure)
    return tuple(_system(_around(ink[number]), inside[number]) for number in sorted(ink))


def _system(rect: Rect, measures: Sequence[MeasurePlace]) -> SystemPlace:
    tops, bottoms = [m.rect.y0 for m in measures], [m.rect.y1 for m in measures]
    return SystemPlace(measures[0].first, measures[-1].last, rect, min(tops), max(bottoms))
