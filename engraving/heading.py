"""The heading of a part: title, part and composer on the first page, the part on the others; and the room it leaves.

All measures are multiples of the staff's height, so that a heading keeps its look on every size of staff.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from lxml import etree

from engraving.drawing import UNITS_A_MM, Group, Lettering, Typeface
from engraving.layout import Layout
from engraving.metrics import TEXT_FAMILY, FontMetrics
from engraving.oneline import cut_to

_PLAIN = Typeface(TEXT_FAMILY)
_BOLD = replace(_PLAIN, bold=True)
_ITALIC = replace(_PLAIN, italic=True)
_TITLE, _SUBTITLE, _PART, _COMPOSER, _RUNNING = 0.95, 0.6, 0.62, 0.52, 0.5  # sizes
_TITLE_LINE, _SUBTITLE_LINE, _PART_LINE, _BELOW = 0.85, 0.8, 1.0, 0.5  # from baseline to baseline
_LONGEST_PART = 2 / 3  # of the line on a later page: the rest is for what a copy says of its own
_SMALLEST = 0.45  # of its size, that a line is made to fit; what is longer still is cut
_LONGEST = 400  # letters that are looked at: far more than fit
_BAND_MM, _FOOT_MM, _LEAST_HEIGHT_MM = 12.0, 10.7, 100.0
HEADING = Group("heading", "")


@dataclass(frozen=True, slots=True)
class Heading:
    """What stands over a part; empty strings where the file is silent."""

    title: str
    subtitle: str
    part: str
    composer: str


def read_heading(score: etree._Element) -> Heading:
    """The heading of a MusicXML score: the work over the movement where both are given; a part that stands alone."""
    work, movement = _text(score, "work/work-title"), _text(score, "movement-title")
    composer = _text(score, "identification/creator[@type='composer']")
    titles = list(dict.fromkeys(title for title in (work, movement) if title))
    title, subtitle = (*titles, "", "")[:2]
    is_part = len(score.findall("part")) == 1
    return Heading(title, subtitle, _text(score, "part-list/score-part/part-name") if is_part else "", composer)


def _text(score: etree._Element, path: str) -> str:
    text = " ".join((score.findtext(path) or "").split())
    return text[:_LONGEST]


def room_mm(heading: Heading, layout: Layout) -> float:
    """How much height of the first page the heading takes, below the margin."""
    lines = (_TITLE_LINE if heading.title else 0) + (_SUBTITLE_LINE if heading.subtitle else 0) + _PART_LINE + _BELOW
    return lines * layout.staff_mm


def has_imprint(layout: Layout) -> bool:
    """Whether there is room for an imprint: on pages with a heading that are not cut or very low."""
    return layout.heading and layout.height_mm >= _LEAST_HEIGHT_MM


def edge_mm(layout: Layout) -> float:
    """From the upper and the lower edge of the paper to the heading and to the music.

    Paper that has room for an imprint keeps 12 mm there, whatever its margins.
    """
    return max(layout.margin_mm, _BAND_MM) if has_imprint(layout) else layout.margin_mm


def foot_mm(layout: Layout) -> float:
    """How high the foot of a page is, from the lower edge of the paper: nothing but an imprint stands there."""
    return _FOOT_MM if has_imprint(layout) else 0.0


def first_page(heading: Heading, layout: Layout, metrics: FontMetrics) -> Iterator[Lettering]:
    """Title in the middle, part on the left, composer on the right."""
    left, right, staff = _sides(layout)
    y = edge_mm(layout) * UNITS_A_MM
    if heading.title:
        y += _TITLE_LINE * staff
        yield _line(heading.title, _PLAIN, _TITLE * staff, (left, right), 0.5, y, metrics)
    if heading.subtitle:
        y += _SUBTITLE_LINE * staff
        yield _line(heading.subtitle, _ITALIC, _SUBTITLE * staff, (left, right), 0.5, y, metrics)
    y += _PART_LINE * staff
    middle = (left + right) / 2
    if heading.part:
        yield _line(heading.part, _BOLD, _PART * staff, (left, middle - staff), 0.0, y, metrics)
    if heading.composer:
        yield _line(heading.composer, _PLAIN, _COMPOSER * staff, (middle + staff, right), 1.0, y, metrics)


def later_page(heading: Heading, layout: Layout, metrics: FontMetrics) -> Iterator[Lettering]:
    """The part on the left, in the upper margin."""
    left, right, staff = _sides(layout)
    if heading.part:
        sides = left, left + _LONGEST_PART * (right - left)
        yield _line(heading.part, _ITALIC, _RUNNING * staff, sides, 0.0, edge_mm(layout) * UNITS_A_MM, metrics)


def _sides(layout: Layout) -> tuple[float, float, float]:
    """Left and right end of the lines and the staff height, in units of the drawing."""
    margin = layout.margin_mm * UNITS_A_MM
    return margin, layout.width_mm * UNITS_A_MM - margin, layout.staff_mm * UNITS_A_MM


def _line(
    text: str, face: Typeface, size: float, sides: tuple[float, float], lean: float, y: float, metrics: FontMetrics
) -> Lettering:
    """One line between two sides, made smaller when it is too long, and cut; ``lean`` 0 is left, 1 right."""
    room = sides[1] - sides[0]
    width = metrics.width(text, face, size)
    if width > room:
        size *= max(room / width, _SMALLEST)
        text = cut_to(text, room, face, size, metrics)
        width = metrics.width(text, face, size)
    return Lettering(HEADING, text, sides[0] + lean * (room - width), y, size, face)
