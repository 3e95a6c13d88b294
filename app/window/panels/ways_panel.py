"""Ways to play the selected note: each with its finger, string and position, what more it costs, and why."""

from __future__ import annotations

from collections.abc import Mapping

from PySide6.QtCore import QModelIndex, QTimer, Signal
from PySide6.QtWidgets import QLabel, QPushButton, QVBoxLayout, QWidget

from analysis.fingering.cautions import Caution, cautions
from analysis.fingering.plan import Plan, Way
from analysis.fingering.reasons import against, why_chosen
from analysis.instruments import Instrument
from analysis.language import _
from analysis.wording import decimal
from app.job.words.notes import placement_words
from app.window.editing.desk import Desk
from app.window.style import look
from app.window.widgets.cards import ROW, Card, CardList, CardModel
from app.window.widgets.flow import Panel
from app.window.widgets.labels import heading, quiet_label

# What the eye does not miss, and time enough for the music to be painted.
_LATER_MS = 20


class WaysModel(CardModel[Way]):
    """The ways of one note, the least effort first."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._instrument: Instrument | None = None

    def show_ways(self, ways: tuple[Way, ...], instrument: Instrument | None) -> None:
        """Show other ways."""
        self.beginResetModel()
        self._rows, self._instrument = ways, instrument
        self.endResetModel()

    @property
    def ways(self) -> tuple[Way, ...]:
        """The ways shown, row by row."""
        return self._rows

    def card(self, row: int) -> Card:
        """Finger, string and position, what more it costs, and why."""
        way = self._rows[row]
        title = placement_words(way.placement, self._instrument) if self._instrument is not None else ""
        return Card(title, self.extra_words(way), self.reason(way), strong=way.chosen, share=self._share(way))

    def words(self, row: int) -> str:
        """The way in words."""
        card = self.card(row)
        return f"{card.title}. {card.aside}. {card.body}"

    def _share(self, way: Way) -> float:
        """The extra effort in parts of the greatest in the list."""
        most = max(abs(other.extra) for other in self._rows)
        return abs(way.extra) / most if most else 0.0

    def extra_words(self, way: Way) -> str:
        """What the way costs beyond the choice made, in effort units."""
        return _("chosen") if way.chosen else decimal(f"{way.extra:+.1f}").replace("-", "−")

    def reason(self, way: Way) -> str:
        """Why the way is chosen, or why it is not."""
        if not way.chosen:
            return against(way.differences)
        rivals = [other for other in self._rows if not other.chosen]
        if rivals and rivals[0].extra < 0:
            return _("Fixed by you, at more effort than the easiest way.")
        return why_chosen(rivals[0].differences) if rivals else _("The only way under the house rules.")


class WaysPanel(Panel):
    """The list beside the music. ``way_chosen``: the teacher takes one. ``released``: Handframe shall decide again."""

    way_chosen = Signal(object)
    released = Signal()

    def __init__(self, desk: Desk, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._desk = desk
        self._model = WaysModel(self)
        self._is_behind = False
        self._note = QLabel("", self)
        self._note.setWordWrap(True)
        self._reason = quiet_label(look.QUIET, self)
        self._reason.setAccessibleName(_("Why the note is played so"))
        self._caution = quiet_label(look.CAUTION, self)
        self._caution.setAccessibleName(_("Caution for small hands"))
        self._cautions: Mapping[str, Caution] = {}
        self._cautioned: Plan | None = None
        self._list = CardList(_("Ways to play the selected note"), self)
        self._list.setModel(self._model)
        self._list.clicked.connect(self._choose)
        self._list.activated.connect(self._choose)
        self._release = QPushButton(_("Let Handframe decide again"), self)
        self._release.clicked.connect(self.released)
        layout = QVBoxLayout(self)
        layout.addWidget(heading(_("Ways to play"), self))
        for label in (self._note, self._reason, self._caution):
            layout.addWidget(label)
        layout.addWidget(self._list, 1)
        layout.addWidget(self._release)
        for signal in (desk.note_changed, desk.part_changed, desk.plan_changed):
            signal.connect(self._refresh_soon)
        self._refresh()

    @property
    def model(self) -> WaysModel:
        """The ways of the selected note under the present plan."""
        self._catch_up()
        return self._model

    def step(self, rows: int) -> None:
        """Choose the way so many rows from the one chosen now."""
        ways = self.model.ways
        chosen = next((row for row, way in enumerate(ways) if way.chosen), None)
        if chosen is not None and 0 <= chosen + rows < len(ways):
            self.way_chosen.emit(ways[chosen + rows])

    def _choose(self, index: QModelIndex) -> None:
        way = index.data(ROW)
        if way is not None and not self._is_behind:
            self.way_chosen.emit(way)

    def _refresh_soon(self) -> None:
        """The music comes first: the reasons take time, and so does room for them."""
        self._is_behind = True
        QTimer.singleShot(_LATER_MS, self, self._catch_up)

    def _catch_up(self) -> None:
        if self._is_behind:
            self._refresh()

    def _refresh(self) -> None:
        self._is_behind = False
        note, plan = self._desk.note, self._desk.plan
        ways = plan.ways(note.id) if note and plan else ()
        self._model.show_ways(ways, plan.setting.instrument if plan else None)
        chosen = next((row for row, way in enumerate(ways) if way.chosen), None)
        if chosen is not None:
            self._list.setCurrentIndex(self._model.index(chosen))
        self._note.setText(self._note_words(plan))
        self._release.setEnabled(bool(note and plan and note.id in plan.locks))
        self._say(self._reason, self._reason_words(plan))
        self._say(self._caution, self._caution_words(plan))

    def _say(self, label: QLabel, words: str) -> None:
        """Show the words, or nothing at all."""
        label.setText(words)
        label.setVisible(bool(words))

    def _reason_words(self, plan: Plan | None) -> str:
        note = self._desk.note
        # Of a fixed note the line above says who fixed it.
        return plan.reason(note.id) if note and plan and note.id not in plan.locks else ""

    def _caution_words(self, plan: Plan | None) -> str:
        note = self._desk.note
        if note is None or plan is None:
            return ""
        if plan is not self._cautioned:
            self._cautions, self._cautioned = {caution.note_id: caution for caution in cautions(plan)}, plan
        caution = self._cautions.get(note.id)
        if caution is None:
            return ""
        # Where the note stands is said above.
        reach = caution.text.removeprefix(f"{plan.part.place(note)}: ")
        return f"{reach} {caution.easier}"

    def _note_words(self, plan: Plan | None) -> str:
        note, part = self._desk.note, self._desk.part
        if note is None or part is None:
            return _("Select a note: click it, or go from note to note with the arrow keys.")
        words = f"<b>{note.pitch.printed}</b>, {part.place(note)}"
        if plan is None:
            return words
        if note.id in plan.problems:
            return f"{words}<br>{plan.problems[note.id]}"
        if note.id in plan.locks:
            fixed = _("Fixed by you: {words}.").format(words=plan.locks[note.id].words(plan.setting.instrument))
            return f"{words}<br>{fixed}"
        return words
