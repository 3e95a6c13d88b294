"""Painting pages and digits: in place, in two kinds one can tell apart without colour, and only with Qt running."""

from __future__ import annotations

import subprocess
import sys
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QFontDatabase, QGuiApplication, QImage, QPainter
from scipy.ndimage import distance_transform_edt, label

from engraving.drawing import UNITS_A_MM, Lettering, Shape
from engraving.errors import EngravingError
from engraving.fonts import load_fonts
from engraving.layout import Layout
from engraving.marks.teacher import TeacherMark
from engraving.metrics import MUSIC_FAMILY, TEXT_FAMILY
from engraving.page import Rect
from engraving.painter import PagePainter
from engraving.pictures import paint_image
from engraving.placing import Figure, Overlay, PaintedMark, Placed, Wanted, place, place_marks
from engraving.styles import COMPUTED, OWN, OWN_MARKS, OWN_MARKS_COPIED, PAPER, DigitStyle
from tests.engraving.pages import METRICS, corpus_pages, engraved, grey
from tests.scores import score

SCALE = 12.0  # pixels a millimetre
WORK = "haydn/opus1no1/movement1"


@pytest.fixture
def small(qapp: QGuiApplication) -> PagePainter:
    return PagePainter(engraved(score("Violin", "4/4", "D5/1@d E5@e F5 G5"), Layout.excerpt(80))[0])


def marked(style: DigitStyle, *, text: str = "2") -> NDArray[np.uint8]:
    """One digit alone on white, in grey."""
    (page,) = engraved(score("Violin", "4/4", "D5/1@d E5 F5 G5"), Layout.excerpt(80))
    placed = place(page.map, [Wanted("d", text)], METRICS)
    image = blank(page.width_mm, page.height_mm)
    painter = QPainter(image)
    painter.scale(SCALE, SCALE)
    PagePainter(page).paint_overlay(painter, placed, style)
    painter.end()
    return grey(image)


def blank(width: float, height: float) -> QImage:
    image = QImage(QSize(round(width * SCALE), round(height * SCALE)), QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    return image


def test_the_page_fonts_are_there_under_the_names_the_pages_use(qapp: QGuiApplication) -> None:
    load_fonts()
    load_fonts()
    assert {TEXT_FAMILY, MUSIC_FAMILY} <= set(QFontDatabase.families())
    assert {"Regular", "Bold", "Italic", "Bold Italic"} <= set(QFontDatabase.styles(TEXT_FAMILY))


def test_without_a_qt_application_painting_is_refused_in_one_sentence() -> None:
    program = (
        "from engraving.errors import EngravingError\nfrom engraving.fonts import load_fonts\n"
        "try:\n    load_fonts()\nexcept EngravingError as error:\n    print(error)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert done.stdout == "pages can only be painted while a Qt GUI application object exists\n"


def test_a_page_that_is_no_svg_is_refused(qapp: QGuiApplication) -> None:
    (page,) = engraved(score("Violin", "4/4", "D5/4"))
    with pytest.raises(EngravingError, match="cannot draw"):
        paint_image(replace(page, svg=b"<svg"), (), 100)


def test_heads_are_black_where_the_map_says(qapp: QGuiApplication) -> None:
    page = corpus_pages(WORK)[0]
    pixels = grey(paint_image(page, (), 200))
    for place_of_note in page.map.notes.values():
        x, y = (round(value * 200 / 25.4) for value in place_of_note.head.centre)
        if (place_of_note.stem is not None) and place_of_note.head.width > 0:
            assert pixels[y - 3 : y + 4, x - 7 : x + 8].min() < 100


def test_painted_digits_stay_in_their_places(qapp: QGuiApplication) -> None:
    """With and without digits a page differs only inside the rectangles, and no ink of the page lies there."""
    page = corpus_pages(WORK)[0]
    placed = place(page.map, [Wanted(note_id, str(n % 5)) for n, note_id in enumerate(page.map.notes)], METRICS)
    bare, full = grey(paint_image(page, (), 200)), grey(paint_image(page, placed, 200))
    room = np.zeros(bare.shape, dtype=bool)
    for one in placed:
        rect = one.digit.rect
        x0, y0, x1, y1 = (value * 200 / 25.4 for value in (rect.x0, rect.y0, rect.x1, rect.y1))
        window = slice(int(y0 - 1), int(y1 + 2)), slice(int(x0 - 1), int(x1 + 2))
        room[window] = True
        assert (full[window] < 100).any()
        assert (bare[window] > 200).all()
    assert not ((bare != full) & ~room).any()


def test_the_overlay_leaves_the_page_out(small: PagePainter, qapp: QGuiApplication) -> None:
    image = blank(80, 40)
    painter = QPainter(image)
    small.paint_overlay(painter, (), OWN)
    painter.end()
    assert grey(image).min() == 255


def test_painting_leaves_the_painter_as_it_was(small: PagePainter, qapp: QGuiApplication) -> None:
    painter = QPainter(image := blank(80, 40))
    painter.scale(2, 2)
    before = painter.worldTransform()
    small.paint(painter, ())
    assert painter.worldTransform() == before
    painter.end()
    assert grey(image).min() < 50


def test_computed_digits_and_the_teachers_own_differ_in_shape(qapp: QGuiApplication) -> None:
    """Painted in one and the same ink, so that only shapes are left to tell them apart."""
    computed = marked(replace(COMPUTED, ink="#000000")) < 128
    own = marked(replace(OWN, ink="#000000")) < 128
    rows, columns = np.nonzero(computed)
    own_rows, own_columns = np.nonzero(own)
    assert np.ptp(own_columns) > 1.3 * np.ptp(columns)  # the label's edge lies around the digit
    assert np.ptp(own_rows) > 1.1 * np.ptp(rows)
    assert own.sum() > 1.5 * computed.sum()


def luminance(colour: str) -> float:
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize(
    "style", [PAPER, COMPUTED, OWN, DigitStyle(OWN_MARKS.ink)], ids=["paper", "computed", "own", "marks"]
)
def test_digits_can_be_read_on_white_and_on_their_label(style: DigitStyle) -> None:
    """Contrast of at least 4.5 to 1: WCAG 2.1, success criterion 1.4.3, with its relative luminance."""
    for ground in filter(None, ("#ffffff", style.label)):
        assert (luminance(ground) + 0.05) / (luminance(style.ink) + 0.05) >= 4.5


def overlaid(overlay: list[Overlay], side: float, scale: float) -> NDArray[np.bool_]:
    """What is inked of digits and marks alone on a white square, ``scale`` pixels a millimetre."""
    image = QImage(QSize(round(side * scale), round(side * scale)), QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    painter.scale(scale, scale)
    over = PagePainter(engraved(score("Violin", "4/4", "D5/4"))[0])
    over.paint_overlay(painter, [one for one in overlay if isinstance(one, Placed)], PAPER)
    over.paint_marks(painter, [one for one in overlay if isinstance(one, PaintedMark)])
    painter.end()
    inked: NDArray[np.bool_] = grey(image) < 128
    return inked


def thinnest(ink: NDArray[np.bool_]) -> float:
    """The widest disc, in pixels, that can be led through every stroke, all but a fiftieth of the ink."""
    inside, width = distance_transform_edt(ink), 0
    while True:
        swept = distance_transform_edt(~(inside > (width + 1) / 2)) <= (width + 1) / 2
        if label(swept)[1] != label(ink)[1] or (ink & ~swept).sum() > ink.sum() / 50:
            return width
        width += 1


def figure(text: str) -> Figure:
    """A digit or a sign of the size it has on a staff of 7 mm."""
    return Figure(text, Rect(1.0, 1.0, 2.05, 3.275), 1.3 * 1.75 / 0.676)


@pytest.mark.parametrize("text", [*"01234", "\N{UPWARDS ARROW}", "\N{MULTIPLICATION SIGN}"])
def test_the_strokes_of_digits_and_signs_on_paper_survive_a_copier(qapp: QGuiApplication, text: str) -> None:
    """To 0.01 mm. 0.15 mm is not quite two dots of a copier of 300 dots an inch (common practice, no source)."""
    ink = overlaid([Placed("d", figure(text))], 4.0, 100.0)
    assert thinnest(ink) / 100.0 >= 0.14


@pytest.mark.parametrize(("sign", "heavy"), [("\N{UPWARDS ARROW}", "top"), ("\N{DOWNWARDS ARROW}", "bottom")])
def test_an_arrow_points_where_it_says(qapp: QGuiApplication, sign: str, heavy: str) -> None:
    digit = Placed("d", figure("1"), arrow=Figure(sign, Rect(5.0, 1.0, 6.05, 3.275), figure("1").size))
    ink = overlaid([digit], 8.0, 40.0)[:, 4 * 40 :]
    rows = ink.sum(axis=1)
    assert rows[int(2.0 * 40)] > 0  # the stem
    upper, lower = rows[: int(2.13 * 40)].sum(), rows[int(2.13 * 40) :].sum()
    pointed, foot = (upper, lower) if heavy == "top" else (lower, upper)
    assert pointed > 1.5 * foot > 0


def test_a_circle_is_a_line_round_what_it_leaves_bare(qapp: QGuiApplication) -> None:
    page = engraved(score("Violin", "4/4", "D5/4@d"), Layout.excerpt(80))[0].map
    (circle,) = place_marks(page, [TeacherMark("circle", "d", "d")], METRICS)
    ink, rect = overlaid([circle], 80.0, 20.0), circle.rect
    x, y = (round(value * 20) for value in rect.centre)
    assert not ink[y - 10 : y + 10, x - 10 : x + 10].any()
    for at_x, at_y in ((rect.x0, rect.centre[1]), (rect.x1, rect.centre[1]), (rect.centre[0], rect.y0)):
        row, column = round(at_y * 20), round(at_x * 20)
        assert ink[row - 6 : row + 7, column - 6 : column + 7].any()


def test_own_marks_are_told_from_print_by_their_weight(qapp: QGuiApplication) -> None:
    """Words of the engraver are slanted, those of the teacher slanted and bold; lines are wider than a staff line."""
    page = engraved(score("Violin", "4/4", "D5/4@d"), Layout.excerpt(80))[0].map
    words, line = place_marks(
        page, [TeacherMark("text", "d", text="soft", dy=1), TeacherMark("held-finger", "d", "d", dy=2)], METRICS
    )
    (lettering,), (shape,) = words.drawn, line.drawn
    assert isinstance(lettering, Lettering)
    assert lettering.face.bold
    assert isinstance(shape, Shape)
    assert shape.width > 0.25 * UNITS_A_MM
    assert OWN_MARKS.ink != PAPER.ink == OWN_MARKS_COPIED.ink


def test_a_digit_is_as_high_as_its_rectangle(qapp: QGuiApplication) -> None:
    """The figures of the face are 0.676 em high, those with a bowl a hundredth more: measured in Liberation Serif."""
    (page,) = engraved(score("Violin", "4/4", "D5/1@d E5 F5 G5"), Layout.excerpt(80))
    (placed,) = place(page.map, [Wanted("d", "1")], METRICS)
    rows, _ = np.nonzero(marked(PAPER, text="1") < 128)
    assert rows.min() / SCALE == pytest.approx(placed.digit.rect.y0, abs=0.15)
    assert rows.max() / SCALE == pytest.approx(placed.digit.rect.y1, abs=0.15)
