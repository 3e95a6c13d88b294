"""The parts of the score to choose from, and what is set for the one in hand: who plays it, under which house rules."""

from __future__ import annotations

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from analysis.fingering.counts import COUNT_NAMES
from analysis.fingering.plan import Plan
from analysis.fingering.rules.files import PRESETS, preset
from analysis.fingering.rules.house import HouseRules
from analysis.instruments import INSTRUMENTS, Instrument
from app.job.work import NO_INSTRUMENT, PartWork
from app.window.desk import Desk
from app.window.labels import heading

_PART_ID = Qt.ItemDataRole.UserRole
_FROM_FILE = "From a file…"


class PartsPanel(QWidget):
    """The column on the left. ``rules_file_wanted``: the teacher asks for house rules from a file.

    ``rules_wanted``: the house rules are to be edited. ``set_wanted``: all parts are to be printed.
    """

    rules_file_wanted = Signal()
    rules_wanted = Signal()
    set_wanted = Signal()

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self.parts = QListWidget(self)
        self.parts.setAccessibleName("Parts of the score")
        self.parts.currentItemChanged.connect(self._turn)
        self.print_all = QPushButton("Print all parts…", self)
        self.print_all.clicked.connect(self.set_wanted)
        self.print_all.setEnabled(False)
        self.instrument = QComboBox(self)
        self.instrument.setAccessibleName("Who plays this part")
        for instrument in INSTRUMENTS:
            self.instrument.addItem(instrument.name, instrument)
        self.instrument.activated.connect(self._set_instrument)
        self.rules = QComboBox(self)
        self.rules.setAccessibleName("House rules for this part")
        self.rules.activated.connect(self._set_rules)
        self.edit_rules = QPushButton("Edit…", self)
        self.edit_rules.setAccessibleName("Edit the house rules")
        self.edit_rules.clicked.connect(self.rules_wanted)
        self.edit_rules.setEnabled(False)
        self._remark = QLabel("", self)
        self._remark.setWordWrap(True)
        self._counts = QLabel("", self)
        self._counts.setTextFormat(Qt.TextFormat.RichText)
        self._lay_out()
        desk.opened.connect(self._list_parts)
        desk.part_changed.connect(self._show_part)
        desk.plan_changed.connect(self._show_part)

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.addWidget(heading("Parts", self))
        layout.addWidget(self.parts, 1)
        layout.addWidget(self.print_all)
        form = QFormLayout()
        form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapAllRows)
        form.addRow("Played on", self.instrument)
        row = QHBoxLayout()
        row.addWidget(self.rules, 1)
        row.addWidget(self.edit_rules)
        form.addRow("House rules", row)
        layout.addLayout(form)
        layout.addWidget(self._remark)
        layout.addWidget(self._counts)

    def _list_parts(self) -> None:
        self.parts.blockSignals(True)
        self.parts.clear()
        for part in self._desk.score.score.parts if self._desk.score else ():
            item = QListWidgetItem(part.name)
            item.setData(_PART_ID, part.id)
            self.parts.addItem(item)
        self.parts.blockSignals(False)
        self.print_all.setEnabled(self.parts.count() > 0)

    def _turn(self, item: QListWidgetItem | None) -> None:
        if item is not None:
            self._desk.turn_to(item.data(_PART_ID))

    def _show_part(self) -> None:
        part, work = self._desk.part, self._desk.part_work
        if part is None or work is None:
            return
        for row in range(self.parts.count()):
            if self.parts.item(row).data(_PART_ID) == part.id:
                self.parts.setCurrentRow(row)
        self._show_settings(work)
        self._remark.setText(self._problems_words() if work.instrument else NO_INSTRUMENT)
        self._remark.setVisible(bool(self._remark.text()))
        self._counts.setText(_counts_table(self._desk.plan) if self._desk.plan else "")

    def _show_settings(self, work: PartWork) -> None:
        self.edit_rules.setEnabled(True)
        keys = [instrument.key for instrument in INSTRUMENTS]
        self.instrument.setCurrentIndex(keys.index(work.instrument.key) if work.instrument else -1)
        known = [preset(name) for name in PRESETS]
        every: list[HouseRules] = known if work.rules in known else [*known, work.rules]
        self.rules.clear()
        titles = [rules.title for rules in known]
        for rules in every:
            changed = rules not in known and rules.title in titles
            self.rules.addItem(f"{rules.title}, changed" if changed else rules.title, rules)
        self.rules.addItem(_FROM_FILE)
        self.rules.setCurrentIndex(every.index(work.rules))

    def _problems_words(self) -> str:
        plan = self._desk.plan
        missing = [note_id for note_id in plan.problems if note_id not in plan] if plan else []
        if not plan or not missing:
            return ""
        first = plan.problems[missing[0]]
        return f"{len(missing)} note{'s' if len(missing) > 1 else ''} without a finger, first in {first}."

    def _set_instrument(self, row: int) -> None:
        instrument: Instrument = self.instrument.itemData(row)
        self._desk.set_instrument(instrument)

    def _set_rules(self, row: int) -> None:
        rules = self.rules.itemData(row)
        if rules is None:
            self._show_part()
            self.rules_file_wanted.emit()
        else:
            self._desk.set_rules(rules)


def _counts_table(plan: Plan) -> str:
    counts = plan.counts
    rows = []
    for field, name in COUNT_NAMES.items():
        value = getattr(counts, field)
        shown = f"{value:,.0f}" if isinstance(value, float) else f"{value}"
        rows.append(f"<tr><td>{name}</td><td align='right'>&nbsp;&nbsp;{shown}</td></tr>")
    return f"<table>{''.join(rows)}</table>"
