"""Pages painted to be looked at: dot for dot what the painter paints, at any size, as many as the PDF has."""

from __future__ import annotations

from io import BytesIO

import numpy as np
import pytest
from numpy.typing import NDArray
from pypdf import PdfReader
from PySide6.QtCore import QHashSeed, QLineF, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QGuiApplication, QImage, QPainter, QPen

from engraving.errors import EngravingError
from engraving.fonts import text_font
from engraving.imprint import Imprint
from engraving.layout import A4, LETTER, Layout
from engraving.marks.teacher import TeacherMark
from engraving.output import Copy, MarkedPage, painted_pages, pdf_bytes
from engraving.paper import PaintedPage, PdfPaper, PicturePaper
from engraving.pictures import paint_image
from engraving.placing import Wanted, mark_page, place
from engraving.styles import OWN_MARKS, OWN_MARKS_COPIED
from tests.engraving.pages import METRICS, corpus_pages, engraved, grey
from tests.scores import score

POINTS_A_MM = 72 / 25.4  # PDF, ISO 32000-2, 8.3.2.3
INCH_MM = 25.4


def painted(page: PaintedPage, dpi: int) -> NDArray[np.uint8]:
    """The page on white, ``dpi`` dots an inch."""
    scale = dpi / INCH_MM
    image = QImage(round(page.width_mm * scale), round(page.height_mm * scale), QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    painter.scale(scale, scale)
    page.paint(painter)
    painter.end()
    return grey(image)


def one_page() -> MarkedPage:
    """A page of a single part with digits; it is the only one, so that it has no number."""
    (page,) = engraved(score("Violin", "4/4", "D5/1 E5 F5 G5 | A5 G5 F5 E5"), A4)
    digits = [Wanted(note, text) for note, text in zip(page.map.notes, "13024213", strict=True)]
    return page, place(page.map, digits, METRICS)


@pytest.mark.parametrize("dpi", [60, 96, 300])
def test_a_page_to_look_at_is_dot_for_dot_what_the_painter_paints(qapp: QGuiApplication, dpi: int) -> None:
    page, placed = one_page()
    (seen,) = painted_pages(Copy("Violin", [(page, placed)]), A4)
    expected = grey(paint_image(page, placed, dpi))
    assert (expected < 128).sum() > 300
    assert np.array_equal(painted(seen, dpi), expected)


def test_the_imprint_is_on_the_pages_to_look_at(qapp: QGuiApplication) -> None:
    """The only ink that they have more stands in the head and the foot."""
    page, placed = one_page()
    (bare,) = painted_pages(Copy("Violin", [(page, placed)]), A4)
    (seen,) = painted_pages(Copy("Violin", [(page, placed)], Imprint("Desk 1", "12 March", "A. Teacher")), A4)
    more = np.argwhere(painted(seen, 96) != painted(bare, 96)) / 96 * INCH_MM
    head, foot = more[more[:, 0] < A4.height_mm / 2], more[more[:, 0] > A4.height_mm / 2]
    assert len(head) > 50
    assert len(foot) > 100
    assert head[:, 0].max() < page.map.systems[0].rect.y0
    assert foot[:, 0].min() > A4.height_mm - 12


def test_a_pdf_is_the_same_in_processes_whose_tables_are_in_another_order(qapp: QGuiApplication) -> None:
    # "Reproducible: any party can recreate bit-by-bit identical copies" (reproducible-builds.org, definitions).
    written = set()
    for _ in range(12):
        QHashSeed.resetRandomGlobalSeed()
        with PdfPaper(A4, "Air") as paper:
            for line, (bold, italic) in enumerate([(False, False), (True, False), (False, True), (True, True)], 1):
                paper.painter.setFont(text_font(400, bold=bold, italic=italic))
                paper.painter.drawText(QPointF(1000, 1000 * line), "♯ Air")
        written.add(paper.pdf)
    assert len(written) == 1


def test_the_colour_of_marks_is_the_one_asked_for(qapp: QGuiApplication) -> None:
    (page,) = engraved(score("Violin", "4/4", "D5/1 E5 F5 G5"), A4)
    notes = list(page.map.notes)
    marks = [TeacherMark("circle", notes[0], notes[1])]
    overlay = mark_page(page.map, [], marks, METRICS)
    black, coloured = (
        painted(painted_pages(Copy("Violin", [(page, overlay)]), A4, style)[0], 96)
        for style in (OWN_MARKS_COPIED, OWN_MARKS)
    )
    changed = black != coloured
    assert changed.sum() > 10
    assert (coloured[changed] >= black[changed]).all(), "another colour than black is lighter"


@pytest.mark.parametrize("layout", [A4, LETTER], ids=["A4", "Letter"])
def test_there_are_as_many_pages_to_look_at_as_in_the_pdf_and_as_large(qapp: QGuiApplication, layout: Layout) -> None:
    copy = Copy("Violin I", [(page, ()) for page in corpus_pages("haydn/opus1no1/movement1", 0, layout)])
    seen = painted_pages(copy, layout)
    sheets = PdfReader(BytesIO(pdf_bytes([copy], layout, "Minuet"))).pages
    assert len(seen) == len(sheets) > 1
    for page, sheet in zip(seen, sheets, strict=True):
        assert page.width_mm == pytest.approx(float(sheet.mediabox.width) / POINTS_A_MM, abs=0.2)
        assert page.height_mm == pytest.approx(float(sheet.mediabox.height) / POINTS_A_MM, abs=0.2)
    assert not np.array_equal(painted(seen[0], 60), painted(seen[1], 60))


def test_what_is_painted_in_millimetres_lies_there_on_every_page(qapp: QGuiApplication) -> None:
    with PicturePaper(A4) as paper:
        for number in range(3):
            if number:
                paper.new_page()
            paper.painter.setPen(QPen(Qt.GlobalColor.black, 1.0))
            paper.painter.drawLine(QLineF(20, 30 + 40 * number, 60, 30 + 40 * number))
    assert len(paper.pages) == 3
    for number, page in enumerate(paper.pages):
        ys, xs = (np.argwhere(painted(page, 254) < 128) / 10).T
        assert (ys.min(), ys.max()) == pytest.approx((29.5 + 40 * number, 30.5 + 40 * number), abs=0.2)
        assert (xs.min(), xs.max()) == pytest.approx((19.5, 60.5), abs=0.2)


def test_a_page_does_not_depend_on_what_was_painted_before(qapp: QGuiApplication) -> None:
    """The paper begins with a black pen and no brush."""
    with PicturePaper(A4) as paper:
        paper.painter.setPen(QPen(Qt.GlobalColor.black))
        paper.painter.drawRect(QRectF(50, 50, 100, 100))
    (page,) = paper.pages
    image = QImage(210, 297, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    painter.setPen(Qt.GlobalColor.red)
    painter.setBrush(Qt.GlobalColor.red)
    page.paint(painter)
    assert painter.pen().color() == QColor(Qt.GlobalColor.red), "and leaves it as it was"
    painter.end()
    used = {image.pixelColor(x, y).name() for x in range(210) for y in range(297)}
    assert used == {"#000000", "#ffffff"}


def test_paper_is_let_go_of_when_painting_fails(qapp: QGuiApplication) -> None:
    for paper in (PdfPaper(A4, "Part"), PicturePaper(A4)):
        with pytest.raises(ZeroDivisionError), paper:
            _ = 1 / 0
        assert not paper.painter.isActive()


def test_a_copy_without_pages_is_told(qapp: QGuiApplication) -> None:
    with pytest.raises(EngravingError, match=r"^Violin: there are no pages to print$"):
        painted_pages(Copy("Violin", []), A4)
