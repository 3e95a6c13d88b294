"""Engrave a part or the full score: pages that know where their notes lie, values that can cross to another process."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

from lxml import etree

from analysis.language import _
from engraving import heading as headings
from engraving.drawing import UNITS_A_MM, Drawing
from engraving.errors import EngravingError
from engraving.heading import Heading
from engraving.headroom import LIFT_SPACES, keep_room_over_chords, lifted, without_placeholders
from engraving.ink import InkFinder
from engraving.layout import Layout
from engraving.mapping import map_page
from engraving.metrics import MUSIC_FAMILY, FontMetrics, data_folder
from engraving.page import PageMap
from engraving.recolouring import numbers_of_dynamics, recoloured
from engraving.restruns import measure_span
from engraving.svg import read_drawing, write_svg
from engraving.typesetting import Option, typeset, typeset_each

_TENTHS = 10  # the engraver counts paper in tenths of a millimetre
_UNITS_A_STAFF = 8  # its unit is half a staff space
_DIGIT_ROOM = (LIFT_SPACES + 2.8) / 4  # above the first system, in staff heights: digit, numeral and position name
_CREDIT_UNITS = 3.95  # height of the one-line credit that keeps room for the heading, measured
_MOST_HEADER_UNITS = 24.0


@dataclass(frozen=True, eq=False)
class EngravedPage:
    """One page: a flat SVG file of ``width_mm`` by ``height_mm``, and the map of what lies where."""

    svg: bytes
    width_mm: float
    height_mm: float
    map: PageMap


def engrave(
    musicxml: str, layout: Layout, measures: tuple[int, int] | None = None, most_pages: int | None = None
) -> tuple[EngravedPage, ...]:
    """Engrave the text of :mod:`engraving.extract`: all its pages, or the first ``most_pages``.

    ``measures`` picks measures by their index in the part, both included; a long rest is kept whole. EngravingError
    when there is no such measure or the engraver refuses the part.
    """
    score = _prepared(musicxml, layout)
    picked = _positions(score, measures) if measures is not None else None
    pages = typeset(etree.tostring(score, encoding="unicode"), _options(layout, score), picked, most_pages)
    return _drawn(pages, layout, score)


def engrave_each(musicxml: str, layout: Layout, passages: Sequence[tuple[int, int]]) -> list[tuple[EngravedPage, ...]]:
    """Each of several passages of one part engraved by itself, as :func:`engrave` does but reading the part once."""
    score = _prepared(musicxml, layout)
    picked = [_positions(score, measures) for measures in passages]
    every = typeset_each(etree.tostring(score, encoding="unicode"), _options(layout, score), picked)
    return [_drawn(pages, layout, score) for pages in every]


def prepared(
    musicxml: str, layout: Layout
) -> tuple[etree._Element, dict[str, Option], Callable[[Sequence[str]], tuple[EngravedPage, ...]]]:
    """The part as the engraver shall read it, with its options, and what makes our pages of its pages."""
    score = _prepared(musicxml, layout)
    return score, _options(layout, score), partial(_drawn, layout=layout, score=score)


def _prepared(musicxml: str, layout: Layout) -> etree._Element:
    """The music as the engraver shall read it."""
    score = _parsed(musicxml)
    keep_room_over_chords(score)
    if layout.heading:
        _keep_room(score)
    return score


def _drawn(pages: Sequence[str], layout: Layout, score: etree._Element) -> tuple[EngravedPage, ...]:
    """The engraver's pages of the music as ours."""
    heading, numbers = headings.read_heading(score), numbers_of_dynamics(score)
    is_full = len(score.findall("part")) > 1
    metrics = FontMetrics(data_folder())
    ink = InkFinder(metrics)
    read = (recoloured(without_placeholders(read_drawing(page, metrics)), numbers) for page in pages)
    drawings = (lifted(drawing, staff_space=layout.staff_space_mm * UNITS_A_MM) for drawing in read)
    return tuple(
        _page(_with_heading(drawing, heading, index, layout, metrics), layout, ink, by_staff=is_full)
        for index, drawing in enumerate(drawings)
    )


def warm_up() -> None:
    """Load what engraving needs, so that the first page comes sooner."""
    FontMetrics(data_folder())


def _parsed(musicxml: str) -> etree._Element:
    try:
        return etree.fromstring(musicxml)
    except (etree.XMLSyntaxError, ValueError) as error:
        raise EngravingError(_("the part cannot be engraved: {error}").format(error=error)) from error


def _keep_room(score: etree._Element) -> None:
    """Add a one-line credit: its place is taken by our own heading, and no later page has one."""
    credit = etree.Element("credit", page="1")
    etree.SubElement(credit, "credit-words", justify="center", valign="top").text = "."
    part_list = score.find("part-list")
    if part_list is not None:
        part_list.addprevious(credit)


def _positions(score: etree._Element, measures: tuple[int, int]) -> tuple[int, int]:
    """The first and last measure element, counted from 1 as the engraver does: a long rest is one element there."""
    spans = [measure_span(measure.get("id", "")) for measure in score.iterfind("part/measure")]
    drawn: list[tuple[int, int]] = []
    for span in spans:
        if not drawn or span[0] > drawn[-1][1]:
            drawn.append(span)
    first, last = measures
    hit = [number for number, span in enumerate(drawn, 1) if span[0] <= last and first <= span[1]]
    if not 0 <= first <= last < len(spans) or not hit:
        raise EngravingError(
            _("the part has no measures {first} to {last}; it has {count}").format(
                first=first + 1, last=last + 1, count=len(spans)
            )
        )
    return hit[0], hit[-1]


def _options(layout: Layout, score: etree._Element) -> dict[str, Option]:
    unit = layout.staff_mm * _TENTHS / _UNITS_A_STAFF
    room = headings.room_mm(headings.read_heading(score), layout) if layout.heading else 0.0
    margin, edge = round(layout.margin_mm * _TENTHS), round(headings.edge_mm(layout) * _TENTHS)
    return {
        "pageWidth": round(layout.width_mm * _TENTHS),
        "pageHeight": round(layout.height_mm * _TENTHS),
        "pageMarginLeft": margin,
        "pageMarginRight": margin,
        "pageMarginBottom": edge,
        "pageMarginTop": edge + round(_DIGIT_ROOM * layout.staff_mm * _TENTHS),
        "adjustPageHeight": layout.fit_height,
        "unit": unit,
        "scale": 100,
        "breaks": "auto",
        "header": "encoded" if layout.heading else "none",
        "bottomMarginHeader": min(max(room * _TENTHS / unit - _CREDIT_UNITS, 0.0), _MOST_HEADER_UNITS),
        "footer": "none",
        "justifyVertically": not layout.fit_height,
        "font": MUSIC_FAMILY,
        "multiRestStyle": "block",
        "smuflTextFont": "none",
        "svgViewBox": True,
        "svgFormatRaw": True,
        "xmlIdChecksum": True,
        "spacingSystem": 8,
    }


def _with_heading(drawing: Drawing, heading: Heading, index: int, layout: Layout, metrics: FontMetrics) -> Drawing:
    """The drawing with our heading in place of the engraver's credit."""
    marks = tuple(mark for mark in drawing.marks if mark.group.within("pgHead") is None)
    if layout.heading and index == 0:
        marks = (*headings.first_page(heading, layout, metrics), *marks)
    elif layout.heading:
        marks = (*headings.later_page(heading, layout, metrics), *marks)
    return replace(drawing, marks=marks)


def _page(drawing: Drawing, layout: Layout, ink: InkFinder, *, by_staff: bool) -> EngravedPage:
    page = map_page(drawing, ink, staff_space=layout.staff_space_mm, by_staff=by_staff)
    page = replace(page, music_bottom=page.height - headings.foot_mm(layout))
    return EngravedPage(write_svg(drawing), page.width, page.height, page)
