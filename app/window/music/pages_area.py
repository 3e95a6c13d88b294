"""Pages below each other to scroll and to zoom: what the music on the desk and what will be printed have in common."""

from __future__ import annotations

import enum
from bisect import bisect_right
from collections.abc import Sequence
from itertools import accumulate

from PySide6.QtCore import QEvent, QPointF, QRectF, Qt
from PySide6.QtGui import QNativeGestureEvent, QResizeEvent, QWheelEvent
from PySide6.QtWidgets import QAbstractScrollArea, QGestureEvent, QPinchGesture, QWidget

_GAP_MM = 6.0
_LEAST, _MOST = 1.2, 16.0  # zoom, in pixels a millimetre
_STEP = 1.15


class Fit(enum.Enum):
    """What a page is as large as, whatever the size of the window."""

    WIDTH = enum.auto()
    WHOLE = enum.auto()
    NOTHING = enum.auto()


class PagesArea(QAbstractScrollArea):
    """Where pages of some sizes lie in the view. Whoever inherits it paints them."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._sizes: tuple[tuple[float, float], ...] = ()
        self._tops: tuple[float, ...] = ()
        self._scale = 3.2
        self._fits = Fit.WIDTH
        # Beside the bar pages that fit the width are smaller: if it were there only when needed, it might come and go.
        self.setVerticalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOn)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        self.setFrameShape(QAbstractScrollArea.Shape.NoFrame)
        self.viewport().grabGesture(Qt.GestureType.PinchGesture)
        # All of it is painted, pages and the ground around them: so what is in view already can be moved on as it is.
        self.viewport().setAttribute(Qt.WidgetAttribute.WA_OpaquePaintEvent)

    @property
    def scale(self) -> float:
        """The zoom, in pixels a millimetre."""
        return self._scale

    def lay_pages(self, sizes: Sequence[tuple[float, float]]) -> None:
        """Have pages of these widths and heights, in mm."""
        self._sizes = tuple(sizes)
        self._tops = tuple(accumulate((height + _GAP_MM for _, height in sizes), initial=_GAP_MM))[:-1]
        self._set_ranges()
        self._fit()
        self.viewport().update()

    def zoom(self, steps: int) -> None:
        """Show the pages larger (above 0) or smaller, keeping the middle of the view where it is."""
        self._fits = Fit.NOTHING
        self._rescale(self._scale * _STEP**steps, QPointF(self.viewport().rect().center()))

    def fit_width(self) -> None:
        """Show a page as wide as the view, and keep it so."""
        self._fits = Fit.WIDTH
        self._fit()

    def fit_page(self) -> None:
        """Show the whole of a page, and keep it so."""
        self._fits = Fit.WHOLE
        self._fit()

    def pages_in(self, area: QRectF) -> range:
        """The pages that lie at least in part between the upper and lower edge of an area of the view."""
        above = self.verticalScrollBar().value()
        first = bisect_right(self._tops, (area.top() + above) / self._scale) - 1
        last = bisect_right(self._tops, (area.bottom() + above) / self._scale)
        return range(max(first, 0), last)

    def page_area(self, number: int) -> QRectF:
        """Where a page lies in the view, in pixels."""
        top = self._tops[number]
        width, height = (length * self._scale for length in self._sizes[number])
        left = max(0.0, (self.viewport().width() - width) / 2)
        return QRectF(
            left - self.horizontalScrollBar().value(),
            top * self._scale - self.verticalScrollBar().value(),
            width,
            height,
        )

    def _fit(self) -> None:
        if self._fits is Fit.NOTHING or not self._sizes:
            return
        scale = (self.viewport().width() - 2 * _GAP_MM) / max(width for width, _ in self._sizes)
        if self._fits is Fit.WHOLE:
            scale = min(scale, self.viewport().height() / (max(height for _, height in self._sizes) + 2 * _GAP_MM))
        self._rescale(scale, QPointF(0, 0))

    def _rescale(self, scale: float, fixed: QPointF) -> None:
        scale = min(max(scale, _LEAST), _MOST)
        x = (self.horizontalScrollBar().value() + fixed.x()) / self._scale
        y = (self.verticalScrollBar().value() + fixed.y()) / self._scale
        self._scale = scale
        self._set_ranges()
        self.horizontalScrollBar().setValue(round(x * scale - fixed.x()))
        self.verticalScrollBar().setValue(round(y * scale - fixed.y()))
        self.viewport().update()

    def _set_ranges(self) -> None:
        area = self.viewport().size()
        width = max((width for width, _ in self._sizes), default=0.0) * self._scale
        height = sum(height + _GAP_MM for _, height in self._sizes) + _GAP_MM
        for bar, size, room in (
            (self.horizontalScrollBar(), width, area.width()),
            (self.verticalScrollBar(), height * self._scale, area.height()),
        ):
            bar.setRange(0, max(0, round(size - room)))
            bar.setPageStep(room)
            bar.setSingleStep(round(12 * self._scale))
        if self._fits is Fit.WHOLE and self._sizes:
            page = max(height for _, height in self._sizes) + _GAP_MM
            self.verticalScrollBar().setPageStep(round(page * self._scale))

    def viewportEvent(self, event: QEvent) -> bool:
        """Zoom around two fingers that pinch, on a pad or on the screen."""
        if isinstance(event, QNativeGestureEvent) and event.gestureType() == Qt.NativeGestureType.ZoomNativeGesture:
            self._pinch(1 + event.value(), event.position())
            return True
        if isinstance(event, QGestureEvent):
            pinch = event.gesture(Qt.GestureType.PinchGesture)
            if isinstance(pinch, QPinchGesture):
                self._pinch(pinch.scaleFactor(), QPointF(self.viewport().mapFromGlobal(pinch.centerPoint().toPoint())))
                return True
        return super().viewportEvent(event)

    def _pinch(self, times: float, around: QPointF) -> None:
        self._fits = Fit.NOTHING
        self._rescale(self._scale * times, around)

    def scrollContentsBy(self, dx: int, dy: int) -> None:
        """Move on what is in view, and paint what comes into it."""
        self.viewport().scroll(dx, dy)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Keep the pages as large as the view lets them be, if they were."""
        super().resizeEvent(event)
        self._set_ranges()
        self._fit()

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Scroll; with the control key, zoom around the pointer."""
        if event.modifiers() & Qt.KeyboardModifier.ControlModifier and event.angleDelta().y():
            self._fits = Fit.NOTHING
            self._rescale(self._scale * _STEP ** (event.angleDelta().y() / 120), event.position())
            event.accept()
        else:
            super().wheelEvent(event)
