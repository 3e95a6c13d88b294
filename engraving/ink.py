"""Boxes of ink: where on a page something is drawn.

A box is x0, y0, x1, y1. Slanted and curved marks are cut into narrow columns that follow their real outline, so that
the free room beside a slur or under a beam counts as free.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from engraving.drawing import Drawing, Glyph, Mark, Shape
from engraving.metrics import FontMetrics
from engraving.outlines import Floats, bounds, polylines

_COLUMN = 40.0  # hundredths of a millimetre: under a quarter of a staff space
_MOST_COLUMNS = 1000  # a mark the engraver has thrown far off the page is not followed for ever
_STRAIGHT = 1.0  # a mark no higher or wider than this is one box


@dataclass
class InkFinder:
    """Finds the boxes of marks; the outlines of glyphs are measured once for all pages."""

    metrics: FontMetrics
    _glyph_boxes: dict[str, tuple[float, float, float, float] | None] = field(default_factory=dict)

    def boxes(self, mark: Mark, drawing: Drawing) -> Floats:
        """The boxes [n, 4] of one mark, in the units of the drawing."""
        if isinstance(mark, Shape):
            return _shape_boxes(mark)
        box = self._glyph_box(mark, drawing) if isinstance(mark, Glyph) else self.metrics.box(mark)
        return np.array([box] if box else [], dtype=float).reshape(-1, 4)

    def _glyph_box(self, mark: Glyph, drawing: Drawing) -> tuple[float, float, float, float] | None:
        if mark.code not in self._glyph_boxes:
            self._glyph_boxes[mark.code] = bounds([drawing.glyphs.get(mark.code, ())])
        box = self._glyph_boxes[mark.code]
        if box is None:
            return None
        x0, y0, x1, y1 = box
        a, b, c, d, e, f = mark.matrix
        xs = [a * x + c * y + e for x in (x0, x1) for y in (y0, y1)]
        ys = [b * x + d * y + f for x in (x0, x1) for y in (y0, y1)]
        return min(xs), min(ys), max(xs), max(ys)


def _shape_boxes(mark: Shape) -> Floats:
    straight = _straight_line(mark)
    if straight is not None:
        return straight
    strokes = [points for points in polylines(mark.outline) if len(points) > 1]
    if mark.filled:
        boxes = [_columns(points) for points in strokes]
    else:
        boxes = [_columns(points[i : i + 2]) for points in strokes for i in range(len(points) - 1)]
    half = mark.width / 2
    grown: Floats = np.concatenate(boxes) + np.array([-half, -half, half, half])
    return grown


def _straight_line(mark: Shape) -> Floats | None:
    """The box of a level or upright line, most marks being such lines; a butt end adds nothing to its length."""
    if len(mark.outline) != 2 or mark.outline[1][0] != "L":
        return None
    (ax, ay), (bx, by) = mark.outline[0][1], mark.outline[1][1]
    if ax != bx and ay != by:
        return None
    half = mark.width / 2
    end = 0.0 if mark.cap == "butt" else half
    dx, dy = (half, end) if ax == bx else (end, half)
    return np.array([[min(ax, bx) - dx, min(ay, by) - dy, max(ax, bx) + dx, max(ay, by) + dy]])


def _columns(points: Floats) -> Floats:
    """Columns over a closed or open line of points, each as high as the line is within it."""
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    if x1 - x0 <= _COLUMN or y1 - y0 <= _STRAIGHT:
        return np.array([[x0, y0, x1, y1]])
    edges = np.linspace(x0, x1, min(int(np.ceil((x1 - x0) / _COLUMN)), _MOST_COLUMNS) + 1)
    low, high = _heights(points, edges)
    return np.column_stack([edges[:-1], low, edges[1:], high])


def _heights(points: Floats, edges: Floats) -> tuple[Floats, Floats]:
    """The least and greatest y of the line within each column between neighbouring edges."""
    start, end = points[:-1, None, :], points[1:, None, :]
    left, right = np.minimum(start[..., 0], end[..., 0]), np.maximum(start[..., 0], end[..., 0])
    from_x, to_x = np.maximum(left, edges[:-1]), np.minimum(right, edges[1:])
    run = end[..., 0] - start[..., 0]
    slope = np.divide(end[..., 1] - start[..., 1], run, out=np.zeros_like(run), where=run != 0)
    at_from = np.where(run != 0, start[..., 1] + (from_x - start[..., 0]) * slope, start[..., 1])
    at_to = np.where(run != 0, start[..., 1] + (to_x - start[..., 0]) * slope, end[..., 1])
    missed = from_x > to_x
    low = np.where(missed, np.inf, np.minimum(at_from, at_to)).min(axis=0)
    high = np.where(missed, -np.inf, np.maximum(at_from, at_to)).max(axis=0)
    return low, high
