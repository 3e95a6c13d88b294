"""Paper that fills from top to bottom: lines, paragraphs and music, on as many pages as they need.

All lengths are in mm.
"""

from __future__ import annotations

from collections.abc import Sequence

from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPen, QTextLayout, QTextOption

from app.job.paper.part import PaperPage
from engraving.fonts import load_fonts, text_font
from engraving.painter import PagePainter
from engraving.paper import UNITS_A_MM, Paper

_INK, _FAINT = QColor("#000000"), QColor("#bbbbbb")
_LINE, _PARAGRAPH_LINE = 1.4, 1.18  # the height of a line of text, in parts of its size
_SPARE_ABOVE = 0.75  # of what a line of a paragraph is higher than its letters, so much lies above them


class Paragraph:
    """Text that wraps, ``width`` wide, in letters of ``size_mm``; ``lead`` stands before it in bold."""

    def __init__(self, text: str, width: float, size_mm: float, lead: str = "") -> None:
        load_fonts()
        # No document: as a QObject it makes connections, and a thread that waits for one keeps hold of the interpreter,
        # for which another may wait that breaks one off.
        self._layout = QTextLayout(f"{lead} {text}" if lead else text, text_font(size_mm * UNITS_A_MM))
        bold = QTextLayout.FormatRange()
        bold.start, bold.length = 0, len(lead.encode("utf-16-le")) // 2  # Qt counts in UTF-16
        bold.format.setFontWeight(QFont.Weight.Bold)
        self._layout.setFormats([bold])
        option = QTextOption()
        option.setWrapMode(QTextOption.WrapMode.WrapAtWordBoundaryOrAnywhere)
        self._layout.setTextOption(option)
        line_mm = size_mm * _PARAGRAPH_LINE
        self.height = line_mm * self._lay(width * UNITS_A_MM, line_mm * UNITS_A_MM)

    def _lay(self, width: float, height: float) -> int:
        """Lay the lines, all of them equally high, and count them: signs of the music font would drive them apart."""
        count, letters = 0, QFontMetricsF(self._layout.font())
        baseline = letters.ascent() + _SPARE_ABOVE * (height - letters.ascent() - letters.descent())
        self._layout.beginLayout()
        while (line := self._layout.createLine()).isValid():
            line.setLineWidth(width)
            line.setPosition(QPointF(0.0, count * height + baseline - line.ascent()))
            count += 1
        self._layout.endLayout()
        return count

    def paint(self, painter: QPainter, x: float, y: float) -> None:
        """Paint it with its top left corner at ``x``, ``y``."""
        painter.save()
        painter.translate(x, y)
        painter.scale(1 / UNITS_A_MM, 1 / UNITS_A_MM)
        painter.setPen(_INK)
        self._layout.draw(painter, QPointF())
        painter.restore()


class PaperSheet:
    """Fills ``paper``; what does not fit on a page goes on the next one.

    ``y`` is how far the page is filled: what paints leaves it as it is. ``foot`` stands at the bottom of every page.
    """

    def __init__(self, paper: Paper, margin: float, foot: Sequence[Paragraph] = ()) -> None:
        self._paper, self._foot = paper, foot
        self.painter = paper.painter
        self.left, self.width, self.top = margin, paper.layout.width_mm - 2 * margin, margin
        self.bottom = paper.layout.height_mm - margin - sum(paragraph.height for paragraph in foot)
        self.y, self.pages = margin, 1
        self._paint_foot()

    def keep_together(self, height: float) -> bool:
        """Begin the next page where this one has no room for so much more; whether it did."""
        if self.y + height <= self.bottom or self.y <= self.top:
            return False
        self._paper.new_page()
        self.y, self.pages = self.top, self.pages + 1
        self._paint_foot()
        return True

    def text(
        self,
        text: str,
        size_mm: float,
        x: float | None = None,
        width: float | None = None,
        *,
        bold: bool = False,
        right: bool = False,
    ) -> None:
        """One line from ``x``, the left margin as a rule; with ``right`` it ends where ``width`` does.

        It is set smaller where it is too long.
        """
        start = self.left if x is None else x
        room = (self.left + self.width - start if width is None else width) * UNITS_A_MM
        painter = self.painter
        painter.save()
        painter.scale(1 / UNITS_A_MM, 1 / UNITS_A_MM)
        font = text_font(size_mm * UNITS_A_MM, bold=bold)
        long = QFontMetricsF(font).horizontalAdvance(text)
        if long > room:
            font = text_font(size_mm * UNITS_A_MM * room / long, bold=bold)
        painter.setFont(font)
        painter.setPen(_INK)
        side = Qt.AlignmentFlag.AlignRight if right else Qt.AlignmentFlag.AlignLeft
        box = QRectF(start * UNITS_A_MM, self.y * UNITS_A_MM, room, size_mm * _LINE * UNITS_A_MM)
        painter.drawText(box, side | Qt.AlignmentFlag.AlignTop | Qt.TextFlag.TextDontClip, text)
        painter.restore()

    def music(self, marked: PaperPage) -> None:
        """Engraved music with its digits."""
        page, placed = marked
        self.painter.save()
        self.painter.translate(self.left, self.y)
        PagePainter(page).paint(self.painter, placed)
        self.painter.restore()

    def rule(self) -> None:
        """A faint line across the page."""
        self.painter.setPen(QPen(_FAINT, 0.15))
        self.painter.drawLine(QPointF(self.left, self.y), QPointF(self.left + self.width, self.y))

    def _paint_foot(self) -> None:
        y = self.bottom
        for paragraph in self._foot:
            paragraph.paint(self.painter, self.left, y)
            y += paragraph.height
