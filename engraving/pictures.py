"""Printed pages as pictures for other documents, by the painter of the screen: PNG, and SVG that needs no fonts."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from math import floor, sqrt
from pathlib import Path

import numpy as np
from PySide6.QtCore import QBuffer, QByteArray, QIODevice, QSize, Qt
from PySide6.QtGui import QImage, QImageWriter, QPainter

from analysis.language import _
from engraving.atomic import write_atomically
from engraving.drawing import UNITS_A_MM
from engraving.engraver import EngravedPage
from engraving.errors import EngravingError
from engraving.page import Rect
from engraving.painter import PagePainter
from engraving.placing import Placed
from engraving.placing.boxes import Overlaid
from engraving.styles import OWN_MARKS_COPIED, PAPER, DigitStyle, MarkStyle
from engraving.svgdevice import SvgDevice

Paint = Callable[[QPainter], None]  # in mm; the ground is white already

_INCH_MM = 25.4
_DPI = (20, 1200)
_LONGEST_SIDE, _MOST_DOTS = 32_000, 200_000_000  # what Qt can paint on; 800 MB
_MARGIN_MM, _LEAST_MARGIN_MM = 2.0, 0.3


def music_area(page: EngravedPage, placed: Sequence[Overlaid]) -> Rect:
    """The page cut to its music: at most 2 mm of white above, below and to the right of all ink, digits and marks."""
    boxes = [page.map.ink]
    for one in placed:
        rects = [figure.box for figure in one.figures] if isinstance(one, Placed) else one.rects
        boxes.append(np.array([rect.corners for rect in rects]).reshape(-1, 4))
    ink = np.concatenate(boxes)
    if not len(ink):
        return Rect(0.0, 0.0, page.width_mm, page.height_mm)
    (left, top), (right, bottom) = ink[:, :2].min(axis=0).tolist(), ink[:, 2:].max(axis=0).tolist()
    return Rect(
        min(0.0, left - _LEAST_MARGIN_MM),
        top - _MARGIN_MM,
        max(min(right + _MARGIN_MM, page.width_mm), right + _LEAST_MARGIN_MM),
        bottom + _MARGIN_MM,
    )


def write_svg(
    path: Path,
    page: EngravedPage,
    placed: Sequence[Overlaid],
    style: DigitStyle = PAPER,
    marks: MarkStyle = OWN_MARKS_COPIED,
    *,
    title: str = "",
    area: Rect | None = None,
) -> None:
    """Write a page with its digits and marks, or an ``area`` of it in mm, as one SVG file that needs nothing else.

    Its size is in mm, its ground white, and all lettering is drawn as outlines. ``title`` says what it shows, for
    readers that do not see it.
    """
    area = area or _whole(page)
    write_painted_svg(path, area, partial(PagePainter(page, marks).paint, placed=placed, style=style), title)


def write_png(
    path: Path,
    page: EngravedPage,
    placed: Sequence[Overlaid],
    dpi: int = 300,
    style: DigitStyle = PAPER,
    marks: MarkStyle = OWN_MARKS_COPIED,
    *,
    area: Rect | None = None,
) -> None:
    """Write a page with its digits and marks, or an ``area`` of it in mm, as a picture on white.

    EngravingError for a resolution out of reach.
    """
    area = area or _whole(page)
    write_painted_png(path, area, partial(PagePainter(page, marks).paint, placed=placed, style=style), dpi)


def write_painted_svg(path: Path, area: Rect, paint: Paint, title: str = "") -> None:
    """Write an ``area`` in mm of whatever ``paint`` paints as an SVG file like those of pages."""
    device = SvgDevice(area.width, area.height, title)
    painter = QPainter(device)
    try:
        painter.scale(UNITS_A_MM, UNITS_A_MM)
        painter.translate(-area.x0, -area.y0)
        paint(painter)
    finally:
        painter.end()  # a painter that outlives its paper takes the whole application down
    write_atomically(path, device.picture)


def write_painted_png(path: Path, area: Rect, paint: Paint, dpi: int) -> None:
    """Write an ``area`` in mm of whatever ``paint`` paints as a PNG file like those of pages."""
    _check_resolution(path.name, area, dpi)
    data = QByteArray()
    buffer = QBuffer(data)
    buffer.open(QIODevice.OpenModeFlag.WriteOnly)
    writer = QImageWriter(buffer, QByteArray(b"png"))
    if not writer.write(_image(area, paint, dpi)):
        raise EngravingError(
            _("{file}: the picture cannot be encoded: {why}").format(file=path.name, why=writer.errorString())
        )
    write_atomically(path, bytes(data.data()))


def paint_image(
    page: EngravedPage,
    placed: Sequence[Overlaid],
    dpi: int,
    style: DigitStyle = PAPER,
    marks: MarkStyle = OWN_MARKS_COPIED,
    *,
    area: Rect | None = None,
) -> QImage:
    """The page with its digits and marks on white, or an ``area`` of it in mm, ``dpi`` dots an inch."""
    return _image(area or _whole(page), partial(PagePainter(page, marks).paint, placed=placed, style=style), dpi)


def _image(area: Rect, paint: Paint, dpi: int) -> QImage:
    scale = dpi / _INCH_MM
    image = QImage(QSize(round(area.width * scale), round(area.height * scale)), QImage.Format.Format_RGB32)
    if image.isNull():
        raise EngravingError(_("there is no memory for a picture of {dpi} dots an inch").format(dpi=dpi))
    image.fill(Qt.GlobalColor.white)
    image.setDotsPerMeterX(round(scale * 1000))
    image.setDotsPerMeterY(round(scale * 1000))
    painter = QPainter(image)
    try:
        painter.scale(scale, scale)
        painter.translate(-area.x0, -area.y0)
        paint(painter)
    finally:
        painter.end()
    return image


def _whole(page: EngravedPage) -> Rect:
    return Rect(0.0, 0.0, page.width_mm, page.height_mm)


def _check_resolution(name: str, area: Rect, dpi: int) -> None:
    if not _DPI[0] <= dpi <= _DPI[1]:
        raise EngravingError(
            _("{name}: a picture has {least} to {most} dots an inch, not {dpi}").format(
                name=name, least=_DPI[0], most=_DPI[1], dpi=dpi
            )
        )
    width, height = area.width / _INCH_MM, area.height / _INCH_MM
    most = floor(min(_LONGEST_SIDE / max(width, height), sqrt(_MOST_DOTS / (width * height))))
    if dpi > most:
        size = _("{width:.0f} by {height:.0f} mm").format(width=area.width, height=area.height)
        raise EngravingError(
            _("{name}: a picture of {size} has room for at most {most} dots an inch, not {dpi}").format(
                name=name, size=size, most=most, dpi=dpi
            )
        )
