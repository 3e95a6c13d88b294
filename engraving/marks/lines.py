"""Lines from note to note: which ones the file holds, and a number for a new one that no line beside it has.

MusicXML tells lines of one kind that lie over each other apart by their ``number``, 1 to 16 (type number-level).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass, field
from math import inf

from lxml import etree

from analysis.language import _
from engraving.errors import EngravingError
from engraving.marks.sites import PartSites

# Some readers count brackets and dashes together, so both take their numbers from one row.
_ROWS = {
    "bracket": "bracket",
    "dashes": "bracket",
    "wedge": "wedge",
    "slur": "slur",
    "other-notation": "other-notation",
}
_MOST = 16
_ENDS = ("start", "crescendo", "diminuendo", "stop")


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """A line by its two end elements, and between which numbers of its part it lies.

    An end whose other end is missing keeps its number busy: a start from there on, a stop to the end of its measure,
    in which some readers join it to a start that comes after it.
    """

    number: str
    start: etree._Element | None
    stop: etree._Element | None
    begins: float
    ends: float


@dataclass(frozen=True, slots=True, eq=False)
class _End:
    """One end of a line, the number of the note or direction it stands in, and the index of its measure."""

    sign: etree._Element
    place: int
    measure: int

    @property
    def number(self) -> str:
        return self.sign.get("number", "1")

    @property
    def is_stop(self) -> bool:
        return self.sign.get("type") == "stop"

    def meets(self, later: _End) -> bool:
        """Whether the two make a line; of two voices the stop may be written first, inside one measure."""
        return self.is_stop != later.is_stop and (later.is_stop or self.measure == later.measure)


@dataclass(slots=True)
class _Row:
    """The lines of one row: by the measures they lie over, and those that never end."""

    by_measure: dict[int, list[Line]] = field(default_factory=lambda: defaultdict(list))
    endless: list[Line] = field(default_factory=list)


class PartLines:
    """The lines of one part."""

    def __init__(self, part: PartSites) -> None:
        self._rows: dict[str, _Row] = defaultdict(_Row)
        open_ends: dict[tuple[str, str], _End] = {}
        for row, end in _ends_in(part):
            key = (row, end.number)
            other = open_ends.pop(key, None)
            if other is not None and other.meets(end):
                start, stop = (other, end) if end.is_stop else (end, other)
                line = Line(end.number, start.sign, stop.sign, other.place, end.place)
                self._keep(row, line, other.measure, end.measure)
                continue
            if other is not None:
                self._keep_alone(row, other)
            open_ends[key] = end
        for (row, _number), end in open_ends.items():
            self._keep_alone(row, end)

    def over(self, tag: str, first: int, last: int) -> Iterator[Line]:
        """The lines that share their numbers with ``tag`` and lie over any of the measures ``first`` to ``last``."""
        row = self._rows[_ROWS[tag]]
        for measure in range(first, last + 1):
            yield from row.by_measure.get(measure, ())
        yield from row.endless

    def add(
        self,
        start: etree._Element,
        stop: etree._Element,
        places: tuple[int, int],
        measures: tuple[int, int],
    ) -> None:
        """Number the ends of a new line between two places, otherwise than any line beside it.

        EngravingError when every number is taken.
        """
        row = _ROWS[str(start.tag)]
        beside = (line for line in self.over(row, *measures) if line.begins <= places[1] and places[0] <= line.ends)
        taken = {line.number for line in beside}
        number = next((str(number) for number in range(1, _MOST + 1) if str(number) not in taken), None)
        if number is None:
            raise EngravingError(_("more than {most} lines of one kind lie over each other").format(most=_MOST))
        for end in (start, stop):
            end.set("number", number)
        self._keep(row, Line(number, start, stop, *places), *measures)

    def _keep(self, row: str, line: Line, first: int, last: int) -> None:
        for measure in range(first, last + 1):
            self._rows[row].by_measure[measure].append(line)

    def _keep_alone(self, row: str, end: _End) -> None:
        if end.is_stop:
            self._keep(row, Line(end.number, None, end.sign, end.place, inf), end.measure, end.measure)
        else:
            self._rows[row].endless.append(Line(end.number, end.sign, None, end.place, inf))


def _ends_in(part: PartSites) -> Iterator[tuple[str, _End]]:
    """Each end of a line with its row, in document order."""
    for index, measure in enumerate(part.measures):
        for child in measure.iterchildren("note", "direction"):
            holders = "notations/*" if child.tag == "note" else "direction-type/*"
            for sign in child.iterfind(holders):
                row = _ROWS.get(str(sign.tag))
                if row is not None and sign.get("type") in _ENDS:
                    yield row, _End(sign, part.places[child], index)
