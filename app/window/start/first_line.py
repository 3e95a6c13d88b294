"""A small picture of the first line of music, by which a score is known again."""

from __future__ import annotations

from PySide6.QtCore import QBuffer, QByteArray, QIODevice, Qt
from PySide6.QtGui import QImage, QImageWriter, QPainter

from app.job.files.recent import PICTURE_HEIGHT, PICTURE_WIDTH
from engraving.engraver import EngravedPage
from engraving.painter import PagePainter

_ROOM = 1.0  # millimetres of paper left around the ink


def first_line_png(page: EngravedPage) -> bytes | None:
    """The beginning of a page's first system as a PNG in the size of such pictures; ``None`` if there is no music."""
    if not page.map.systems:
        return None
    rect = page.map.systems[0].rect
    scale = PICTURE_HEIGHT / (rect.height + 2 * _ROOM)
    image = QImage(PICTURE_WIDTH, PICTURE_HEIGHT, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    painter.scale(scale, scale)
    painter.translate(_ROOM - rect.x0, _ROOM - rect.y0)
    PagePainter(page).paint_page(painter)
    painter.end()
    buffer = QBuffer()
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    QImageWriter(buffer, QByteArray(b"png")).write(image)
    return bytes(buffer.data().data())
