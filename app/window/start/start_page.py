"""What the middle of the window shows while nothing is open: how to begin, and the files opened last."""

from __future__ import annotations

import stat
from datetime import datetime
from pathlib import Path

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent, QMouseEvent, QPainter, QPaintEvent, QPalette, QPixmap
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QLabel,
    QPushButton,
    QScrollArea,
    QStyle,
    QStyleOptionFocusRect,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from analysis.language import _
from app.job.files.recent import PICTURE_HEIGHT, PICTURE_WIDTH, RecentFile
from app.window.keys import FILES, pressed
from app.window.start.recents import Recents
from app.window.style import look
from app.window.style.tongue import date_words
from app.window.widgets.labels import heading, quiet_label
from engraving.filebytes import mode_of

_PICTURE = QSize(PICTURE_WIDTH // 2, PICTURE_HEIGHT // 2)
_MOST_WIDE = 660


class StartPage(QScrollArea):
    """How to begin. ``open_wanted``: a score, to be asked for; ``example_wanted``; ``file_wanted``: that file."""

    open_wanted = Signal()
    example_wanted = Signal()
    file_wanted = Signal(Path)

    def __init__(self, recents: Recents, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._recents = recents
        self.rows: list[RecentRow] = []
        self.setWidgetResizable(True)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setAccessibleName(_("Start"))
        page = QWidget(self)
        middle = QWidget(page)
        middle.setMaximumWidth(_MOST_WIDE)
        self._column = QVBoxLayout(middle)
        self._column.setSpacing(10)
        self._column.addWidget(heading(_("Open a score to begin"), middle))
        says = quiet_label(look.QUIET, middle)
        says.setText(_("MusicXML, MIDI, ABC, Humdrum or MEI; or drop a file on this window."))
        self._column.addWidget(says)
        self._column.addLayout(self._buttons(middle))
        self._recently = heading(_("Opened last"), middle)
        self._recently.setContentsMargins(0, 14, 0, 0)
        self._column.addWidget(self._recently)
        self._column.addStretch(1)
        across = QHBoxLayout(page)
        across.setContentsMargins(24, 36, 24, 24)
        across.addStretch(1)
        across.addWidget(middle, 1000)
        across.addStretch(1)
        self.setWidget(page)
        recents.changed.connect(self._refill_if_seen)
        self._refill()

    def _buttons(self, parent: QWidget) -> QHBoxLayout:
        line = QHBoxLayout()
        self.open_button = QPushButton(_("Open a score…"), parent)
        self.open_button.clicked.connect(self.open_wanted)
        self.example_button = QPushButton(_("Open the example"), parent)
        self.example_button.clicked.connect(self.example_wanted)
        for button in (self.open_button, self.example_button):
            line.addWidget(button)
        line.addStretch(1)
        return line

    def _refill_if_seen(self) -> None:
        if not self.isHidden():
            self._refill()

    def _refill(self) -> None:
        for row in self.rows:
            self._column.removeWidget(row)
            row.hide()
            row.deleteLater()
        now = datetime.now()
        self.rows = [RecentRow(one, self._recents.picture_of(one.file), now, self) for one in self._recents.read()]
        for row in self.rows:
            self._column.insertWidget(self._column.count() - 1, row)
            row.wanted.connect(self.file_wanted)
            row.removed.connect(self._recents.remove)
        self._recently.setVisible(bool(self.rows))


class RecentRow(QFrame):
    """A file opened before. ``wanted``: open it; ``removed``: take it off the list."""

    wanted = Signal(Path)
    removed = Signal(Path)

    def __init__(self, recent: RecentFile, picture: Path | None, now: datetime, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.file = recent.file
        self.is_there = stat.S_ISREG(mode_of(recent.file))
        self.setAutoFillBackground(True)
        self.setBackgroundRole(QPalette.ColorRole.Base)
        self.setFrameShape(QFrame.Shape.StyledPanel)
        self.setToolTip(str(recent.file))
        self.name = _plain(recent.file.name, self)
        self.folder = FolderLabel(str(recent.file.parent), self)
        self.says = quiet_label(look.QUIET, self)
        self.image = QLabel(self)
        self.remove_button = QToolButton(self)
        self._lay_out(QPixmap(str(picture)) if picture is not None and picture.is_file() else QPixmap())
        when = moment_words(datetime.fromtimestamp(recent.opened), now)
        self._say(_("opened {when}").format(when=when) if self.is_there else _("not there any more"))

    def _lay_out(self, picture: QPixmap) -> None:
        line = QHBoxLayout(self)
        line.setContentsMargins(8, 6, 8, 6)
        line.setSpacing(12)
        self.image.setFixedSize(_PICTURE)
        self.image.setHidden(picture.isNull())
        if not picture.isNull():
            picture.setDevicePixelRatio(picture.width() / _PICTURE.width())
            self.image.setPixmap(picture)
            self.image.setEnabled(self.is_there)
        words = QVBoxLayout()
        words.setSpacing(2)
        words.addStretch(1)
        for label in (self.name, self.folder, self.says):
            words.addWidget(label)
        words.addStretch(1)
        line.addWidget(self.image)
        line.addLayout(words, 1)
        line.addWidget(self.remove_button)

    def _say(self, state: str) -> None:
        self.says.setText(state)
        self.remove_button.setText("×")
        self.remove_button.setAutoRaise(True)
        self.remove_button.setToolTip(_("Take it off this list"))
        self.remove_button.setAccessibleName(_("Take {name} off this list").format(name=self.file.name))
        self.remove_button.clicked.connect(lambda: self.removed.emit(self.file))
        self.setAccessibleName(f"{self.file.name}, {state}")
        self.name.setEnabled(self.is_there)
        if self.is_there:
            self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
            self.setCursor(Qt.CursorShape.PointingHandCursor)
            self.remove_button.setCursor(Qt.CursorShape.ArrowCursor)

    def mouseReleaseEvent(self, event: QMouseEvent) -> None:
        """Open the file, if the pointer is still on it."""
        on_it = self.rect().contains(event.position().toPoint())
        if self.is_there and on_it and event.button() == Qt.MouseButton.LeftButton:
            self.wanted.emit(self.file)

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Open the file by the keys that press buttons; the delete key takes it off the list."""
        match pressed(FILES, event):
            case "open", _ if self.is_there:
                self.wanted.emit(self.file)
            case "remove", _:
                self.removed.emit(self.file)
            case _:
                super().keyPressEvent(event)

    def paintEvent(self, event: QPaintEvent) -> None:
        """Show which row the keys act on."""
        super().paintEvent(event)
        if self.hasFocus():
            option = QStyleOptionFocusRect()
            option.initFrom(self)
            option.rect = self.rect().adjusted(2, 2, -2, -2)
            self.style().drawPrimitive(QStyle.PrimitiveElement.PE_FrameFocusRect, option, QPainter(self), self)


class FolderLabel(QLabel):
    """A path in one line; where it is too long, the folders that tell most are kept, which are the last."""

    def __init__(self, path: str, parent: QWidget | None = None) -> None:
        super().__init__(path, parent)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setMinimumWidth(40)

    def minimumSizeHint(self) -> QSize:
        """No wider than it has to be."""
        return QSize(40, super().minimumSizeHint().height())

    def paintEvent(self, event: QPaintEvent) -> None:
        """The end of the path that there is room for."""
        painter = QPainter(self)
        painter.setPen(self.palette().color(look.QUIET))
        words = self.fontMetrics().elidedText(self.text(), Qt.TextElideMode.ElideLeft, self.width())
        painter.drawText(self.rect(), Qt.AlignmentFlag.AlignVCenter, words)


def _plain(text: str, parent: QWidget) -> QLabel:
    label = QLabel(text, parent)
    label.setTextFormat(Qt.TextFormat.PlainText)
    label.setWordWrap(True)
    font = label.font()
    font.setBold(True)
    label.setFont(font)
    return label


def moment_words(then: datetime, now: datetime) -> str:
    """When that was: "at 14:05" today, "on 3 May" this year, "on 3 May 2025" before."""
    if then.date() == now.date():
        return _("at {time}").format(time=f"{then:%H:%M}")
    return _("on {date}").format(date=date_words(then, year=then.year != now.year))
