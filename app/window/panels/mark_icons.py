"""A small picture of every kind of mark, painted from the signs that stand on the page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QColor, QIcon, QPainter, QPixmap

from analysis.language import p_
from app.window.style import look
from engraving.drawing import UNITS_A_MM, Drawing, Group, Lettering, Shape, Typeface, moved
from engraving.fonts import load_fonts
from engraving.ink import InkFinder
from engraving.metrics import MUSIC_FAMILY, TEXT_FAMILY, FontMetrics, data_folder
from engraving.page import Rect
from engraving.painter import paint_sign
from engraving.placing import signs
from engraving.placing.figures import DIGIT_SPACES, FIGURE_HEIGHT
from engraving.placing.signs import Sign

# What menus (16) and palettes (24) ask for where a point of the screen is 1, 1.25, 1.5 or 2 pixels wide.
SIZES = (16, 20, 24, 30, 32, 36, 48)
_MARGIN = 1 / 12  # round a picture, in parts of it
_HEIGHT = 2.6  # of a picture at least, in staff spaces: a small sign stays small

# Units of drawings a staff space.
_SPACE = 100.0
_STROKES = 1.35 * _SPACE  # lines are drawn as for a wider staff, to be seen at this size
_EM_SPACES = 4.0  # the em of a music font is as high as the staff (SMuFL, "Metrics for engraving")
# SMuFL, "Noteheads": noteheadBlack. "Standard accidentals (12-EDO)": a natural between parentheses.
HEAD, COURTESY = "\ue0a4", "\ue26a\ue261\ue26b"
_HEAD_WIDTH = 1.18
_APART = 2.6  # from notehead to notehead
_OVER = 0.85  # from the middle of a notehead to an articulation over it
_GROUP = Group("picture", "")


@dataclass(frozen=True, slots=True)
class Inks:
    """Of the mark, and of what it belongs to."""

    mark: QColor
    quiet: QColor


ON_PAPER = Inks(look.OWN_INK, look.QUIET_INK)


@dataclass(frozen=True, slots=True)
class _Picture:
    """A mark, and what it belongs to: notes, digits or lines of the staff, which are painted in quiet ink."""

    mark: Sign
    quiet: Sign = ()


class MarkPictures:
    """Paints the kinds of marks; what they look like is made and measured once."""

    def __init__(self) -> None:
        load_fonts()
        self._ink = InkFinder(FontMetrics(data_folder()))
        self._pictures = self._made()
        self._boxes = {kind: self._box((*one.mark, *one.quiet)) for kind, one in self._pictures.items()}

    def icon(self, kind: str, inks: Inks = ON_PAPER) -> QIcon:
        """The icon of a kind; under the pointer, and in the chosen line of a menu, it lies on a slip of paper."""
        icon = QIcon()
        for size in SIZES:
            bare = self.pixmap(kind, size)
            icon.addPixmap(bare if inks == ON_PAPER else self.pixmap(kind, size, inks), QIcon.Mode.Normal)
            icon.addPixmap(_on_paper(bare), QIcon.Mode.Active)
        return icon

    def pixmap(self, kind: str, size: int, inks: Inks = ON_PAPER) -> QPixmap:
        """The sign of a kind, ``size`` pixels wide and high, on no ground."""
        picture, box = self._pictures[kind], self._boxes[kind]
        room = size * (1 - 2 * _MARGIN)
        scale = min(room / box.width, room / box.height, size / (_HEIGHT * _SPACE / UNITS_A_MM))
        pixmap = QPixmap(size, size)
        pixmap.fill(Qt.GlobalColor.transparent)
        painter = QPainter(pixmap)
        painter.translate(size / 2 - box.centre[0] * scale, size / 2 - box.centre[1] * scale)
        painter.scale(scale, scale)
        paint_sign(painter, picture.quiet, inks.quiet.name())
        paint_sign(painter, picture.mark, inks.mark.name())
        painter.end()
        return pixmap

    def _box(self, sign: Sign) -> Rect:
        """The box round all ink of a sign, in mm."""
        nothing = Drawing(0.0, 0.0, (), {})
        ink = np.concatenate([self._ink.boxes(one, nothing) for one in sign]) / UNITS_A_MM
        return Rect(*ink[:, :2].min(axis=0).tolist(), *ink[:, 2:].max(axis=0).tolist())

    def _made(self) -> Mapping[str, _Picture]:
        s = _SPACE
        slurred = 0.5 * _HEAD_WIDTH, _APART + 0.5 * _HEAD_WIDTH
        heads = (*_head(0.0), *_head(_APART))
        dots = (sign for x in slurred for sign in self._over_head("staccato", x))
        return MappingProxyType(
            {
                **{kind: _Picture(signs.glyph(kind, s)) for kind in ("down-bow", "up-bow", "breath")},
                **{
                    kind: _Picture(self._over_head(kind, 0.5 * _HEAD_WIDTH), _head(0.0))
                    for kind in ("tenuto", "accent", "staccato")
                },
                "retake": _Picture(signs.retake(s)),
                "courtesy": _Picture((_letters(COURTESY),)),
                "high": _Picture(_arrow(up=True), _digit("2")),
                "low": _Picture(_arrow(up=False), _digit("2")),
                "extension": _Picture(signs.cross(-0.95 * s, -1.0 * s, -0.2 * s, -0.25 * s, space=s), _digit("4")),
                "dynamic": _Picture(signs.dynamic("mf", s)),
                "text": _Picture(signs.words("Aa", s)),
                "margin-text": _Picture(signs.words("Aa", s), _staff(2.2)),
                "position": _Picture(_position(s)),
                "string": _Picture(signs.numeral("II", s)),
                "slur": _Picture(_slur(slurred, 1.0), heads),
                "dashed-slur": _Picture(_slur(slurred, 1.0, dashed=True), heads),
                "hooked-bow": _Picture((*_slur(slurred, 1.7), *dots), heads),
                "crescendo": _Picture(signs.wedge(0.0, 4 * s, 0.0, (0.0, 1.6 * s), space=_STROKES)),
                "diminuendo": _Picture(signs.wedge(0.0, 4 * s, 0.0, (1.6 * s, 0.0), space=_STROKES)),
                "bracket": _Picture(_bracket()),
                "circle": _Picture(
                    signs.loop(-0.6 * s, -1.1 * s, (2.0 + _HEAD_WIDTH + 0.6) * s, 1.1 * s, space=_STROKES),
                    (*_head(0.0), *_head(2.0)),
                ),
                "held-finger": _Picture(signs.level(0.9 * s, 3.2 * s, -0.6 * s, space=_STROKES), _digit("1")),
                "held-position": _Picture(_held_position()),
            }
        )

    def _over_head(self, kind: str, x: float) -> Sign:
        """An articulation with its middle at ``x``, over a notehead."""
        sign = signs.glyph(kind, _SPACE)
        box = self._box(sign)
        down = -_OVER * _SPACE - box.y1 * UNITS_A_MM
        return tuple(moved(one, x * _SPACE - box.centre[0] * UNITS_A_MM, down) for one in sign)


def _on_paper(bare: QPixmap) -> QPixmap:
    size = bare.width()
    paper = QPixmap(size, size)
    paper.fill(Qt.GlobalColor.transparent)
    painter = QPainter(paper)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.setPen(Qt.PenStyle.NoPen)
    painter.setBrush(look.PAPER)
    painter.drawRoundedRect(QRectF(0, 0, size, size), size / 8, size / 8)
    painter.drawPixmap(0, 0, bare)
    painter.end()
    return paper


# The parts of pictures; lengths in staff spaces.


def _letters(text: str, x: float = 0.0) -> Lettering:
    """Signs of the music font."""
    return Lettering(_GROUP, text, x * _SPACE, 0.0, _EM_SPACES * _SPACE, Typeface(MUSIC_FAMILY))


def _head(x: float) -> Sign:
    return (_letters(HEAD, x),)


def _digit(text: str) -> Sign:
    size = DIGIT_SPACES / FIGURE_HEIGHT * _SPACE
    return (Lettering(_GROUP, text, 0.0, 0.0, size, Typeface(TEXT_FAMILY, bold=True)),)


def _arrow(*, up: bool) -> Sign:
    """Right behind a digit."""
    return signs.arrow(1.05 * _SPACE, -DIGIT_SPACES * _SPACE, 1.65 * _SPACE, 0.0, up=up, space=_SPACE)


def _slur(ends: tuple[float, float], over: float, *, dashed: bool = False) -> Sign:
    """From notehead to notehead, so far over them."""
    start, end = ((x * _SPACE, -over * _SPACE) for x in ends)
    return signs.curve(start, end, 1.1 * _SPACE, space=_SPACE, dashed=dashed)


def _staff(x: float) -> Sign:
    """Where a line of music begins."""
    left, right, lines = x * _SPACE, (x + 1.5) * _SPACE, [_SPACE * (0.55 * line - 1.6) for line in range(5)]
    return (
        _line((left, lines[0]), (left, lines[-1]), 0.2),
        *(_line((left, y), (right, y), 0.11) for y in lines),
    )


def _line(start: tuple[float, float], end: tuple[float, float], width: float) -> Shape:
    return Shape(_GROUP, (("M", start), ("L", end)), False, width * _SPACE, "square")


def _bracket() -> Sign:
    s = _SPACE
    return (
        *signs.hook(0.0, 0.0, 0.9 * s, space=_STROKES),
        *signs.level(0.0, 3.6 * s, 0.0, space=_STROKES),
        *signs.hook(3.6 * s, 0.0, 0.9 * s, space=_STROKES),
    )


def _position(space: float) -> Sign:
    """The word for a position."""
    return signs.words(p_("on a button", "pos."), space)


def _held_position() -> Sign:
    """The word for a position over the line that says how long it holds."""
    s = _SPACE
    line = signs.level(0.0, 3.1 * s, 0.7 * s, space=_STROKES, dashed=True)
    return (*_position(s), *line, *signs.hook(3.1 * s, 0.7 * s, 0.8 * s, space=_STROKES))
