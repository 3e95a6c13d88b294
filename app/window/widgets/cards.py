"""Lists of short texts in two lines: what it is and an aside at the right; under them a sentence that wraps."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, TypeVar

from PySide6.QtCore import QAbstractListModel, QModelIndex, QPersistentModelIndex, QPoint, QRect, QSize, Qt
from PySide6.QtGui import QFont, QFontMetrics, QPainter, QResizeEvent
from PySide6.QtWidgets import QListView, QStyle, QStyledItemDelegate, QStyleOptionViewItem, QWidget

from app.window.style import look

# Under these roles a model gives what a row stands for, and its ``Card``.
ROW = Qt.ItemDataRole.UserRole
CARD = Qt.ItemDataRole.UserRole + 1
_PAD = 8
_BETWEEN = 2  # title and sentence
_BAR = 3
_LEAST_LINES = 5
_HEIGHTS_KEPT = 4000
_WRAP = int(Qt.TextFlag.TextWordWrap) | int(Qt.AlignmentFlag.AlignLeft)
_Index = QModelIndex | QPersistentModelIndex
_Row = TypeVar("_Row")


@dataclass(frozen=True, slots=True)
class Card:
    """What is shown of a row; ``strong`` sets its title in bold, ``faint`` all of it in quiet ink.

    ``share``: how long a bar under it is, in parts of its width; ``None`` for no bar.
    """

    title: str
    aside: str
    body: str
    strong: bool = False
    faint: bool = False
    share: float | None = None


class CardModel(QAbstractListModel, Generic[_Row]):
    """A list of values, a card each."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows: tuple[_Row, ...] = ()

    @property
    def rows(self) -> tuple[_Row, ...]:
        """What is shown, row by row."""
        return self._rows

    def rowCount(self, parent: _Index | None = None) -> int:
        """How many rows there are."""
        return 0 if parent is not None and parent.isValid() else len(self._rows)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """The row in words; what it stands for and its card under their roles."""
        if not index.isValid():
            return None
        if role == ROW:
            return self._rows[index.row()]
        if role == CARD:
            return self.card(index.row())
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return self.words(index.row())
        return None

    def card(self, row: int) -> Card:
        """The card of a row."""
        raise NotImplementedError  # each list has its own; Qt's metaclass leaves no room for that of abc.ABC

    def words(self, row: int) -> str:
        """All that a row says, as it is read aloud."""
        raise NotImplementedError  # as above


class CardList(QListView):
    """A list of cards, each as high as its sentence needs."""

    def __init__(self, name: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(name)
        self.setItemDelegate(_CardDelegate(self))
        self.setMouseTracking(True)
        self.setMinimumHeight(_LEAST_LINES * self.fontMetrics().lineSpacing())
        self.setResizeMode(QListView.ResizeMode.Adjust)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        self.setVerticalScrollMode(QListView.ScrollMode.ScrollPerPixel)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Lay the cards out again: in another width their sentences wrap otherwise. The chosen one stays in sight."""
        chosen = self.currentIndex()
        was_seen = QRect(QPoint(), event.oldSize()).intersects(self.visualRect(chosen))
        super().resizeEvent(event)
        self.scheduleDelayedItemsLayout()
        if was_seen:
            self.scrollTo(chosen)


class _CardDelegate(QStyledItemDelegate):
    """Draws a card."""

    def __init__(self, view: QListView) -> None:
        super().__init__(view)
        self._view = view
        # A list is laid out anew at every change, and most of its cards are as they were.
        self._heights: dict[tuple[Card, int, str], int] = {}

    def sizeHint(self, option: QStyleOptionViewItem, index: _Index) -> QSize:
        """High enough for the sentence to wrap, also when there are so many cards that a scroll bar takes its room."""
        card: Card = index.data(CARD)
        bar = self._view.verticalScrollBar().sizeHint().width()
        width = self._view.width() - 2 * self._view.frameWidth() - bar - 2 * _PAD
        key = card, width, option.font.key()
        if key not in self._heights:
            if len(self._heights) >= _HEIGHTS_KEPT:
                self._heights.clear()
            body = option.fontMetrics.boundingRect(QRect(0, 0, width, 1000), _WRAP, card.body)
            self._heights[key] = _title_area(card, option.font, width).height() + _BETWEEN + body.height() + 2 * _PAD
        return QSize(200, self._heights[key])

    def paint(self, painter: QPainter, option: QStyleOptionViewItem, index: _Index) -> None:
        """The title line, and the sentence below."""
        card: Card = index.data(CARD)
        painter.save()
        selected = bool(option.state & QStyle.StateFlag.State_Selected)
        if selected:
            painter.fillRect(option.rect, option.palette.highlight())
        elif option.state & QStyle.StateFlag.State_MouseOver:
            painter.fillRect(option.rect, option.palette.window())
        area = option.rect.adjusted(_PAD, _PAD, -_PAD, -_PAD)
        painter.setFont(_title_font(card, option.font))
        chosen_ink = option.palette.highlightedText().color()
        quiet_ink = chosen_ink if selected else option.palette.color(look.QUIET)
        painter.setPen(quiet_ink if selected or card.faint else option.palette.text().color())
        line = _title_area(card, option.font, area.width()).translated(area.topLeft())
        painter.drawText(line, _WRAP, card.title)
        painter.drawText(area, Qt.AlignmentFlag.AlignRight, card.aside)
        painter.setFont(option.font)
        painter.setPen(quiet_ink)
        painter.drawText(area.adjusted(0, line.height() + _BETWEEN, 0, 0), _WRAP, card.body)
        if card.share is not None:
            bar = QRect(area.x(), area.bottom() + _PAD - _BAR, round(area.width() * card.share), _BAR)
            painter.fillRect(bar, chosen_ink if selected else option.palette.color(look.CAUTION))
        painter.setPen(option.palette.color(look.HAIRLINE))
        painter.drawLine(option.rect.bottomLeft(), option.rect.bottomRight())
        painter.restore()


def _title_font(card: Card, font: QFont) -> QFont:
    strong = QFont(font)
    strong.setBold(card.strong)
    return strong


def _title_area(card: Card, font: QFont, width: int) -> QRect:
    """The room for the title beside the aside, in as many lines as it needs, in a card of that inner width."""
    metrics = QFontMetrics(_title_font(card, font))
    room = width - metrics.horizontalAdvance(card.aside) - _PAD
    return QRect(0, 0, room, metrics.boundingRect(QRect(0, 0, room, 1000), _WRAP, card.title).height() + 2)
