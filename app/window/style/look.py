"""How the window looks: the colours of what is painted on paper, which stays light, and the roles of all others.

What lies on the window's own ground takes its colours from the palette, by role, so that it follows another palette at
once; ``shades`` has the palettes.
"""

from __future__ import annotations

from PySide6.QtCore import QRect, QRectF
from PySide6.QtGui import QColor, QFont, QFontMetrics, QPainter, QPalette
from PySide6.QtWidgets import QApplication, QToolTip, QWidget

from app.window.style.outlined import OutlinedStyle
from app.window.style.shades import LIGHT, Shades, palette_of
from engraving.styles import COMPUTED, OWN

# On paper.
PAPER = QColor("#ffffff")
CREAM = QColor("#fbf1dc")
PAPER_EDGE = QColor("#b9b3a6")
INK = QColor("#22262a")
QUIET_INK = QColor("#5d6266")
LINE = QColor("#86816f")
ACCENT = QColor(COMPUTED.ink)
OWN_INK = QColor(OWN.ink)
SELECTED_NOTE = QColor(31, 111, 120, 60)
LIT = QColor(214, 164, 60, 90)
LIT_EDGE = QColor("#8a6414")
SOUNDING = QColor(31, 111, 120, 120)
PASSAGE = QColor(214, 164, 60, 56)
PASSAGE_EDGE = QColor("#8a6414")

# On the window: the inks of words, of the teacher's marks, of lines between things; the desk that pages lie on.
PLAIN = QPalette.ColorRole.WindowText
QUIET = QPalette.ColorRole.PlaceholderText
CAUTION = QPalette.ColorRole.BrightText
OWN_ROLE = QPalette.ColorRole.LinkVisited
HAIRLINE = QPalette.ColorRole.Midlight
DESK = QPalette.ColorRole.Dark

# The property of the application that holds the tint of the paper.
_PAPER = "paper"


def dress(application: QApplication, shades: Shades = LIGHT, paper: QColor = PAPER) -> None:
    """Give the application Handframe's own look, the same on every system; all that is shown changes at once."""
    if not isinstance(application.style(), OutlinedStyle):
        application.setStyle(OutlinedStyle())
    application.setProperty(_PAPER, paper)
    palette = palette_of(shades)
    application.setPalette(palette)
    QToolTip.setPalette(palette)
    for widget in application.allWidgets():
        widget.update()


def paper() -> QColor:
    """The paper on the screen: white, or the tint that is chosen."""
    application = QApplication.instance()
    chosen = application.property(_PAPER) if application is not None else None
    return chosen if isinstance(chosen, QColor) else PAPER


def tint(painter: QPainter, area: QRectF | QRect) -> None:
    """Tint what is painted on white there, as if it were on the paper of the screen."""
    if paper() != PAPER:
        painter.save()
        painter.setCompositionMode(QPainter.CompositionMode.CompositionMode_Multiply)
        painter.fillRect(area, paper())
        painter.restore()


def plot_painter(widget: QWidget) -> QPainter:
    """A painter for a plot on paper, its lettering a little smaller than the window's."""
    painter = QPainter(widget)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.fillRect(widget.rect(), paper())
    painter.setFont(_plot_font(widget))
    return painter


def plot_metrics(widget: QWidget) -> QFontMetrics:
    """How large the letters of a plot are."""
    return QFontMetrics(_plot_font(widget))


def _plot_font(widget: QWidget) -> QFont:
    font = QFont(widget.font())
    font.setPointSizeF(font.pointSizeF() * 0.85)
    return font
