"""What a printed copy says of itself in its margins: for whom it is, its date, who marked it, and which page this is.

It is painted over the engraved pages, since one engraving is printed for many. Bold letters of 4 mm, 2.6 mm high: their
thinnest strokes survive a school copier. All of it stays 6 mm inside the paper; printers lose about 5 (common practice,
no source).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from analysis.language import _, later
from engraving.drawing import UNITS_A_MM, Group, Lettering, Typeface
from engraving.heading import edge_mm, has_imprint
from engraving.layout import Layout
from engraving.metrics import TEXT_FAMILY, FontMetrics
from engraving.oneline import cut_to, line_width, one_line
from engraving.outlines import Floats
from engraving.page import PageMap
from engraving.placing.boxes import Overlaid
from engraving.placing.runs import Run, boxes_of, level_runs

_FACE, _SIZE = Typeface(TEXT_FAMILY, bold=True), 4.0
_PRINTABLE = 6.0  # from the edges of the paper
_HEAD_LIFT, _FOOT_LINE = 2.4, 7.0  # the name over the heading's upper end, the foot over the paper's lower edge
_BESIDE, _OVER = 4.0, 0.2  # kept free beside and over lines
_IMPRINT = Group("imprint", "")
_TEXTS = MappingProxyType({"desk": later("Desk"), "date": later("Date"), "marked_by": later("Marked by")})


@dataclass(frozen=True, slots=True)
class Imprint:
    """Whose copy it is (a desk, or a player's name), its date, and who marked it; empty where nothing is said.

    Each text is one line. EngravingError for signs that cannot be printed.
    """

    desk: str = ""
    date: str = ""
    marked_by: str = ""

    def __post_init__(self) -> None:
        for name, what in _TEXTS.items():
            object.__setattr__(self, name, one_line(getattr(self, name), _(what)))


def imprint_lines(
    imprint: Imprint,
    page: PageMap,
    layout: Layout,
    metrics: FontMetrics,
    *,
    number: int,
    count: int,
    overlay: Iterable[Overlaid] = (),
) -> tuple[Lettering, ...]:
    """The imprint of page ``number`` of ``count``, clear of the page's ink and of the ``overlay``.

    The desk stands over the heading of the first page, beside the part on later ones; in the foot stand who marked it,
    the date and, from two pages on, the page's number. Texts without room are cut. No lines on a page without room for
    them (:func:`engraving.heading.has_imprint`).
    """
    if not has_imprint(layout):
        return ()
    taken = np.concatenate([page.ink, boxes_of(overlay)])
    side = max(layout.margin_mm, _PRINTABLE)
    sides = side, page.width - side
    lift = _HEAD_LIFT if number == 1 else 0.0
    head = _Line(taken, edge_mm(layout) - lift, sides, metrics)
    head.put(imprint.desk, 0.0)
    return (*head.set, *_foot(imprint, _Line(taken, page.height - _FOOT_LINE, sides, metrics), number, count))


def _foot(imprint: Imprint, line: _Line, number: int, count: int) -> list[Lettering]:
    """The date goes from the middle to the right where the text on the left is long."""
    by = _("Marked by {name}").format(name=imprint.marked_by) if imprint.marked_by else ""
    if count > 1:
        line.put(_("Page {number} of {count}").format(number=number, count=count), 1.0)
    left, right = line.sides
    long = line.width(by) + _BESIDE > (right - left - line.width(imprint.date)) / 2
    line.put(imprint.date, 1.0 if long else 0.5)
    line.put(by, 0.0)
    return line.set


class _Line:
    """A line in the margin as it is filled: its baseline, its ends, and what is taken."""

    def __init__(self, taken: Floats, baseline: float, sides: Run, metrics: FontMetrics) -> None:
        self.taken, self.baseline, self.sides, self.metrics = taken, baseline, sides, metrics
        self.set: list[Lettering] = []

    def width(self, text: str) -> float:
        """How wide a text is."""
        return line_width(text, _FACE, _SIZE, self.metrics)

    def put(self, text: str, lean: float) -> None:
        """Set a text as near as may be to its place: 0 left, 1 right; cut it when no free stretch holds it."""
        box = self.metrics.box(self._lettering(text, 0.0))
        if box is None:
            return
        strip = box[1] / UNITS_A_MM - _OVER, box[3] / UNITS_A_MM + _OVER
        runs = level_runs(self.taken, strip, self.sides, _BESIDE)
        if not any(right - left >= self.width(text) for left, right in runs):
            room = max((right - left for left, right in runs), default=0.0)
            text = cut_to(text, room, _FACE, _SIZE, self.metrics)
        width = self.width(text)
        wanted = self.sides[0] + lean * (self.sides[1] - self.sides[0] - width)
        places = [min(max(wanted, left), right - width) for left, right in runs if right - left >= width]
        if text and places:
            x = min(places, key=lambda place: abs(place - wanted))
            self.set.append(self._lettering(text, x))
            self.taken = np.concatenate([self.taken, [[x, strip[0], x + width, strip[1]]]])

    def _lettering(self, text: str, x: float) -> Lettering:
        return Lettering(_IMPRINT, text, x * UNITS_A_MM, self.baseline * UNITS_A_MM, _SIZE * UNITS_A_MM, _FACE)
