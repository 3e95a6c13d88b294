"""The dialog on paper and copies: what holds for every part that is printed, and who gets a copy."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from PySide6.QtCore import QSize
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDialog,
    QDialogButtonBox,
    QDoubleSpinBox,
    QFormLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QPushButton,
    QVBoxLayout,
    QWidget,
)

from analysis.language import _, later, n_, p_
from app.errors import AppError
from app.job.teacher.printing import PAPERS, Copies, Printing, imprint_of
from app.window.paper.copies_table import CopiesTable
from app.window.style import look
from app.window.style.tongue import date_words
from app.window.widgets.labels import heading, quiet_label
from app.window.widgets.sizes import resize_on_screen
from engraving.errors import EngravingError
from engraving.layout import MARGIN_MM, STAFF_MM

_PAPER_NAMES = {"a4": "A4", "letter": later("US Letter")}
# Staff heights in millimetres that are offered in words: common practice, no source.
_HEIGHTS = {later("small, for fewer pages"): 6.0, later("usual"): 7.0, later("large, for young readers"): 8.5}
_OTHER_HEIGHT = later("another height")
_WIDTH, _BETWEEN = 640, 8  # pixels
_DECIMALS = 1  # of millimetres, and one more for a value that has it


class PrintingDialog(QDialog):
    """Shows a printing and the copies of ``parts`` (ids, names, copies), and holds what they are changed to.

    What cannot be printed is said in the dialog, which then cannot be agreed to.
    """

    def __init__(
        self, printing: Printing, parts: Sequence[tuple[str, str, Copies]], parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._before = printing
        self.setWindowTitle(_("Paper and copies"))
        self.paper = QComboBox(self)
        self.staff = _Millimetres(printing.staff_mm, STAFF_MM, self)
        self.height_words = QComboBox(self)
        self.margin = _Millimetres(printing.margin_mm, MARGIN_MM, self)
        self.marks = QComboBox(self)
        self.cues = QCheckBox(_("C&ues before an entry after a long rest"), self)
        self.turns = QCheckBox(_("Page &turns in rests, where the music has them"), self)
        self.date = QLineEdit(printing.date, self)
        self.today = QPushButton(_("Toda&y"), self)
        self.marked_by = QLineEdit(printing.marked_by, self)
        self.table = CopiesTable(parts, self)
        self.count = quiet_label(look.QUIET, self)
        self.number_desks = QPushButton(_("&Number the desks"), self)
        self.wrong = quiet_label(look.CAUTION, self)
        self.buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel, self
        )
        self._fill()
        self._describe()
        self._lay_out()
        self._connect()
        self._check()

    # What it holds

    @property
    def printing(self) -> Printing:
        """How parts are to be printed; EngravingError where that cannot be."""
        return Printing(
            paper=self.paper.currentData(),
            staff_mm=self.staff.millimetres,
            margin_mm=self.margin.millimetres,
            colour=self.marks.currentData(),
            cues=self.cues.isChecked(),
            turns=self.turns.isChecked(),
            date=self.date.text(),
            marked_by=self.marked_by.text(),
        )

    @property
    def copies(self) -> Mapping[str, Copies]:
        """The copies by part; AppError where they cannot be."""
        return self.table.copies

    def accept(self) -> None:
        """Agree, unless something cannot be printed."""
        self._check()
        if not self.wrong.text():
            super().accept()

    # How it is made

    def _fill(self) -> None:
        for key in PAPERS:
            self.paper.addItem(_(_PAPER_NAMES.get(key, key)), key)
        self.paper.setCurrentIndex(self.paper.findData(self._before.paper))
        for words, millimetres in _HEIGHTS.items():
            self.height_words.addItem(_(words), millimetres)
        self.height_words.addItem(_(_OTHER_HEIGHT))
        self.marks.addItem(_("black, for the copier"), False)
        self.marks.addItem(_("in colour"), True)
        self.marks.setCurrentIndex(self.marks.findData(self._before.colour))
        self.cues.setChecked(self._before.cues)
        self.turns.setChecked(self._before.turns)
        self.date.setPlaceholderText(p_("no date", "none"))
        self.marked_by.setPlaceholderText(p_("marked by", "nobody"))

    def _describe(self) -> None:
        for widget, name in (
            (self.paper, _("Paper")),
            (self.staff, _("Staff height in millimetres")),
            (self.height_words, _("Staff height in words")),
            (self.margin, _("Margins in millimetres")),
            (self.marks, _("Colour of your marks")),
            (self.date, _("Date at the foot of each page")),
            (self.today, _("Today's date")),
            (self.marked_by, _("Marked by, at the foot of each page")),
        ):
            widget.setAccessibleName(name)
        self.number_desks.setToolTip(_("Desk 1, Desk 2 and so on, where a part has several copies and no names"))

    def _lay_out(self) -> None:
        form = QFormLayout()
        for words, field, beside in (
            (_("&Paper"), self.paper, None),
            (_("&Staff height"), self.staff, self.height_words),
            (_("&Margins"), self.margin, None),
            (_("Your mar&ks"), self.marks, None),
            ("", self.cues, None),
            ("", self.turns, None),
            (_("&Date"), self.date, self.today),
            (_("Marked &by"), self.marked_by, None),
        ):
            label = QLabel(words, self)
            label.setBuddy(field)
            row = QHBoxLayout()
            row.addWidget(field)
            if beside is not None:
                row.addWidget(beside)
            if not isinstance(field, QLineEdit | QCheckBox):
                row.addStretch(1)
            form.addRow(label, row)
        below = QHBoxLayout()
        below.addWidget(self.count, 1)
        below.addWidget(self.number_desks)
        layout = QVBoxLayout(self)
        layout.addLayout(form)
        layout.addSpacing(_BETWEEN)
        layout.addWidget(heading(_("Copies"), self))
        layout.addWidget(self.table, 1)
        layout.addLayout(below)
        layout.addWidget(self.wrong)
        layout.addWidget(self.buttons)
        for button in (self.today, self.number_desks):
            button.setAutoDefault(False)  # Enter in a field agrees to all of it
        resize_on_screen(self, QSize(_WIDTH, self.sizeHint().height()))

    def _connect(self) -> None:
        for box in (self.paper, self.marks):
            box.currentIndexChanged.connect(self._check)
        for spin in (self.staff, self.margin):
            spin.valueChanged.connect(self._check)
        for field in (self.date, self.marked_by):
            field.textChanged.connect(self._check)
        self.height_words.activated.connect(self._take_height)
        self.today.clicked.connect(self._date_today)
        self.table.changed.connect(self._check)
        self.number_desks.clicked.connect(self.table.number_desks)
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)

    # What happens in it

    def _take_height(self, row: int) -> None:
        millimetres = self.height_words.itemData(row)
        if millimetres is None:
            self.staff.setFocus()
            self.staff.selectAll()
        else:
            self.staff.setValue(millimetres)

    def _date_today(self) -> None:
        self.date.setText(date_words(date.today()))

    def _check(self) -> None:
        """Say what cannot be printed, and how many copies there are."""
        row = self.height_words.findData(self.staff.value())
        self.height_words.setCurrentIndex(row if row >= 0 else self.height_words.count() - 1)
        numbers = [row.number.value() for row in self.table.rows.values()]
        self.count.setText(_count_words(numbers))
        self.number_desks.setEnabled(bool(self.table.nameless))
        self.wrong.setText(self._wrong())
        self.buttons.button(QDialogButtonBox.StandardButton.Ok).setEnabled(not self.wrong.text())

    def _wrong(self) -> str:
        try:
            printing = self.printing
            imprint_of(printing)
        except (AppError, EngravingError) as error:
            return _sentence(str(error))
        return _sentence(self.table.wrong(printing))


class _Millimetres(QDoubleSpinBox):
    """A spin box for millimetres that keeps a value to the last digit while nobody changes it."""

    def __init__(self, millimetres: float, limits: tuple[float, float], parent: QWidget) -> None:
        super().__init__(parent)
        self._before = millimetres
        self.setDecimals(_DECIMALS if round(millimetres, 1) == millimetres else _DECIMALS + 1)
        self.setRange(*limits)
        self.setSingleStep(0.5)
        self.setSuffix(" mm")
        self.setValue(millimetres)
        self._shown = self.value()

    @property
    def millimetres(self) -> float:
        """What it says."""
        return self._before if self.value() == self._shown else self.value()


def _count_words(numbers: Sequence[int]) -> str:
    """How many copies of how many parts there are, in one sentence."""
    total, parts = sum(numbers), sum(number > 0 for number in numbers)
    if not total:
        return _("No part has copies: a set of all parts would be empty.")
    copies = n_("{number} copy", "{number} copies", total).format(number=total)
    printed = n_("{number} part", "{number} parts", parts).format(number=parts)
    return _("{copies} of {parts}.").format(copies=copies, parts=printed)


def _sentence(words: str) -> str:
    return f"{words[:1].upper()}{words[1:].rstrip('.')}." if words else ""
