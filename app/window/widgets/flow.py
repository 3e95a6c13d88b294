"""How widgets follow each other: the tab key, rows that go on in the next line, columns that scroll."""

from __future__ import annotations

from itertools import pairwise

from PySide6.QtCore import QEvent, QObject, QPoint, QRect, QSize, Qt
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QFrame, QLayout, QLayoutItem, QScrollArea, QSizePolicy, QWidget


def order_focus(*widgets: QWidget) -> None:
    """Have the tab key go from widget to widget in this order."""
    for one, other in pairwise(widgets):
        QWidget.setTabOrder(one, other)


class FlowLayout(QLayout):
    """Widgets beside each other, in as many lines as they need; in each line those that can grow share what is left."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._items: list[QLayoutItem] = []
        self._heights: dict[int, int] = {}
        self.setContentsMargins(0, 0, 0, 0)

    def addItem(self, item: QLayoutItem) -> None:
        """Put an item at the end."""
        self._items.append(item)

    def count(self) -> int:
        """How many items there are."""
        return len(self._items)

    def itemAt(self, index: int) -> QLayoutItem | None:
        """An item, ``None`` beyond the last."""
        return self._items[index] if 0 <= index < len(self._items) else None

    def takeAt(self, index: int) -> QLayoutItem | None:
        """Take an item out."""
        return self._items.pop(index) if 0 <= index < len(self._items) else None

    def expandingDirections(self) -> Qt.Orientation:
        """It takes all the width there is."""
        return Qt.Orientation.Horizontal

    def hasHeightForWidth(self) -> bool:
        """The narrower, the more lines."""
        return True

    def heightForWidth(self, width: int) -> int:
        """The height of the lines at that width."""
        if width not in self._heights:
            self._heights[width] = self._place(QRect(0, 0, width, 0), move=False)
        return self._heights[width]

    def invalidate(self) -> None:
        """Forget what was reckoned: something in it is another, or of another size."""
        self._heights.clear()
        super().invalidate()

    def sizeHint(self) -> QSize:
        """All in one line."""
        shown = [item.sizeHint() for item in self._shown]
        wide = sum(size.width() for size in shown) + self.spacing() * max(len(shown) - 1, 0)
        return self._with_margins(QSize(wide, max((size.height() for size in shown), default=0)))

    def minimumSize(self) -> QSize:
        """As wide as the widest, in one line."""
        sizes = [item.minimumSize() for item in self._shown]
        wide = max((size.width() for size in sizes), default=0)
        return self._with_margins(QSize(wide, max((size.height() for size in sizes), default=0)))

    def setGeometry(self, rect: QRect) -> None:
        """Put every item at its place."""
        super().setGeometry(rect)
        self._place(rect, move=True)

    @property
    def _shown(self) -> list[QLayoutItem]:
        return [item for item in self._items if not item.isEmpty()]

    def _with_margins(self, size: QSize) -> QSize:
        margins = self.contentsMargins()
        return size + QSize(margins.left() + margins.right(), margins.top() + margins.bottom())

    def _place(self, rect: QRect, *, move: bool) -> int:
        """Put the items into ``rect`` from above, or only reckon; returns the height they take."""
        area = rect.marginsRemoved(self.contentsMargins())
        y = area.y()
        for line in self._lines(area.width()):
            high = max(item.sizeHint().height() for item in line)
            if move:
                self._place_line(line, QRect(area.x(), y, area.width(), high))
            y += high + self.spacing()
        return y - self.spacing() - area.y() + self._with_margins(QSize(0, 0)).height() if self._shown else 0

    def _lines(self, width: int) -> list[list[QLayoutItem]]:
        lines: list[list[QLayoutItem]] = []
        left = 0
        for item in self._shown:
            wide = item.sizeHint().width()
            if lines and wide <= left:
                lines[-1].append(item)
            else:
                lines.append([item])
                left = width
            left -= wide + self.spacing()
        return lines

    def _place_line(self, line: list[QLayoutItem], area: QRect) -> None:
        sizes = [item.sizeHint() for item in line]
        growing = [bool(item.expandingDirections() & Qt.Orientation.Horizontal) for item in line]
        spare = area.width() - sum(size.width() for size in sizes) - self.spacing() * (len(line) - 1)
        share = max(spare, 0) // growing.count(True) if any(growing) else 0
        x = area.x()
        for item, size, grows in zip(line, sizes, growing, strict=True):
            wide = min(size.width() + share * grows, area.width())
            middle = area.y() + (area.height() - size.height()) // 2
            left_to_right = QRect(QPoint(x, middle), QSize(wide, size.height()))
            item.setGeometry(left_to_right)
            x += wide + self.spacing()


class Panel(QWidget):
    """A widget whose least height is what its sentences and rows need in the width that it has."""

    def minimumSizeHint(self) -> QSize:
        """No lower than all that wraps in it."""
        least, layout = super().minimumSizeHint(), self.layout()
        if layout is not None and layout.hasHeightForWidth():
            least.setHeight(max(least.height(), layout.totalMinimumHeightForWidth(self.width())))
        return least

    def resizeEvent(self, event: QResizeEvent) -> None:
        """In another width it may need another height."""
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self.updateGeometry()


class Column(QScrollArea):
    """A column as wide as what lies in it needs, and no narrower than ``least`` pixels; it scrolls where it is low."""

    def __init__(self, inside: QWidget, least: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._inside, self._least = inside, least
        self._scrolled = False
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Expanding)
        self.setWidget(inside)
        self.verticalScrollBar().rangeChanged.connect(self._make_room)

    def minimumSizeHint(self) -> QSize:
        """As wide as what lies in it, and its scroll bar where it has had to scroll; as low as may be."""
        bar = self.verticalScrollBar().sizeHint().width() if self._scrolled else 0
        return QSize(max(self._inside.minimumSizeHint().width() + bar, self._least), 0)

    def _make_room(self, least: int, most: int) -> None:
        if most > 0 and not self._scrolled:
            self._scrolled = True
            self.updateGeometry()

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Be another width when what lies in it needs that."""
        if event.type() == QEvent.Type.LayoutRequest:
            self.updateGeometry()
        return super().eventFilter(watched, event)
