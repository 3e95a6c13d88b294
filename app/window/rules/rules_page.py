"""What house rules say in one place, everywhere or in a table: each rule's sentence with its field beside it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import Any

from PySide6.QtCore import Qt, Signal
from PySide6.QtWidgets import QCheckBox, QGridLayout, QWidget

from analysis.fingering.rules.house import RULE_SENTENCES
from analysis.instruments import Instrument
from analysis.language import _, later, p_
from app.job.rules.draft import TABLE_RULES
from app.window.rules.rule_fields import MAKERS, RuleField
from app.window.rules.weights_field import WeightsField
from app.window.style import look
from app.window.widgets.labels import heading, quiet_label

# The rules as they stand below each other, under their headings.
GROUPS = {
    later("What they are called"): ("title", "name"),
    later("Where the hand plays"): ("positions", "home", "lower_strings_to", "keep_on", "extensions"),
    later("Open strings and the fourth finger"): (
        "longest_open",
        "never_open",
        "avoid_shrill_open",
        "open_or_fourth",
        "fourth_saves_crossing",
    ),
    later("The music and the players"): ("same_again", "tempo", "size", "reach"),
    later("On paper"): ("printed",),
    later("Effort"): ("weights",),
}
_SENTENCE = 300  # pixels
_BETWEEN, _BEFORE_HEADING, _MARGIN = 14, 8, 9


class RuleRow:
    """One rule: in a table a box that says it is otherwise there, its sentence, its field, and what is wrong."""

    def __init__(self, name: str, instrument: Instrument | None, page: QWidget, *, in_table: bool) -> None:
        sentence = _(RULE_SENTENCES[name])
        self._name = name
        self.otherwise = QCheckBox(page) if in_table else None
        self.sentence = quiet_label(look.PLAIN, page)
        self.sentence.setText(sentence)
        self.field: RuleField = WeightsField(page) if name == "weights" else MAKERS[name](instrument, page)
        self.wrong = quiet_label(look.CAUTION, page)
        self.wrong.hide()
        self.field.name_to_hear(sentence)
        if self.otherwise is not None:
            self.otherwise.setAccessibleName(_("Otherwise here: {rule}").format(rule=sentence))
            self.otherwise.setToolTip(_("Otherwise here"))

    @property
    def is_said(self) -> bool:
        """Whether the rule is said here."""
        return self.otherwise is None or self.otherwise.isChecked()

    def rest(self) -> None:
        """Let the field be used where the rule is said."""
        self.field.setEnabled(self.is_said)
        self.sentence.setEnabled(self.is_said)

    def say_wrong(self, sentence: str) -> None:
        """Say what is wrong with the value, "" where nothing is; the field needs no name of the rule."""
        told, this = sentence.removeprefix(self._name), p_("instead of the name of a rule", "This")
        words = f"{this}{told}" if told != sentence else sentence
        self.wrong.setText(f"{words}." if words else "")
        self.wrong.setVisible(bool(sentence))


class RulesPage(QWidget):
    """``changed``: another value of the rule of that name, or it is said here or no longer."""

    changed = Signal(str)

    def __init__(self, instrument: Instrument | None, parent: QWidget | None = None, *, in_table: bool) -> None:
        super().__init__(parent)
        self.instrument = instrument
        self._beneath: Mapping[str, Any] = {}
        self.rows: dict[str, RuleRow] = {}
        grid = QGridLayout(self)
        grid.setHorizontalSpacing(_BETWEEN)
        grid.setColumnMinimumWidth(1, _SENTENCE)
        grid.setColumnStretch(2, 1)
        line = 0
        grid.setContentsMargins(_MARGIN, 0, _MARGIN, _MARGIN)
        for title, names in GROUPS.items():
            shown = [name for name in names if not in_table or name in TABLE_RULES]
            if shown:
                grid.setRowMinimumHeight(line, _BEFORE_HEADING)
                grid.addWidget(heading(_(title), self), line + 1, 0, 1, 3)
                line += 2
            for name in shown:
                self._add_row(grid, line, name, RuleRow(name, instrument, self, in_table=in_table))
                line += 2
        grid.setRowStretch(line, 1)

    def _add_row(self, grid: QGridLayout, line: int, name: str, row: RuleRow) -> None:
        top = Qt.AlignmentFlag.AlignTop
        if row.otherwise is not None:
            grid.addWidget(row.otherwise, line, 0, top)
            row.otherwise.toggled.connect(partial(self._say_otherwise, name))
        if isinstance(row.field, WeightsField):
            grid.addWidget(row.sentence, line, 1, 1, 2, top)
            grid.addWidget(row.field, line + 1, 1, 1, 2, top)
        else:
            row.sentence.setFixedWidth(_SENTENCE)
            grid.addWidget(row.sentence, line, 1, top)
            grid.addWidget(row.field, line, 2, top)
            grid.addWidget(row.wrong, line + 1, 2)
        row.field.changed.connect(partial(self.changed.emit, name))
        self.rows[name] = row

    @property
    def values(self) -> dict[str, Any]:
        """What is said here, by rule."""
        return {name: row.field.value for name, row in self.rows.items() if row.is_said}

    def show_values(self, values: Mapping[str, Any], beneath: Mapping[str, Any]) -> None:
        """Show what is said here, and where nothing is, what holds then."""
        self._beneath = beneath
        for name, row in self.rows.items():
            if row.otherwise is not None:
                row.otherwise.blockSignals(True)
                row.otherwise.setChecked(name in values)
                row.otherwise.blockSignals(False)
            self._show_value(name, values.get(name))
            row.rest()

    def say_wrong(self, wrong: Mapping[str, str]) -> None:
        """Say beside the fields what is wrong, by rule."""
        for name, row in self.rows.items():
            row.say_wrong(wrong.get(name, ""))

    def _show_value(self, name: str, value: Any) -> None:
        row = self.rows[name]
        if isinstance(row.field, WeightsField):
            row.field.lay_under(self._beneath.get(name, {}))
            row.field.show_value(value or {})
        elif row.is_said or name in self._beneath:
            row.field.show_value(value if row.is_said else self._beneath[name])

    def _say_otherwise(self, name: str, said: bool) -> None:
        row = self.rows[name]
        if not said:
            self._show_value(name, None)
        row.rest()
        if said:
            row.field.setFocus()
        self.changed.emit(name)
