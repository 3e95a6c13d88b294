"""What lies over a page kept as a picture.

It is painted as far as it is seen; when something comes or goes, only the places of that are painted anew.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from math import ceil, floor

from PySide6.QtCore import QRect, QSize, Qt
from PySide6.QtGui import QImage, QPainter, QRegion

from engraving.bowsigns import is_sign, paint_signs
from engraving.engraver import EngravedPage
from engraving.page import Rect
from engraving.painter import PagePainter
from engraving.placing import PaintedMark, Placed
from engraving.placing.boxes import Overlaid, PaintedBox
from engraving.styles import COMPUTED, OWN, OWN_MARKS

_FORMAT = QImage.Format.Format_ARGB32_Premultiplied
_MARGIN_MM = 0.8  # how far paint may reach beyond the room of what is painted: labels, slanted letters
_MOST_PLACES = 80  # that are painted by themselves; with more the whole picture is quicker


@dataclass(frozen=True, slots=True)
class Digits:
    """The digits of one page, those the solver chose and the teacher's own, its bow signs, painted marks and boxes."""

    computed: tuple[Placed, ...]
    own: tuple[Placed, ...]
    bows: tuple[Placed, ...] = ()
    marks: tuple[PaintedMark, ...] = ()
    boxes: tuple[PaintedBox, ...] = ()


def sorted_out(overlay: Iterable[Overlaid], own: Collection[str]) -> Digits:
    """What lies over a page by what it is; ``own`` are the notes whose digits are the teacher's."""
    digits: list[Placed] = []
    signs: list[Placed] = []
    marks: list[PaintedMark] = []
    boxes: list[PaintedBox] = []
    for one in overlay:
        if isinstance(one, PaintedMark):
            marks.append(one)
        elif isinstance(one, PaintedBox):
            boxes.append(one)
        else:
            (signs if is_sign(one) else digits).append(one)
    chosen = tuple(one for one in digits if one.note_id in own)
    computed = tuple(one for one in digits if one.note_id not in own)
    return Digits(computed, chosen, tuple(signs), tuple(marks), tuple(boxes))


class OverlayPicture:
    """The overlay of ``page`` without a ground, at ``scale`` logical pixels a millimetre on a screen of that ratio.

    ``instead``: a picture that is needed no longer; its dots are taken over, since fresh memory takes time to get.
    """

    def __init__(self, page: EngravedPage, scale: float, ratio: float, instead: OverlayPicture | None = None) -> None:
        self.scale, self.ratio = scale, ratio
        self._dots = scale * ratio  # a millimetre
        self._painter = PagePainter(page, OWN_MARKS)
        size = QSize(ceil(page.width_mm * self._dots), ceil(page.height_mm * self._dots))
        self._picture = QImage(size, _FORMAT) if instead is None else instead._in_size(size)
        self._overlay: tuple[Overlaid, ...] = ()
        self._places: dict[int, QRect] = {}  # by identity of what lies there
        self._own: frozenset[str] = frozenset()
        self._stale = QRegion(self._picture.rect())

    def _in_size(self, size: QSize) -> QImage:
        """The picture's own dots if they are so many, else fresh ones; whatever they show, they are painted over."""
        return self._picture if self._picture.size() == size else QImage(size, _FORMAT)

    def showing(self, overlay: tuple[Overlaid, ...], own: frozenset[str], seen: QRect) -> QImage:
        """The picture with this overlay, as far as it is ``seen``, in dots; the digits of ``own`` are the teacher's."""
        if overlay is not self._overlay or own != self._own:
            self._take(overlay, own)
        missing = self._stale & seen
        if not missing.isEmpty():
            self._paint(missing)
            self._stale -= missing
        self._picture.setDevicePixelRatio(self.ratio)
        return self._picture

    def _take(self, overlay: tuple[Overlaid, ...], own: frozenset[str]) -> None:
        """Take another overlay; where it differs, the picture is stale."""
        changed = _changed(self._overlay, self._own, overlay, own)
        before, self._places = self._places, {}
        for one in overlay:
            place = before.get(id(one))
            self._places[id(one)] = self._place(one) if place is None else place
        self._overlay, self._own = overlay, own
        if len(changed) > _MOST_PLACES:
            self._stale = QRegion(self._picture.rect())
        else:
            for one in changed:
                self._stale += self._place(one)

    def _place(self, one: Overlaid) -> QRect:
        room, dots = _room(one), self._dots
        left, top = floor((room.x0 - _MARGIN_MM) * dots), floor((room.y0 - _MARGIN_MM) * dots)
        right, bottom = ceil((room.x1 + _MARGIN_MM) * dots), ceil((room.y1 + _MARGIN_MM) * dots)
        return QRect(left, top, right - left, bottom - top)

    def _paint(self, places: QRegion) -> None:
        """Paint these dots anew, and nothing else."""
        self._picture.setDevicePixelRatio(1.0)  # in dots, so that no place ends between two of them
        painter = QPainter(self._picture)
        painter.setClipRegion(places)
        painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_Clear)
        painter.fillRect(self._picture.rect(), Qt.GlobalColor.transparent)
        painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_SourceOver)
        painter.scale(self._dots, self._dots)
        there = sorted_out((one for one in self._overlay if places.intersects(self._places[id(one)])), self._own)
        self._painter.paint_overlay(painter, there.computed, COMPUTED)
        self._painter.paint_overlay(painter, there.own, OWN)
        paint_signs(painter, there.bows, COMPUTED.ink)
        self._painter.paint_marks(painter, (*there.marks, *there.boxes))
        painter.end()


def _changed(
    before: tuple[Overlaid, ...], own_before: frozenset[str], now: tuple[Overlaid, ...], own: frozenset[str]
) -> list[Overlaid]:
    """What is there only before, or only now, or has changed hands."""
    same = {id(one) for one in before} & {id(one) for one in now}
    gone = {one for one in before if id(one) not in same}
    come = {one for one in now if id(one) not in same}
    passed = own ^ own_before
    handed = (one for one in now if isinstance(one, Placed) and one.note_id in passed)
    return [*(gone ^ come), *handed]


def _room(one: Overlaid) -> Rect:
    """The box around all that is painted of something, in mm."""
    rects = [figure.box for figure in one.figures] if isinstance(one, Placed) else one.rects
    if len(rects) == 1:  # of hundreds of digits most are that and nothing more
        return rects[0]
    return Rect(
        min(rect.x0 for rect in rects),
        min(rect.y0 for rect in rects),
        max(rect.x1 for rect in rects),
        max(rect.y1 for rect in rects),
    )
