"""The demo suite printed: the paper, the fonts and the digits of its PDF, and whether the digits survive a copier."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from pypdf import PageObject, PdfReader
from PySide6.QtGui import QGuiApplication
from scipy.ndimage import gaussian_filter, label

from app.job.files.opening import open_any
from app.job.paper.part import PaperPage, paper_part
from app.job.teacher.printing import PAPERS, Printing
from engraving.output import write_pdf
from engraving.page import PageMap, Rect
from engraving.pictures import paint_image
from engraving.placing import Figure, Placed
from engraving.placing.figures import DOWN, REACH, UP
from engraving.styles import COMPUTED, PAPER, DigitStyle
from tests.conftest import EXAMPLE
from tests.engraving.pages import grey
from tests.scores import score

PARTS = ("Violin I", "Viola", "Double Bass")
# 1 point is 1/72 in (PDF, ISO 32000-2, 8.3.2.3).
POINTS_A_MM = 72 / 25.4
DPI = 300
SCALE = DPI / 25.4


@cache
def printed(name: str, paper: str = "a4") -> tuple[PaperPage, ...]:
    """A part of the suite as it is printed."""
    opened = open_any(EXAMPLE)
    part = next(part for part in opened.score.parts if part.name == name)
    work = opened.work.parts[part.id]
    return paper_part(opened, part, work.plan(part), work, Printing(paper)).pages


@pytest.fixture
def pdf(qapp: QGuiApplication, tmp_path: Path, request: pytest.FixtureRequest) -> tuple[PdfReader, Sequence[PaperPage]]:
    """A part on a paper as PDF, and its pages."""
    name, paper = request.param
    pages = printed(name, paper)
    write_pdf(tmp_path / "part.pdf", pages, PAPERS[paper], name)
    return PdfReader(tmp_path / "part.pdf"), pages


of_every_part = pytest.mark.parametrize("pdf", [(name, "a4") for name in PARTS], ids=PARTS, indirect=True)


def digits(page: PaperPage) -> list[Placed]:
    return [one for one in page[1] if isinstance(one, Placed)]


def texts_on(sheet: PageObject) -> list[tuple[str, float, float]]:
    """Every text of a PDF page in the order it is written: the words, and where they begin in mm from the top left."""
    found: list[tuple[str, float, float]] = []

    def visit(text: str, matrix: list[float], text_matrix: list[float], *_: object) -> None:
        a, b, c, d, e, f = matrix
        x, y = text_matrix[4:6]
        if text.strip():
            left, up = a * x + c * y + e, b * x + d * y + f
            found.append((text.strip(), left / POINTS_A_MM, (float(sheet.mediabox.height) - up) / POINTS_A_MM))

    sheet.extract_text(visitor_text=visit)
    return found


def reading_order(page: PageMap, one: Placed) -> tuple[int, bool, float]:
    """System by system, over the staff from left to right, then under it."""
    note = page.notes[one.note_id]
    return note.system, one.digit.rect.y0 > note.staff_bottom, round(one.digit.rect.x0, 3)


@pytest.mark.parametrize(
    ("pdf", "inches"),
    [(("Violin I", "a4"), (210 / 25.4, 297 / 25.4)), (("Violin I", "letter"), (8.5, 11.0))],
    ids=["A4", "Letter"],
    indirect=["pdf"],
)
def test_the_sheets_have_the_size_of_the_paper(
    pdf: tuple[PdfReader, Sequence[PaperPage]], inches: tuple[float, float]
) -> None:
    """A4 is 210 by 297 mm (ISO 216), Letter 8.5 by 11 in (ASME Y14.1)."""
    reader, pages = pdf
    assert len(reader.pages) == len(pages) == 2
    for sheet in reader.pages:
        size = float(sheet.mediabox.width) / 72, float(sheet.mediabox.height) / 72
        assert size == pytest.approx(inches, abs=0.01)
        assert sheet.rotation == 0


def test_a_score_without_a_title_is_headed_by_the_name_of_its_file(qapp: QGuiApplication, tmp_path: Path) -> None:
    """As its practice sheet is."""
    (tmp_path / "evening.musicxml").write_bytes(score("Violin", "4/4", "D5/4"))
    opened = open_any(tmp_path / "evening.musicxml")
    (part,) = opened.score.parts
    work = opened.work.parts[part.id]
    write_pdf(tmp_path / "part.pdf", paper_part(opened, part, None, work, Printing()).pages, PAPERS["a4"], "Violin")
    said = [text for text, _, _ in texts_on(PdfReader(tmp_path / "part.pdf").pages[0])]
    assert "evening" in said
    assert "Violin" in said


@of_every_part
def test_all_fonts_are_inside(pdf: tuple[PdfReader, Sequence[PaperPage]]) -> None:
    """A font is embedded when its descriptor has a font file (PDF, ISO 32000-2, 9.9)."""
    names = set()
    for sheet in pdf[0].pages:
        for font in sheet["/Resources"]["/Font"].values():
            for inner in font.get_object().get("/DescendantFonts", [font]):
                descriptor = inner.get_object()["/FontDescriptor"].get_object()
                assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(descriptor), descriptor["/FontName"]
                names.add(str(descriptor["/FontName"]).rpartition("+")[2].lstrip("/").replace(" ", ""))
    assert {"LiberationSerif-Bold", "LiberationSerif-Italic"} <= names


@of_every_part
def test_the_digits_are_text_at_their_places_in_reading_order(pdf: tuple[PdfReader, Sequence[PaperPage]]) -> None:
    count = 0
    for sheet, page in zip(pdf[0].pages, pdf[1], strict=True):
        placed = digits(page)
        read: list[Placed] = []
        for text, x, y in texts_on(sheet):
            read += [
                one
                for one in placed
                if one.digit.text == text and np.hypot(x - one.digit.rect.x0, y - one.digit.rect.y1) < 0.15
            ]
        assert {one.note_id for one in read} == {one.note_id for one in placed}
        assert len(read) == len(placed)
        order = [reading_order(page[0].map, one) for one in read]
        assert order == sorted(order)
        count += len(read)
    assert count > 40


@pytest.mark.parametrize("pdf", [("Violin I", "a4")], indirect=True)
def test_what_stands_beside_a_digit_is_text_too(pdf: tuple[PdfReader, Sequence[PaperPage]]) -> None:
    """Position names and strings; arrows and crosses are strokes."""
    count = 0
    for sheet, page in zip(pdf[0].pages, pdf[1], strict=True):
        read = [(" ".join(text.split()), x, y) for text, x, y in texts_on(sheet)]
        for figure in (figure for one in digits(page) for figure in (one.string, one.hand) if figure is not None):
            there = [text for text, x, y in read if np.hypot(x - figure.rect.x0, y - figure.rect.y1) < 0.15]
            assert there == [figure.text]
            count += 1
    assert count >= 5


def copied(page: PaperPage, style: DigitStyle = PAPER, times: int = 1) -> NDArray[np.bool_]:
    """Where a school copier leaves toner, on a copy or on a copy of a copy.

    It sees the page softened by about a dot of 300 an inch and prints what is darker than half grey (common practice,
    no source).
    """
    seen = grey(paint_image(*page, DPI, style)).astype(float)
    for _ in range(times):
        seen = np.where(gaussian_filter(seen, 1.0) < 128, 0.0, 255.0)
    toner: NDArray[np.bool_] = seen == 0.0
    return toner


def pieces(toner: NDArray[np.bool_], rect: Rect) -> tuple[int, float]:
    """How many connected pieces of toner a box holds, and how high all of it is in parts of the box."""
    x0, y0, x1, y1 = (value * SCALE for value in (rect.x0, rect.y0, rect.x1, rect.y1))
    inside = toner[int(y0) - 1 : int(y1) + 2, int(x0) - 1 : int(x1) + 2]
    rows = np.flatnonzero(inside.any(axis=1))
    return label(inside, np.ones((3, 3)))[1], (rows[-1] - rows[0] + 1) / (y1 - y0) if len(rows) else 0.0


def torn(toner: NDArray[np.bool_], figures: Sequence[Figure]) -> list[str]:
    """The figures that a copy shows in more pieces than they have letters, or cut off at head or foot."""
    found = []
    for figure in figures:
        count, height = pieces(toner, figure.box)
        if count != len(figure.text.replace(" ", "")) or not 0.88 <= height <= 1.12:
            found.append(figure.text)
    return found


@pytest.mark.parametrize("name", PARTS)
def test_every_digit_survives_a_copy_of_a_copy_in_one_piece(qapp: QGuiApplication, name: str) -> None:
    count = 0
    for page in printed(name):
        figures = [one.digit for one in digits(page)]
        assert torn(copied(page, times=1), figures) == []
        assert torn(copied(page, times=2), figures) == []
        count += len(figures)
    assert count > 25


def test_position_names_arrows_and_crosses_survive_a_copy(qapp: QGuiApplication) -> None:
    seen: set[str] = set()
    for page in (page for name in PARTS for page in printed(name)):
        beside = [figure for one in digits(page) for figure in one.figures if figure is not one.digit]
        seen |= {figure.text for figure in beside}
        assert torn(copied(page), beside) == []
    assert {"1st pos.", "3rd pos.", "half pos.", UP, DOWN, REACH} <= seen


@pytest.mark.parametrize(("style", "times"), [(DigitStyle("#000000"), 2), (COMPUTED, 1)], ids=["thin", "in colour"])
def test_thin_digits_and_those_of_the_screen_would_be_torn(
    qapp: QGuiApplication, style: DigitStyle, times: int
) -> None:
    """The opposite: not every face, and not every ink, survives."""
    page = printed("Violin I")[0]
    assert len(torn(copied(page, style, times), [one.digit for one in digits(page)])) > 8
