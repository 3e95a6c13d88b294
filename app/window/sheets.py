"""The engraved pages of a part made ready for the screen: pictures kept; digits, bow signs and marks placed once."""

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
from engraving.marks.teacher import TeacherMark
from engraving.metrics import FontMetrics, data_folder
from engraving.painter import COMPUTED, OWN, OWN_MARKS, PagePainter
from engraving.placing import Overlay, PaintedMark, Placed, Wanted, is_painted, mark_page

_PIXMAPS_KEPT = 8


@dataclass(frozen=True, slots=True)
class Digits:
    """The digits of one page, those the solver chose and the teacher's own, its bow signs and its painted marks."""

    computed: tuple[Placed, ...]
    own: tuple[Placed, ...]
    bows: tuple[Placed, ...] = ()
    marks: tuple[PaintedMark, ...] = ()


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
        self._marks: list[tuple[TeacherMark, ...]] = [() for _ in self.pages]
        self._own: frozenset[str] = frozenset()
        self._set: dict[int, tuple[tuple[Wanted, ...], tuple[TeacherMark, ...], tuple[Overlay, ...]]] = {}

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

    def show_marks(self, marks: Sequence[TeacherMark]) -> list[int]:
        """Show the marks that are painted over the page; returns the pages that look different now."""
        changed = []
        for number, page in enumerate(self.pages):
            here = tuple(mark for mark in marks if is_painted(mark) and {mark.first, mark.last} & page.map.notes.keys())
            if here != self._marks[number]:
                self._marks[number] = here
                changed.append(number)
        return changed

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
        digits: list[Placed] = []
        signs: list[Placed] = []
        marks: list[PaintedMark] = []
        for one in self._overlay(number):
            if isinstance(one, PaintedMark):
                marks.append(one)
            else:
                (signs if is_sign(one) else digits).append(one)
        own = tuple(one for one in digits if one.note_id in self._own)
        computed = tuple(one for one in digits if one.note_id not in self._own)
        return Digits(computed, own, tuple(signs), tuple(marks))

    def _overlay(self, number: int) -> tuple[Overlay, ...]:
        wanted, marks = self._wanted[number], self._marks[number]
        kept = self._set.get(number)
        if kept is None or kept[:2] != (wanted, marks):
            kept = wanted, marks, mark_page(self.pages[number].map, wanted, marks, self._metrics)
            self._set[number] = kept
        return kept[2]

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
        """Digits, bow signs and marks over a page, ``painter`` in millimetres from its corner."""
        digits = self.digits(number)
        self._page_painter(number).paint_overlay(painter, digits.computed, COMPUTED)
        self._page_painter(number).paint_overlay(painter, digits.own, OWN)
        paint_signs(painter, digits.bows, COMPUTED.ink)
        self._page_painter(number).paint_marks(painter, digits.marks, OWN_MARKS)

    def _page_painter(self, number: int) -> PagePainter:
        if number not in self._painters:
            self._painters[number] = PagePainter(self.pages[number])
        return self._painters[number]
