"""The music on the desk: pages below each other, digits over the notes, notes, marks and a passage to select."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import QHelpEvent, QKeyEvent, QMouseEvent, QPainter, QPaintEvent
from PySide6.QtWidgets import QApplication, QToolTip, QWidget

from analysis.fingering.placements import THUMB
from analysis.language import _
from app.job.paper.bow_signs import bows_to_show
from app.job.teacher.pencilling import notes_between, standing
from app.job.words.notes import note_words
from app.window.background.ahead import Ahead
from app.window.background.leaving import Leaving
from app.window.editing.desk import Desk
from app.window.editing.pencil import Pencil
from app.window.editing.press import Engraved
from app.window.editing.watch import Watch
from app.window.keys import MUSIC, pressed
from app.window.music.page_lights import paint_in_hand, paint_lit, paint_passage, paint_selected, paint_unfingered
from app.window.music.pages_area import PagesArea
from app.window.music.scrolling import DragScroll
from app.window.music.sheets import Sheets
from app.window.music.telling import tell_selection
from app.window.style import look
from engraving.engraver import EngravedPage
from engraving.marks.teacher import TeacherMark
from engraving.page import NotePlace, Rect

_STEPS = (-1, 1)
# How far keys move a mark to the right and upwards, in staff spaces: left, right, up, down.
_NUDGES = ((-0.25, 0.0), (0.25, 0.0), (0.0, 0.25), (0.0, -0.25))
# The finger that the first of some keys types, and how many strings higher.
_TYPED = {"finger": (0, 0), "above": (1, 1), "below": (0, -1), "thumb": (THUMB, 0)}
# So many parts are kept as they are painted, for when they are looked at again.
_PARTS_KEPT = 6
# Within this what is scrolled is painted, or it is out of sight.
_UNTIL_PAINTED_MS = 50
# So many pixels around a notehead are painted anew when its light goes on or off.
_GLOW = 16


class ScoreView(PagesArea):
    """The pages of the part in hand, or of the full score, in which it is the part that was pointed at last.

    ``finger_typed``: a key 0-4, or T for the thumb, for the selected note, and how many strings higher.
    ``way_stepped``: the way above (-1) or below (1).
    """

    finger_typed = Signal(int, int)
    way_stepped = Signal(int)

    def __init__(self, desk: Desk, watch: Watch, pencil: Pencil, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._watch = watch
        self._pencil = pencil
        self._ahead = Ahead(self)
        self._ahead.done.connect(self.viewport().update)
        self._kept: deque[Sheets] = deque(maxlen=_PARTS_KEPT)
        self._leaving = Leaving(desk.tasks, self)
        self._sheets = Sheets(())
        self._shows_bows = False
        self.sounding: tuple[str, ...] = ()
        self._drag_from: int | None = None
        self._dragged_to = QPointF()
        self._scrolling = DragScroll(self)
        self._scrolling.scrolled.connect(self._select_to_pointer)
        self._carried: tuple[QPointF, QPointF] | None = None
        self.setAccessibleName(_("Music of the part"))
        self.viewport().setCursor(Qt.CursorShape.ArrowCursor)
        tell_selection(desk, self)
        desk.opened.connect(self.put_away)
        desk.part_changed.connect(self._turn_over)
        desk.shown_changed.connect(self._turn_over)
        desk.pages_changed.connect(self._take_pages)
        desk.plan_changed.connect(self._take_plan)
        desk.note_changed.connect(self._show_note)
        desk.passage_changed.connect(self.viewport().update)
        desk.marks_changed.connect(self._take_marks)
        desk.failed.connect(self.viewport().update)
        watch.chosen.connect(self.viewport().update)
        pencil.chosen.connect(self._show_mark)

    @property
    def sheets(self) -> Sheets:
        """The pages shown."""
        return self._sheets

    def sizeHint(self) -> QSize:
        """Room for a page at a comfortable size."""
        return QSize(720, 700)

    # Places

    def note_area(self, note_id: str) -> QRectF | None:
        """Where a notehead lies in the view, in pixels."""
        number = self._sheets.page_of(note_id)
        if number is None:
            return None
        return self._on_view(number, self._sheets.pages[number].map.notes[note_id].head)

    def _on_view(self, number: int, rect: Rect) -> QRectF:
        corner, s = self.page_area(number).topLeft(), self.scale
        return QRectF(corner.x() + rect.x0 * s, corner.y() + rect.y0 * s, rect.width * s, rect.height * s)

    def _place_at(self, point: QPointF) -> tuple[int, float, float] | None:
        """Page and millimetres on it of a point in the view."""
        for number in range(len(self._sheets.pages)):
            area = self.page_area(number)
            if area.contains(point):
                return number, (point.x() - area.x()) / self.scale, (point.y() - area.y()) / self.scale
        return None

    def put_away(self) -> None:
        """Forget what is shown, and give up all that is done ahead."""
        self._ahead.give_up()
        for sheets in self._kept:
            self._leaving.take((sheets, *sheets.pages))
        self._kept.clear()
        self._sheets = Sheets(())
        self.lay_pages(())

    def end(self) -> None:
        """Show and do nothing more, as the window closes."""
        self.put_away()
        self._ahead.end()

    # What the desk tells

    def _turn_over(self) -> None:
        self._take_pages()
        if not self._desk.shows_full_score:
            self.verticalScrollBar().setValue(0)
        if self._desk.note_id is not None:
            self._show_note()

    def _take_pages(self) -> None:
        if self._desk.pages is not self._sheets.pages:
            self._sheets = self._sheets_of(self._desk.engraved)
        self.lay_pages([(page.width_mm, page.height_mm) for page in self._sheets.pages])
        self._sheets.show_plans(self._desk.shown_plans)
        self._lay_marks()
        self._show_bows()

    def _lay_marks(self) -> list[int]:
        """Show the marks of what is shown; boxes stand round the passages of a part by itself."""
        if not self._desk.shows_full_score:
            return self._sheets.show_marks(self._pencil.marks, self._pencil.boxes)
        works = self._desk.state.work.parts
        return self._sheets.show_marks(
            [mark for part in self._desk.shown_parts for mark in standing(part, works[part.id].marks)]
        )

    def _sheets_of(self, engraved: Engraved) -> Sheets:
        """The sheets of those pages, as they were when they were last shown."""
        for kept in self._kept:
            if kept.pages is engraved.pages:
                self._kept.remove(kept)
                self._kept.append(kept)
                return kept
        before = self._sheets if _of_one_music(engraved.pages, self._sheets) else None
        self._kept.append(Sheets(engraved.pages, engraved.marks, self._ahead, before))
        return self._kept[-1]

    def _take_plan(self) -> None:
        self._sheets.show_plans(self._desk.shown_plans)
        self.viewport().update()

    def _take_marks(self) -> None:
        for number in self._lay_marks():
            self.viewport().update(self.page_area(number).toAlignedRect())
        if self._shows_bows:
            self._show_bows()

    def _show_note(self) -> None:
        note_id = self._desk.until_id or self._desk.note_id
        self._show_area(self.note_area(note_id) if note_id else None)

    def _show_mark(self) -> None:
        mark = self._pencil.mark
        # It is shown before it has its place: its notes are known.
        self._show_area(None if mark is None else self.note_area(mark.first) or self.note_area(mark.last))

    def _page_of(self, mark: TeacherMark) -> int | None:
        number = self._sheets.page_of(mark.first)
        return self._sheets.page_of(mark.last) if number is None else number

    def _show_area(self, area: QRectF | None) -> None:
        """Bring a place into view, and paint what is selected."""
        if area is not None:
            for bar, low, high, room in (
                (self.verticalScrollBar(), area.top(), area.bottom(), self.viewport().height()),
                (self.horizontalScrollBar(), area.left(), area.right(), self.viewport().width()),
            ):
                margin = min(60.0, room / 4)
                if low < margin or high > room - margin:
                    bar.setValue(bar.value() + round((low + high) / 2 - room / 2))
        self.viewport().update()

    # What sounds

    def light(self, note_ids: Sequence[str]) -> None:
        """Light the notes that sound now, and scroll on where the first of them is out of view."""
        changed, self.sounding = {*self.sounding} ^ {*note_ids}, tuple(note_ids)
        for note_id in changed:
            area = self.note_area(note_id)
            if area is not None:
                self.viewport().update(area.adjusted(-_GLOW, -_GLOW, _GLOW, _GLOW).toAlignedRect())
        area = self.note_area(note_ids[0]) if note_ids else None
        if area is not None and not QRectF(self.viewport().rect()).adjusted(0, _GLOW, 0, -_GLOW).contains(area):
            self._show_area(area)

    # The bow

    @property
    def shows_bows(self) -> bool:
        """Whether the bow is shown at every stroke."""
        return self._shows_bows

    def toggle_bows(self) -> None:
        """Show which way the bow goes, or no longer."""
        self._shows_bows = not self._shows_bows
        self._show_bows()

    def _show_bows(self) -> None:
        part, plan = self._desk.part, self._desk.plan
        tempo = plan.setting.own.tempo if plan else None
        shown = bows_to_show(part, self._pencil.marks, tempo) if self._shows_bows and part is not None else {}
        self._sheets.show_bows(shown)
        self.viewport().update()

    # Events

    def viewportEvent(self, event: QEvent) -> bool:
        """Say what a note is and how it is played where the pointer rests."""
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            place = self._place_at(QPointF(event.pos()))
            note_id = self._note_at(*place) if place is not None else None
            part = self._desk.part_of(note_id) if note_id else None
            plan = self._desk.state.plans.get(part.id) if part else None
            words = note_words(part, plan, note_id) if part and note_id else ""
            QToolTip.showText(event.globalPos(), words, self.viewport())
            return True
        return super().viewportEvent(event)

    def scrollContentsBy(self, dx: int, dy: int) -> None:
        """Scroll; what is done ahead waits until that is painted."""
        self._ahead.stand_back(_UNTIL_PAINTED_MS)
        super().scrollContentsBy(dx, dy)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Paint the visible pages, and what is selected on them."""
        seen = self.pages_in(QRectF(event.rect()))
        self._ahead.stand_back()
        painter = QPainter(self.viewport())
        painter.fillRect(event.rect(), self.palette().color(look.DESK))
        if not self._sheets.pages:
            self._paint_waiting(painter)
        for number in seen:
            self._paint_page(painter, number, self.page_area(number))
        for number in (seen.stop, seen.start - 1) if seen else ():
            self._sheets.look_ahead(number, self.scale, self.devicePixelRatioF())

    def _paint_waiting(self, painter: QPainter) -> None:
        """Say what is being engraved where nothing is to be seen yet."""
        name = self._desk.being_engraved
        if name:
            painter.setPen(self.palette().color(look.QUIET))
            words = _("Engraving {name}").format(name=name)
            centred = Qt.AlignmentFlag.AlignCenter | Qt.TextFlag.TextWordWrap
            painter.drawText(self.viewport().rect(), centred, f"{words}…")

    def _paint_page(self, painter: QPainter, number: int, area: QRectF) -> None:
        painter.save()
        painter.translate(area.topLeft())
        self._sheets.paint_picture(painter, number, self.scale, self.devicePixelRatioF())
        painter.setPen(look.PAPER_EDGE)
        painter.setBrush(Qt.BrushStyle.NoBrush)
        painter.drawRect(QRectF(QPointF(), area.size()))
        painter.scale(self.scale, self.scale)
        self._paint_under(painter, number)
        self._sheets.paint_digits(painter, number)
        self._paint_mark_in_hand(painter, number)
        painter.restore()
        look.tint(painter, area)

    def _paint_under(self, painter: QPainter, number: int) -> None:
        """What lies under the digits."""
        desk, page = self._desk, self._sheets.pages[number].map
        paint_passage(painter, page, desk.passage)
        shown = self._watch.entry.finding.note_ids if self._watch.entry else ()
        paint_lit(painter, page, shown, look.LIT, look.LIT_EDGE)
        paint_lit(painter, page, self.sounding, look.SOUNDING, look.ACCENT, heavy=True)
        if desk.part is not None and desk.note_id is not None:
            selected = notes_between(desk.part, desk.note_id, desk.until_id or desk.note_id)
            paint_selected(painter, page, (note.id for note in selected))
        paint_unfingered(painter, page, self._sheets.unfingered(number))

    def _paint_mark_in_hand(self, painter: QPainter, number: int) -> None:
        if self._pencil.mark is not None:
            by = (self._carried[1] - self._carried[0]) / self.scale if self._carried else QPointF()
            areas = self._sheets.shown_areas(number, self._pencil.mark)
            paint_in_hand(painter, self._sheets.pages[number].map, areas, by)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Take the mark or the note under the pointer, or begin to select measures."""
        place = self._place_at(event.position())
        if place is None or event.button() != Qt.MouseButton.LeftButton:
            return
        number, x, y = place
        self._take_part(number, y)
        page = self._sheets.pages[number].map
        note_id = self._note_at(number, x, y)
        measure = page.measure_at(x, y)
        on_head = note_id is not None and page.notes[note_id].head.distance(x, y) == 0
        mark = None if on_head else self._sheets.mark_at(number, x, y)
        stretches = bool(event.modifiers() & Qt.KeyboardModifier.ShiftModifier)
        self._pencil.choose(mark)
        if mark is not None:
            self._carried = event.position(), event.position()
        elif stretches and note_id is not None and self._desk.note_id is not None:
            self._desk.select_until(note_id)
        elif stretches and measure is not None:
            self._stretch_passage(measure.first, measure.last)
        elif note_id is not None:
            self._desk.point_at(note_id)
        elif measure is not None:
            self._desk.select_note(None)
            self._drag_from = measure.first
            self._desk.select_passage((measure.first, measure.last))
        else:
            self._desk.select_note(None)
            self._desk.select_passage(None)

    def _note_at(self, number: int, x: float, y: float) -> str | None:
        """The note there; notes that the file hides lie on the page too, but nobody plays them."""
        note_id = self._sheets.pages[number].map.note_at(x, y)
        return note_id if note_id is not None and self._desk.part_of(note_id) is not None else None

    def _take_part(self, number: int, y: float) -> None:
        """Take the part in hand whose staff of the full score lies there, before anything of it is selected."""
        if self._desk.shows_full_score:
            page = self._sheets.pages[number].map
            near = min(page.notes.items(), key=lambda item: _away(item[1], y), default=None)
            part = self._desk.part_of(near[0]) if near is not None else None
            if part is not None:
                self._desk.turn_to(part.id)

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Go on moving the mark, or selecting measures, while the button is down."""
        if self._carried is not None:
            self._carried = self._carried[0], event.position()
            self.viewport().update()
            return
        if self._drag_from is not None:
            self._dragged_to = event.position()
            self._scrolling.follow(self._dragged_to.y())
            self._select_to_pointer()

    def _select_to_pointer(self) -> None:
        """Select measures up to the pointer, or up to the edge of the view that it has gone past."""
        y = min(max(self._dragged_to.y(), 0.0), self.viewport().height() - 1.0)
        place = self._place_at(QPointF(self._dragged_to.x(), y))
        measure = self._sheets.pages[place[0]].map.measure_at(*place[1:]) if place else None
        if measure is not None and self._drag_from is not None:
            first, last = sorted((self._drag_from, measure.first))
            self._desk.select_passage((first, max(last, measure.last)))

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """The selection stands; a mark that was dragged stays where it is let go."""
        self._drag_from = None
        self._scrolling.stop()
        carried, self._carried = self._carried, None
        if carried is not None and (carried[1] - carried[0]).manhattanLength() > QApplication.startDragDistance():
            self._move_mark((carried[1] - carried[0]) / self.scale)
        elif carried is not None:
            self.viewport().update()

    def nudge(self, dx: float, dy: float) -> None:
        """Move the mark in hand so many staff spaces to the right and upwards from where it lies."""
        if self._sheets.pages:
            self._move_mark(QPointF(dx, -dy) * self._sheets.pages[0].map.staff_space)

    def _move_mark(self, by: QPointF) -> None:
        """Move the mark in hand by so many millimetres."""
        mark = self._pencil.mark
        number = self._page_of(mark) if mark is not None else None
        if mark is not None and number is not None:
            place = self._sheets.moved_by(number, mark, by.x(), by.y())
            if place is not None:
                self._pencil.move(*place)
                self.viewport().update()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Do what the table of keys has for the music."""
        match pressed(MUSIC, event):
            case "note", which:
                self._desk.step_note(_STEPS[which])
            case "way", which:
                self.way_stepped.emit(_STEPS[which])
            case "measures", which:
                self._stretch_by_key(_STEPS[which])
            case "notes", which:
                self._desk.stretch(_STEPS[which])
            case "nudge", which:
                self.nudge(*_NUDGES[which])
            case "finger" | "above" | "below" | "thumb" as typed, which:
                first, strings_up = _TYPED[typed]
                self.finger_typed.emit(first + which, strings_up)
            case "ends", which:
                bar = self.verticalScrollBar()
                bar.setValue((bar.minimum(), bar.maximum())[which % 2])
            case "clear", _:
                self._desk.select_passage(None)
            case _:
                super().keyPressEvent(event)

    def _stretch_passage(self, first: int, last: int) -> None:
        old = self._desk.passage or (first, last)
        self._desk.select_passage((min(old[0], first), max(old[1], last)))

    def _stretch_by_key(self, step: int) -> None:
        part, note = self._desk.part, self._desk.note
        if part is None or not part.measures:
            return
        passage, start = self._desk.passage, note.measure if note else 0
        if passage is None or (note is not None and not passage[0] <= start <= passage[1]):
            self._desk.select_passage((start, start))
        else:
            first, last = passage
            self._desk.select_passage((first, min(max(last + step, first), len(part.measures) - 1)))


def _of_one_music(pages: Sequence[EngravedPage], sheets: Sheets) -> bool:
    """Whether sheets begin with a note of the first of the pages."""
    first = next(iter(pages[0].map.notes), None) if pages else None
    return first is not None and sheets.page_of(first) == 0


def _away(note: NotePlace, y: float) -> float:
    """How far a height on the page lies from the staff of a note."""
    return max(note.staff_top - y, y - note.staff_bottom, 0.0)
