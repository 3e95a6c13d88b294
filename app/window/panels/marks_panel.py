"""Marking with the mouse: all marks to choose from, those that stand at the notes in hand, and what becomes of one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

from PySide6.QtCore import QModelIndex, QSignalBlocker, Qt, Signal
from PySide6.QtGui import QAction, QKeySequence
from PySide6.QtWidgets import (
    QComboBox,
    QGridLayout,
    QLabel,
    QSizePolicy,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from analysis.language import _, later, n_
from analysis.music import Part, beat_words
from app.job.teacher.pencilling import notes_between
from app.window.editing.desk import Desk
from app.window.editing.pencil import Pencil
from app.window.panels.mark_palette import MarkPalette, say_keys
from app.window.style import look
from app.window.widgets.cards import ROW, Card, CardList, CardModel
from app.window.widgets.flow import FlowLayout, Panel
from app.window.widgets.labels import quiet_label
from engraving.marks.teacher import MARK_KINDS, TeacherMark

_NUDGE = 0.25  # in staff spaces


@dataclass(frozen=True, slots=True)
class _Nudge:
    """A small move of the mark in hand: its button lies at ``cell``, ``way`` goes to the right and upwards."""

    name: str
    arrow: Qt.ArrowType
    text: str
    keys: str
    cell: tuple[int, int]
    way: tuple[float, float]


_NUDGES = (
    _Nudge("higher", Qt.ArrowType.UpArrow, later("Move the mark higher"), "Alt+Up", (0, 1), (0.0, _NUDGE)),
    _Nudge(
        "to the left", Qt.ArrowType.LeftArrow, later("Move the mark to the left"), "Alt+Left", (1, 0), (-_NUDGE, 0.0)
    ),
    _Nudge("lower", Qt.ArrowType.DownArrow, later("Move the mark lower"), "Alt+Down", (1, 1), (0.0, -_NUDGE)),
    _Nudge(
        "to the right", Qt.ArrowType.RightArrow, later("Move the mark to the right"), "Alt+Right", (1, 2), (_NUDGE, 0.0)
    ),
)
_ON_PAPER = (
    (None, later("As the house rules say")),
    (True, later("Always printed")),
    (False, later("Never printed")),
)


class MarksModel(CardModel[TeacherMark]):
    """Marks in the order in which a player meets them."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._part: Part | None = None

    @property
    def marks(self) -> tuple[TeacherMark, ...]:
        """The marks shown, row by row."""
        return self._rows

    def show_marks(self, part: Part | None, marks: tuple[TeacherMark, ...]) -> None:
        """Show other marks."""
        shown = tuple(sorted(marks, key=lambda mark: part.note(mark.first).onset)) if part is not None else ()
        if (part, shown) != (self._part, self._rows):
            self.beginResetModel()
            self._part, self._rows = part, shown
            self.endResetModel()

    def card(self, row: int) -> Card:
        """The mark, where it stands and what it says."""
        mark = self._rows[row]
        place = mark_place(self._part, mark) if self._part is not None else ""
        says = f": {mark.text}" if mark.text else ""
        return Card(_(MARK_KINDS[mark.kind].title), _("moved") if mark.dx or mark.dy else "", f"{place}{says}")

    def words(self, row: int) -> str:
        """The mark in words."""
        card = self.card(row)
        return ". ".join(filter(None, (card.title, card.body, card.aside)))


def mark_place(part: Part, mark: TeacherMark) -> str:
    """Where a mark stands, in words: ``Measure 12, beat 3``, or ``Measure 12, beat 3 to measure 14, beat 1``."""
    first = part.note(mark.first)
    words = part.place(first)
    place = f"{words[0].upper()}{words[1:]}"
    if not mark.last or mark.last == mark.first:
        return place
    last = part.note(mark.last)
    if last.measure != first.measure:
        return _("{place} to {last}").format(place=place, last=part.place(last))
    beat = beat_words(part.measures[last.measure].beat(last.onset))
    return _("{place} to {last}").format(place=place, last=beat) if last.onset != first.onset else place


class MarksPanel(Panel):
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
        self.digits.setAccessibleName(_("Digits of the notes in hand on paper"))
        for on_paper, words in _ON_PAPER:
            self.digits.addItem(_(words), on_paper)
        self._state = quiet_label(look.QUIET, self)
        self.list = CardList(_("Marks here"), self)
        self.list.setModel(self.model)
        self.take_away, self.back = QToolButton(self), QToolButton(self)
        self.nudges = {nudge.name: _nudge_button(nudge, self) for nudge in _NUDGES}
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
        digits = FlowLayout()
        digits.addWidget(QLabel(_("Digits on paper"), self))
        digits.addWidget(self.digits)
        self.digits.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        layout.addLayout(digits)
        layout.addWidget(self._state)
        layout.addWidget(self.list, 1)
        below = FlowLayout()
        below.setSpacing(2)
        for widget in (self._deeds(), self._cross()):
            below.addWidget(widget)
        layout.addLayout(below)

    def _deeds(self) -> QWidget:
        deeds = QWidget(self)
        column = QVBoxLayout(deeds)
        for button in (self.take_away, self.back):
            button.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
            column.addWidget(button)
        column.setContentsMargins(0, 0, 0, 0)
        column.setSpacing(2)
        return deeds

    def _cross(self) -> QWidget:
        cross = QWidget(self)
        cross.setSizePolicy(QSizePolicy.Policy.Fixed, QSizePolicy.Policy.Fixed)
        grid = QGridLayout(cross)
        for nudge in _NUDGES:
            grid.addWidget(self.nudges[nudge.name], *nudge.cell)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setSpacing(2)
        return cross

    def _connect(self) -> None:
        self.digits.activated.connect(lambda row: self._pencil.print_digit(_ON_PAPER[row][0]))
        self.list.clicked.connect(self._take)
        self.list.selectionModel().currentChanged.connect(self._take)
        for nudge in _NUDGES:
            self.nudges[nudge.name].clicked.connect(partial(self._nudge, nudge))
        self._pencil.changed.connect(self._refresh)
        self._pencil.chosen.connect(self._show_marks)

    def _nudge(self, nudge: _Nudge) -> None:
        self.nudge_wanted.emit(*nudge.way)

    def _take(self, index: QModelIndex) -> None:
        mark = index.data(ROW)
        if mark is not None:
            self._pencil.choose(mark)

    def _refresh(self) -> None:
        """Show what stands at the notes in hand."""
        here = self._pencil.here
        some = self._desk.ends is not None
        self.palette_of_marks.show_standing({mark.kind for mark in here} if some else set())
        self._show_marks()
        self.digits.setEnabled(some)
        self.digits.setPlaceholderText(_("They differ") if some else "")
        self.digits.setCurrentIndex(self._digits_row())

    def _state_words(self, number: int) -> str:
        if self._desk.part is None:
            return _("What you mark in a part stands here.")
        if self._desk.ends is None:
            words = n_("{number} mark in this part.", "{number} marks in this part.", number)
            told = words.format(number=number) if number else _("No marks in this part.")
            return " ".join((told, _("Select notes or measures to mark them.")))
        words = n_("{number} mark at the notes in hand.", "{number} marks at the notes in hand.", number)
        return words.format(number=number) if number else _("No marks at the notes in hand.")

    def _show_marks(self) -> None:
        """List the marks here, and the one in hand wherever it stands, and show which one that is."""
        here, mark = self._pencil.here, self._pencil.mark
        elsewhere = mark is not None and mark not in here
        shown = (*here, mark) if mark is not None and elsewhere else here
        state = (self._state_words(len(here)), _("The one in hand stands elsewhere.") if elsewhere else "")
        self._state.setText(" ".join(filter(None, state)))
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


def _nudge_button(nudge: _Nudge, parent: QWidget) -> QToolButton:
    button = QToolButton(parent)
    button.setArrowType(nudge.arrow)
    button.setAccessibleName(_(nudge.text))
    keys = QKeySequence(nudge.keys).toString(QKeySequence.SequenceFormat.NativeText)
    button.setToolTip(f"{_(nudge.text)} ({keys})")
    button.setAutoRepeat(True)
    return button
