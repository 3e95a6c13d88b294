"""Signs as values: what each mark painted by us looks like, round about the origin.

Shapes and lettering are those of :mod:`engraving.drawing`, in its units; ``space`` is the staff space in them. Strokes
are heavy enough for a school copier. Looks: common practice, no source; glyphs from the music font.
"""

from __future__ import annotations

from collections.abc import Sequence
from types import MappingProxyType

from engraving.drawing import Group, Lettering, Mark, Shape, Typeface
from engraving.metrics import MUSIC_FAMILY, TEXT_FAMILY, FontMetrics
from engraving.outlines import Outline
from engraving.placing.figures import FIGURE_HEIGHT

Sign = tuple[Mark, ...]

# Widths of strokes and heights of letters, in staff spaces.
STROKE = 0.16
_WORDS, _NUMERAL, _MARGIN_WORDS = 1.1, 1.2, 0.95
_LINE = 1.35  # from line to line of text in the margin, in parts of the capitals
_HEAD = 0.3  # half the width of an arrow's head
_CURVE = 0.5522847498  # control points of a quarter circle
_DASH, _PAUSE = 0.7, 0.5

_GLYPHS = MappingProxyType(
    {
        "down-bow": "\ue610",
        "up-bow": "\ue612",
        "tenuto": "\ue4a4",
        "accent": "\ue4a0",
        "staccato": "\ue4a2",
        "breath": "\ue4ce",
    }
)
_DYNAMICS = MappingProxyType(dict(zip("pmfrszn", "\ue520\ue521\ue522\ue523\ue524\ue525\ue526", strict=True)))
_EM_SPACES = 4.0  # the em of a music font is as high as the staff (SMuFL, "Metrics for engraving")
_PENCIL = Group("pencil", "")


def glyph(kind: str, space: float) -> Sign:
    """A bow, an articulation or a breath mark from the music font."""
    return (_music(_GLYPHS[kind], space),)


def dynamic(text: str, space: float) -> Sign:
    """A dynamic in the letters of the music font."""
    return (_music("".join(_DYNAMICS[letter] for letter in text), space),)


def is_dynamic(text: str) -> bool:
    """Whether a text is made of the letters of dynamics alone; others are set as words."""
    return set(text) <= _DYNAMICS.keys()


def has_glyph(kind: str) -> bool:
    """Whether that kind of mark is one glyph."""
    return kind in _GLYPHS


def words(text: str, space: float) -> Sign:
    """Slanted words, heavier than printed ones."""
    return (_text(text, _WORDS * space, 0.0, italic=True),)


def numeral(text: str, space: float) -> Sign:
    """A string's Roman numeral."""
    return (_text(text, _NUMERAL * space, 0.0),)


def margin_words(lines: Sequence[str], space: float, scale: float) -> Sign:
    """Lines of small words over each other."""
    height = _MARGIN_WORDS * space * scale
    return tuple(_text(line, height, number * height * _LINE, italic=True) for number, line in enumerate(lines))


def margin_width(text: str, space: float, metrics: FontMetrics) -> float:
    """How wide small words are."""
    return metrics.width(text, Typeface(TEXT_FAMILY, bold=True, italic=True), _MARGIN_WORDS * space / FIGURE_HEIGHT)


def arrow(x0: float, y0: float, x1: float, y1: float, *, up: bool, space: float) -> Sign:
    """An upright arrow in a box: a stem and an open head."""
    x, half, width = (x0 + x1) / 2, min(_HEAD * space, (x1 - x0) / 2), STROKE * space
    top, bottom = y0 + width / 2, y1 - width / 2
    tip, foot = (top, bottom) if up else (bottom, top)
    back = tip + half * 1.3 if up else tip - half * 1.3
    inner = half - width / 2
    head: Outline = (("M", (x - inner, back)), ("L", (x, tip)), ("L", (x + inner, back)))
    return _stroke((("M", (x, foot)), ("L", (x, tip))), width), _stroke(head, width)


def cross(x0: float, y0: float, x1: float, y1: float, *, space: float) -> Sign:
    """An upright box crossed: a finger that reaches out of the hand."""
    width = STROKE * space
    left, right, top, bottom = x0 + width / 2, x1 - width / 2, y0 + width / 2, y1 - width / 2
    return (
        _stroke((("M", (left, top)), ("L", (right, bottom))), width),
        _stroke((("M", (left, bottom)), ("L", (right, top))), width),
    )


def retake(space: float) -> Sign:
    """The way of a bow that is lifted and set again: an arc from right to left, with a head."""
    s = space
    arc: Outline = (("M", (0.9 * s, 0.0)), ("C", (0.9 * s, -1.25 * s, -0.75 * s, -1.25 * s, -0.75 * s, -0.15 * s)))
    head: Outline = (
        ("M", (-1.08 * s, -0.5 * s)),
        ("L", (-0.75 * s, -0.05 * s)),
        ("L", (-0.38 * s, -0.45 * s)),
    )
    return _stroke(arc, STROKE * s), _stroke(head, STROKE * s)


def loop(x0: float, y0: float, x1: float, y1: float, *, space: float) -> Sign:
    """A closed line round a box, with round ends."""
    r = min(x1 - x0, y1 - y0) / 2
    k = r * (1 - _CURVE)
    outline: Outline = (
        ("M", (x0 + r, y0)),
        ("L", (x1 - r, y0)),
        ("C", (x1 - k, y0, x1, y0 + k, x1, y0 + r)),
        ("L", (x1, y1 - r)),
        ("C", (x1, y1 - k, x1 - k, y1, x1 - r, y1)),
        ("L", (x0 + r, y1)),
        ("C", (x0 + k, y1, x0, y1 - k, x0, y1 - r)),
        ("L", (x0, y0 + r)),
        ("C", (x0, y0 + k, x0 + k, y0, x0 + r, y0)),
        ("Z", ()),
    )
    return (_stroke(outline, STROKE * space),)


def level(x0: float, x1: float, y: float, *, space: float, dashed: bool = False) -> Sign:
    """A level line."""
    dash = (_DASH * space, _PAUSE * space) if dashed else ()
    return (_stroke((("M", (x0, y)), ("L", (x1, y))), STROKE * space, dash),)


def hook(x: float, y: float, length: float, *, space: float) -> Sign:
    """The end of a bracket: a short upright line down from ``y``, up for a length below 0."""
    return (_stroke((("M", (x, y)), ("L", (x, y + length))), STROKE * space),)


def wedge(x0: float, x1: float, y: float, opens: tuple[float, float], *, space: float) -> Sign:
    """Two lines about the height ``y`` that are so far apart at the left and at the right end."""
    left, right = (opening / 2 for opening in opens)
    return tuple(
        _stroke((("M", (x0, y + side * left)), ("L", (x1, y + side * right))), STROKE * space) for side in (-1, 1)
    )


def curve(start: tuple[float, float], end: tuple[float, float], rise: float, *, space: float, dashed: bool) -> Sign:
    """A slur that rises so far above its ends (sinks, below 0): thicker in the middle, or a dashed line."""
    (x0, y0), (x1, y1) = start, end
    third = (x1 - x0) / 3
    thick = 0.0 if dashed else 0.3 * space * (1 if rise > 0 else -1)
    high = rise * 4 / 3
    outer = ("C", (x0 + third, y0 - high, x1 - third, y1 - high, x1, y1))
    if dashed:
        return (_stroke((("M", start), outer), STROKE * space, (_DASH * space, _PAUSE * space)),)
    inner = ("C", (x1 - third, y1 - high + thick, x0 + third, y0 - high + thick, x0, y0))
    return (Shape(_PENCIL, (("M", start), outer, inner, ("Z", ())), True, 0.08 * space),)


def _stroke(outline: Outline, width: float, dash: tuple[float, ...] = ()) -> Shape:
    return Shape(_PENCIL, outline, False, width, "butt" if dash else "round", dash)


def _music(text: str, space: float) -> Lettering:
    return Lettering(_PENCIL, text, 0.0, 0.0, _EM_SPACES * space, Typeface(MUSIC_FAMILY))


def _text(text: str, height: float, y: float, *, italic: bool = False) -> Lettering:
    return Lettering(_PENCIL, text, 0.0, y, height / FIGURE_HEIGHT, Typeface(TEXT_FAMILY, bold=True, italic=italic))
