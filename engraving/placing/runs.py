"""Free stretches of a line among boxes, and the boxes of what stands on a page. Millimetres."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import numpy as np

from engraving.outlines import Floats
from engraving.page import Rect
from engraving.placing.figures import Placed

if TYPE_CHECKING:
    from engraving.placing.boxes import Overlaid

Run = tuple[float, float]


def level_runs(boxes: Floats, strip: Run, sides: Run, beside: float) -> list[Run]:
    """The stretches between two ``sides`` in x where a ``strip`` from y to y is free of ``boxes`` [n, 4].

    ``beside``: how far they keep from a box to their left and right.
    """
    (top, bottom), (left, right) = strip, sides
    in_strip = boxes[(boxes[:, 1] < bottom) & (boxes[:, 3] > top)]
    in_strip = in_strip[np.argsort(in_strip[:, 0])]
    begins = np.clip(np.append(left, np.maximum.accumulate(in_strip[:, 2]) + beside), left, right)
    ends = np.clip(np.append(in_strip[:, 0] - beside, right), left, right)
    free = begins < ends
    return list(zip(begins[free].tolist(), ends[free].tolist(), strict=True))


def upright_runs(boxes: Floats, strip: Run, ends: Run, beside: float) -> list[Run]:
    """The stretches between two ``ends`` in y where a ``strip`` from x to x is free, otherwise as level ones."""
    return level_runs(boxes[:, (1, 0, 3, 2)], strip, ends, beside)


def boxes_of(overlay: Iterable[Overlaid]) -> Floats:
    """The boxes [n, 4] of digits, painted marks and passage boxes."""
    return as_boxes(rect for one in overlay for rect in _rects(one))


def as_boxes(rects: Iterable[Rect]) -> Floats:
    """Rectangles as boxes [n, 4]."""
    return np.array([rect.corners for rect in rects], dtype=float).reshape(-1, 4)


def _rects(one: Overlaid) -> Iterable[Rect]:
    return (figure.box for figure in one.figures) if isinstance(one, Placed) else one.rects
