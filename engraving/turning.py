"""A part engraved so that its pages turn in rests, where the music has them.

A first pass breaks lines and pages by itself and tells how wide every measure is and how high every line. Then the
pages of least cost are chosen (``analysis.turns``), and a second pass is told where to break. Where nothing is gained
the first pass stands. A part of one or two pages lies open, side by side, and has no turn; a longer one is a booklet
whose first page is on the right, so that odd pages are turned.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, pairwise
from statistics import median

from lxml import etree

from analysis.language import _
from analysis.turns import ENOUGH, Line, Paper, Turn, best_pages, turn_cost
from engraving.engraver import EngravedPage, prepared
from engraving.errors import EngravingError
from engraving.layout import Layout
from engraving.restruns import measure_span
from engraving.typesetting import Option, typeset, typeset_under

OPEN_PAGES = 2  # so many lie side by side
_STEPS_A_MM = 2  # heights are weighed in half millimetres
_UNITS_A_MM = 100.0  # of the engraver's drawing
_TENTHS = 10.0  # of a millimetre, its options
# Where no ink asks for more, between what the last system of a page keeps below and the next staff, in half spaces;
# measured.
_BETWEEN = 14.0
# The pages on which heights and widths are measured, in its tenths: larger ones take it longer than their music.
_TALL, _TIMES_AS_WIDE, _WIDEST = 10000, 10, 100000
# A line that breaks elsewhere than usual: what it costs, how far it may be stretched, and what twice the width costs.
_REBROKEN, _LOOSEST, _TWICE_AS_WIDE = 0.03, 1.8, 0.25
_TRIALS = 4
# A last page of so few lines is spared where all can stand a little closer: least distances, in half staff spaces.
_SCANT, _CLOSER = 2, (6, 5, 4)
_LINE_ENDS = re.compile(r"M(\S+) (\S+) L(\S+) ")


@dataclass(frozen=True, eq=False)
class Turned:
    """The pages, and every page turn among them."""

    pages: tuple[EngravedPage, ...]
    turns: tuple[Turn, ...]


@dataclass(frozen=True, slots=True)
class _System:
    """One drawn line of music: the ids of its measures, their widths, and where its staff begins; in millimetres."""

    bars: tuple[str, ...]
    widths: tuple[float, ...]
    top: float


_Pages = list[list[_System]]


def engrave_turning(musicxml: str, layout: Layout, rests: Sequence[float], least: float = ENOUGH) -> Turned:
    """Engrave the one-part text of ``part_for_engraving``, its pages turned in rests of ``least`` seconds if it can be.

    ``rests``: seconds of rest around the barline before every measure of the part, as ``analysis.turns.rest_seconds``
    counts them. Arguments and result can cross to another process. EngravingError when the engraver refuses the part,
    or the rests are those of another one.
    """
    score, options, drawn = prepared(musicxml, layout)
    measures = len(score.findall("part/measure"))
    if len(rests) != measures:
        raise EngravingError(
            _("the part has {measures} measures, and rests are known of {count}").format(
                measures=measures, count=len(rests)
            )
        )
    text = etree.tostring(score, encoding="unicode")
    passes = typeset_under(text, (options, *_measuring(options)))
    first = next(passes)
    usual = _systems(first)
    closer = _closer(text, options, usual)
    if closer is not None:
        options, first, usual = closer
        passes = typeset_under(text, (options, *_measuring(options)))
        next(passes)
    turns = _turns(score, usual, rests, least)
    if all(turn.enough for turn in turns):
        return Turned(drawn(first), turns)
    sizes = _Sizes(usual, _systems(next(passes)), _systems(next(passes)), options)
    lines = list(sizes.lines())
    costs = [turn_cost(rests[measure_span(bar)[0]], least) for bar in sizes.bars]
    for _trial in range(_TRIALS):
        chosen = best_pages(lines, costs, sizes.paper())
        wanted = [[sizes.bars[line.first : line.last + 1] for line in page] for page in chosen or ()]
        if not chosen or wanted == _bars(usual):
            break
        second = typeset(_broken(score, wanted), {**options, "breaks": "encoded"}, None)
        broken = _systems(second)
        if _bars(broken) != wanted:
            break
        pages = drawn(second)
        low = {page[-1]: _overflow(engraved, options) for page, engraved in zip(chosen, pages, strict=True)}
        if max(low.values()) <= 0:
            return Turned(pages, _turns(score, broken, rests, least))
        lines = [replace(line, height=line.height + _steps(max(0.0, low.get(line, 0.0)))) for line in lines]
    return Turned(drawn(first), turns)


def _closer(
    text: str, options: Mapping[str, Option], usual: _Pages
) -> tuple[dict[str, Option], list[str], _Pages] | None:
    """The options and pages with lines a little closer, where that spares a last page that holds next to nothing."""
    if len(usual) == 1 or len(usual[-1]) > _SCANT:
        return None
    settings = [{**options, "spacingSystem": spacing} for spacing in _CLOSER]
    for closer, pages in zip(settings, typeset_under(text, settings), strict=True):
        systems = _systems(pages)
        if len(systems) < len(usual):
            return closer, pages, systems
    return None


def _measuring(options: Mapping[str, Option]) -> tuple[Mapping[str, Option], Mapping[str, Option]]:
    """The options under which the heights of lines and the widths of measures come out as they are by nature."""
    wide = min(int(options["pageWidth"]) * _TIMES_AS_WIDE, _WIDEST)
    high = max(int(options["pageHeight"]), _TALL)
    return {"pageHeight": high, "justifyVertically": False}, {"pageWidth": wide, "noJustification": True}


def _turns(score: etree._Element, pages: _Pages, rests: Sequence[float], least: float) -> tuple[Turn, ...]:
    """The turns from every odd page to the next, none among pages that lie open."""
    if len(pages) <= OPEN_PAGES:
        return ()
    labels = {measure.get("id", ""): measure.get("number", "") for measure in score.iterfind("part/measure")}
    turns = []
    for number, page in enumerate(pages[1:], 1):
        if number % 2:
            bar = page[0].bars[0]
            measure = measure_span(bar)[0]
            turns.append(Turn(number, measure, labels[bar], rests[measure], rests[measure] >= least))
    return tuple(turns)


def _overflow(page: EngravedPage, options: Mapping[str, Option]) -> float:
    """How far the music reaches into the lower margin, in millimetres."""
    bottom = page.height_mm - float(options["pageMarginBottom"]) / _TENTHS
    return max(system.rect.y1 for system in page.map.systems) - bottom - 1 / _STEPS_A_MM


def _steps(millimetres: float) -> int:
    return math.ceil(millimetres * _STEPS_A_MM)


# What the engraver drew


def _systems(pages: Sequence[str]) -> _Pages:
    """The systems of each page of the engraver's SVG."""
    return [[_system(group) for group in _groups(etree.fromstring(page.encode()), "system")] for page in pages]


def _groups(inside: etree._Element, kind: str) -> Iterator[etree._Element]:
    return (group for group in inside.iter("{*}g") if group.get("class") == kind)


def _system(group: etree._Element) -> _System:
    bars, widths, tops = [], [], []
    for measure in _groups(group, "measure"):
        path = next((path for staff in _groups(measure, "staff") for path in staff.iterfind("{*}path")), None)
        line = _LINE_ENDS.match(path.get("d", "")) if path is not None else None
        bars.append(measure.get("id", ""))
        widths.append((float(line[3]) - float(line[1])) / _UNITS_A_MM if line else 0.0)
        tops.append(float(line[2]) / _UNITS_A_MM if line else 0.0)
    return _System(tuple(bars), tuple(widths), max(tops, default=0.0))


def _bars(pages: _Pages) -> list[list[tuple[str, ...]]]:
    return [[system.bars for system in page] for page in pages]


def _broken(score: etree._Element, pages: Sequence[Sequence[Sequence[str]]]) -> str:
    """The part with a break before every line and page."""
    breaks = {line[0]: "new-page" if not number else "new-system" for page in pages for number, line in enumerate(page)}
    for measure in score.iterfind("part/measure"):
        for element in measure.findall("print"):
            measure.remove(element)
        kind = breaks.get(measure.get("id", ""))
        if kind is not None and measure.get("id") != pages[0][0][0]:
            measure.insert(0, etree.Element("print", {kind: "yes"}))
    return etree.tostring(score, encoding="unicode")


class _Sizes:
    """How wide every measure and how high every line is; ``usual``, ``tall`` and ``wide`` are the first pass on its
    pages, on pages that are higher, and in lines so long that few measures begin one."""

    def __init__(self, usual: _Pages, tall: _Pages, wide: _Pages, options: Mapping[str, Option]) -> None:
        self.pages, self.options = usual, options
        self.systems = [system for page in usual for system in page]
        self.bars = tuple(bar for system in self.systems for bar in system.bars)
        natural = {
            bar: width for page in wide for line in page for bar, width in zip(line.bars, line.widths, strict=True)
        }
        self.edges = list(accumulate((natural[bar] for bar in self.bars), initial=0.0))
        self.starts = list(accumulate((len(system.bars) for system in self.systems), initial=0))
        self.width = max(sum(system.widths) for system in self.systems)
        self.heights = [max(1, _steps(pitch)) for pitch in _pitches(tall)]

    def lines(self) -> Iterator[Line]:
        """All ways to make a line, the usual ones first."""
        usual = list(pairwise(self.starts))
        for system, (start, stop) in enumerate(usual):
            yield Line(start, stop - 1, self.heights[system])
        known = set(usual)
        for system, (start, stop) in enumerate(usual):
            for bar in range(start, stop):
                yield from self._from(bar, system, self._opening(system) if bar else 0.0, known)

    def _from(self, bar: int, system: int, opening: float, known: set[tuple[int, int]]) -> Iterator[Line]:
        """The lines that begin with this bar of a usual system."""
        height = 0
        for stop in range(bar + 1, len(self.bars) + 1):
            width = opening + self.edges[stop] - self.edges[bar]
            if width > self.width:
                return
            while self.starts[system] < stop:
                height, system = max(height, self.heights[system]), system + 1
            stretch = self.width / width if width else math.inf
            if stop == len(self.bars):
                stretch = 1.0  # the last line of a part may be short
            if stretch <= _LOOSEST and (bar, stop) not in known:
                yield Line(bar, stop - 1, height, _REBROKEN + _TWICE_AS_WIDE * (stretch - 1) ** 2)

    def _opening(self, system: int) -> float:
        """How much clef and key signature take at the beginning of a usual system."""
        found = [self._opening_of(number) for number in range(1, len(self.systems))]
        own = found[system - 1] if system else None
        every = [width for width in found if width is not None]
        return own if own is not None else median(every) if every else 0.0

    def _opening_of(self, system: int) -> float | None:
        """The same, from how far its other measures were stretched; ``None`` where it has no others."""
        start, stop = self.starts[system], self.starts[system + 1]
        others = self.edges[stop] - self.edges[start + 1]
        if others <= 0:
            return None
        stretch = sum(self.systems[system].widths[1:]) / others
        first = self.edges[start + 1] - self.edges[start]
        return max(0.0, self.systems[system].widths[0] - first * stretch) / stretch

    def paper(self) -> Paper:
        """The room for lines on the first page and on later ones, and where pages usually begin."""
        unit, tenths = float(self.options["unit"]), float(self.options["pageHeight"])
        tenths += _BETWEEN * unit - float(self.options["pageMarginTop"]) - float(self.options["pageMarginBottom"])
        first, *later = (page[0].top for page in self.pages)
        starts = list(accumulate((len(page) for page in self.pages), initial=0))
        filled = [sum(self.heights[start:stop]) for start, stop in pairwise(starts)]
        return Paper(
            max(filled[0], int((tenths / _TENTHS - first) * _STEPS_A_MM)),
            max(*filled[1:], int((tenths / _TENTHS - median(later)) * _STEPS_A_MM)),
            len(self.pages),
            frozenset(self.starts[start] for start in starts[:-1]),
        )


def _pitches(pages: _Pages) -> list[float]:
    """From each system to the next; from the last of a page, as much as it commonly is."""
    known = [[low.top - high.top for high, low in pairwise(page)] for page in pages]
    every = [pitch for page in known for pitch in page]
    common = median(every) if every else pages[0][0].top
    return [pitch for page in known for pitch in (*page, common)]
