"""A part's engraved pages made ready for the screen: pictures kept; digits, bow signs, marks and boxes placed once."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from itertools import chain

from PySide6.QtCore import QBuffer, QByteArray, QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QImage, QImageReader, QPainter, QTransform

from analysis.fingering.plan import Plan
from analysis.language import _
from app.job.paper.digits import digits_of
from app.job.paper.part import overlaid
from app.window.background.ahead import Ahead
from app.window.music.overlay_picture import Digits, OverlayPicture, sorted_out
from engraving.bowsigns import wanted_signs
from engraving.engraver import EngravedPage
from engraving.errors import EngravingError
from engraving.fonts import load_fonts
from engraving.marks.teacher import TeacherMark
from engraving.metrics import FontMetrics, data_folder
from engraving.page import Rect
from engraving.placing import Ground, PaintedMark, Wanted, is_painted, place_marks
from engraving.placing.boxes import Overlaid, PassageBox

# What lies over a page: digits and bow signs, marks, boxes.
_Asked = tuple[tuple[Wanted, ...], tuple[TeacherMark, ...], tuple[PassageBox, ...]]
_PICTURES_KEPT = 8
_OVERLAYS_KEPT = 4
_FEW = 20  # digits that come and go at an edit
_EDGE = 2.0  # dots painted beyond what is seen: between two of the screen's they may mix with those at its edge
_MARK_REACH = 0.5  # how far beside a mark a pointer still means it, in staff spaces


class Sheets:
    """Paints pages in millimetres; whoever shows them scales and moves the painter.

    With ``ahead`` pictures are drawn and what lies over them placed on its thread, but for a few digits that change.
    Until they are there, those of ``before`` are shown: of the same music as it was engraved before.
    """

    def __init__(
        self,
        pages: Sequence[EngravedPage],
        engraved: Sequence[TeacherMark] = (),
        ahead: Ahead | None = None,
        before: Sheets | None = None,
    ) -> None:
        self.pages = tuple(pages)
        self._ahead = ahead
        self._engraved = tuple(engraved)
        self._standing: frozenset[TeacherMark] = frozenset()
        self._overlay_pictures: OrderedDict[int, OverlayPicture] = OrderedDict()
        self._pictures: OrderedDict[int, QImage] = OrderedDict()
        self._metrics = FontMetrics(data_folder())
        self._plans: tuple[Plan, ...] = ()
        self._strings: Collection[str] = frozenset()
        self._bows: Mapping[str, str] = {}
        self._wanted: dict[int, tuple[Wanted, ...]] = {}  # of the pages that have been asked about
        self._unfingered: dict[int, tuple[str, ...]] = {}  # likewise
        self._marks: list[tuple[TeacherMark, ...]] = [() for _ in self.pages]
        self._own: frozenset[str] = frozenset()
        self._boxes: tuple[PassageBox, ...] = ()
        self._set: dict[int, tuple[_Asked, tuple[Overlaid, ...]]] = {}
        self._placing: dict[int, _Asked] = {}  # ahead, as last asked for
        self._old_pictures: dict[int, QImage] = {} if before is None else before._old_pictures | dict(before._pictures)
        self._old_overlays: dict[int, tuple[Overlaid, ...]] = (
            {} if before is None else before._old_overlays | {n: kept[1] for n, kept in before._set.items()}
        )
        self._grounds = tuple(Ground(page.map) for page in self.pages)
        self._page_of = {
            note_id: number for number, page in reversed([*enumerate(self.pages)]) for note_id in page.map.notes
        }

    def show_plans(self, plans: Sequence[Plan], strings: Collection[str] = frozenset()) -> None:
        """Take the digits of other plans, one a part; ``strings``: the notes at which the string is told too."""
        self._plans, self._strings = tuple(plans), strings
        self._own = frozenset(note_id for plan in plans for note_id in plan.locks)
        self._wanted.clear()
        self._unfingered.clear()

    def show_bows(self, directions: Mapping[str, str]) -> None:
        """Show bow signs too, "down" or "up" by note id."""
        self._bows = directions
        self._wanted.clear()

    def show_marks(self, marks: Sequence[TeacherMark], boxes: tuple[PassageBox, ...] = ()) -> list[int]:
        """Show these marks and boxes of passages; returns the pages that look different now.

        A mark that the engraver shall draw is painted too while the pages do not have it yet.
        """
        changed_boxes, self._boxes = boxes != self._boxes, boxes
        self._standing = frozenset(marks)
        drawn = frozenset(self._engraved)
        painted = [mark for mark in marks if is_painted(mark) or mark not in drawn]
        changed = []
        for number, page in enumerate(self.pages):
            here = tuple(mark for mark in painted if {mark.first, mark.last} & page.map.notes.keys())
            if here != self._marks[number] or changed_boxes:
                self._marks[number] = here
                changed.append(number)
        return changed

    def digits(self, number: int) -> Digits:
        """The digits of a page at their places."""
        return sorted_out(self._overlay(number), self._own)

    def unfingered(self, number: int) -> tuple[str, ...]:
        """The notes of a page that stay without a finger."""
        if number not in self._unfingered:
            notes = self.pages[number].map.notes
            missing = (note_id for plan in self._plans for note_id in plan.problems if note_id not in plan)
            self._unfingered[number] = tuple(note_id for note_id in missing if note_id in notes)
        return self._unfingered[number]

    def _asked(self, number: int) -> _Asked:
        if number not in self._wanted:
            here = [note_id for note_id in self.pages[number].map.notes if self._page_of[note_id] == number]
            digits = chain.from_iterable(digits_of(plan, here, self._strings) for plan in self._plans)
            bows = {note_id: self._bows[note_id] for note_id in here if note_id in self._bows}
            self._wanted[number] = (*digits, *wanted_signs(bows))
        return self._wanted[number], self._marks[number], self._boxes

    def _overlay(self, number: int) -> tuple[Overlaid, ...]:
        asked = self._asked(number)
        kept = self._set.get(number)
        if kept is None or kept[0] != asked:
            kept = asked, overlaid(self.pages[number], *asked, self._metrics, self._grounds[number])
            self._take(number, *kept)
        return kept[1]

    def _at_hand(self, number: int) -> tuple[Overlaid, ...]:
        """What lies over a page, without waiting for what is placed ahead: for all but a few other digits."""
        asked, kept = self._asked(number), self._set.get(number)
        if self._ahead is None or (kept is not None and _are_near(kept[0], asked)):
            return self._overlay(number)
        self._place_ahead(number, self._ahead)
        return self._old_overlays.get(number, ()) if kept is None else kept[1]

    def mark_areas(self, number: int, mark: TeacherMark) -> tuple[Rect, ...]:
        """Where a mark lies on a page, in mm; a box for every system it reaches over."""
        return self.shown_areas(number, mark) or _areas(self._overlay(number), mark)

    def shown_areas(self, number: int, mark: TeacherMark) -> tuple[Rect, ...]:
        """Where a mark is shown on a page as yet, as :meth:`mark_areas` tells it; none before it has its place."""
        if mark in self._engraved and not is_painted(mark):
            index = self._engraved.index(mark)
            return tuple(rect for which, rect in self.pages[number].map.marks if which == index)
        return _areas(self._at_hand(number), mark)

    def mark_at(self, number: int, x: float, y: float) -> TeacherMark | None:
        """The mark that is nearest to a point on a page, within half a staff space."""
        reach = _MARK_REACH * self.pages[number].map.staff_space
        near = (
            (rect.distance(x, y), rect.width * rect.height, mark)
            for mark in self._standing
            for rect in self.mark_areas(number, mark)
        )
        within = [(far, size, mark) for far, size, mark in near if far <= reach]
        return min(within, key=lambda one: one[:2], default=(0.0, 0.0, None))[2]

    def moved_by(self, number: int, mark: TeacherMark, dx: float, dy: float) -> tuple[float, float] | None:
        """How far from its own place a mark lies that goes so many mm to the right and down from where it is now.

        In staff spaces, to the right and upwards; ``None`` when it does not lie on the page.
        """
        page = self.pages[number].map
        self._overlay(number)  # from where it lies on this page, not on the one before
        own = place_marks(page, [replace(mark, dx=1.0, dy=0.0)], self._metrics)
        now = self.mark_areas(number, mark)
        if not own or not now:
            return None
        space = page.staff_space
        return (now[0].x0 + dx - own[0].rect.x0) / space + 1.0, -(now[0].y0 + dy - own[0].rect.y0) / space

    def page_of(self, note_id: str) -> int | None:
        """The page on which a note lies."""
        return self._page_of.get(note_id)

    def picture(self, number: int, scale: float, ratio: float) -> QImage | None:
        """The bare page at ``scale`` logical pixels a millimetre, for a screen of that device pixel ratio.

        Ahead of time there may be one of another size, or none as yet; the right one is then on its way.
        """
        page = self.pages[number]
        size = QSize(round(page.width_mm * scale * ratio), round(page.height_mm * scale * ratio))
        known = self._pictures.get(number)
        if known is not None and known.size() == size:
            self._pictures.move_to_end(number)
            return known
        if self._ahead is None:
            self._keep(number, _drawn(page, size))
            return self._pictures[number]
        self._ahead.ask((page, size.width()), lambda tick: _drawn(page, size), partial(self._keep, number))
        return self._old_pictures.get(number) if known is None else known

    def look_ahead(self, number: int, scale: float, ratio: float) -> None:
        """Have a page ready before it is looked at."""
        if self._ahead is None or not 0 <= number < len(self.pages):
            return
        self.picture(number, scale, ratio)
        if number not in self._set:
            self._place_ahead(number, self._ahead)

    def _place_ahead(self, number: int, ahead: Ahead) -> None:
        page, asked = self.pages[number], self._asked(number)
        if self._placing.get(number) == asked:
            return
        self._placing[number] = asked
        metrics, ground = self._metrics, self._grounds[number]
        ahead.ask(
            object(),
            lambda tick: overlaid(page, *asked, metrics, ground, tick),
            partial(self._take, number, asked),
        )

    def paint_picture(self, painter: QPainter, number: int, scale: float, ratio: float) -> None:
        """The bare page with its corner at the origin, ``painter`` in logical pixels; white while it is on its way."""
        page, picture = self.pages[number], self.picture(number, scale, ratio)
        area = QRectF(0, 0, page.width_mm * scale, page.height_mm * scale)
        if picture is None:
            painter.fillRect(area, Qt.GlobalColor.white)
        elif picture.width() == round(area.width() * ratio):
            picture.setDevicePixelRatio(ratio)
            painter.drawImage(QPointF(0, 0), picture)
        else:
            painter.setRenderHint(QPainter.RenderHint.SmoothPixmapTransform)
            painter.drawImage(area, picture, QRectF(picture.rect()))

    def _keep(self, number: int, image: QImage) -> None:
        self._pictures[number] = image
        self._old_pictures.pop(number, None)
        while len(self._pictures) > _PICTURES_KEPT:
            self._pictures.popitem(last=False)

    def _take(self, number: int, asked: _Asked, overlay: tuple[Overlaid, ...]) -> None:
        if self._placing.get(number) == asked:
            del self._placing[number]
        if asked == self._asked(number):
            self._set[number] = asked, overlay
            self._old_overlays.pop(number, None)

    def paint_digits(self, painter: QPainter, number: int) -> None:
        """Digits, bow signs and marks over a page, ``painter`` in millimetres from its corner.

        Of a page that nobody has looked at they are placed ahead, and come when they are there. They are kept as a
        picture, since hundreds of them take longer to paint than a frame may.
        """
        world = painter.worldTransform()
        picture = self._overlay_picture(number, world.m11(), painter.device().devicePixelRatio())
        own = frozenset(note_id for note_id in self._own if note_id in self.pages[number].map.notes)
        ratio, device = picture.ratio, painter.viewport()
        seen = QRectF(-world.dx() * ratio, -world.dy() * ratio, device.width() * ratio, device.height() * ratio)
        seen.adjust(-_EDGE, -_EDGE, _EDGE, _EDGE)
        painter.save()
        # Moved only, not scaled and scaled back: so the picture is copied as it is.
        painter.setWorldTransform(QTransform.fromTranslate(world.dx(), world.dy()))
        painter.drawImage(QPointF(0, 0), picture.showing(self._at_hand(number), own, seen.toAlignedRect()))
        painter.restore()

    def _overlay_picture(self, number: int, scale: float, ratio: float) -> OverlayPicture:
        kept = self._overlay_pictures.pop(number, None)
        if kept is None or (kept.scale, kept.ratio) != (scale, ratio):
            is_full = len(self._overlay_pictures) == _OVERLAYS_KEPT
            oldest = self._overlay_pictures.popitem(last=False)[1] if is_full else kept
            kept = OverlayPicture(self.pages[number], scale, ratio, oldest)
        self._overlay_pictures[number] = kept
        return kept


def _drawn(page: EngravedPage, size: QSize) -> QImage:
    """The bare page in so many dots; on any thread, and unlike a painter it lets the others go on meanwhile."""
    load_fonts()
    buffer = QBuffer()
    buffer.setData(page.svg)
    reader = QImageReader(buffer, QByteArray(b"svg"))
    reader.setScaledSize(size)
    reader.setBackgroundColor(Qt.GlobalColor.white)
    image = reader.read()
    if image.isNull():
        raise EngravingError(_("Qt cannot draw the engraved page"))
    # On a white ground every dot is opaque: the same bytes are the picture without a channel for that.
    image.reinterpretAsFormat(QImage.Format.Format_RGB32)
    return image


def _are_near(one: _Asked, other: _Asked) -> bool:
    """Whether only a few digits differ, so that most of a page stays as it is set."""
    return one[1:] == other[1:] and (one[0] is other[0] or len(set(one[0]) ^ set(other[0])) <= _FEW)


def _areas(overlay: Iterable[Overlaid], mark: TeacherMark) -> tuple[Rect, ...]:
    return tuple(one.rect for one in overlay if isinstance(one, PaintedMark) and one.mark == mark)
