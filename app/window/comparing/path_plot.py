"""The way of the hand through a passage as a small plot: time across, the distance from the nut upwards."""

from __future__ import annotations

import itertools
from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QSizePolicy, QWidget

from analysis.fingering.position_words import short_position
from analysis.instruments import Instrument
from analysis.language import _, later
from analysis.music import Part
from app.job.fingerboard.hand_path import Stop
from app.job.words.names import position_mark
from app.window.style import look

# Round the plot, and its height, in pixels; more where letters are larger.
_LEFT, _RIGHT, _TOP, _BOTTOM = 52, 96, 12, 18
_PLOT = 66
_HAND = QColor(214, 164, 60, 70)
# How a line is drawn for each string from the highest on, also where it is short: thin, thick, double, dotted, hollow.
# The string's letter stands over it wherever the string changes.
_THIN, _THICK, _APART = 1.6, 4.2, 2.2
_TIP = later("How far from the nut each note is stopped. Its line tells the string, the ground where the hand lies.")
_LETTER_GAP = 13.0


class PathPlot(QWidget):
    """One way's path. ``furthest_mm``: the top of the scale, the same for all ways that are compared."""

    def __init__(
        self,
        path: Sequence[Stop],
        part: Part,
        measures: tuple[int, int],
        instrument: Instrument,
        furthest_mm: float,
        parent: QWidget | None = None,
    ) -> None:
        super().__init__(parent)
        self._path, self._instrument = tuple(path), instrument
        self._measures = part.measures[measures[0] : measures[1] + 1]
        self._span = float(self._measures[0].onset), float(self._measures[-1].onset + self._measures[-1].length)
        self._furthest = max(furthest_mm, 1.0)
        letters = look.plot_metrics(self)
        self._left = max(_LEFT, letters.horizontalAdvance(_distance(8888)) + 8)
        self._right = max(_RIGHT, *(letters.horizontalAdvance(position_mark(stop.hand)) + 8 for stop in path or ()), 0)
        self._line = letters.height()
        self._bottom = max(_BOTTOM, self._line + 4)
        self._high = _PLOT + _TOP + self._bottom
        self.setFixedHeight(self._high)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setAccessibleName(_("The way of the hand over the fingerboard"))
        self.setAccessibleDescription(self.words)
        self.setToolTip(_(_TIP))

    @property
    def words(self) -> str:
        """The positions of the hand one after another."""
        hands = [
            short_position(hand) for hand, stops in itertools.groupby(stop.hand for stop in self._path if stop.stop_mm)
        ]
        return _("Positions: {names}").format(names=", ".join(hands)) if hands else _("Only open strings")

    def sizeHint(self) -> QSize:
        """As wide as the music, and low."""
        return QSize(680, self._high)

    def across(self, onset: float) -> float:
        """Where a moment of the passage lies across."""
        low, high = self._span
        return self._left + (self.width() - self._left - self._right) * (float(onset) - low) / (high - low)

    def height_of(self, mm: float) -> float:
        """How high a distance from the nut lies: the bridge is above, as the sound rises."""
        return self.height() - self._bottom - (self.height() - _TOP - self._bottom) * mm / self._furthest

    def paintEvent(self, event: QPaintEvent) -> None:
        """Bars and scale, the hand, and the notes over it."""
        painter = look.plot_painter(self)
        self._paint_bars(painter)
        self._paint_scale(painter)
        self._paint_hand(painter)
        self._paint_notes(painter)

    def _paint_bars(self, painter: QPainter) -> None:
        top, bottom = self.height_of(self._furthest), self.height_of(0)
        ends = [*(float(measure.onset) for measure in self._measures), self._span[1]]
        painter.setPen(QPen(look.LINE, 1))
        for end in ends:
            painter.drawLine(QPointF(self.across(end), top), QPointF(self.across(end), bottom))
        painter.setPen(look.QUIET_INK)
        for measure, (start, end) in zip(self._measures, itertools.pairwise(ends), strict=True):
            area = QRectF(self.across(start), bottom + 2, self.across(end) - self.across(start), self._bottom - 3)
            if painter.fontMetrics().horizontalAdvance(measure.label) < area.width():
                painter.drawText(area, Qt.AlignmentFlag.AlignHCenter | Qt.AlignmentFlag.AlignTop, measure.label)

    def _paint_scale(self, painter: QPainter) -> None:
        """The nut, and the distance of the furthest note."""
        painter.setPen(QPen(look.QUIET_INK, 1))
        painter.drawLine(QPointF(self._left, self.height_of(0)), QPointF(self.width() - self._right, self.height_of(0)))
        right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
        for mm, words in ((0.0, _("nut")), (self._furthest, _distance(self._furthest))):
            painter.drawText(
                QRectF(0, max(self.height_of(mm) - self._line / 2, 0), self._left - 5, self._line), right, words
            )

    def _paint_hand(self, painter: QPainter) -> None:
        """A ground where the hand lies, from the first finger up to the furthest note in it; its name beside."""
        named: list[float] = []
        for (hand_mm, name), group in itertools.groupby(self._path, key=lambda stop: (stop.hand_mm, stop.hand)):
            stops = list(group)
            top = max(max(stop.stop_mm for stop in stops), hand_mm)
            left, right = self.across(float(stops[0].onset)), self.across(float(max(stop.end for stop in stops)))
            low = self.height_of(hand_mm)
            painter.fillRect(QRectF(left, self.height_of(top) - 3, right - left, low - self.height_of(top) + 6), _HAND)
            painter.setPen(QPen(look.PASSAGE_EDGE, 1))
            painter.drawLine(QPointF(left, low + 3), QPointF(right, low + 3))
            if all(abs(other - low) > 0.8 * self._line for other in named):
                named.append(low)
                painter.drawText(QPointF(self.width() - self._right + 4, low + 5), position_mark(name))

    def _paint_notes(self, painter: QPainter) -> None:
        strings = [stop.string for stop in self._path]
        lettered = -_LETTER_GAP
        for number, stop in enumerate(self._path):
            left, right = self.across(float(stop.onset)) + 1, self.across(float(stop.end)) - 1
            y = self.height_of(stop.stop_mm)
            _paint_line(painter, stop.string, left, max(right, left + 2), y)
            if (number == 0 or strings[number - 1] != stop.string) and left - lettered >= _LETTER_GAP:
                lettered = left
                painter.setPen(look.INK)
                painter.drawText(QPointF(left, y - 4), self._instrument.string(stop.string).letter)


def _distance(mm: float) -> str:
    return f"{mm:.0f} mm"


def _paint_line(painter: QPainter, string: int, left: float, right: float, y: float) -> None:
    """One note in the style of its string."""
    pen = QPen(look.INK, _THICK if string == 2 else _THIN)
    pen.setCapStyle(Qt.PenCapStyle.FlatCap)
    if string == 4:
        pen.setWidthF(_APART)
        pen.setDashPattern([1.0, 1.0])
    painter.setPen(pen)
    painter.setBrush(Qt.BrushStyle.NoBrush)
    if string == 5:
        painter.drawRect(QRectF(left, y - _APART, right - left, 2 * _APART))
        return
    for off in (-_APART, _APART) if string == 3 else (0.0,):
        painter.drawLine(QPointF(left, y + off), QPointF(right, y + off))
