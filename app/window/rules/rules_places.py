"""Where house rules say something: everywhere, for an instrument, a part or a passage."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import (
    QComboBox,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QListWidget,
    QListWidgetItem,
    QMenu,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from analysis.instruments import INSTRUMENTS
from analysis.language import _, later
from app.job.rules.draft import Draft, TableDraft
from app.window.rules.rule_fields import WheelGuard
from app.window.style import look
from app.window.widgets.labels import heading, quiet_label

EVERY_PART = later("every part")
_WIDTH, _MARGIN = 250, 9  # pixels


class PlacesList(QWidget):
    """The list on the left; its first row stands for everywhere.

    ``chosen``: another place is looked at, by the number of its table, -1 for everywhere. ``wanted``: a table is to be
    added. ``passage_wanted``: one for the passage in hand. ``unwanted``: the one in hand is to be taken away.
    """

    chosen = Signal(int)
    wanted = Signal(object)
    passage_wanted = Signal()
    unwanted = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.list = QListWidget(self)
        self.list.setAccessibleName(_("Where the rules hold"))
        self.list.setWordWrap(True)
        self.list.setSpacing(2)
        self.list.currentRowChanged.connect(self._choose)
        self.add = QPushButton(_("Add"), self)
        self.add.setMenu(QMenu(self.add))
        self.take_away = QPushButton(_("Take away"), self)
        self.take_away.clicked.connect(self.unwanted)
        buttons = QHBoxLayout()
        for button in (self.add, self.take_away):
            button.setAutoDefault(False)
            buttons.addWidget(button)
        layout = QVBoxLayout(self)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.addWidget(heading(_("Where they hold"), self))
        layout.addWidget(self.list, 1)
        layout.addLayout(buttons)
        self.setFixedWidth(max(_WIDTH, self.minimumSizeHint().width()))

    @property
    def row(self) -> int:
        """The table in hand, -1 for everywhere."""
        return max(self.list.currentRow(), 0) - 1

    def show_places(self, places: Sequence[tuple[str, str]], wrong: Collection[int], row: int) -> None:
        """Show the places, each by its title and what is said there, and of those that are ``wrong`` that they are."""
        self.list.blockSignals(True)
        while self.list.count() > len(places):
            self.list.takeItem(self.list.count() - 1)
        for number, (title, says) in enumerate(places):
            if number == self.list.count():
                self.list.addItem(QListWidgetItem())
            item = self.list.item(number)
            remark = _("Something here does not fit.")
            item.setText("\n".join((title, says, remark) if number - 1 in wrong else (title, says)))
        self.list.setCurrentRow(row + 1)
        self.list.blockSignals(False)
        self.take_away.setEnabled(row >= 0)

    def offer(self, draft: Draft, part_names: Sequence[str]) -> None:
        """Offer the tables that can be added: for instruments and parts that have none, and for a passage."""
        self.add.menu().deleteLater()  # with the menus in it, which clearing it would leave
        menu = QMenu(self.add)
        self.add.setMenu(menu)
        there = {(table.kind, table.key) for table in draft.tables}
        instruments = [(one.title, TableDraft("instrument", one.key, {})) for one in INSTRUMENTS]
        parts = [(name, TableDraft("part", name, {})) for name in dict.fromkeys(part_names)]
        for title, tables in ((_("For an instrument"), instruments), (_("For a part"), parts)):
            below = menu.addMenu(title)
            for words, table in tables:
                if (table.kind, table.key) not in there:
                    action = below.addAction(words.replace("&", "&&"))
                    action.triggered.connect(lambda checked=False, table=table: self.wanted.emit(table))
            below.setEnabled(not below.isEmpty())
        menu.addAction(_("For a passage")).triggered.connect(self.passage_wanted)

    def _choose(self, row: int) -> None:
        self.chosen.emit(row - 1)


class PlaceHead(QWidget):
    """What a place is, above its rules. ``changed``: its table holds for another passage."""

    changed = Signal()

    def __init__(self, title: str, says: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.rows = QVBoxLayout(self)
        self.rows.setContentsMargins(_MARGIN, _MARGIN, _MARGIN, 0)
        self.title = heading(title, self)
        self.title.setTextFormat(Qt.TextFormat.PlainText)
        about = quiet_label(look.QUIET, self)
        about.setText(says)
        self.remark = quiet_label(look.CAUTION, self)
        self.remark.hide()
        for widget in (self.title, about, self.remark):
            self.rows.addWidget(widget)

    def say(self, sentence: str) -> None:
        """Say what is wrong or strange with where it holds."""
        self.remark.setText(sentence)
        self.remark.setVisible(bool(sentence))


class PassageHead(PlaceHead):
    """The same of a passage, whose part and measures can be changed."""

    def __init__(self, table: TableDraft, part_names: Sequence[str], says: str, parent: QWidget | None = None) -> None:
        super().__init__(_("A passage"), says, parent)
        self._table = table
        self.part = QComboBox(self)
        self.part.setAccessibleName(_("Part of the passage"))
        self.part.addItem(_(EVERY_PART), "")
        for name in dict.fromkeys([*part_names, *filter(None, [table.key])]):
            self.part.addItem(name, name)
        self.part.setCurrentIndex(self.part.findData(table.key))
        self.measures = QLineEdit(table.measures, self)
        self.measures.setAccessibleName(_("Measures of the passage, by their printed numbers"))
        self.measures.setPlaceholderText("12-16")
        row = QHBoxLayout()
        for words, field in ((_("Part"), self.part), (_("Measures"), self.measures)):
            row.addWidget(QLabel(words, self))
            row.addWidget(field)
        row.addStretch(1)
        self.rows.insertLayout(self.rows.count() - 1, row)
        self.part.currentIndexChanged.connect(self.changed)
        self.measures.textChanged.connect(self.changed)
        WheelGuard.over(self.part)

    @property
    def table(self) -> TableDraft:
        """The table for the passage that is given now."""
        return TableDraft("passage", self.part.currentData(), self._table.rules, self.measures.text())
