"""Weigh ways of playing a passage: each engraved with its own digits, one above the other, and a table beside them."""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QPainter, QPaintEvent
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QDialog,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QScrollArea,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from analysis.fingering.plan import Plan
from analysis.fingering.rules.files import PRESETS, preset
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.ticking import Tick
from app.job.comparing import Weighed, comparison_rows, weigh
from app.window import look
from app.window.desk import Desk
from app.window.sheets import Sheets
from engraving.engraver import EngravedPage, engrave
from engraving.extract import part_for_engraving
from engraving.layout import Layout

_STRIP_MM = 170.0
_MOST_WAYS = 4
_FIRST_CHOICE = ("first", "third")


class Strip(QWidget):
    """One way's music, as wide as the window lets it."""

    def __init__(self, pages: Sequence[EngravedPage], plan: Plan, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._sheets = Sheets(pages)
        self._sheets.show_plan(plan)
        self.setMinimumHeight(self.heightForWidth(520))
        policy = self.sizePolicy()
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)
        self.setAccessibleName("The passage with this way's fingers")

    @property
    def sheets(self) -> Sheets:
        """The engraved passage with its digits."""
        return self._sheets

    def sizeHint(self) -> QSize:
        """At a comfortable size."""
        return QSize(680, self.heightForWidth(680))

    def hasHeightForWidth(self) -> bool:
        """Music keeps its shape."""
        return True

    def heightForWidth(self, width: int) -> int:
        """The height of all its pages at that width."""
        return round(sum(page.height_mm for page in self._sheets.pages) * width / _STRIP_MM)

    def paintEvent(self, event: QPaintEvent) -> None:
        """The music on white."""
        painter = QPainter(self)
        painter.fillRect(self.rect(), look.PAPER)
        scale = min(self.width() / _STRIP_MM, self.height() / sum(page.height_mm for page in self._sheets.pages))
        for number, page in enumerate(self._sheets.pages):
            self._sheets.paint_picture(painter, number, scale, self.devicePixelRatioF())
            painter.save()
            painter.scale(scale, scale)
            self._sheets.paint_digits(painter, number)
            painter.restore()
            painter.translate(0, page.height_mm * scale)


class CompareWindow(QDialog):
    """The comparison of one passage. ``way_used``: the teacher takes one over."""

    way_used = Signal(object, object)

    def __init__(self, desk: Desk, passage: tuple[int, int], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._passage = passage
        self._pages: tuple[EngravedPage, ...] = ()
        self.ways: tuple[Weighed, ...] = ()
        self.use_buttons: list[QPushButton] = []
        self.choosers: list[QComboBox] = []
        part = desk.part
        self._title = f"{part.name}, {part.span(passage)}" if part else ""
        self.setWindowTitle(f"Compare: {self._title}")
        self.resize(1120, 680)
        self._strips = QVBoxLayout()
        self.table = QTableWidget(self)
        self._lay_out()
        for name in _FIRST_CHOICE:
            self._add_chooser(preset(name))
        self._engrave()

    def _lay_out(self) -> None:
        choosing = QHBoxLayout()
        choosing.addWidget(QLabel("Rules to weigh:", self))
        self._chooser_row = QHBoxLayout()
        choosing.addLayout(self._chooser_row)
        self._more = QPushButton("One more", self)
        self._more.clicked.connect(lambda: self._add_chooser(preset("whole-board"), again=True))
        choosing.addWidget(self._more)
        choosing.addStretch(1)
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.NoSelection)
        self.table.setAccessibleName("What each way asks of the hand and the bow")
        self.table.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.table.setMinimumWidth(380)
        music = QWidget(self)
        music.setLayout(self._strips)
        scroll = QScrollArea(self)
        scroll.setWidgetResizable(True)
        scroll.setWidget(music)
        body = QHBoxLayout()
        body.addWidget(scroll, 3)
        body.addWidget(self.table, 2)
        layout = QVBoxLayout(self)
        layout.addWidget(QLabel(f"<b>{self._title}</b>", self))
        layout.addLayout(choosing)
        layout.addLayout(body, 1)

    def _add_chooser(self, chosen: HouseRules, *, again: bool = False) -> None:
        chooser = QComboBox(self)
        own = self._desk.part_work.rules if self._desk.part_work else chosen
        every = [preset(name) for name in PRESETS]
        for rules in every if own in every else [*every, own]:
            chooser.addItem(rules.title, rules)
        chooser.setCurrentIndex(max(0, chooser.findText(chosen.title)))
        chooser.setAccessibleName(f"Rules of way {len(self.choosers) + 1}")
        chooser.activated.connect(self.weigh)
        self.choosers.append(chooser)
        self._chooser_row.addWidget(chooser)
        self._more.setEnabled(len(self.choosers) < _MOST_WAYS)
        if again:
            self.weigh()

    def _engrave(self) -> None:
        desk = self._desk
        if desk.score is None or desk.part is None:
            return
        document, part = desk.score.document, desk.part
        desk.tasks.run(
            f"Engraving {self._title}",
            lambda tick: part_for_engraving(document, part.id),
            self._engrave_text,
            self._failed,
        )

    def _engrave_text(self, text: str) -> None:
        arguments = (text, Layout.excerpt(_STRIP_MM, staff_mm=6.5), self._passage)
        self._desk.tasks.run_apart(f"Engraving {self._title}", engrave, arguments, self._engraved, self._failed)

    def _engraved(self, pages: tuple[EngravedPage, ...]) -> None:
        self._pages = pages
        self.weigh()

    def weigh(self) -> None:
        """Work out the passage under each of the rules chosen."""
        part, work = self._desk.part, self._desk.part_work
        if part is None or work is None or work.instrument is None or not self._pages:
            return
        passage = self._passage
        every = [chooser.currentData() for chooser in self.choosers]

        def work_out(tick: Tick) -> tuple[Weighed, ...]:
            return weigh(part, work, passage, every, tick)

        self._desk.tasks.run(f"Weighing {self._title}", work_out, self._weighed, self._failed)

    def _weighed(self, ways: tuple[Weighed, ...]) -> None:
        self.ways = ways
        self.use_buttons = []
        while (item := self._strips.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.deleteLater()
        for way in ways:
            self._strips.addWidget(self._way_widget(way))
        self._strips.addStretch(1)
        self._fill_table()

    def _way_widget(self, way: Weighed) -> QWidget:
        widget = QWidget(self)
        head = QHBoxLayout()
        head.addWidget(QLabel(f"<b>{way.rules.title}</b>, effort {way.counts.effort:.1f}", widget))
        head.addStretch(1)
        button = QPushButton("Use this one", widget)
        button.setAccessibleName(f"Use {way.rules.title}")
        button.clicked.connect(lambda: self._use(way))
        self.use_buttons.append(button)
        head.addWidget(button)
        layout = QVBoxLayout(widget)
        layout.addLayout(head)
        layout.addWidget(Strip(self._pages, way.plan, widget))
        return widget

    def _fill_table(self) -> None:
        rows = comparison_rows(self.ways)
        self.table.setRowCount(len(rows))
        self.table.setColumnCount(len(self.ways))
        self.table.setHorizontalHeaderLabels([way.rules.title for way in self.ways])
        self.table.setVerticalHeaderLabels([name for name, _ in rows])
        for row, (_, values) in enumerate(rows):
            for column, value in enumerate(values):
                cell = QTableWidgetItem(value)
                cell.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
                font = cell.font()
                font.setBold(len(set(values)) > 1)
                cell.setFont(font)
                self.table.setItem(row, column, cell)
        self.table.horizontalHeader().setSectionResizeMode(QHeaderView.ResizeMode.Stretch)

    def _use(self, way: Weighed) -> None:
        self.way_used.emit(way, self._passage)
        self.accept()

    def _failed(self, error: Exception) -> None:
        self._desk.failed.emit(str(error))
