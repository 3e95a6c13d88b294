"""The watch-list beside the music: what will go wrong, where, and what the teacher makes of it."""

from __future__ import annotations

from collections import Counter

from PySide6.QtCore import QModelIndex, QSignalBlocker, QSize, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QGridLayout,
    QListView,
    QPushButton,
    QSizePolicy,
    QStyle,
    QStyleOptionComboBox,
    QVBoxLayout,
    QWidget,
)

from analysis.language import _, later
from analysis.music import Part
from analysis.watch.finding import SUGGESTION
from app.job.teacher.watching import OWN, Entry, Key, title_of
from app.window.editing.desk import Desk
from app.window.editing.watch import Watch
from app.window.style import look
from app.window.widgets.cards import ROW, Card, CardList, CardModel
from app.window.widgets.flow import FlowLayout, Panel
from app.window.widgets.labels import quiet_label

_AT_ONCE = 40  # cards that are measured in one turn
_LEAST_LETTERS = 12  # of the titles of kinds
_EVERYTHING = later("Everything")


class WatchModel(CardModel[Entry]):
    """Entries of the watch-list, in the order in which a player meets them."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._part: Part | None = None
        self._cards: dict[int, Card] = {}
        self._row_of: dict[Key, int] = {}

    @property
    def entries(self) -> tuple[Entry, ...]:
        """The entries shown, row by row."""
        return self._rows

    def show_entries(self, part: Part | None, entries: tuple[Entry, ...]) -> None:
        """Show other entries."""
        if part is self._part and entries == self._rows:
            # What is equal looks the same, and the list need not be laid out anew.
            self._rows = entries
            return
        self.beginResetModel()
        self._part, self._rows, self._cards = part, entries, {}
        self._row_of = {entry.finding.key: row for row, entry in reversed([*enumerate(entries)])}
        self.endResetModel()

    def row_of(self, entry: Entry) -> int | None:
        """The row of an entry, whatever has been made of it since; ``None`` when it is not shown."""
        return self._row_of.get(entry.finding.key)

    def card(self, row: int) -> Card:
        """The measure and the kind, what was made of the entry, and its sentence."""
        if row not in self._cards and self._part is not None:
            self._cards[row] = _card(self._part, self._rows[row])
        return self._cards[row]

    def words(self, row: int) -> str:
        """The entry in words, with its place."""
        finding, card = self._rows[row].finding, self.card(row)
        place = self._part.place(self._part.note(finding.note_ids[0])) if self._part is not None else ""
        return ". ".join(filter(None, (title_of(finding.kind), place, card.aside, card.body)))


def _card(part: Part, entry: Entry) -> Card:
    label = part.measures[part.note(entry.finding.note_ids[0]).measure].label
    aside = ""
    if entry.is_hidden:
        aside = _("hidden")
    elif entry.is_accepted:
        aside = _("on the sheet")
    elif entry.finding.certainty < SUGGESTION:
        aside = _("a proposal")
    return Card(
        f"{label} · {title_of(entry.finding.kind)}",
        aside,
        entry.text,
        strong=entry.is_accepted,
        faint=entry.is_hidden,
    )


class _KindBox(QComboBox):
    """As wide as what is chosen needs, where there is room."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setSizeAdjustPolicy(QComboBox.SizeAdjustPolicy.AdjustToMinimumContentsLengthWithIcon)
        self.setMinimumContentsLength(_LEAST_LETTERS)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.currentTextChanged.connect(self.updateGeometry)

    def sizeHint(self) -> QSize:
        """No narrower than the title that is shown."""
        option = QStyleOptionComboBox()
        self.initStyleOption(option)
        metrics, usual = self.fontMetrics(), super().sizeHint()
        words = QSize(metrics.horizontalAdvance(self.currentText()), metrics.height())
        needed = self.style().sizeFromContents(QStyle.ContentsType.CT_ComboBox, option, words, self)
        return usual.expandedTo(QSize(needed.width(), usual.height()))


class WatchPanel(Panel):
    """The list and what can be done with the entry in hand.

    ``reword_wanted``, ``join_wanted``: the teacher wants to write. ``carry_wanted``: to have the fingers of music that
    comes again.
    """

    reword_wanted = Signal()
    join_wanted = Signal()
    carry_wanted = Signal()

    def __init__(self, desk: Desk, watch: Watch, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk, self._watch = desk, watch
        self.model = WatchModel(self)
        self.kinds = _KindBox(self)
        self.kinds.setAccessibleName(_("Which entries to show"))
        self.kinds.addItem(_(_EVERYTHING))
        self.hidden = QCheckBox(_("Hidden too"), self)
        self.list = CardList(_("Watch-list"), self)
        self.list.setModel(self.model)
        self.list.setBatchSize(_AT_ONCE)
        self._state = quiet_label(look.QUIET, self)
        self.accept = QPushButton(_("On the sheet"), self)
        self.accept.setCheckable(True)
        self.hide_it = QPushButton(_("Hide"), self)
        self.hide_it.setCheckable(True)
        self.reword = QPushButton(_("Other words…"), self)
        self.join = QPushButton(_("Add a note…"), self)
        self.carry = QPushButton(_("Same fingers and marks as before"), self)
        self._lay_out()
        self._connect()
        self._refresh()

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        filters = FlowLayout()
        filters.addWidget(self.kinds)
        filters.addWidget(self.hidden)
        layout.addLayout(filters)
        layout.addWidget(self._state)
        layout.addWidget(self.list, 1)
        buttons = QGridLayout()
        for number, button in enumerate((self.accept, self.hide_it, self.reword, self.join)):
            buttons.addWidget(button, number // 2, number % 2)
        buttons.addWidget(self.carry, 2, 0, 1, 2)
        layout.addLayout(buttons)

    def _connect(self) -> None:
        self.kinds.activated.connect(self._filter)
        self.hidden.toggled.connect(self._filter)
        self.list.clicked.connect(self._take)
        self.list.selectionModel().currentChanged.connect(self._take)
        self.accept.clicked.connect(self._watch.accept)
        self.hide_it.clicked.connect(self._watch.hide)
        self.reword.clicked.connect(self.reword_wanted)
        self.join.clicked.connect(self.join_wanted)
        self.carry.clicked.connect(self.carry_wanted)
        self._watch.changed.connect(self._refresh)
        self._watch.chosen.connect(self._show_choice)

    def step(self, rows: int) -> None:
        """Take the entry so many rows on; the first, or the last, when none is in hand."""
        shown = self.model.entries
        if not shown:
            return
        entry, here = self._watch.entry, self._row()
        if entry is None:
            row = 0 if rows > 0 else len(shown) - 1
        elif here is None:
            row = self._rows_before(entry) + (rows - 1 if rows > 0 else rows)
        else:
            row = here + rows
        self._watch.choose(shown[min(max(row, 0), len(shown) - 1)])

    def _row(self) -> int | None:
        entry = self._watch.entry
        return None if entry is None else self.model.row_of(entry)

    @property
    def shows_entry(self) -> bool:
        """Whether the entry in hand is in the list, where it can be seen what becomes of it."""
        return self._row() is not None

    def _rows_before(self, entry: Entry) -> int:
        """How many of the rows come before an entry that is none of them."""
        places = {every.finding.key: place for place, every in enumerate(self._watch.entries)}
        here = places.get(entry.finding.key, 0)
        return sum(places[one.finding.key] < here for one in self.model.entries)

    def _filter(self) -> None:
        """Show what is asked for; an entry that is not among it is let go."""
        self._refresh()
        if not self.shows_entry:
            self._watch.choose(None)

    def _take(self, index: QModelIndex) -> None:
        entry = index.data(ROW)
        if entry is not None:
            self._watch.choose(entry)

    def _refresh(self) -> None:
        every = self._watch.entries
        visible = [entry for entry in every if self.hidden.isChecked() or not entry.is_hidden]
        self._list_kinds(visible)
        kind = self.kinds.currentData()
        shown = tuple(entry for entry in visible if kind in (None, entry.finding.kind))
        # A long list is measured bit by bit, but not while it is to be scrolled to an entry.
        at_once = self._watch.entry is not None
        self.list.setLayoutMode(QListView.LayoutMode.SinglePass if at_once else QListView.LayoutMode.Batched)
        with QSignalBlocker(self.list.selectionModel()):
            self.model.show_entries(self._desk.part, shown)
        self._state.setText(self._state_words(every))
        self._state.setVisible(bool(self._state.text()))
        self._show_choice()

    def _list_kinds(self, visible: list[Entry]) -> None:
        kept = self.kinds.currentData()
        kinds = Counter(entry.finding.kind for entry in visible)
        self.kinds.clear()
        self.kinds.addItem(f"{_(_EVERYTHING)} ({len(visible)})")
        for kind in sorted(kinds, key=title_of):
            self.kinds.addItem(f"{title_of(kind)} ({kinds[kind]})", kind)
        self.kinds.setCurrentIndex(max(self.kinds.findData(kept), 0) if kept else 0)

    def _state_words(self, every: tuple[Entry, ...]) -> str:
        if self._desk.part is None:
            return _("What will go wrong in a part stands here once it is read.")
        if not self._watch.is_read:
            return _("The part is being read.")
        return "" if every else _("Nothing to watch in this part.")

    def _show_choice(self) -> None:
        """Mark the entry in hand, and offer what can be done with it."""
        entry, row = self._watch.entry, self._row()
        with QSignalBlocker(self.list.selectionModel()):
            self.list.setCurrentIndex(self.model.index(row) if row is not None else QModelIndex())
        self.list.viewport().update()
        if row is not None:
            self.list.scrollTo(self.model.index(row))
        ours = entry is not None and entry.finding.kind != OWN
        for button in (self.accept, self.join):
            button.setEnabled(ours and row is not None)
        self.hide_it.setEnabled(ours)  # what was hidden just now can be brought back
        self.reword.setEnabled(row is not None)
        self.accept.setChecked(entry is not None and entry.is_accepted)
        self.hide_it.setChecked(entry is not None and entry.is_hidden)
        self.carry.setVisible(entry is not None and bool(entry.finding.again) and row is not None)
