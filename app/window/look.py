"""How the window looks: its colours and the styles of what is painted over the page."""

from __future__ import annotations

from PySide6.QtGui import QColor, QFont, QPainter, QPalette
from PySide6.QtWidgets import QApplication, QStyleFactory, QWidget

from engraving.painter import COMPUTED, OWN

DESK = QColor("#d9d5cc")
PAPER = QColor("#ffffff")
PAPER_EDGE = QColor("#b9b3a6")
GROUND = QColor("#f4f2ed")
FIELD = QColor("#fffefb")
INK = QColor("#22262a")
QUIET_INK = QColor("#5d6266")
ACCENT = QColor(COMPUTED.ink)
OWN_INK = QColor(OWN.ink)
SELECTED_NOTE = QColor(31, 111, 120, 60)
LIT = QColor(214, 164, 60, 90)
LIT_EDGE = QColor("#8a6414")
SOUNDING = QColor(31, 111, 120, 120)
PASSAGE = QColor(214, 164, 60, 56)
PASSAGE_EDGE = QColor("#8a6414")


def dress(application: QApplication) -> None:
    """Give the application Handframe's own look, the same on every system."""
    application.setStyle(QStyleFactory.create("Fusion"))
    palette = QPalette()
    for role, colour in (
        (QPalette.ColorRole.Window, GROUND),
        (QPalette.ColorRole.WindowText, INK),
        (QPalette.ColorRole.Base, FIELD),
        (QPalette.ColorRole.AlternateBase, GROUND),
        (QPalette.ColorRole.Text, INK),
        (QPalette.ColorRole.Button, QColor("#e9e5dc")),
        (QPalette.ColorRole.ButtonText, INK),
        (QPalette.ColorRole.ToolTipBase, FIELD),
        (QPalette.ColorRole.ToolTipText, INK),
        (QPalette.ColorRole.PlaceholderText, QUIET_INK),
        (QPalette.ColorRole.Highlight, ACCENT),
        (QPalette.ColorRole.HighlightedText, QColor("#ffffff")),
    ):
        palette.setColor(role, colour)
    for role in (QPalette.ColorRole.Text, QPalette.ColorRole.WindowText, QPalette.ColorRole.ButtonText):
        palette.setColor(QPalette.ColorGroup.Disabled, role, QColor("#8f8c85"))
    application.setPalette(palette)


def plot_painter(widget: QWidget) -> QPainter:
    """A painter for a plot on paper, its lettering a little smaller than the window's."""
    painter = QPainter(widget)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    painter.fillRect(widget.rect(), PAPER)
    font = QFont(widget.font())
    font.setPointSizeF(font.pointSizeF() * 0.85)
    painter.setFont(font)
    return painter
