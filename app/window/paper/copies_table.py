"""The table of who gets a copy: for each part how many, and the names of desks or players on them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QWheelEvent
from PySide6.QtWidgets import QFrame, QGridLayout, QLineEdit, QScrollArea, QSpinBox, QWidget

from analysis.language import _
from app.errors import AppError
from app.job.teacher.printing import MOST_COPIES, Copies, Printing, imprint_of
from app.window.style import look
from app.window.widgets.labels import quiet_label
from engraving.errors import EngravingError

_ROWS_SEEN, _LEAST_ROWS = 8, 3  # without scrolling: where there is room, and on a small screen; of more, about as many
_BETWEEN = 12  # columns, in pixels
_WIDEST_NAME = 220  # of a part, in pixels; longer ones wrap


class CopiesTable(QScrollArea):
    """A row a part. ``changed``: something in it is another."""

    changed = Signal()

    def __init__(self, parts: Sequence[tuple[str, str, Copies]], parent: QWidget | None = None) -> None:
        """``parts``: their ids, names and copies."""
        super().__init__(parent)
        self.setAccessibleName(_("Copies of each part"))
        self.setFocusPolicy(Qt.FocusPolicy.NoFocus)
        self.setFrameShape(QFrame.Shape.NoFrame)
        self.setWidgetResizable(True)
        self.setHorizontalScrollBarPolicy(Qt.ScrollBarPolicy.ScrollBarAlwaysOff)
        inside = QWidget(self)
        grid = QGridLayout(inside)
        grid.setContentsMargins(0, 0, 0, 0)
        grid.setColumnStretch(2, 1)
        grid.setHorizontalSpacing(_BETWEEN)
        for column, words in enumerate(
            (_("Part"), _("Copies"), _("Names of desks or players, with commas between them"))
        ):
            label = quiet_label(look.QUIET, inside)
            label.setText(words)
            grid.addWidget(label, 0, column)
        self.rows = {part_id: CopiesRow(name, copies, inside) for part_id, name, copies in parts}
        for line, row in enumerate(self.rows.values(), 1):
            for column, widget in enumerate((row.label, row.number, row.names)):
                grid.addWidget(widget, line, column)
            row.number.valueChanged.connect(self.changed)
            row.names.textChanged.connect(self.changed)
        grid.setRowStretch(len(self.rows) + 1, 1)
        self.setWidget(inside)
        line = next((row.number.sizeHint().height() for row in self.rows.values()), 0) + grid.verticalSpacing()
        few = len(self.rows) <= _ROWS_SEEN
        self._height = grid.sizeHint().height() if few else line * (1 + _ROWS_SEEN)
        self.setMinimumHeight(min(self._height, line * (1 + _LEAST_ROWS)))

    def sizeHint(self) -> QSize:
        """As high as some of its rows; of a few, all."""
        return QSize(super().sizeHint().width(), self._height)

    @property
    def copies(self) -> Mapping[str, Copies]:
        """The copies by part; AppError where a row says what cannot be."""
        return {part_id: row.copies for part_id, row in self.rows.items()}

    @property
    def nameless(self) -> list[CopiesRow]:
        """The rows of several copies without a name."""
        return [row for row in self.rows.values() if row.number.value() > 1 and not row.names.text().strip()]

    def number_desks(self) -> None:
        """Give each copy the number of a desk where there are several without names."""
        for row in self.nameless:
            row.names.setText(
                ", ".join(_("Desk {number}").format(number=desk) for desk in range(1, row.number.value() + 1))
            )

    def wrong(self, printing: Printing) -> str:
        """What cannot be printed so, in one sentence; "" when all of it can."""
        for row in self.rows.values():
            try:
                for label in row.copies.labels:
                    imprint_of(printing, label)
            except (AppError, EngravingError) as error:
                return f"{row.name}: {error}"
        return ""


class CopiesRow:
    """The fields of one part; while its names are as they were, they are kept to the letter."""

    def __init__(self, name: str, copies: Copies, parent: QWidget) -> None:
        self.name = name
        self._before = copies.names
        self.label = quiet_label(look.PLAIN, parent)
        self.label.setText(name)
        self.label.setFixedWidth(min(self.label.fontMetrics().horizontalAdvance(name) + 1, _WIDEST_NAME))
        self.number = _Number(parent)
        self.number.setRange(0, MOST_COPIES)
        self.number.setValue(copies.number)
        self.number.setAccessibleName(_("Copies of {part}").format(part=name))
        self.names = QLineEdit(names_text(copies.names), parent)
        self.names.setAccessibleName(_("Names on the copies of {part}").format(part=name))
        self._shown = self.names.text()
        self.names.textChanged.connect(self._raise_number)

    @property
    def copies(self) -> Copies:
        """What the row says; AppError when that cannot be."""
        names = self._before if self.names.text() == self._shown else names_of(self.names.text())
        number = self.number.value()
        if 0 < number < len(names) <= MOST_COPIES:
            raise AppError(_("{number} names need as many copies, or none").format(number=len(names)))
        return Copies(number, names)

    def _raise_number(self) -> None:
        self.number.setValue(max(self.number.value(), len(names_of(self.names.text()))))


class _Number(QSpinBox):
    """A spin box that leaves the wheel to the table around it while nobody types in it."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self.setFocusPolicy(Qt.FocusPolicy.StrongFocus)

    def wheelEvent(self, event: QWheelEvent) -> None:
        """Count by the wheel only with the focus."""
        if self.hasFocus():
            super().wheelEvent(event)
        else:
            event.ignore()


def names_text(names: Sequence[str]) -> str:
    """Names with commas between them; with semicolons where a name has a comma itself."""
    if any("," in name for name in names):
        return "; ".join(names) + (";" if len(names) == 1 else "")
    return ", ".join(names)


def names_of(text: str) -> tuple[str, ...]:
    """The names of such a text."""
    words = (" ".join(name.split()) for name in text.split(";" if ";" in text else ","))
    return tuple(name for name in words if name)
