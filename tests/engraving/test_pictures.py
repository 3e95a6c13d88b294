"""Pictures: their size to the dot, ink where notes and digits lie and nowhere else, and SVG that needs no fonts."""

from __future__ import annotations

import re
import struct
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from lxml import etree
from numpy.typing import NDArray
from PySide6.QtCore import QPointF, QRectF, Qt
from PySide6.QtGui import QGuiApplication, QImage, QPainter, QPainterPath, QPen
from PySide6.QtSvg import QSvgRenderer
from scipy.ndimage import minimum_filter

from engraving.drawing import UNITS_A_MM
from engraving.engraver import EngravedPage
from engraving.errors import EngravingError
from engraving.layout import A4, LETTER, Layout
from engraving.marks.teacher import TeacherMark
from engraving.output import MarkedPage
from engraving.page import Rect
from engraving.pictures import music_area, paint_image, write_png, write_svg
from engraving.placing import Overlay, PaintedMark, Wanted, mark_page
from engraving.styles import OWN, PAPER, DigitStyle, MarkStyle
from engraving.svgdevice import SvgDevice
from tests.engraving.pages import METRICS, corpus_pages, engraved, every_mark, grey
from tests.scores import score

WORK = "haydn/opus1no1/movement1"
SVG = "{http://www.w3.org/2000/svg}"
LINE = "D5/1@a E5@b F#5@c G5@d | A5@e G5@f F#5@g E5@h | D5@i C#5@j D5/2@k | B4/1@l A4@m G4@n F#4@o"


def digits_of(page: EngravedPage, marks: Sequence[TeacherMark] = ()) -> tuple[Overlay, ...]:
    """A digit for every third note, with all that may stand beside one, and marks."""
    beside = ({}, {"string": "III"}, {"hand": "3rd pos."}, {"arrow": "up"}, {"arrow": "down", "reach": True})
    wanted = [
        Wanted(note_id, "01234T"[number % 6], **beside[number % 5])
        for number, note_id in enumerate(list(page.map.notes)[::3])
    ]
    return mark_page(page.map, wanted, marks, METRICS)


def marked_page(layout: Layout = A4) -> MarkedPage:
    page = corpus_pages(WORK, 0, layout)[0]
    return page, digits_of(page)


def pencilled() -> MarkedPage:
    """Two systems with digits and marks painted over them: letters with a sharp, a circle, a line, a retake."""
    (page,) = engraved(score("Violin", "4/4", LINE, key=2), Layout.excerpt(90))
    marks = [
        TeacherMark("margin-text", "c", text="high F♯"),
        TeacherMark("circle", "e", "f"),
        TeacherMark("held-finger", "b", "d"),
        TeacherMark("retake", "k"),
        TeacherMark("text", "l", text="dolce", dx=1.0, dy=2.0),
    ]
    overlay = digits_of(page, marks)
    assert {one.mark.kind for one in overlay if isinstance(one, PaintedMark)} == {mark.kind for mark in marks}
    return page, overlay


def crowded() -> MarkedPage:
    """A page with nearly everything that the engraver draws."""
    (page,) = engraved(every_mark())
    return page, digits_of(page)


def window(pixels: NDArray[np.uint8], rect: Rect, dpi: int) -> NDArray[np.uint8]:
    """The pixels in a rectangle of the page, in mm, and those on its edge."""
    x0, y0, x1, y1 = (value / 25.4 * dpi for value in (rect.x0, rect.y0, rect.x1, rect.y1))
    return pixels[int(y0) : int(y1) + 1, int(x0) : int(x1) + 1]


def rendered(path: Path, size: tuple[int, int]) -> NDArray[np.uint8]:
    """An SVG file as Qt draws it, in grey, on a ground that would show where it is not covered."""
    image = QImage(*size, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.darkGray)
    renderer = QSvgRenderer(str(path))
    assert renderer.isValid()
    painter = QPainter(image)
    painter.setRenderHint(QPainter.RenderHint.Antialiasing)
    renderer.render(painter)
    painter.end()
    return grey(image)


def astray(one: NDArray[np.uint8], other: NDArray[np.uint8]) -> int:
    """How much darker a dot of either picture is than the other one there and at the dots around it, at most.

    Edges differ, as Qt fits small letters to the dots of a picture; no stroke is missing or elsewhere below 128.
    """
    first, second = one.astype(int), other.astype(int)
    return int(max((minimum_filter(a, 3) - b).max() for a, b in ((first, second), (second, first))))


def blackness(pixels: NDArray[np.uint8]) -> float:
    """How much ink there is, in dots."""
    return float((255 - pixels.astype(int)).sum() / 255)


@pytest.mark.parametrize("dpi", [20, 72, 150, 300])
@pytest.mark.parametrize("layout", [A4, LETTER], ids=["A4", "Letter"])
def test_a_png_is_to_scale_and_says_so(qapp: QGuiApplication, tmp_path: Path, layout: Layout, dpi: int) -> None:
    """Portable Network Graphics (W3C): IHDR holds width and height, pHYs the dots a metre, its unit being 1."""
    page, placed = marked_page(layout)
    write_png(tmp_path / "page.png", page, placed, dpi)
    data = (tmp_path / "page.png").read_bytes()
    assert data[12:16] == b"IHDR"
    assert struct.unpack(">II", data[16:24]) == (
        round(layout.width_mm / 25.4 * dpi),
        round(layout.height_mm / 25.4 * dpi),
    )
    at = data.index(b"pHYs")
    assert struct.unpack(">IIB", data[at + 4 : at + 13]) == (round(dpi / 0.0254), round(dpi / 0.0254), 1)


def test_a_png_has_300_dots_an_inch_unless_asked_otherwise(qapp: QGuiApplication, tmp_path: Path) -> None:
    write_png(tmp_path / "page.png", *marked_page())
    image = QImage(str(tmp_path / "page.png"))
    assert (image.width(), image.height()) == (2480, 3508)  # A4 at 300 dots an inch


def test_a_png_is_black_at_every_notehead_and_digit_and_white_elsewhere(qapp: QGuiApplication, tmp_path: Path) -> None:
    page, placed = marked_page()
    write_png(tmp_path / "page.png", page, placed, 200)
    pixels = grey(QImage(str(tmp_path / "page.png")))
    figures = [figure.box for one in placed for figure in one.figures]
    assert len(figures) > 40
    for rect in (*(note.head for note in page.map.notes.values()), *figures):
        assert window(pixels, rect, 200).min() < 60
    free = pixels.copy()
    for rect in (*(Rect(*box) for box in page.map.ink.tolist()), *figures):
        grown = Rect(rect.x0 - 0.13, rect.y0 - 0.13, rect.x1 + 0.13, rect.y1 + 0.13)
        window(free, grown, 200)[:] = 255
    assert (free == 255).all()


def test_a_picture_can_show_another_style(qapp: QGuiApplication, tmp_path: Path) -> None:
    page, placed = pencilled()
    marks = MarkStyle("#2040c0")
    write_png(tmp_path / "page.png", page, placed, 150, OWN, marks)
    write_svg(tmp_path / "page.svg", page, placed, OWN, marks)
    image = QImage(str(tmp_path / "page.png"))
    colours = {image.pixelColor(x, y).name() for x in range(image.width()) for y in range(image.height())}
    assert {OWN.label, marks.ink} <= colours
    written = set(re.findall(r'"(#\w{6})"', (tmp_path / "page.svg").read_text()))
    assert written == {OWN.label, OWN.ink, marks.ink, "#000000", "#ffffff"}


@pytest.mark.parametrize("dpi", [19, 1201, 0, -300])
def test_a_resolution_out_of_reach_is_refused(qapp: QGuiApplication, tmp_path: Path, dpi: int) -> None:
    with pytest.raises(EngravingError, match=rf"^page\.png: a picture has 20 to 1200 dots an inch, not {dpi}$"):
        write_png(tmp_path / "page.png", *marked_page(), dpi)
    assert not list(tmp_path.iterdir())


def test_a_picture_too_large_to_paint_is_refused_with_the_most_that_can_be(
    qapp: QGuiApplication, tmp_path: Path
) -> None:
    (page,) = engraved(score("Violin", "4/4", " | ".join(["D5/1 E5 F5 G5"] * 200)), Layout.excerpt(2000), (0, 60))
    strip = Rect(0.0, 0.0, page.width_mm, 20.0)
    with pytest.raises(EngravingError, match=r"2000 by 20 mm has room for at most \d+ dots an inch, not 1200$") as told:
        write_png(tmp_path / "strip.png", page, (), 1200, area=strip)
    most = int(re.findall(r"most (\d+)", str(told.value))[0])
    with pytest.raises(EngravingError, match="at most"):
        write_png(tmp_path / "strip.png", page, (), most + 1, area=strip)
    pixels = grey(paint_image(page, (), most, area=strip))
    last_line = page.map.systems[0].rect.x1 / 25.4 * most
    assert (pixels[:, round(last_line) - 5 : round(last_line) + 1] < 60).any()


def test_a_large_area_is_refused_even_where_its_sides_are_not_too_long(qapp: QGuiApplication, tmp_path: Path) -> None:
    page, placed = marked_page()
    wide = Rect(0.0, 0.0, 600.0, 600.0)
    with pytest.raises(EngravingError, match=r"600 by 600 mm has room for at most 598 dots an inch, not 700$"):
        write_png(tmp_path / "page.png", page, placed, 700, area=wide)


def test_a_folder_that_is_not_there_is_named(qapp: QGuiApplication, tmp_path: Path) -> None:
    with pytest.raises(EngravingError, match=r"^part\.png cannot be written in "):
        write_png(tmp_path / "missing" / "part.png", *pencilled(), 40)
    with pytest.raises(EngravingError, match=r"^part\.svg cannot be written in "):
        write_svg(tmp_path / "missing" / "part.svg", *pencilled())


def test_a_picture_that_fails_leaves_the_old_one(qapp: QGuiApplication, tmp_path: Path) -> None:
    page, placed = pencilled()
    for write, path in ((write_png, tmp_path / "old.png"), (write_svg, tmp_path / "old.svg")):
        path.write_bytes(b"old")
        with pytest.raises(EngravingError, match="cannot draw"):
            write(path, replace(page, svg=b"no svg"), placed)
        assert path.read_bytes() == b"old"
    assert len(list(tmp_path.iterdir())) == 2


@pytest.mark.parametrize("make", [marked_page, pencilled, crowded])
def test_an_svg_needs_nothing_beside_itself(qapp: QGuiApplication, tmp_path: Path, make) -> None:
    """Only paths on white under a title: no text, no reference, no style sheet and no script."""
    page, placed = make()
    write_svg(tmp_path / "page.svg", page, placed, title="Violin I, <measures> 1–8")
    root = etree.parse(tmp_path / "page.svg").getroot()
    assert root.tag == f"{SVG}svg"
    title, ground, *paths = root
    assert (title.tag, title.text) == (f"{SVG}title", "Violin I, <measures> 1–8")
    assert (ground.tag, ground.get("fill")) == (f"{SVG}rect", "#ffffff")
    assert len(paths) > len(page.map.notes)
    assert {path.tag for path in paths} == {f"{SVG}path"}
    names = {name for element in root.iter() for name in element.attrib}
    looks = {"fill", "fill-rule", "stroke", "stroke-width", "stroke-linecap", "stroke-linejoin", "stroke-dasharray"}
    assert names <= {"width", "height", "viewBox", "d", *looks}
    assert not re.search("href|url|font|<text", (tmp_path / "page.svg").read_text().partition("</title>")[2])


@pytest.mark.parametrize("make", [marked_page, pencilled])
def test_an_svg_has_its_size_in_millimetres(qapp: QGuiApplication, tmp_path: Path, make) -> None:
    page, placed = make()
    write_svg(tmp_path / "page.svg", page, placed)
    root = etree.parse(tmp_path / "page.svg").getroot()
    assert root.get("width") == f"{page.width_mm:g}mm"
    assert root.get("height") == f"{page.height_mm:g}mm"
    assert [float(value) for value in root.get("viewBox").split()] == pytest.approx(
        [0, 0, 100 * page.width_mm, 100 * page.height_mm]
    )


@pytest.mark.parametrize("style", [PAPER, OWN], ids=["paper", "own"])
@pytest.mark.parametrize("make", [marked_page, pencilled, crowded])
def test_an_svg_and_a_png_of_a_page_look_the_same(
    qapp: QGuiApplication, tmp_path: Path, make, style: DigitStyle
) -> None:
    page, placed = make()
    write_png(tmp_path / "page.png", page, placed, 200, style)
    write_svg(tmp_path / "page.svg", page, placed, style)
    png = grey(QImage(str(tmp_path / "page.png")))
    svg = rendered(tmp_path / "page.svg", (png.shape[1], png.shape[0]))
    assert blackness(png) > 10_000
    assert astray(png, svg) < 128
    assert blackness(svg) == pytest.approx(blackness(png), rel=0.01)


def test_a_page_cut_to_its_music_keeps_all_of_it_and_two_millimetres(qapp: QGuiApplication, tmp_path: Path) -> None:
    for page, placed in (marked_page(), pencilled(), crowded()):
        area = music_area(page, placed)
        write_png(tmp_path / "cut.png", page, placed, 150, area=area)
        cut, whole = grey(QImage(str(tmp_path / "cut.png"))), grey(paint_image(page, placed, 150))
        assert cut.shape == (round(area.height / 25.4 * 150), round(area.width / 25.4 * 150))
        assert blackness(cut) == pytest.approx(blackness(whole), rel=0.002)
        rows, columns = np.flatnonzero((cut < 128).any(axis=1)), np.flatnonzero((cut < 128).any(axis=0))
        for white in (rows[0], cut.shape[0] - 1 - rows[-1], cut.shape[1] - 1 - columns[-1]):
            assert 1.5 <= white / 150 * 25.4 <= 2.5


def test_full_lines_make_a_picture_as_wide_as_asked_and_a_few_notes_a_narrower_one(qapp: QGuiApplication) -> None:
    music = score("Violin", "4/4", " | ".join(["D5/1 E5 F5 G5"] * 9))
    (full,), (short,) = (engraved(music, Layout.excerpt(120), (0, last)) for last in (8, 0))
    assert music_area(full, ()).width == pytest.approx(120, abs=0.01)
    assert 20 < music_area(short, ()).width < 60
    assert short.width_mm == 120


def test_words_that_reach_beyond_the_page_are_not_cut_off(qapp: QGuiApplication) -> None:
    bars = " | ".join(["D5/1 E5 F5 G5"] * 3)
    (page,) = engraved(score("Violin", "4/4", f'{bars} | D5/1 E5 F5 "molto espressivo e sempre cantabile" G5'),
                       Layout.excerpt(60))  # fmt: skip
    assert page.map.ink[:, 2].max() > page.width_mm
    area = music_area(page, ())
    assert area.x1 > page.map.ink[:, 2].max()
    assert (grey(paint_image(page, (), 150, area=area))[:, -1] == 255).all()


def test_an_svg_of_an_area_is_that_piece_of_the_page(qapp: QGuiApplication, tmp_path: Path) -> None:
    page, placed = pencilled()
    area = Rect(12.0, 7.0, 72.0, 37.0)
    write_svg(tmp_path / "cut.svg", page, placed, area=area)
    root = etree.parse(tmp_path / "cut.svg").getroot()
    assert (root.get("width"), root.get("height")) == ("60mm", "30mm")
    assert (
        astray(grey(paint_image(page, placed, 254))[70:370, 120:720], rendered(tmp_path / "cut.svg", (600, 300))) < 128
    )


def test_what_is_painted_as_a_line_is_a_line_in_svg(qapp: QGuiApplication, tmp_path: Path) -> None:
    """Lines, closed polygons, holes, dashes and see-through ink come out as Qt's own raster paints them."""
    device = SvgDevice(10.0, 20.0, "")
    image = QImage(200, 400, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    for paper, scale in ((device, UNITS_A_MM), (image, 20.0)):
        painter = QPainter(paper)
        painter.setRenderHint(QPainter.RenderHint.Antialiasing)
        painter.scale(scale, scale)
        pen = QPen(Qt.GlobalColor.black, 0.5)
        pen.setCapStyle(Qt.PenCapStyle.RoundCap)
        pen.setJoinStyle(Qt.PenJoinStyle.BevelJoin)
        painter.setPen(pen)
        painter.drawLine(QPointF(1, 1), QPointF(9, 2))
        painter.drawPolyline([QPointF(1, 3), QPointF(5, 4), QPointF(1, 5)])
        painter.setBrush(Qt.GlobalColor.gray)
        painter.drawPolygon([QPointF(6, 3), QPointF(9, 3), QPointF(9, 6)])
        painter.drawPolyline([QPointF(6, 7), QPointF(9, 7), QPointF(9, 9)])
        for left, rule in ((1.0, Qt.FillRule.OddEvenFill), (6.0, Qt.FillRule.WindingFill)):
            nested = QPainterPath()
            nested.setFillRule(rule)
            nested.addRect(left, 11, 3, 3)
            nested.addRect(left + 1, 12, 1, 1)
            painter.fillPath(nested, Qt.GlobalColor.black)
        painter.setPen(QPen(Qt.GlobalColor.black, 1.0, c=Qt.PenCapStyle.FlatCap, j=Qt.PenJoinStyle.SvgMiterJoin))
        painter.drawRect(QRectF(2, 16, 5, 2))
        pen.setDashPattern([1, 3])
        pen.setColor("#60000000")
        painter.setPen(pen)
        painter.drawLine(QPointF(1, 7), QPointF(5, 9))
        painter.end()
    (tmp_path / "lines.svg").write_bytes(device.picture)
    # A triangle, twice a rectangle in another and a last one: Qt would close them even if the file did not.
    assert device.picture.count(b"Z") == 6
    assert (abs(rendered(tmp_path / "lines.svg", (200, 400)).astype(int) - grey(image)) > 48).sum() == 0
