"""Weigh ways of playing a passage: each engraved with its own digits and the way of the hand, one above the other.

Beside them stand a table of what they ask of hand and bow, and what they cost from slow to fast.
"""

from __future__ import annotations

import textwrap
from collections.abc import Callable
from typing import TypeVar

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QFontMetrics
from PySide6.QtWidgets import (
    QAbstractItemView,
    QComboBox,
    QDialog,
    QHBoxLayout,
    QHeaderView,
    QLabel,
    QPushButton,
    QScrollArea,
    QSizePolicy,
    QTableWidget,
    QTableWidgetItem,
    QVBoxLayout,
    QWidget,
)

from analysis.fingering.rules.files import PRESETS, preset
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.ticking import Tick
from analysis.language import _
from analysis.wording import decimal
from app.job.comparing.tempo_scan import TempoScan, scan_tempi, tempo_of, weigh_at
from app.job.comparing.ways import Weighed, comparison_rows, difference_words, differing, other_strings, weigh
from app.job.fingerboard.hand_path import furthest_mm, hand_path
from app.job.words.names import rules_title
from app.window.background.tasks import Task
from app.window.comparing.path_plot import PathPlot
from app.window.comparing.tempo_panel import TempoPanel
from app.window.editing.desk import Desk
from app.window.music.strip import STRIP_MM, Strip
from app.window.widgets.flow import order_focus
from app.window.widgets.sizes import resize_on_screen
from engraving.engraver import EngravedPage, engrave
from engraving.extract import part_for_engraving
from engraving.layout import Layout

_V = TypeVar("_V")
_SIZE = QSize(1240, 740)
_MOST_WAYS = 4
_LEAST_TABLE = 380  # pixels
_FIRST_CHOICE, _NEXT_CHOICE = ("first", "third"), "whole-board"
_ROW_NAME = 22  # letters a line


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
        self.strips: list[Strip] = []
        self.plots: list[PathPlot] = []
        self.choosers: list[QComboBox] = []
        part = desk.part
        self._title = f"{part.name}, {part.span(passage)}" if part else ""
        self._under_way: Task | None = None
        self.setWindowTitle(_("Compare: {passage}").format(passage=self._title))
        resize_on_screen(self, _SIZE)
        self._strips = QVBoxLayout()
        self.table = QTableWidget(self)
        work = desk.part_work
        self.tempo = TempoPanel(tempo_of(part, passage, work) if part and work else 0.0, self)
        self.tempo.chosen.connect(self.weigh)
        self._lay_out()
        for name in _FIRST_CHOICE:
            self._add_chooser(preset(name))
        self._engrave()

    def _lay_out(self) -> None:
        choosing = QHBoxLayout()
        choosing.addWidget(QLabel(_("Rules to weigh:"), self))
        self._chooser_row = QHBoxLayout()
        choosing.addLayout(self._chooser_row)
        self._more = QPushButton(_("One more"), self)
        self._more.clicked.connect(self._add_another)
        choosing.addWidget(self._more)
        choosing.addStretch(1)
        self.table.setEditTriggers(QAbstractItemView.EditTrigger.NoEditTriggers)
        self.table.setSelectionMode(QAbstractItemView.SelectionMode.NoSelection)
        self.table.setAccessibleName(_("What each way asks of the hand and the bow"))
        self.table.verticalHeader().setSectionResizeMode(QHeaderView.ResizeMode.ResizeToContents)
        self.table.setMinimumWidth(_LEAST_TABLE)
        across = self.table.horizontalHeader()
        bold = self.font()
        bold.setBold(True)
        across.setMinimumSectionSize(QFontMetrics(bold).horizontalAdvance("88.8 (+88.8)") + 10)
        self.table.setWordWrap(False)
        self.table.setSizeAdjustPolicy(QAbstractItemView.SizeAdjustPolicy.AdjustToContents)
        self.table.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Maximum)
        music = QWidget(self)
        music.setLayout(self._strips)
        self._scroll = scroll = QScrollArea(self)
        scroll.setAccessibleName(_("The ways below each other"))
        scroll.setWidgetResizable(True)
        scroll.setWidget(music)
        body = QHBoxLayout()
        beside = QVBoxLayout()
        beside.addWidget(self.table)
        beside.addWidget(self.tempo, 1)
        body.addWidget(scroll, 3)
        body.addLayout(beside, 2)
        layout = QVBoxLayout(self)
        layout.addWidget(QLabel(f"<b>{self._title}</b>", self))
        layout.addLayout(choosing)
        layout.addLayout(body, 1)

    @property
    def _not_chosen(self) -> list[HouseRules]:
        """The rules that come with Handframe, and the part's own, of which no way is shown."""
        chosen = [chooser.currentData() for chooser in self.choosers]
        return [rules for rules in self._offered if rules not in chosen]

    @property
    def _offered(self) -> list[HouseRules]:
        every = [preset(name) for name in PRESETS]
        work = self._desk.part_work
        return every if work is None or work.rules in every else [*every, work.rules]

    def _add_another(self) -> None:
        """Weigh one way more, by rules that none has yet."""
        left = self._not_chosen
        if left:
            usual = preset(_NEXT_CHOICE)
            self._add_chooser(usual if usual in left else left[0], again=True)

    def _add_chooser(self, chosen: HouseRules, *, again: bool = False) -> None:
        chooser = QComboBox(self)
        offered = self._offered
        for rules in offered:
            chooser.addItem(rules_title(rules), rules)
        chooser.setCurrentIndex(offered.index(chosen))
        chooser.setAccessibleName(_("Rules of way {number}").format(number=len(self.choosers) + 1))
        chooser.activated.connect(self.weigh)
        self.choosers.append(chooser)
        self._chooser_row.addWidget(chooser)
        self._order_focus()
        self._more.setEnabled(len(self.choosers) < _MOST_WAYS and bool(self._not_chosen))
        if again:
            self.weigh()

    def _engrave(self) -> None:
        desk = self._desk
        if desk.score is None or desk.part is None:
            return
        document, part = desk.score.document, desk.part
        label = _("Engraving {name}").format(name=self._title)
        self._run(label, lambda tick: part_for_engraving(document, part.id), self._engrave_text)

    def _engrave_text(self, text: str) -> None:
        arguments = (text, Layout.excerpt(STRIP_MM, staff_mm=6.5), self._passage)
        self._under_way = self._desk.tasks.run_apart(
            _("Engraving {name}").format(name=self._title), engrave, arguments, self._engraved, self._failed
        )

    def _engraved(self, pages: tuple[EngravedPage, ...]) -> None:
        self._pages = pages
        self.weigh()

    def weigh(self) -> None:
        """Work out the passage under each of the rules chosen, at the tempo in hand."""
        part, work = self._desk.part, self._desk.part_work
        if part is None or work is None or work.instrument is None or not self._pages:
            return
        passage, tempo = self._passage, self.tempo.tempo
        every = [chooser.currentData() for chooser in self.choosers]

        def work_out(tick: Tick) -> tuple[Weighed, ...]:
            if tempo is None:
                return weigh(part, work, passage, every, tick)
            return weigh_at(part, work, passage, every, tempo, tick)

        def weighed(ways: tuple[Weighed, ...]) -> None:
            self._weighed(ways)
            self._run(
                _("Trying tempi for {passage}").format(passage=self._title),
                lambda tick: scan_tempi(part, work, passage, ways, tick=tick),
                self._scanned,
            )

        self.tempo.show_scan(None)
        self._run(_("Weighing {passage}").format(passage=self._title), work_out, weighed)

    def _run(self, label: str, work: Callable[[Tick], _V], done: Callable[[_V], None]) -> None:
        """Run work whose answer counts only until something else is asked for, or the window closes."""
        self._give_up()
        self._under_way = self._desk.tasks.run(label, work, done, self._failed)

    def _give_up(self) -> None:
        if self._under_way is not None:
            self._desk.tasks.drop(self._under_way)

    def done(self, result: int) -> None:
        """Close; what is still being worked out is wanted no more."""
        self._give_up()
        super().done(result)

    def _weighed(self, ways: tuple[Weighed, ...]) -> None:
        self.ways = ways
        self.use_buttons = []
        while (item := self._strips.takeAt(0)) is not None:
            widget = item.widget()
            if widget is not None:
                widget.deleteLater()
        paths = [hand_path(way.plan) for way in ways]
        furthest = furthest_mm(paths)
        self.strips = []
        self.plots = []
        for number, (way, path) in enumerate(zip(ways, paths, strict=True), start=1):
            part, instrument = way.plan.part, way.plan.setting.played_on
            self.strips.append(Strip(self._pages, way.plan, differing(ways), other_strings(ways, way), self))
            self.plots.append(PathPlot(path, part, self._passage, instrument, furthest, self))
            self._strips.addWidget(self._way_widget(number, way))
        self._strips.addStretch(1)
        self._fill_table()
        self._order_focus()

    def _order_focus(self) -> None:
        # Qt does not bring the very first widget behind the very last at once.
        order_focus(self.choosers[0], self.table)
        order_focus(
            *self.choosers, self._more, self._scroll, *self.use_buttons, self.table, self.tempo.slider, self.tempo.back
        )

    def _scanned(self, scan: TempoScan) -> None:
        self.tempo.show_scan(scan)

    def _way_widget(self, number: int, way: Weighed) -> QWidget:
        widget = QWidget(self)
        head = QHBoxLayout()
        title = rules_title(way.rules)
        effort = _("effort {effort}").format(effort=decimal(f"{way.counts.effort:.1f}"))
        head.addWidget(QLabel(f"<b>{number}: {title}</b>, {effort}", widget))
        head.addStretch(1)
        button = QPushButton(_("Use this one"), widget)
        button.setAccessibleName(_("Use {rules}").format(rules=title))
        button.clicked.connect(lambda: self._use(way))
        self.use_buttons.append(button)
        head.addWidget(button)
        layout = QVBoxLayout(widget)
        layout.addLayout(head)
        layout.addWidget(self.strips[number - 1])
        layout.addWidget(self.plots[number - 1])
        return widget

    def _fill_table(self) -> None:
        rows = comparison_rows(self.ways)
        self.table.setRowCount(len(rows))
        self.table.setColumnCount(len(self.ways))
        self.table.setHorizontalHeaderLabels([_column_name(number, way) for number, way in enumerate(self.ways, 1)])
        self.table.setVerticalHeaderLabels([textwrap.fill(name, _ROW_NAME) for name, _values in rows])
        for row, (_name, values) in enumerate(rows):
            for column, value in enumerate(values):
                apart = difference_words(values[0], value) if column else ""
                cell = QTableWidgetItem(decimal(f"{value} ({apart})" if apart else value))
                cell.setTextAlignment(Qt.AlignmentFlag.AlignRight | Qt.AlignmentFlag.AlignVCenter)
                font = cell.font()
                font.setBold(len(set(values)) > 1)
                cell.setFont(font)
                self.table.setItem(row, column, cell)
        across = self.table.horizontalHeader()
        across.setSectionResizeMode(QHeaderView.ResizeMode.Stretch)
        bar = self.table.verticalScrollBar().sizeHint().width()
        names = self.table.verticalHeader().sizeHint().width() + 2 * self.table.frameWidth() + bar
        every, two = (names + across.minimumSectionSize() * number for number in (across.count(), 2))
        # All of it where half of the window has the room; two ways beside each other however large the letters are.
        self.table.setMinimumWidth(max(_LEAST_TABLE, min(every, max(two, self.width() // 2))))

    def _use(self, way: Weighed) -> None:
        self.way_used.emit(way, self._passage)
        self.accept()

    def _failed(self, error: Exception) -> None:
        self._desk.failed.emit(str(error))


def _column_name(number: int, way: Weighed) -> str:
    """Number and title, a word a line: four of them stand beside one another."""
    return f"{number}: " + "\n".join(rules_title(way.rules).split())
