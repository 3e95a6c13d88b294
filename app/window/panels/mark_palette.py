"""All kinds of marks as small buttons, those that belong together beside each other."""

from __future__ import annotations

from collections.abc import Mapping
from collections.abc import Set as AbstractSet

from PySide6.QtCore import QEvent, QRectF, QSize, Qt
from PySide6.QtGui import QAction, QIcon, QKeySequence, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import (
    QFrame,
    QHBoxLayout,
    QStyle,
    QStyleOptionToolButton,
    QStylePainter,
    QToolButton,
    QVBoxLayout,
    QWidget,
)

from analysis.language import _, later
from app.window.panels.mark_icons import Inks, MarkPictures
from app.window.style import look
from app.window.widgets.flow import order_focus
from engraving.marks.teacher import MARK_KINDS

# Row by row: what a group is about, and its kinds.
GROUPS = (
    (
        (later("Bow"), ("down-bow", "up-bow", "retake", "slur", "dashed-slur", "hooked-bow")),
        (later("Lines"), ("bracket", "circle")),
    ),
    (
        (
            later("Fingers"),
            ("high", "low", "extension", "courtesy", "string", "position", "held-position", "held-finger"),
        ),
    ),
    (
        (later("Touch"), ("tenuto", "accent", "staccato", "breath")),
        (later("Words and dynamics"), ("dynamic", "crescendo", "diminuendo", "text", "margin-text")),
    ),
)
_LEAST_ICON, _MOST_ICON = 24, 36  # pixels
_BORDER = 4  # both sides of a picture together, in pixels


class MarkButton(QToolButton):
    """The button of one kind; it lies on paper while a mark of its kind stands at the notes in hand."""

    def __init__(self, kind: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.kind = kind
        self._stands = False
        self.setAutoRaise(True)
        self.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonIconOnly)
        icon = _icon_size(parent)
        self.setIconSize(QSize(icon, icon))
        self.setFixedSize(icon + _BORDER, icon + _BORDER)
        self.on_paper = QIcon()

    @property
    def stands(self) -> bool:
        """Whether a mark of its kind stands at the notes in hand."""
        return self._stands

    def show_standing(self, stands: bool) -> None:
        """Show whether a mark of its kind stands at the notes in hand."""
        if stands != self._stands:
            self._stands = stands
            self.setAccessibleDescription(_("Stands at the notes in hand") if stands else "")
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """The paper, and the button on it."""
        if not self._stands:
            super().paintEvent(event)
            return
        painter = QStylePainter(self)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.setPen(QPen(self.palette().color(look.OWN_ROLE), 1))
        painter.setBrush(look.PAPER)
        painter.drawRoundedRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5), 3, 3)
        option = QStyleOptionToolButton()
        self.initStyleOption(option)
        option.icon = self.on_paper
        painter.drawComplexControl(QStyle.ComplexControl.CC_ToolButton, option)


class MarkPalette(QWidget):
    """The buttons of all kinds, in groups divided by lines."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
        self._pictures = MarkPictures()
        self.buttons = {kind: MarkButton(kind, self) for kind in MARK_KINDS}
        rows = QVBoxLayout(self)
        rows.setContentsMargins(0, 0, 0, 0)
        rows.setSpacing(2)
        for groups in GROUPS:
            row = QHBoxLayout()
            row.setSpacing(0)
            for number, (name, kinds) in enumerate(groups):
                if number:
                    row.addSpacing(3)
                    row.addWidget(_divider(self))
                    row.addSpacing(3)
                row.addWidget(self._group(name, kinds))
            row.addStretch(1)
            rows.addLayout(row)
        order_focus(*(self.buttons[kind] for groups in GROUPS for _name, kinds in groups for kind in kinds))

    def _group(self, name: str, kinds: tuple[str, ...]) -> QWidget:
        group = QWidget(self)
        group.setAccessibleName(_(name))
        layout = QHBoxLayout(group)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        for kind in kinds:
            layout.addWidget(self.buttons[kind])
        return group

    def use_actions(self, actions: Mapping[str, QAction]) -> None:
        """Have each button do what the command ``mark-<kind>`` does; the command gets a picture and a tooltip."""
        for kind, button in self.buttons.items():
            action, title = actions[f"mark-{kind}"], _(MARK_KINDS[kind].title)
            say_keys(action, title)
            button.setDefaultAction(action)
            button.setAccessibleName(title)
            button.on_paper = self._pictures.icon(kind)
        self._show_pictures()

    def changeEvent(self, event: QEvent) -> None:
        """Have the pictures in the inks of another palette."""
        super().changeEvent(event)
        if event.type() == QEvent.Type.PaletteChange:
            self._show_pictures()

    def _show_pictures(self) -> None:
        inks = Inks(self.palette().color(look.OWN_ROLE), self.palette().color(look.QUIET))
        for kind, button in self.buttons.items():
            if button.defaultAction() is not None:
                button.defaultAction().setIcon(self._pictures.icon(kind, inks))

    def show_standing(self, kinds: AbstractSet[str]) -> None:
        """Show which kinds of marks stand at the notes in hand."""
        for kind, button in self.buttons.items():
            button.show_standing(kind in kinds)


def say_keys(action: QAction, words: str) -> None:
    """Give an action a tooltip that names its keys."""
    keys = action.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
    action.setToolTip(f"{words} ({keys})" if keys else words)


def _icon_size(widget: QWidget) -> int:
    """How large pictures are beside the letters there."""
    return min(max(_LEAST_ICON, round(1.6 * widget.fontMetrics().height())), _MOST_ICON)


def _divider(parent: QWidget) -> QFrame:
    line = QFrame(parent)
    line.setFrameShape(QFrame.Shape.VLine)
    line.setFixedHeight(_icon_size(parent) - _BORDER)
    line.setForegroundRole(look.HAIRLINE)
    return line
