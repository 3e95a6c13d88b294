"""The fingerboard chart of a fingered passage, and a picture of it."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtGui import QPainter

from analysis.fingering.plan import Plan
from analysis.language import _
from app.errors import AppError
from app.job.paper.digits import struck_notes
from app.job.paper.picture_size import CHART_HEIGHTS_MM, PICTURE_DPI
from app.job.paper.pictures import check_picture
from engraving.fingerboard import Dot, FingerboardChart, usual_tapes
from engraving.fingerboard_painter import paint_chart
from engraving.page import Rect
from engraving.pictures import write_painted_png, write_painted_svg

CHART_WIDTH_MM = 58.0
_MARGIN_MM = 1.5


def fingerboard_chart(plan: Plan, measures: tuple[int, int]) -> FingerboardChart:
    """Where the fingers fall in measures of these indices, both included, on the instrument in the size of the plan."""
    instrument = plan.setting.played_on
    dots = dict.fromkeys(Dot(placement, note.pitch.words) for note, placement in struck_notes(plan, measures))
    return FingerboardChart(instrument, tuple(dots), usual_tapes(instrument))


def write_chart(
    path: Path, plan: Plan, measures: tuple[int, int], *, height_mm: float | None = None, dpi: int = PICTURE_DPI
) -> None:
    """Write the chart of the measures of these indices, both included, as one PNG or SVG picture.

    It is enlarged or reduced to ``height_mm``, as a rule it has the size at which its digits are read on a music stand.
    ``dpi`` is for PNG alone. AppError for another kind of file, another height than charts can have, and measures in
    which no finger falls; EngravingError for a resolution out of reach.
    """
    check_picture(path)
    chart = fingerboard_chart(plan, measures)
    words = plan.part.span(measures)
    if not chart.dots:
        raise AppError(
            _("{file}: in {words} {part} has no notes with fingers").format(
                file=path.name, words=words, part=plan.part.name
            )
        )
    natural = chart.wanted_height + 2 * _MARGIN_MM
    height = natural if height_mm is None else height_mm
    low, high = CHART_HEIGHTS_MM
    if not low <= height <= high:
        raise AppError(
            _("{file}: a chart of the fingerboard is {low:g} to {high:g} mm high, not {height:g} mm").format(
                file=path.name, low=low, high=high, height=height
            )
        )
    scale = height / natural

    def paint(painter: QPainter) -> None:
        painter.scale(scale, scale)
        paint_chart(painter, chart, Rect(0.0, 0.0, CHART_WIDTH_MM, chart.wanted_height))

    margin = _MARGIN_MM * scale
    area = Rect(-margin, -margin, CHART_WIDTH_MM * scale + margin, height - margin)
    if path.suffix.casefold() == ".svg":
        write_painted_svg(path, area, paint, _("Fingerboard, {part}, {words}").format(part=plan.part.name, words=words))
    else:
        write_painted_png(path, area, paint, dpi)
