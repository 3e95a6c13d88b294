"""A field for the value of each house rule; what it holds is a plain value, as in a file of house rules.

What cannot be chosen cannot be wrong; what is typed is kept as it is, right or wrong.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from types import MappingProxyType
from typing import Any

from PySide6.QtCore import QEvent, QObject, Qt, Signal
from PySide6.QtWidgets import (
    QCheckBox,
    QComboBox,
    QDoubleSpinBox,
    QGridLayout,
    QHBoxLayout,
    QLabel,
    QLineEdit,
    QWidget,
)

from analysis.fingering.placements import HIGHEST_POSITION, position_name
from analysis.fingering.position_words import full_position
from analysis.instruments import INSTRUMENTS, Instrument
from analysis.language import _, later
from app.job.rules.words import CHOICES, string_words
from app.job.words.names import position_key

_POSITIONS_A_LINE = 7
_LINE = 440  # pixels that boxes beside each other may take
_MOST_STRINGS = 5
# Lengths that are offered for a note that may stay open, in quarter notes.
_LENGTHS = ("1/2", "1", "3/2", "2", "3", "4", "6", "8")
_TEMPO = (10.0, 400.0)


class RuleField(QWidget):
    """The field of one rule. ``changed``: the teacher has changed its value.

    Every kind of field says for itself what it holds and how it shows that: a widget cannot be an abstract class.
    """

    changed = Signal()

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.row = QHBoxLayout(self)
        self.row.setContentsMargins(0, 0, 0, 0)

    @property
    def value(self) -> Any:
        """What it holds."""
        raise NotImplementedError  # each field has its own; Qt's metaclass leaves no room for that of abc.ABC

    def show_value(self, value: Any) -> None:
        """Hold that value, which is no change by the teacher."""
        self.blockSignals(True)
        self._show(value)
        self.blockSignals(False)

    def name_to_hear(self, name: str) -> None:
        """Name what is edited, for those who hear the screen."""
        self.setAccessibleName(name)
        for box in self.findChildren(QWidget):
            if isinstance(box, QLineEdit | QComboBox | QDoubleSpinBox | QCheckBox) and not box.accessibleName():
                words = box.text() if isinstance(box, QCheckBox) else ""
                box.setAccessibleName(f"{words}: {name}" if words else name)

    def _show(self, value: Any) -> None:
        raise NotImplementedError  # as above


class WheelGuard(QObject):
    """Leaves the wheel to the area around a box while nobody types in it: else scrolling would change values."""

    @classmethod
    def over(cls, box: QComboBox | QDoubleSpinBox) -> None:
        """Guard a box."""
        box.setFocusPolicy(Qt.FocusPolicy.StrongFocus)
        box.installEventFilter(cls(box))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Let the wheel pass by."""
        if event.type() is QEvent.Type.Wheel and isinstance(watched, QWidget) and not watched.hasFocus():
            event.ignore()
            return True
        return super().eventFilter(watched, event)


class TextField(RuleField):
    """A line of text."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.line = QLineEdit(self)
        self.line.textChanged.connect(self.changed)
        self.row.addWidget(self.line)
        self.setFocusProxy(self.line)

    @property
    def value(self) -> str:
        """The text."""
        return self.line.text()

    def _show(self, value: Any) -> None:
        if value != self.line.text():
            self.line.setText(value)


class FlagField(RuleField):
    """Yes or no."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.box = QCheckBox(_("yes"), self)
        self.box.toggled.connect(self.changed)
        self.row.addWidget(self.box)
        self.row.addStretch(1)
        self.setFocusProxy(self.box)

    @property
    def value(self) -> bool:
        """Whether it is so."""
        return self.box.isChecked()

    def _show(self, value: Any) -> None:
        self.box.setChecked(value)


class ChoiceField(RuleField):
    """One of some values, by their words."""

    def __init__(self, words: Mapping[Any, str], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.box = QComboBox(self)
        for value, word in words.items():
            self.box.addItem(word, value)
        self.box.currentIndexChanged.connect(self.changed)
        WheelGuard.over(self.box)
        self.row.addWidget(self.box)
        self.row.addStretch(1)
        self.setFocusProxy(self.box)

    @property
    def value(self) -> Any:
        """The value chosen."""
        return self.box.currentData()

    def _show(self, value: Any) -> None:
        self.box.setCurrentIndex(self.box.findData(value))


class NumbersField(RuleField):
    """Any of some whole numbers, each by its words, with a box to check."""

    def __init__(self, words: Mapping[int, str], a_line: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.boxes: dict[int, QCheckBox] = {}
        grid = QGridLayout()
        grid.setHorizontalSpacing(10)
        grid.setVerticalSpacing(2)
        for number, word in words.items():
            box = QCheckBox(word, self)
            box.toggled.connect(self.changed)
            self.boxes[number] = box
        widest = max(box.sizeHint().width() for box in self.boxes.values()) + grid.horizontalSpacing()
        a_line = max(min(a_line, _LINE // widest), 1)
        for place, box in enumerate(self.boxes.values()):
            grid.addWidget(box, place // a_line, place % a_line)
        self.row.addLayout(grid)
        self.row.addStretch(1)
        self.setFocusProxy(next(iter(self.boxes.values())))

    @property
    def value(self) -> list[int]:
        """The numbers checked, in order."""
        return [number for number, box in self.boxes.items() if box.isChecked()]

    def _show(self, value: Any) -> None:
        for number, box in self.boxes.items():
            box.setChecked(number in value)


class TypedField(RuleField):
    """A text with some to choose from; ``after`` stands behind it. Typed texts stay as they are."""

    def __init__(self, offered: tuple[str, ...], after: str, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.box = QComboBox(self)
        self.box.setEditable(True)
        self.box.setInsertPolicy(QComboBox.InsertPolicy.NoInsert)
        self.box.addItems(list(offered))
        self.box.currentTextChanged.connect(self.changed)
        WheelGuard.over(self.box)
        self.row.addWidget(self.box)
        self.row.addWidget(QLabel(_(after) if after else "", self))
        self.row.addStretch(1)
        self.setFocusProxy(self.box)

    @property
    def value(self) -> str:
        """The text."""
        return self.box.currentText()

    def _show(self, value: Any) -> None:
        if str(value) != self.box.currentText():
            self.box.setCurrentText(str(value))


class NumberField(RuleField):
    """A number in bounds; one with more digits than are shown is kept to the last while nobody changes it."""

    def __init__(
        self, bounds: tuple[float, float], step: float, decimals: int, after: str = "", parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.spin = QDoubleSpinBox(self)
        self.spin.setRange(*bounds)
        self.spin.setSingleStep(step)
        self.spin.setDecimals(decimals)
        self.spin.setSuffix(f" {_(after)}" if after else "")
        self._exact = self._shown = self.spin.value()
        self.spin.valueChanged.connect(self.changed)
        WheelGuard.over(self.spin)
        self.row.addWidget(self.spin)
        self.row.addStretch(1)
        self.setFocusProxy(self.spin)

    @property
    def value(self) -> float:
        """The number."""
        return self._exact if self.spin.value() == self._shown else self.spin.value()

    def _show(self, value: Any) -> None:
        self.spin.setValue(value)
        self._exact, self._shown = float(value), self.spin.value()


_Maker = Callable[[Instrument | None, QWidget], RuleField]


def _positions(instrument: Instrument | None) -> dict[int, str]:
    return {number: position_name(number, instrument) for number in range(HIGHEST_POSITION + 1)}


def _strings(instrument: Instrument | None) -> dict[int, str]:
    return {number: string_words(number, instrument) for number in range(1, _MOST_STRINGS + 1)}


def _sizes(instrument: Instrument | None) -> tuple[str, ...]:
    """The sizes of the instrument, or of all of them."""
    built = INSTRUMENTS if instrument is None else (instrument,)
    return tuple(dict.fromkeys(size for one in built for size in one.sizes))


def _choice(name: str) -> _Maker:
    return lambda instrument, parent: ChoiceField({value: _(word) for value, word in CHOICES[name].items()}, parent)


def _position(instrument: Instrument | None, parent: QWidget) -> RuleField:
    words = {number: full_position(position_key(number, instrument)) for number in range(HIGHEST_POSITION + 1)}
    return ChoiceField(words, parent)


def _several_strings(instrument: Instrument | None, parent: QWidget) -> RuleField:
    return NumbersField(_strings(instrument), _MOST_STRINGS, parent)


def _flag(instrument: Instrument | None, parent: QWidget) -> RuleField:
    return FlagField(parent)


def _text(instrument: Instrument | None, parent: QWidget) -> RuleField:
    return TextField(parent)


# How each rule is edited; its names are those of an instrument. Effort weights have a list of their own.
MAKERS: Mapping[str, _Maker] = MappingProxyType(
    {
        "name": _text,
        "title": _text,
        "positions": lambda instrument, parent: NumbersField(_positions(instrument), _POSITIONS_A_LINE, parent),
        "home": _position,
        "longest_open": lambda instrument, parent: TypedField(_LENGTHS, later("quarter notes"), parent),
        "never_open": _several_strings,
        "open_or_fourth": _choice("open_or_fourth"),
        "fourth_saves_crossing": _flag,
        "avoid_shrill_open": _flag,
        "extensions": _flag,
        "lower_strings_to": _position,
        "keep_on": _several_strings,
        "same_again": _flag,
        "printed": _choice("printed"),
        "tempo": lambda instrument, parent: NumberField(_TEMPO, 2, 1, later("quarters a minute"), parent),
        "size": lambda instrument, parent: TypedField(_sizes(instrument), "", parent),
        "reach": _choice("reach"),
    }
)
