"""All kinds of marks as small buttons, those that belong together beside each other."""

from __future__ import annotations

from collections.abc import Mapping
from collections.abc import Set as AbstractSet

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QAction, QKeySequence, QPainter, QPaintEvent, QPen
from PySide6.QtWidgets import QFrame, QHBoxLayout, QToolButton, QVBoxLayout, QWidget

from app.window import look
from app.window.mark_icons import MarkPictures
from engraving.marks.teacher import MARK_KINDS

# Row by row: what a group is about, and its kinds.
GROUPS = (
    (
        ("Bow", ("down-bow", "up-bow", "retake", "slur", "dashed-slur", "hooked-bow")),
        ("Lines", ("bracket", "circle")),
    ),
    (
        (
            "Fingers",
            ("high", "low", "extension", "courtesy", "string", "position", "held-position", "held-finger"),
        ),
    ),
    (
        ("Touch", ("tenuto", "accent", "staccato", "breath")),
        ("Words and dynamics", ("dynamic", "crescendo", "diminuendo", "text", "margin-text")),
    ),
)
_ICON = QSize(24, 24)
_BUTTON = 28


class MarkButton(QToolButton):
    """The button of one kind; it lies on paper while a mark of its kind stands at the notes in hand."""

    def __init__(self, kind: str, parent: QWidget) -> None:
        super().__init__(parent)
        self.kind = kind
        self._stands = False
        self.setAutoRaise(True)
        self.setToolButtonStyle(Qt.ToolButtonStyle.ToolButtonIconOnly)
        self.setIconSize(_ICON)
        self.setFixedSize(_BUTTON, _BUTTON)

    @property
    def stands(self) -> bool:
        """Whether a mark of its kind stands at the notes in hand."""
        return self._stands

    def show_standing(self, stands: bool) -> None:
        """Show whether a mark of its kind stands at the notes in hand."""
        if stands != self._stands:
            self._stands = stands
            self.setAccessibleDescription("Stands at the notes in hand" if stands else "")
            self.update()

    def paintEvent(self, event: QPaintEvent) -> None:
        """The paper, and the button on it."""
        if self._stands:
            painter = QPainter(self)
            painter.setRenderHint(QPainter.RenderHint.Antialiasing)
            painter.setPen(QPen(look.OWN_INK, 1))
            painter.setBrush(look.PAPER)
            painter.drawRoundedRect(QRectF(self.rect()).adjusted(0.5, 0.5, -0.5, -0.5), 3, 3)
            painter.end()
        super().paintEvent(event)


class MarkPalette(QWidget):
    """The buttons of all kinds, in groups divided by lines."""

    def __init__(self, parent: QWidget) -> None:
        super().__init__(parent)
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

    def _group(self, name: str, kinds: tuple[str, ...]) -> QWidget:
        group = QWidget(self)
        group.setAccessibleName(name)
        layout = QHBoxLayout(group)
        layout.setContentsMargins(0, 0, 0, 0)
        layout.setSpacing(0)
        for kind in kinds:
            layout.addWidget(self.buttons[kind])
        return group

    def use_actions(self, actions: Mapping[str, QAction]) -> None:
        """Have each button do what the command ``mark-<kind>`` does; the command gets a picture and a tooltip."""
        pictures = MarkPictures()
        for kind, button in self.buttons.items():
            action, title = actions[f"mark-{kind}"], MARK_KINDS[kind].title
            action.setIcon(pictures.icon(kind))
            say_keys(action, title)
            button.setDefaultAction(action)
            button.setAccessibleName(title)

    def show_standing(self, kinds: AbstractSet[str]) -> None:
        """Show which kinds of marks stand at the notes in hand."""
        for kind, button in self.buttons.items():
            button.show_standing(kind in kinds)


def say_keys(action: QAction, words: str) -> None:
    """Give an action a tooltip that names its keys."""
    keys = action.shortcut().toString(QKeySequence.SequenceFormat.NativeText)
    action.setToolTip(f"{words} ({keys})" if keys else words)


def _divider(parent: QWidget) -> QFrame:
    line = QFrame(parent)
    line.setFrameShape(QFrame.Shape.VLine)
    line.setFixedHeight(_BUTTON - 8)
    palette = line.palette()
    palette.setColor(line.foregroundRole(), look.PAPER_EDGE)
    line.setPalette(palette)
    return line
