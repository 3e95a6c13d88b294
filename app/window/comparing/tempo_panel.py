"""The tempo of a passage that is compared: a slider, and what each way costs from slow to fast."""

from __future__ import annotations

from PySide6.QtCore import QPointF, QRectF, QSize, Qt, QTimer, Signal
from PySide6.QtGui import QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QHBoxLayout, QLabel, QPushButton, QSizePolicy, QSlider, QStyle, QVBoxLayout, QWidget

from analysis.language import _
from app.job.comparing.tempo_scan import FASTEST, SLOWEST, TempoScan
from app.window.style import look
from app.window.widgets.labels import quiet_label

_LEFT, _RIGHT, _TOP, _BOTTOM = 34, 44, 8, 18
_DASHES: tuple[list[float], ...] = ([], [5.0, 2.0], [1.2, 1.4], [6.0, 1.6, 1.2, 1.6])
_INKS = (look.ACCENT, look.OWN_INK, look.INK, look.PASSAGE_EDGE)
_LEAST_APART = 12.0
_WAIT_MS = 250
_EVERY = 40


class TempoPlot(QWidget):
    """The effort of each way by tempo: a line style and a number for each, crossings as open dots."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.scan: TempoScan | None = None
        self._tempo = 0.0
        letters = look.plot_metrics(self)
        self._line = letters.height()
        self._left = max(_LEFT, letters.horizontalAdvance("888") + 8)
        self._right = max(_RIGHT, letters.horizontalAdvance("1234") + 8)
        self._bottom = max(_BOTTOM, self._line + 4)
        self._digit = letters.horizontalAdvance("8") + 3
        self.setMinimumHeight(112 + self._bottom)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Expanding)
        self.setAccessibleName(_("Effort of each way by tempo"))

    @property
    def left(self) -> int:
        """The pixels left of the slowest tempo."""
        return self._left

    @property
    def right(self) -> int:
        """The pixels right of the fastest tempo."""
        return self._right

    def sizeHint(self) -> QSize:
        """Wide and low."""
        return QSize(380, 150)

    def show_scan(self, scan: TempoScan | None) -> None:
        """Show other efforts, or none."""
        self.scan = scan
        self.setAccessibleDescription(" ".join(scan.sentences) if scan else "")
        self.update()

    def show_tempo(self, tempo: float) -> None:
        """Mark another tempo."""
        self._tempo = tempo
        self.update()

    def across(self, tempo: float) -> float:
        """Where a tempo lies across."""
        return self._left + (self.width() - self._left - self._right) * (tempo - SLOWEST) / (FASTEST - SLOWEST)

    def height_of(self, effort: float) -> float:
        """How high an effort lies; the scale begins at none."""
        most = max((max(efforts) for efforts in self.scan.efforts), default=1.0) if self.scan else 1.0
        return self.height() - self._bottom - (self.height() - _TOP - self._bottom) * effort / max(most, 1.0)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Scale, lines, crossings and the tempo in hand."""
        painter = look.plot_painter(self)
        self._paint_scale(painter)
        if self.scan is not None:
            self._paint_lines(painter, self.scan)
            self._paint_crossings(painter, self.scan)

    def _paint_scale(self, painter: QPainter) -> None:
        bottom = self.height() - self._bottom
        painter.setPen(QPen(look.LINE, 1))
        painter.drawLine(QPointF(self._left, bottom), QPointF(self.width() - self._right, bottom))
        painter.drawLine(QPointF(self._left, _TOP), QPointF(self._left, bottom))
        painter.setPen(look.QUIET_INK)
        for tempo in range(SLOWEST, FASTEST + 1, _EVERY):
            area = QRectF(self.across(tempo) - self._left, bottom + 2, 2 * self._left, self._bottom - 3)
            painter.drawText(area, Qt.AlignmentFlag.AlignCenter, str(tempo))
        if self.scan is not None:
            right = Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter
            most = max(max(efforts) for efforts in self.scan.efforts)
            for effort in (0.0, most):
                painter.drawText(
                    QRectF(0, max(self.height_of(effort) - self._line / 2, 0), self._left - 4, self._line),
                    right,
                    f"{effort:.0f}",
                )
        if SLOWEST <= self._tempo <= FASTEST:
            painter.setPen(QPen(look.PASSAGE_EDGE, 1, Qt.PenStyle.DashLine))
            painter.drawLine(QPointF(self.across(self._tempo), _TOP), QPointF(self.across(self._tempo), bottom))

    def _paint_lines(self, painter: QPainter, scan: TempoScan) -> None:
        named: list[float] = []
        for number, efforts in enumerate(scan.efforts):
            pen = QPen(_INKS[number], 2.0)
            if _DASHES[number]:
                pen.setDashPattern(_DASHES[number])
            painter.setPen(pen)
            points = [
                QPointF(self.across(t), self.height_of(effort)) for t, effort in zip(scan.tempi, efforts, strict=True)
            ]
            painter.drawPolyline(points)
            painter.setPen(_INKS[number])
            beside = sum(abs(points[-1].y() - other) < max(_LEAST_APART, 0.8 * self._line) for other in named)
            named.append(points[-1].y())
            painter.drawText(
                QPointF(points[-1].x() + 3 + self._digit * beside, max(points[-1].y() + 4, 0.8 * self._line)),
                str(number + 1),
            )

    def _paint_crossings(self, painter: QPainter, scan: TempoScan) -> None:
        painter.setPen(QPen(look.INK, 1.5))
        painter.setBrush(look.paper())
        for one in scan.crossings:
            height = self.height_of(scan.effort_at(one.after, one.tempo))
            painter.drawEllipse(QPointF(self.across(one.tempo), height), 4, 4)


class TempoPanel(QWidget):
    """Slider, plot and sentence. ``chosen``: the passage shall be taken at another tempo, ``None`` as it is printed."""

    chosen = Signal(object)

    def __init__(self, printed: float, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._printed = printed
        self._moved = False
        self.slider = QSlider(Qt.Orientation.Horizontal, self)
        self.slider.setRange(SLOWEST, FASTEST)
        self.slider.setPageStep(8)
        self.slider.setAccessibleName(_("Tempo in quarter notes a minute"))
        self.slider.setValue(round(printed))
        self.back = QPushButton(_("As printed"), self)
        self.plot = TempoPlot(self)
        self._value = QLabel(self)
        self._sentence = quiet_label(look.PLAIN, self)
        self._sentence.setAccessibleName(_("Which way costs less at which tempo"))
        # The ways are worked out when the slider rests.
        self._rest = QTimer(self)
        self._rest.setSingleShot(True)
        self._rest.setInterval(_WAIT_MS)
        self._rest.timeout.connect(lambda: self.chosen.emit(self.tempo))
        self.slider.valueChanged.connect(self._move)
        self.back.clicked.connect(self._go_back)
        self._lay_out()
        self._say()

    @property
    def tempo(self) -> float | None:
        """The tempo asked for; ``None``: as it is printed."""
        return float(self.slider.value()) if self._moved else None

    @property
    def sentence(self) -> str:
        """What is said under the plot."""
        return self._sentence.text()

    def show_scan(self, scan: TempoScan | None) -> None:
        """Show what the ways cost by tempo, or that it is being worked out."""
        self.plot.show_scan(scan)
        self._sentence.setText(" ".join(scan.sentences) if scan else "")

    def _lay_out(self) -> None:
        row = QHBoxLayout()
        label = QLabel(_("Tempo"), self)
        label.setBuddy(self.slider)
        for widget in (label, self._value):
            row.addWidget(widget)
        row.addStretch(1)
        row.addWidget(self.back)
        # The handle stands over the plot's line: both go from the slowest to the fastest tempo.
        half = self.style().pixelMetric(QStyle.PixelMetric.PM_SliderLength, None, self.slider) // 2
        over = QHBoxLayout()
        over.setContentsMargins(max(self.plot.left - half, 0), 0, max(self.plot.right - half, 0), 0)
        over.addWidget(self.slider)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addLayout(row)
        layout.addLayout(over)
        layout.addWidget(self.plot, 1)
        layout.addWidget(self._sentence)

    def _move(self) -> None:
        self._moved = True
        self._say()
        self._rest.start()

    def _go_back(self) -> None:
        self.slider.setValue(round(self._printed))
        self._rest.stop()
        self._moved = False
        self._say()
        self.chosen.emit(None)

    def _say(self) -> None:
        tempo = self.tempo or self._printed
        self._value.setText(_("quarter = {tempo:.0f}").format(tempo=tempo))
        self.back.setEnabled(self._moved)
        self.plot.show_tempo(tempo)
