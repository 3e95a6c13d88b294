"""The dialog on colours: those of the window and of the paper on the screen, seen while they are chosen."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeVar

from PySide6.QtWidgets import QDialog, QDialogButtonBox, QGroupBox, QRadioButton, QVBoxLayout, QWidget

from analysis.language import _, later
from app.window.style import look
from app.window.style.colouring import Colouring, Colours, Paper, WindowColours
from app.window.widgets.labels import quiet_label

_WINDOWS = {
    WindowColours.DESKTOP: later("As the &desktop"),
    WindowColours.LIGHT: later("&Light"),
    WindowColours.DARK: later("Dar&k"),
    WindowColours.HIGH_CONTRAST: later("&High contrast"),
}
_PAPERS = {Paper.WHITE: later("&White"), Paper.CREAM: later("&Cream")}
_K = TypeVar("_K")


class ColoursDialog(QDialog):
    """Shows what is chosen at once; what was there before comes back unless it is agreed to."""

    def __init__(self, colouring: Colouring, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._colouring, self._before = colouring, colouring.shown
        self.setWindowTitle(_("Colours"))
        # Of radio buttons with one parent Qt lets one alone be checked: each choice is in a box from the beginning.
        self._window_box, self._paper_box = QGroupBox(_("Window"), self), QGroupBox(_("Paper on the screen"), self)
        self.windows = {which: QRadioButton(_(words), self._window_box) for which, words in _WINDOWS.items()}
        self.papers = {which: QRadioButton(_(words), self._paper_box) for which, words in _PAPERS.items()}
        self.buttons = QDialogButtonBox(
            QDialogButtonBox.StandardButton.Ok | QDialogButtonBox.StandardButton.Cancel, self
        )
        self.windows[self._before.window].setChecked(True)
        self.papers[self._before.paper].setChecked(True)
        self._lay_out()
        for button in (*self.windows.values(), *self.papers.values()):
            button.toggled.connect(self._show)
        self.buttons.accepted.connect(self.accept)
        self.buttons.rejected.connect(self.reject)

    @property
    def colours(self) -> Colours:
        """What is chosen."""
        return Colours(_checked(self.windows), _checked(self.papers))

    def accept(self) -> None:
        """Keep what is chosen."""
        self._colouring.keep()
        super().accept()

    def reject(self) -> None:
        """Bring back what was there before."""
        if self._colouring.shown != self._before:
            self._colouring.show(self._before)
        super().reject()

    def _lay_out(self) -> None:
        layout = QVBoxLayout(self)
        for box, buttons in ((self._window_box, self.windows.values()), (self._paper_box, self.papers.values())):
            column = QVBoxLayout(box)
            for button in buttons:
                column.addWidget(button)
            layout.addWidget(box)
        remark = quiet_label(look.QUIET, self)
        remark.setText(_("Prints and files are always on white."))
        layout.addWidget(remark)
        layout.addWidget(self.buttons)

    def _show(self, checked: bool) -> None:
        if checked and self.colours != self._colouring.shown:
            self._colouring.show(self.colours)


def _checked(buttons: Mapping[_K, QRadioButton]) -> _K:
    return next(which for which, button in buttons.items() if button.isChecked())
