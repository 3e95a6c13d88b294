"""The parts of the score to choose from, and what is set for the one in hand: who plays it, under which house rules."""

from __future__ import annotations

from PySide6.QtCore import Qt, QTimer, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QFormLayout,
    QLabel,
    QListWidget,
    QListWidgetItem,
    QPushButton,
    QSizePolicy,
    QVBoxLayout,
    QWidget,
)

from analysis.fingering.counts import COUNT_NAMES
from analysis.fingering.plan import Plan
from analysis.fingering.rules.files import PRESETS, preset
from analysis.fingering.rules.house import HouseRules
from analysis.instruments import INSTRUMENTS, Instrument
from analysis.language import _, later, n_
from app.job.teacher.work import NO_INSTRUMENT, PartWork
from app.job.words.names import rules_title
from app.window.editing.desk import Desk
from app.window.style.tongue import number_words
from app.window.widgets.flow import FlowLayout
from app.window.widgets.labels import heading

_PART_ID = Qt.ItemDataRole.UserRole
_COUNT_AFTER_MS = 100
_FULL_SCORE = ""  # in place of a part's id
_FROM_FILE = later("From a file…")


class PartsPanel(QWidget):
    """The column on the left. ``rules_file_wanted``: the teacher asks for house rules from a file.

    ``rules_wanted``: the house rules are to be edited. ``set_wanted``: all parts are to be printed.
    """

    rules_file_wanted = Signal()
    rules_wanted = Signal()
    set_wanted = Signal()

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._presets = [preset(name) for name in PRESETS]
        self._desk = desk
        self.parts = QListWidget(self)
        self.parts.setAccessibleName(_("Parts of the score"))
        self.parts.currentItemChanged.connect(self._turn)
        self.print_all = QPushButton(_("Print all parts…"), self)
        self.print_all.clicked.connect(self.set_wanted)
        self.print_all.setEnabled(False)
        self.instrument = QComboBox(self)
        self.instrument.setAccessibleName(_("Who plays this part"))
        for instrument in INSTRUMENTS:
            self.instrument.addItem(instrument.title, instrument)
        self.instrument.activated.connect(self._set_instrument)
        self.rules = QComboBox(self)
        self.rules.setAccessibleName(_("House rules for this part"))
        self.rules.activated.connect(self._set_rules)
        self.edit_rules = QPushButton(_("Edit…"), self)
        self.edit_rules.setAccessibleName(_("Edit the house rules"))
        self.edit_rules.clicked.connect(self.rules_wanted)
        self.edit_rules.setEnabled(False)
        self._whose = heading("", self)
        self._whose.setWordWrap(True)
        self._remark = QLabel("", self)
        self._remark.setWordWrap(True)
        self._counts = QLabel("", self)
        self._counted: Plan | None = None
        self._settings: tuple[Instrument | None, HouseRules] | None = None
        self._count_later = QTimer(self)
        self._count_later.setSingleShot(True)
        self._count_later.setInterval(_COUNT_AFTER_MS)
        self._count_later.timeout.connect(self._show_counts)
        self._counts.setTextFormat(Qt.TextFormat.RichText)
        self._lay_out()
        desk.opened.connect(self._list_parts)
        desk.part_changed.connect(self._show_part)
        desk.shown_changed.connect(self._show_part)
        desk.plan_changed.connect(self._show_part)

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.addWidget(heading(_("Parts"), self))
        layout.addWidget(self.parts, 1)
        layout.addWidget(self.print_all)
        layout.addWidget(self._whose)
        form = QFormLayout()
        form.setRowWrapPolicy(QFormLayout.RowWrapPolicy.WrapAllRows)
        form.addRow(_("Played on"), self.instrument)
        row = FlowLayout()
        self.rules.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        row.addWidget(self.rules)
        row.addWidget(self.edit_rules)
        form.addRow(_("House rules"), row)
        layout.addLayout(form)
        layout.addWidget(self._remark)
        layout.addWidget(self._counts)

    def _list_parts(self) -> None:
        self.parts.blockSignals(True)
        self.parts.clear()
        parts = self._desk.score.score.parts if self._desk.score else ()
        rows = [(part.name, part.id) for part in parts]
        for name, part_id in [(_("Full score"), _FULL_SCORE), *rows] if len(rows) > 1 else rows:
            item = QListWidgetItem(name)
            item.setData(_PART_ID, part_id)
            self.parts.addItem(item)
        self.parts.blockSignals(False)
        self.print_all.setEnabled(bool(parts))

    def _turn(self, item: QListWidgetItem | None) -> None:
        if item is not None:
            part_id = item.data(_PART_ID)
            if part_id != _FULL_SCORE:
                self._desk.turn_to(part_id)
            self._desk.show_full_score(part_id == _FULL_SCORE)

    def _show_part(self) -> None:
        part, work = self._desk.part, self._desk.part_work
        if part is None or work is None:
            return
        shown = _FULL_SCORE if self._desk.shows_full_score else part.id
        for row in range(self.parts.count()):
            if self.parts.item(row).data(_PART_ID) == shown:
                self.parts.setCurrentRow(row)
        self._whose.setText(part.name)
        self._show_settings(work)
        self._remark.setText(self._problems_words() if work.instrument else _(NO_INSTRUMENT))
        self._remark.setVisible(bool(self._remark.text()))
        # What a long part adds up to takes a moment: the music comes first.
        self._count_later.start()

    def _show_counts(self) -> None:
        plan = self._desk.plan
        if plan is not self._counted or plan is None:
            self._counted = plan
            self._counts.setText(_counts_table(plan) if plan else "")

    def _show_settings(self, work: PartWork) -> None:
        settings = work.instrument, work.rules
        if settings == self._settings:
            return
        self._settings = settings
        self.edit_rules.setEnabled(True)
        keys = [instrument.key for instrument in INSTRUMENTS]
        self.instrument.setCurrentIndex(keys.index(work.instrument.key) if work.instrument else -1)
        known = self._presets
        every: list[HouseRules] = known if work.rules in known else [*known, work.rules]
        self.rules.clear()
        titles = [rules.title for rules in known]
        for rules in every:
            changed = rules not in known and rules.title in titles
            title = rules_title(rules)
            self.rules.addItem(_("{rules}, changed").format(rules=title) if changed else title, rules)
        self.rules.addItem(_(_FROM_FILE))
        self.rules.setCurrentIndex(every.index(work.rules))

    def _problems_words(self) -> str:
        plan = self._desk.plan
        missing = [note_id for note_id in plan.problems if note_id not in plan] if plan else []
        if not plan or not missing:
            return ""
        first = plan.problems[missing[0]]
        words = n_(
            "{number} note without a finger, first in {first}.",
            "{number} notes without a finger, first in {first}.",
            len(missing),
        )
        return words.format(number=len(missing), first=first)

    def _set_instrument(self, row: int) -> None:
        self._settings = None  # what is shown is no longer what is set
        instrument: Instrument = self.instrument.itemData(row)
        self._desk.set_instrument(instrument)

    def _set_rules(self, row: int) -> None:
        self._settings = None  # what is shown is no longer what is set
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
        shown = number_words(getattr(counts, field))
        rows.append(f"<tr><td>{_(name)}</td><td align='right'>&nbsp;&nbsp;{shown}</td></tr>")
    return f"<table>{''.join(rows)}</table>"
