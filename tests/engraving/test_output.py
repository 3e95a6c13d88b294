"""Printed files: the paper's size, fonts inside, digits as text in order, all or nothing."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader
from pypdf.generic import DictionaryObject
from PySide6.QtGui import QGuiApplication

from engraving.errors import EngravingError
from engraving.layout import A4, LETTER, Layout
from engraving.output import MarkedPage, write_pdf
from engraving.page import PageMap
from engraving.placing import Wanted, place
from tests.engraving.pages import METRICS, corpus_pages, engraved
from tests.scores import score

WORK = "haydn/opus1no1/movement1"
POINTS_A_MM = 72 / 25.4


def marked(page_map: PageMap, texts: str) -> list[Wanted]:
    return [Wanted(note_id, text) for note_id, text in zip(page_map.notes, texts, strict=False)]


def marked_pages(layout: Layout) -> list[MarkedPage]:
    pages = corpus_pages(WORK, 0, layout)
    return [(page, place(page.map, marked(page.map, "1234"), METRICS)) for page in pages]


@pytest.mark.parametrize("layout", [A4, LETTER], ids=["A4", "Letter"])
def test_a_pdf_has_the_papers_size_and_one_sheet_a_page(qapp: QGuiApplication, tmp_path: Path, layout: Layout) -> None:
    pages = marked_pages(layout)
    write_pdf(tmp_path / "part.pdf", pages, layout, "Minuet, Violin I")
    reader = PdfReader(tmp_path / "part.pdf")
    assert len(reader.pages) == len(pages)
    for sheet in reader.pages:
        assert float(sheet.mediabox.width) == pytest.approx(layout.width_mm * POINTS_A_MM, abs=0.6)
        assert float(sheet.mediabox.height) == pytest.approx(layout.height_mm * POINTS_A_MM, abs=0.6)
    assert reader.metadata is not None
    assert reader.metadata.title == "Minuet, Violin I"


def test_every_font_of_a_pdf_is_inside_it(qapp: QGuiApplication, tmp_path: Path) -> None:
    write_pdf(tmp_path / "part.pdf", marked_pages(A4), A4, "Part")
    names = set()
    for sheet in PdfReader(tmp_path / "part.pdf").pages:
        for font in sheet["/Resources"]["/Font"].values():
            inner = font.get_object()["/DescendantFonts"][0].get_object()
            descriptor = inner["/FontDescriptor"].get_object()
            assert isinstance(descriptor, DictionaryObject)
            assert {"/FontFile", "/FontFile2", "/FontFile3"} & set(descriptor)
            names.add(str(descriptor["/FontName"]))
    assert any("LiberationSerif" in name.replace(" ", "") for name in names)


def test_the_digits_of_a_pdf_are_text_in_the_order_of_the_notes(qapp: QGuiApplication, tmp_path: Path) -> None:
    (page,) = engraved(score("Violin", "4/4", "D5/1 E5 F5 G5 | A5 G5 F5 E5"), Layout.excerpt(160))
    layout = Layout(page.width_mm, page.height_mm, margin_mm=2, staff_mm=5)
    placed = place(page.map, marked(page.map, "13024213"), METRICS)
    write_pdf(tmp_path / "part.pdf", [(page, placed)], layout, "Excerpt")
    text = PdfReader(tmp_path / "part.pdf").pages[0].extract_text()
    assert "".join(character for character in text if character.isdigit()) == "13024213"


def test_a_pdf_digit_lies_where_its_place_is(qapp: QGuiApplication, tmp_path: Path) -> None:
    page = corpus_pages(WORK)[0]
    placed = place(page.map, marked(page.map, "1234"), METRICS)
    write_pdf(tmp_path / "part.pdf", [(page, placed)], A4, "Part")
    found = []

    def visit(text: str, matrix: list[float], text_matrix: list[float], *_: object) -> None:
        if text.strip() in tuple("1234"):
            a, b, c, d, e, f = matrix
            x, y = text_matrix[4:6]
            found.append((a * x + c * y + e, b * x + d * y + f))

    sheet = PdfReader(tmp_path / "part.pdf").pages[0]
    sheet.extract_text(visitor_text=visit)
    for one in placed:
        x = one.digit.rect.x0 * POINTS_A_MM
        y = float(sheet.mediabox.height) - one.digit.rect.y1 * POINTS_A_MM
        assert min(np.hypot(x - fx, y - fy) for fx, fy in found) < 1.0


def test_no_pages_no_pdf(qapp: QGuiApplication, tmp_path: Path) -> None:
    with pytest.raises(EngravingError, match=r"^part\.pdf: there are no pages to print$"):
        write_pdf(tmp_path / "part.pdf", [], A4, "Part")
    assert not list(tmp_path.iterdir())


def test_a_folder_that_is_not_there_is_named(qapp: QGuiApplication, tmp_path: Path) -> None:
    with pytest.raises(EngravingError, match=r"^part\.pdf cannot be written in "):
        write_pdf(tmp_path / "missing" / "part.pdf", marked_pages(A4), A4, "Part")


def test_a_pdf_that_fails_leaves_the_old_one(qapp: QGuiApplication, tmp_path: Path) -> None:
    path = tmp_path / "part.pdf"
    path.write_bytes(b"old")
    (page,) = engraved(score("Violin", "4/4", "D5/4"))
    broken = (type(page)(b"no svg", page.width_mm, page.height_mm, page.map), ())
    with pytest.raises(EngravingError, match="cannot draw"):
        write_pdf(path, [(page, ()), broken], A4, "Part")
    assert path.read_bytes() == b"old"
