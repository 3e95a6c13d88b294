"""The fingerboard beside the music: where the selected note and its neighbours are stopped, and where else it could be.

Four looks tell notes apart without colour: the selected note is filled, those before it are grey without an edge, those
after it are rings, and its other places are dotted.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from PySide6.QtCore import QEvent, QPointF, QRectF, QSize, Qt, Signal
from PySide6.QtGui import (
    QFocusEvent,
    QHelpEvent,
    QKeyEvent,
    QMouseEvent,
    QPainter,
    QPaintEvent,
    QPen,
    QResizeEvent,
    QShowEvent,
)
from PySide6.QtWidgets import QSizePolicy, QToolTip, QVBoxLayout, QWidget

from analysis.fingering.placements import Placement
from analysis.fingering.plan import Plan
from analysis.language import _, later
from app.job.fingerboard.stops import Near, Place, near, offer_words, place_words, places, shown_up_to
from app.window.editing.desk import Desk
from app.window.keys import FINGERBOARD, pressed
from app.window.style import look
from app.window.widgets.flow import Panel
from app.window.widgets.labels import quiet_label
from engraving.fingerboard import ChartLayout, Dot, FingerboardChart, lay_out, usual_tapes
from engraving.fingerboard_painter import SpotStyle, paint_layout
from engraving.page import Rect

_WIDTH_MM, _MOST_WIDTH_MM, _MARGIN = 56.0, 66.0, 6
_LEAST_HEIGHT_MM = 52.0
_LEGEND = later(
    "Filled: this note. Grey: before it. Ring: after it. Dotted: where else it can be played; click to choose."
)
_NOTHING = later("Select a note to see where it is stopped.")
_BEFORE, _AFTER = "#dcdedd", look.INK.name()
_ALLOWED, _OTHERWISE = 0.4, 0.2  # widths in mm of the dots round places within the house rules, and of all others
_SOUNDS, _WITH = look.ACCENT.name(), "#bcd6d8"  # the note, and those struck with it


@dataclass(frozen=True, slots=True)
class _Shown:
    """One spot of the board: the selected note's place there, if any, and the neighbours that are played there."""

    place: Place | None
    neighbours: tuple[Near, ...]

    @property
    def dot(self) -> Dot:
        """What is drawn: of a note's own place its finger, else that of the neighbour nearest in time."""
        nearest = min(self.neighbours, key=lambda one: abs(one.steps), default=None)
        if self.place is not None and (nearest is None or self.place.is_chosen or not nearest.steps):
            return Dot(self.place.shown, ringed=bool(self.style.ring))
        if nearest is None:
            raise ValueError("a spot of the fingerboard needs a note")
        name = f"{nearest.steps:+d} {nearest.name}".replace("-", "−") if nearest.steps else nearest.name
        return Dot(nearest.placement, name, bool(self.style.ring))

    @property
    def style(self) -> SpotStyle:
        """How it looks."""
        steps = {one.steps for one in self.neighbours}
        before, after = min(steps, default=0) < 0, max(steps, default=0) > 0
        ring = _AFTER if after else ""
        if self.place is not None and self.place.is_chosen:
            return SpotStyle(_SOUNDS, "#ffffff", _SOUNDS, ring=ring)
        if 0 in steps:
            return SpotStyle(_WITH, look.INK.name(), _SOUNDS, width=0.6, ring=ring)
        if before:
            return SpotStyle(_BEFORE, look.INK.name(), _BEFORE, ring=ring)
        if after:
            return SpotStyle("#ffffff", look.INK.name(), _AFTER)
        allowed = self.place is not None and bool(self.place.ways)
        quiet = (look.ACCENT if allowed else look.QUIET_INK).name()
        return SpotStyle("#ffffff", quiet, quiet, width=_ALLOWED if allowed else _OTHERWISE, dotted=True)


class Neck(QWidget):
    """The board itself. ``chosen``: the teacher wants a place taken; ``pointed``: another place is in hand, or none."""

    chosen = Signal(object)
    pointed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._chart: FingerboardChart | None = None
        self._layout: ChartLayout | None = None
        self._shown: tuple[_Shown, ...] = ()
        self._hand: tuple[int, float] | None = None
        self._words: dict[tuple[int, int], str] = {}
        self._offers: dict[tuple[int, int], str] = {}
        self.places: tuple[Place, ...] = ()
        self.at: int | None = None
        self.setAccessibleName(_("Fingerboard"))
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setMouseTracking(True)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)

    def sizeHint(self) -> QSize:
        """As large as the panel lets it."""
        return QSize(290, 340)

    def minimumSizeHint(self) -> QSize:
        """The least at which digits are read."""
        return QSize(220, 200)

    @property
    def words(self) -> str:
        """The place in hand in words, "" for none."""
        return self._offers[self.places[self.at].where] if self.at is not None else ""

    def show_note(self, plan: Plan | None, note_id: str | None) -> None:
        """Show another note, or the bare board, or nothing."""
        kept = self.places[self.at].where if self.at is not None else None
        self.places = places(plan, note_id) if plan and note_id else ()
        around = near(plan, note_id) if plan and note_id else ()
        self._words = {place.where: place_words(plan, place) for place in self.places} if plan else {}
        self._offers = {place.where: offer_words(plan, place) for place in self.places} if plan else {}
        self._shown = tuple(_shown(self.places, around))
        choice = plan.choice(note_id) if plan and note_id else None
        self._hand = (choice.position, choice.hand) if choice is not None else None
        self._chart = self._chart_of(plan, note_id) if plan else None
        at = [number for number, place in enumerate(self.places) if place.where == kept and self.hasFocus()]
        at += [number for number, place in enumerate(self.places) if place.is_chosen]
        self._lay_out()
        self._point(at[0] if at else 0 if self.places else None)

    def _chart_of(self, plan: Plan, note_id: str | None) -> FingerboardChart:
        instrument = plan.setting.played_on
        played = tuple(dict.fromkeys(placement for _, placement in plan.choices()))
        reach = float(shown_up_to(plan, note_id))
        dots = tuple(shown.dot for shown in self._shown)
        return FingerboardChart(instrument, dots, usual_tapes(instrument), played, reach)

    def _lay_out(self) -> None:
        self._layout = None
        if self._chart is not None and self._scale > 0:
            width = min((self.width() - 2 * _MARGIN) / self._scale, _MOST_WIDTH_MM)
            self._layout = lay_out(self._chart, Rect(0, 0, width, (self.height() - 2 * _MARGIN) / self._scale))
        self.update()

    @property
    def _scale(self) -> float:
        """Pixels a millimetre of the chart."""
        return min((self.width() - 2 * _MARGIN) / _WIDTH_MM, (self.height() - 2 * _MARGIN) / _LEAST_HEIGHT_MM)

    @property
    def _corner(self) -> QPointF:
        """Where the chart begins: it stands in the middle."""
        width = self._layout.rect.width * self._scale if self._layout else 0.0
        return QPointF((self.width() - width) / 2, _MARGIN)

    def spot_of(self, place: Place) -> QPointF:
        """The middle of a place's spot on the widget."""
        rect = self._box(place)
        return rect.center()

    def _box(self, place: Place) -> QRectF:
        if self._layout is None:
            return QRectF()
        wheres = [shown.dot.where for shown in self._shown]
        spot = self._layout.spots[wheres.index(place.where)]
        box, scale, corner = spot.box, self._scale, self._corner
        return QRectF(corner.x() + box.x0 * scale, corner.y() + box.y0 * scale, box.width * scale, box.height * scale)

    def _place_at(self, point: QPointF) -> int | None:
        """The nearest place within a few pixels."""
        middles = [self.spot_of(place) for place in self.places]
        far = [(middle - point).manhattanLength() for middle in middles]
        near_ones = [number for number, place in enumerate(self.places) if self._near(place, point)]
        return min(near_ones, key=lambda number: far[number], default=None)

    def _near(self, place: Place, point: QPointF) -> bool:
        return self._box(place).adjusted(-4, -4, 4, 4).contains(point)

    def _point(self, at: int | None) -> None:
        self.at = at
        self.setAccessibleDescription(self.words)
        self.update()
        self.pointed.emit()

    def take(self) -> None:
        """Choose the place in hand."""
        if self.at is not None:
            self.chosen.emit(self.places[self.at].offered)

    def step(self, *, along: bool, steps: int) -> None:
        """Take the place so many steps on in hand: along the strings from the nut, or across them to the right."""
        if self.at is None:
            return
        order = sorted(range(len(self.places)), key=lambda number: self._order(self.places[number], along=along))
        self._point(order[min(max(order.index(self.at) + steps, 0), len(order) - 1)])

    def _order(self, place: Place, *, along: bool) -> tuple[int, int]:
        string, stop = place.where
        return (stop, -string) if along else (-string, stop)

    def paintEvent(self, event: QPaintEvent) -> None:
        """The board, and a frame round the place in hand."""
        painter = QPainter(self)
        painter.fillRect(self.rect(), look.PAPER)
        if self._layout is None:
            look.tint(painter, self.rect())
            return
        painter.save()
        painter.translate(self._corner)
        painter.scale(self._scale, self._scale)
        paint_layout(painter, self._layout, [shown.style for shown in self._shown], self._hand)
        painter.restore()
        if self.hasFocus() and self.at is not None:
            painter.setPen(QPen(look.PASSAGE_EDGE, 2))
            painter.drawRect(self._box(self.places[self.at]).adjusted(-5, -5, 5, 5))
        look.tint(painter, self.rect())

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay the board out again."""
        super().resizeEvent(event)
        self._lay_out()

    def mouseMoveEvent(self, event: QMouseEvent) -> None:
        """Say the place under the pointer."""
        at = self._place_at(event.position())
        self.setCursor(Qt.CursorShape.ArrowCursor if at is None else Qt.CursorShape.PointingHandCursor)
        if at is not None and at != self.at:
            self._point(at)

    def mousePressEvent(self, event: QMouseEvent) -> None:
        """Choose the place that is clicked."""
        at = self._place_at(event.position())
        if event.button() == Qt.MouseButton.LeftButton and at is not None:
            self._point(at)
            self.take()

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Do what the table of keys has for the fingerboard."""
        match pressed(FINGERBOARD, event):
            case "along" | "across" as way, which:
                self.step(along=way == "along", steps=(-1, 1)[which])
            case "take", _:
                self.take()
            case _:
                super().keyPressEvent(event)

    def focusInEvent(self, event: QFocusEvent) -> None:
        """Show which place is in hand."""
        super().focusInEvent(event)
        self.update()

    def focusOutEvent(self, event: QFocusEvent) -> None:
        """Show it no longer."""
        super().focusOutEvent(event)
        self.update()

    def event(self, event: QEvent) -> bool:
        """The ways of the place under the pointer, as a tool tip."""
        if isinstance(event, QHelpEvent) and event.type() == QEvent.Type.ToolTip:
            at = self._place_at(QPointF(event.pos()))
            QToolTip.showText(event.globalPos(), self._words[self.places[at].where] if at is not None else "", self)
            return True
        return super().event(event)


def _shown(every: tuple[Place, ...], around: tuple[Near, ...]) -> Iterator[_Shown]:
    """The spots in the order in which a chart lays them out."""
    by_place = {place.where: place for place in every}
    neighbours: dict[tuple[int, int], list[Near]] = {}
    for one in around:
        neighbours.setdefault((one.placement.string, one.placement.place), []).append(one)
    for where in sorted({*by_place, *neighbours}):
        yield _Shown(by_place.get(where), tuple(neighbours.get(where, ())))


class FingerboardPanel(Panel):
    """The board, the place in hand in words, and what the looks mean. ``chosen``: a placement for the selected note."""

    chosen = Signal(object)

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self.neck = Neck(self)
        self._words = quiet_label(look.PLAIN, self)
        self._words.setAccessibleName(_("The place in hand on the fingerboard"))
        # Always as high as two lines, so that the board lies still.
        self._words.setMinimumHeight(2 * self._words.fontMetrics().lineSpacing())
        self._words.setAlignment(Qt.AlignmentFlag.AlignTop)
        legend = quiet_label(look.QUIET, self)
        legend.setText(_(_LEGEND))
        layout = QVBoxLayout(self)
        layout.addWidget(self.neck, 1)
        layout.addWidget(self._words)
        layout.addWidget(legend)
        self.neck.chosen.connect(self._take)
        self.neck.pointed.connect(self._say)
        for signal in (desk.note_changed, desk.plan_changed, desk.part_changed):
            signal.connect(self._refresh)
        self._refresh()

    @property
    def words(self) -> str:
        """What stands under the board."""
        return self._words.text()

    def showEvent(self, event: QShowEvent) -> None:
        """Catch up with what changed while it was out of sight."""
        super().showEvent(event)
        self._refresh()

    def _take(self, placement: Placement) -> None:
        self.chosen.emit(placement)

    def _refresh(self) -> None:
        if self.isVisible():
            self.neck.show_note(self._desk.plan, self._desk.note_id)

    def _say(self) -> None:
        plan, note = self._desk.plan, self._desk.note
        if note is None or plan is None:
            self._words.setText(_(_NOTHING) if self._desk.part is not None else "")
        elif not self.neck.places:
            self._words.setText(plan.problems.get(note.id, ""))
        else:
            self._words.setText(self.neck.words)
