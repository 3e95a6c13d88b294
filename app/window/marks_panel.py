"""Marking with the mouse: all marks to choose from, those that stand at the notes in hand, and what becomes of one."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from PySide6.QtCore import QAbstractListModel, QModelIndex, QPersistentModelIndex, QSignalBlocker, Qt, Signal
from PySide6.QtGui import QAction
from PySide6.QtWidgets import (
    QComboBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from analysis.music import Part, beat_words
from app.job.pencilling import notes_between
from app.window import look
from app.window.cards import CARD, Card, CardList
from app.window.desk import Desk
from app.window.labels import quiet_label
from app.window.mark_palette import MarkPalette, say_keys
from app.window.pencil import Pencil
from engraving.marks.teacher import MARK_KINDS, TeacherMark

_Index = QModelIndex | QPersistentModelIndex
_MARK = Qt.ItemDataRole.UserRole
_NUDGE = 0.25  # in staff spaces
# The arrow, what it does, where its button lies, and the way to the right and upwards.
_NUDGES = (
    (Qt.ArrowType.UpArrow, "higher", (0, 1), (0.0, _NUDGE)),
    (Qt.ArrowType.LeftArrow, "to the left", (1, 0), (-_NUDGE, 0.0)),
    (Qt.ArrowType.DownArrow, "lower", (1, 1), (0.0, -_NUDGE)),
    (Qt.ArrowType.RightArrow, "to the right", (1, 2), (_NUDGE, 0.0)),
)
_KEYS = MappingProxyType({"higher": "Up", "to the left": "Left", "lower": "Down", "to the right": "Right"})
_ON_PAPER = ((None, "As the house rules say"), (True, "Always printed"), (False, "Never printed"))


class MarksModel(QAbstractListModel):
    """Marks in the order in which a player meets them."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._part: Part | None = None
        self._marks: tuple[TeacherMark, ...] = ()

    @property
    def marks(self) -> tuple[TeacherMark, ...]:
        """The marks shown, row by row."""
        return self._marks

    def show_marks(self, part: Part | None, marks: tuple[TeacherMark, ...]) -> None:
        """Show other marks."""
        shown = tuple(sorted(marks, key=lambda mark: part.note(mark.first).onset)) if part is not None else ()
        if (part, shown) != (self._part, self._marks):
            self.beginResetModel()
            self._part, self._marks = part, shown
            self.endResetModel()

    def rowCount(self, parent: _Index | None = None) -> int:
        """How many marks there are."""
        return 0 if parent is not None and parent.isValid() else len(self._marks)

    def data(self, index: _Index, role: int = Qt.ItemDataRole.DisplayRole) -> object:
        """The mark in words; itself under the user role."""
        if not index.isValid() or self._part is None:
            return None
        mark = self._marks[index.row()]
        if role == _MARK:
            return mark
        card = _card(self._part, mark)
        if role == CARD:
            return card
        if role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.AccessibleTextRole):
            return ". ".join(filter(None, (card.title, card.body, card.aside)))
        return None


def _card(part: Part, mark: TeacherMark) -> Card:
    place = mark_place(part, mark)
    says = f": {mark.text}" if mark.text else ""
    return Card(MARK_KINDS[mark.kind].title, "moved" if mark.dx or mark.dy else "", f"{place}{says}")


def mark_place(part: Part, mark: TeacherMark) -> str:
    """Where a mark stands, in words: ``Measure 12, beat 3``, or ``Measure 12, beat 3 to measure 14, beat 1``."""
    first = part.note(mark.first)
    words = part.place(first)
    place = f"{words[0].upper()}{words[1:]}"
    if not mark.last or mark.last == mark.first:
        return place
    last = part.note(mark.last)
    if last.measure != first.measure:
        return f"{place} to {part.place(last)}"
    beat = beat_words(part.measures[last.measure].beat(last.onset))
    return f"{place} to {beat}" if last.onset != first.onset else place


class MarksPanel(QWidget):
    """All kinds of marks, the list of those at the notes in hand, and what can be done with the one in hand.

    ``nudge_wanted``: it shall go so many staff spaces to the right and upwards.
    """

    nudge_wanted = Signal(float, float)

    def __init__(self, desk: Desk, pencil: Pencil, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk, self._pencil = desk, pencil
        self.model = MarksModel(self)
        self.palette_of_marks = MarkPalette(self)
        self.digits = QComboBox(self)
        self.digits.setAccessibleName("Digits of the notes in hand on paper")
        for _, words in _ON_PAPER:
            self.digits.addItem(words)
        self._state = quiet_label(look.QUIET_INK, self)
        self.list = CardList("Marks here", self)
        self.list.setModel(self.model)
        self.take_away, self.back = QToolButton(self), QToolButton(self)
        self.nudges = {words: _nudge_button(arrow, words, self) for arrow, words, *_ in _NUDGES}
        self._lay_out()
        self._connect()
        self._refresh()

    def use_actions(self, actions: Mapping[str, QAction]) -> None:
        """Have the buttons do what the commands of these names do."""
        self.palette_of_marks.use_actions(actions)
        for button, name in ((self.take_away, "take_away"), (self.back, "back")):
            say_keys(actions[name], actions[name].text())
            button.setDefaultAction(actions[name])

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        layout.addWidget(self.palette_of_marks)
        digits = QHBoxLayout()
        digits.addWidget(QLabel("Digits on paper", self))
        digits.addWidget(self.digits, 1)
        layout.addLayout(digits)
        layout.addWidget(self._state)
        layout.addWidget(self.list, 1)
        below = QGridLayout()
        below.setSpacing(2)
        for row, button in enumerate((self.take_away, self.back)):
            button.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            below.addWidget(button, row, 0)
        for _, words, (row, column), _ in _NUDGES:
            below.addWidget(self.nudges[words], row, column + 1)
        layout.addLayout(below)

    def _connect(self) -> None:
        self.digits.activated.connect(lambda row: self._pencil.print_digit(_ON_PAPER[row][0]))
        self.list.clicked.connect(self._take)
        self.list.selectionModel().currentChanged.connect(self._take)
        for _, words, _, way in _NUDGES:
            self.nudges[words].clicked.connect(lambda _=False, way=way: self.nudge_wanted.emit(*way))
        self._pencil.changed.connect(self._refresh)
        self._pencil.chosen.connect(self._show_marks)

    def _take(self, index: QModelIndex) -> None:
        mark = index.data(_MARK)
        if mark is not None:
            self._pencil.choose(mark)

    def _refresh(self) -> None:
        """Show what stands at the notes in hand."""
        here = self._pencil.here
        some = self._desk.ends is not None
        self.palette_of_marks.show_standing({mark.kind for mark in here} if some else set())
        self._show_marks()
        self.digits.setEnabled(some)
        self.digits.setPlaceholderText("They differ" if some else "")
        self.digits.setCurrentIndex(self._digits_row())

    def _state_words(self, number: int) -> str:
        if self._desk.part is None:
            return "What you mark in a part stands here."
        if self._desk.ends is None:
            words = "in this part. Select notes or measures to mark them."
        else:
            words = "at the notes in hand."
        return f"{number or 'No'} mark{'' if number == 1 else 's'} {words}"

    def _show_marks(self) -> None:
        """List the marks here, and the one in hand wherever it stands, and show which one that is."""
        here, mark = self._pencil.here, self._pencil.mark
        elsewhere = mark is not None and mark not in here
        shown = (*here, mark) if mark is not None and elsewhere else here
        self._state.setText(self._state_words(len(here)) + (" The one in hand stands elsewhere." if elsewhere else ""))
        with QSignalBlocker(self.list.selectionModel()):
            self.model.show_marks(self._desk.part, shown)
            row = self.model.marks.index(mark) if mark is not None and mark in self.model.marks else -1
            self.list.setCurrentIndex(self.model.index(row) if row >= 0 else QModelIndex())
        self.list.viewport().update()
        if row >= 0:
            self.list.scrollTo(self.model.index(row))
        for button in self.nudges.values():
            button.setEnabled(mark is not None)

    def _digits_row(self) -> int:
        """What holds for all notes in hand: a row of the choice; -1 where they differ, and where there are none."""
        part, ends, work = self._desk.part, self._desk.ends, self._desk.part_work
        if part is None or ends is None or work is None:
            return -1
        wanted = {work.on_paper.get(note.id) for note in notes_between(part, *ends)}
        rows = [row for row, (on_paper, _) in enumerate(_ON_PAPER) if wanted == {on_paper}]
        return rows[0] if rows else -1


def _nudge_button(arrow: Qt.ArrowType, words: str, parent: QWidget) -> QToolButton:
    button = QToolButton(parent)
    button.setArrowType(arrow)
    button.setAccessibleName(f"Move the mark {words}")
    button.setToolTip(f"Move the mark {words} (Alt+{_KEYS[words]})")
    button.setAutoRepeat(True)
    return button
