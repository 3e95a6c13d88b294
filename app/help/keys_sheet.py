"""The page of keys on paper: one page, two columns, as a PDF."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

from PySide6.QtCore import QBuffer, QIODevice, QLocale, QMarginsF
from PySide6.QtGui import QFont, QPageLayout, QPageSize, QPdfWriter, QTextDocument

from analysis.language import _
from app.help.tables import Spell, key_groups

_MARGIN_MM, _DPI = 12.0, 300
_LARGEST, _SMALLEST, _STEP = 8.5, 4.5, 0.5  # points
_HEADING = 1.6  # as high as so many rows


def keys_pdf(spell: Spell) -> bytes:
    """The keys as a PDF of one page, as large as they fit on it."""
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QPdfWriter(buffer)
    writer.setResolution(_DPI)
    writer.setTitle(f"Handframe: {_('Keys')}")
    margins = QMarginsF(_MARGIN_MM, _MARGIN_MM, _MARGIN_MM, _MARGIN_MM)
    writer.setPageLayout(QPageLayout(_paper(), QPageLayout.Orientation.Portrait, margins, QPageLayout.Unit.Millimeter))
    document = QTextDocument()
    document.setHtml(keys_html(spell))
    document.setDocumentMargin(0)
    # Printed without a page size of its own, a document would get margins and page numbers.
    document.documentLayout().setPaintDevice(writer)
    document.setPageSize(writer.pageLayout().paintRectPixels(_DPI).size().toSizeF())
    size = _LARGEST
    document.setDefaultFont(_font(size))
    while document.pageCount() > 1 and size > _SMALLEST:
        size -= _STEP
        document.setDefaultFont(_font(size))
    document.print_(writer)
    buffer.close()
    return bytes(buffer.data().data())


def keys_html(spell: Spell) -> str:
    """The keys in two columns of about the same height."""
    groups = [(len(rows) + _HEADING, _group_html(name, rows)) for name, rows in key_groups(spell).items()]
    half, height = sum(high for high, _html in groups) / 2, 0.0
    columns = ["", ""]
    for high, html in groups:
        columns[height + high / 2 > half] += html
        height += high
    cells = "".join(f"<td width='50%' style='padding-right: 12px'>{column}</td>" for column in columns)
    return f"<h2>Handframe: {escape(_('Keys'))}</h2><table width='100%'><tr>{cells}</tr></table>"


def _group_html(name: str, rows: Sequence[tuple[str, str]]) -> str:
    lines = "".join(
        f"<tr><td style='padding-right: 8px'><b>{escape(keys)}</b></td><td>{escape(words)}</td></tr>"
        for words, keys in rows
    )
    return f"<h4>{escape(name)}</h4><table cellspacing='0' cellpadding='1'>{lines}</table>"


def _font(points: float) -> QFont:
    font = QFont()
    font.setPointSizeF(points)
    return font


def _paper() -> QPageSize:
    """The paper that is usual where the user lives."""
    letter = QLocale.system().measurementSystem() == QLocale.MeasurementSystem.ImperialUSSystem
    return QPageSize(QPageSize.PageSizeId.Letter if letter else QPageSize.PageSizeId.A4)
