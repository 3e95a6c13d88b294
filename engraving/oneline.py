"""Texts of one line: checked, measured, and cut where there is no room for all of them."""

from __future__ import annotations

import unicodedata

from analysis.language import _
from engraving.drawing import Typeface
from engraving.errors import EngravingError
from engraving.metrics import FontMetrics

_CUT = "\N{HORIZONTAL ELLIPSIS}"
_WIDE = ("W", "F")  # Unicode Standard Annex 11: as wide as the em


def one_line(text: str, what: str) -> str:
    """The text with single blanks between its words; EngravingError, naming ``what`` it is, for unprintable signs."""
    line = " ".join(text.split())
    if not line.isprintable():
        raise EngravingError(_("{what}: the text holds signs that cannot be printed").format(what=what))
    return line


def line_width(text: str, face: Typeface, size: float, metrics: FontMetrics) -> float:
    """The advance of a text; signs of wide scripts, which no table holds, count as a whole em."""
    wide = "".join(sign for sign in text if unicodedata.east_asian_width(sign) in _WIDE)
    return metrics.width(text, face, size) - metrics.width(wide, face, size) + len(wide) * size


def cut_to(text: str, room: float, face: Typeface, size: float, metrics: FontMetrics) -> str:
    """The text, or as much of it as there is room for with an ellipsis after it; nothing when not even that fits."""
    if line_width(text, face, size, metrics) <= room:
        return text
    for end in range(len(text) - 1, 0, -1):
        shorter = text[:end].rstrip(" ,;:") + _CUT
        if line_width(shorter, face, size, metrics) <= room:
            return shorter
    return ""
