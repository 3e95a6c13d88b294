"""The engraved pages of a part made ready for the screen: pictures kept, digits and bow signs placed once."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from PySide6.QtCore import Qt
from PySide6.QtGui import QPainter, QPixmap

from analysis.fingering.plan import Plan
from app.job.digits import wanted_digits
from engraving.bowsigns import is_sign, paint_signs, wanted_signs
from engraving.engraver import EngravedPage
from engraving.metrics import FontMetrics, data_folder
from engraving.painter import COMPUTED, OWN, PagePainter
from engraving.placing import Placed, Wanted, place

_PIXMAPS_KEPT = 8


@dataclass(frozen=True, slots=True)
class Digits:
    """The digits of one page, those the solver chose and the teacher's own, and its bow signs."""

    computed: tuple[Placed, ...]
    own: tuple[Placed, ...]
    bows: tuple[Placed, ...] = ()


class Sheets:
    """Paints pages in millimetres; whoever shows them scales and moves the painter."""

    def __init__(self, pages: Sequence[EngravedPage]) -> None:
        self.pages = tuple(pages)
        self._painters: dict[int, PagePainter] = {}
        self._pixmaps: OrderedDict[tuple[int, int], QPixmap] = OrderedDict()
        self._metrics = FontMetrics(data_folder())
        self._plan: Plan | None = None
        self._bows: Mapping[str, str] = {}
        self._wanted: list[tuple[Wanted, ...]] = [() for _ in self.pages]
        self._own: frozenset[str] = frozenset()
        self._digits: dict[int, tuple[tuple[Wanted, ...], tuple[Placed, ...]]] = {}

    def show_plan(self, plan: Plan | None) -> list[int]:
        """Take the digits of another plan; returns the pages that look different now."""
        self._plan = plan
        own = frozenset(plan.locks) if plan else frozenset[str]()
        changed_own, self._own = own ^ self._own, own
        return self._want(changed_own)

    def show_bows(self, directions: Mapping[str, str]) -> list[int]:
        """Show bow signs too, "down" or "up" by note id; returns the pages that look different now."""
        self._bows = directions
        return self._want(frozenset())

    def _want(self, changed_own: frozenset[str]) -> list[int]:
        wanted = (*(wanted_digits(self._plan) if self._plan else ()), *wanted_signs(self._bows))
        changed = []
        for number, page in enumerate(self.pages):
            here = tuple(one for one in wanted if one.note_id in page.map.notes)
            if here != self._wanted[number] or any(note_id in page.map.notes for note_id in changed_own):
                self._wanted[number] = here
                changed.append(number)
        return changed

    def digits(self, number: int) -> Digits:
        """The digits of a page at their places."""
        kept = self._digits.get(number)
        if kept is None or kept[0] != self._wanted[number]:
            placed = place(self.pages[number].map, self._wanted[number], self._metrics)
            kept = self._digits[number] = (self._wanted[number], placed)
        digits: list[Placed] = []
        signs: list[Placed] = []
        for one in kept[1]:
            (signs if is_sign(one) else digits).append(one)
        own = tuple(one for one in digits if one.note_id in self._own)
        return Digits(tuple(one for one in digits if one.note_id not in self._own), own, tuple(signs))

    def page_of(self, note_id: str) -> int | None:
        """The page on which a note lies."""
        return next((number for number, page in enumerate(self.pages) if note_id in page.map.notes), None)

    def pixmap(self, number: int, scale: float, ratio: float) -> QPixmap:
        """The bare page at ``scale`` logical pixels a millimetre, for a screen of that device pixel ratio."""
        page = self.pages[number]
        width = round(page.width_mm * scale * ratio)
        key = (number, width)
        if key not in self._pixmaps:
            pixmap = QPixmap(width, round(page.height_mm * scale * ratio))
            pixmap.fill(Qt.GlobalColor.white)
            painter = QPainter(pixmap)
            painter.scale(scale * ratio, scale * ratio)
            self._page_painter(number).paint_page(painter)
            painter.end()
            pixmap.setDevicePixelRatio(ratio)
            self._pixmaps[key] = pixmap
            while len(self._pixmaps) > _PIXMAPS_KEPT:
                self._pixmaps.popitem(last=False)
        self._pixmaps.move_to_end(key)
        return self._pixmaps[key]

    def paint_digits(self, painter: QPainter, number: int) -> None:
        """Digits and bow signs over a page, ``painter`` in millimetres from its corner."""
        digits = self.digits(number)
        self._page_painter(number).paint_overlay(painter, digits.computed, COMPUTED)
        self._page_painter(number).paint_overlay(painter, digits.own, OWN)
        paint_signs(painter, digits.bows, COMPUTED.ink)

    def _page_painter(self, number: int) -> PagePainter:
        if number not in self._painters:
            self._painters[number] = PagePainter(self.pages[number])
        return self._painters[number]
