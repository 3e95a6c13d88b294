"""The weights of all effort terms, to be opened and closed: those that count otherwise than usual are checked."""

from __future__ import annotations

from typing import Any

from PySide6.QtCore import Qt
from PySide6.QtWidgets import QCheckBox, QDoubleSpinBox, QGridLayout, QToolButton, QVBoxLayout, QWidget

from analysis.fingering.terms import TERMS
from analysis.language import _
from app.window.rules.rule_fields import RuleField, WheelGuard

_HEAVIEST = 20.0
_COLUMNS = 2
_APART = 24  # columns, in pixels


class WeightsField(RuleField):
    """A button that says how many weigh otherwise, and under it a box and a number for each term."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.rows = {term.name: _Weight(_(term.says), self) for term in TERMS}
        self.unfold = QToolButton(self)
        self.unfold.setCheckable(True)
        self.unfold.setAutoRaise(True)
        self.unfold.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonTextBesideIcon)
        self.list = QWidget(self)
        grid = QGridLayout(self.list)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setHorizontalSpacing(8)
        grid.setVerticalSpacing(2)
        lines = -(-len(self.rows) // _COLUMNS)
        for place, row in enumerate(self.rows.values()):
            column = 3 * (place // lines)
            grid.addWidget(row.box, place % lines, column)
            grid.addWidget(row.spin, place % lines, column + 1)
            row.box.toggled.connect(self._tell)
            row.spin.valueChanged.connect(self._tell)
        grid.setColumnMinimumWidth(2, _APART)
        grid.setColumnStretch(3 * _COLUMNS, 1)
        column_of = QVBoxLayout()
        column_of.setContentsMargins(0, 0, 0, 0)
        column_of.addWidget(self.unfold, 0, Qt.AlignmentFlag.AlignLeft)
        column_of.addWidget(self.list)
        self.row.addLayout(column_of)
        self.unfold.toggled.connect(self._fold)
        self._fold(False)
        self.setFocusProxy(self.unfold)

    @property
    def value(self) -> dict[str, float]:
        """The weights that are said, by term."""
        return {name: row.weight for name, row in self.rows.items() if row.box.isChecked()}

    def _show(self, value: Any) -> None:
        for name, row in self.rows.items():
            row.show_weight(value.get(name))
        self._say()

    def lay_under(self, beneath: dict[str, float]) -> None:
        """Show what holds where nothing is said; by itself that is the usual weight, 1."""
        for name, row in self.rows.items():
            row.usual = beneath.get(name, 1.0)
            row.rest()

    def _tell(self) -> None:
        self._say()
        self.changed.emit()

    def _fold(self, unfolded: bool) -> None:
        self.list.setVisible(unfolded)
        self.unfold.setArrowType(Qt.ArrowType.DownArrow if unfolded else Qt.ArrowType.RightArrow)
        self._say()

    def _say(self) -> None:
        said = sum(row.box.isChecked() for row in self.rows.values())
        words = _("{number} of {terms} otherwise").format(number=said, terms=len(self.rows))
        self.unfold.setText(words if said else _("all as usual"))


class _Weight:
    """One term: the box that says it counts otherwise, and how much."""

    def __init__(self, says: str, parent: QWidget) -> None:
        self.usual = 1.0
        self.box = QCheckBox(says, parent)
        self.spin = QDoubleSpinBox(parent)
        self.spin.setRange(0, _HEAVIEST)
        self.spin.setSingleStep(0.1)
        self.spin.setDecimals(2)
        self.spin.setPrefix("× ")
        self.spin.setAccessibleName(_("How much {term} counts").format(term=says))
        WheelGuard.over(self.spin)
        self._exact = self._shown = 1.0
        self.box.toggled.connect(self.rest)
        self.rest()

    @property
    def weight(self) -> float:
        """How much it counts; to the last digit while nobody changes it."""
        return self._exact if self.spin.value() == self._shown else self.spin.value()

    def show_weight(self, weight: float | None) -> None:
        """Say that weight, or nothing."""
        self.box.setChecked(weight is not None)
        if weight is not None:
            self._set(weight)

    def rest(self) -> None:
        """Where nothing is said, show what holds then."""
        self.spin.setEnabled(self.box.isChecked())
        if not self.box.isChecked():
            self._set(self.usual)

    def _set(self, weight: float) -> None:
        self.spin.blockSignals(True)
        self.spin.setValue(weight)
        self.spin.blockSignals(False)
        self._exact, self._shown = weight, self.spin.value()
