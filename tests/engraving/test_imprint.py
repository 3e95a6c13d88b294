"""What a copy says in its margins: all of it on the printable paper, large enough, and clear of the music.

That printers lose about 5 mm at the edges, and that letters of 2.6 mm with strokes of 0.14 mm survive a school copier:
common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from lxml import etree
from numpy.typing import NDArray
from pypdf import PdfReader
from PySide6.QtCore import QSize, Qt
from PySide6.QtGui import QGuiApplication, QImage, QPainter

from engraving.document import open_document
from engraving.drawing import UNITS_A_MM, Lettering
from engraving.engraver import EngravedPage, engrave
from engraving.errors import EngravingError
from engraving.extract import part_for_engraving
from engraving.fonts import load_fonts
from engraving.imprint import Imprint, imprint_lines
from engraving.layout import A4, LETTER, Layout
from engraving.output import write_pdf
from engraving.page import Rect
from engraving.painter import paint_sign
from engraving.placing import Overlay, Wanted, place
from engraving.placing.boxes import PassageBox, boxes_on
from engraving.placing.runs import boxes_of
from engraving.styles import PAPER
from tests.engraving.pages import METRICS, corpus_pages, engraved, grey
from tests.engraving.test_painter import thinnest
from tests.engraving.test_placing import touching
from tests.scores import score

COPY = Imprint("Desk 2, outside", "14 September 2026", "N. N.")
A5 = Layout(148, 210, staff_mm=5.2, margin_mm=10)
BARE = Layout(210, 297, margin_mm=0)
WIDE = Layout(210, 297, margin_mm=20)
WORKS = [("haydn/opus1no1/movement1", 0), ("mozart/k155/movement1", 3)]
EDGE = 6.0


def lines(
    page: EngravedPage,
    layout: Layout = A4,
    imprint: Imprint = COPY,
    *,
    number: int = 1,
    count: int = 1,
    overlay: Sequence[Overlay] = (),
) -> dict[str, Lettering]:
    """The lines of an imprint by their text."""
    made = imprint_lines(imprint, page.map, layout, METRICS, number=number, count=count, overlay=overlay)
    return {line.text: line for line in made}


def box(line: Lettering) -> NDArray[np.float64]:
    return np.array([METRICS.box(line)]) / UNITS_A_MM


def left(line: Lettering) -> float:
    return float(box(line)[0, 0])


def tune(title: str = "Minuet", layout: Layout = A4) -> EngravedPage:
    return engraved(score("Violin", "4/4", "D5/4", title=title), layout)[0]


@pytest.mark.parametrize("layout", [A4, LETTER, A5, BARE, WIDE], ids=["A4", "US", "A5", "bare", "wide"])
@pytest.mark.parametrize(("work", "part"), WORKS)
def test_an_imprint_lies_on_the_printable_paper_and_touches_no_ink(work: str, part: int, layout: Layout) -> None:
    pages = corpus_pages(work, part, layout)
    for number, page in enumerate(pages, 1):
        digits = place(page.map, [Wanted(note_id, "3", below=True) for note_id in page.map.notes], METRICS)
        boxes = boxes_on(page.map, [PassageBox("All of it", 0, 999)], digits, METRICS)
        over = (*digits, *boxes)
        made = imprint_lines(COPY, page.map, layout, METRICS, number=number, count=len(pages), overlay=over)
        assert [line.text for line in made] == [
            "Desk 2, outside",
            *([f"Page {number} of {len(pages)}"] if len(pages) > 1 else []),
            "14 September 2026",
            "Marked by N. N.",
        ]
        inked = np.concatenate([box(line) for line in made])
        assert not touching(inked, np.concatenate([page.map.ink, boxes_of(over)])).any()
        assert touching(inked, inked).sum() == len(inked)
        assert inked[:, :2].min() >= EDGE - 0.2
        assert inked[:, 2].max() <= layout.width_mm - EDGE + 0.2
        assert inked[:, 3].max() <= layout.height_mm - EDGE


def test_an_imprint_stands_clear_of_the_example(example: Path) -> None:
    document = open_document(example)
    for part in document.parts:
        pages = engrave(part_for_engraving(document, part.id), A4)
        for number, page in enumerate(pages, 1):
            made = lines(page, number=number, count=len(pages))
            assert len(made) == 4
            assert not touching(np.concatenate([box(line) for line in made.values()]), page.map.ink).any()


def test_the_letters_are_high_enough() -> None:
    """By the engraver's own table of the face, in which a capital is a little lower than a digit."""
    for line in lines(tune(), count=2).values():
        capital = METRICS.box(replace(line, text="H"))
        assert capital is not None
        slack = 0.03 * line.size
        assert (capital[3] - capital[1] - 2 * slack) / UNITS_A_MM >= 2.6


def test_the_strokes_survive_a_copier(qapp: QGuiApplication) -> None:
    image = QImage(QSize(2400, 500), QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    load_fonts()
    painter = QPainter(image)
    painter.scale(100.0, 100.0)
    (line,) = (lines(tune(), imprint=Imprint("Desk 1"))["Desk 1"],)
    paint_sign(painter, [replace(line, x=100.0, y=380.0)], PAPER.ink)
    painter.end()
    assert thinnest(grey(image) < 128) / 100.0 >= 0.14


def test_each_text_stands_in_its_place() -> None:
    page = tune()
    made = lines(page, count=3)
    name, date, by, number = (
        made[text] for text in ("Desk 2, outside", "14 September 2026", "Marked by N. N.", "Page 1 of 3")
    )
    heading = page.map.ink[page.map.ink[:, 3] <= page.map.music_top]
    assert box(name)[0, 3] + 2 < heading[:, 1].min()
    assert left(name) == left(by) == pytest.approx(12, abs=0.3)
    assert box(date)[0, [0, 2]].mean() == pytest.approx(105, abs=0.5)
    assert box(number)[0, 2] == pytest.approx(198, abs=0.3)
    assert date.y == by.y == number.y > 285 * UNITS_A_MM


def test_on_later_pages_the_desk_stands_beside_the_part() -> None:
    page = corpus_pages("haydn/opus1no1/movement1")[1]
    name = lines(page, number=2, count=2)["Desk 2, outside"]
    root = etree.fromstring(page.svg)
    (part,) = (text for text in root.iter("{http://www.w3.org/2000/svg}text") if text.text == "Violin I")
    assert name.y == pytest.approx(float(part.get("y", "0")))
    heading = page.map.ink[page.map.ink[:, 3] <= page.map.music_top]
    assert heading[:, 2].max() + 3 < left(name) < heading[:, 2].max() + 6


def test_pages_are_numbered_from_two_pages_on() -> None:
    page = tune()
    assert lines(page, imprint=Imprint()) == {}
    assert list(lines(page, imprint=Imprint(), number=2, count=12)) == ["Page 2 of 12"]


def test_what_is_not_said_is_not_printed() -> None:
    assert list(lines(tune(), imprint=Imprint(date="May 1"))) == ["May 1"]


def test_a_long_text_moves_the_date_to_the_right_and_is_cut_last() -> None:
    page = tune()
    long = Imprint("Desk 1", "May 1", "the leader of the second violins and the whole of her section")
    made = lines(page, imprint=long, count=2)
    assert f"Marked by {long.marked_by}" in made
    assert left(made["May 1"]) > 150
    longer = replace(long, marked_by=long.marked_by + " with the help of all the cellos")
    made = lines(page, imprint=longer, count=2)
    (cut,) = (text for text in made if text.startswith("Marked by"))
    assert cut.endswith("…")
    assert longer.marked_by.startswith(cut.removeprefix("Marked by ").removesuffix("…").rstrip())
    inked = np.concatenate([box(line) for line in made.values()])
    assert touching(inked, inked).sum() == len(inked)


def test_a_long_part_name_leaves_room_for_the_desk() -> None:
    music = " | ".join(["D5/0.5 E5 F5 G5 D5 E5 F5 G5"] * 60)
    pages = engraved(score("Violin of the second desk " * 8, "4/4", music), A4)
    assert len(lines(pages[1], number=2, count=2)) == 4
    assert "Desk 2, outside" in lines(pages[1], number=2, count=2)


def test_signs_of_wide_scripts_take_their_room() -> None:
    """Wide characters fill an em square (Unicode Standard Annex 11): six of them 24 mm."""
    page = tune()
    made = lines(page, imprint=Imprint(marked_by="\u6f22" * 60, date="May 1"), count=2)
    (by,) = (text for text in made if text.startswith("Marked by"))
    assert by.count("\u6f22") * 4.0 < 186 - 25


def test_what_lies_in_the_foot_already_is_stepped_round() -> None:
    page = tune()
    there = [100.0, 285.0, 104.0, 292.0]
    moved = replace(page, map=replace(page.map, ink=np.concatenate([page.map.ink, [there]])))
    made = lines(moved)
    assert len(made) == 3
    assert not touching(np.concatenate([box(line) for line in made.values()]), np.array([there])).any()
    (digit,) = place(page.map, [Wanted(note_id, "3") for note_id in page.map.notes], METRICS)
    low = replace(digit, digit=replace(digit.digit, rect=Rect(13.0, 286.0, 15.0, 291.0)))
    (by,) = (line for text, line in lines(page, overlay=[low]).items() if text.startswith("Marked"))
    assert left(by) > 15
    full = replace(page, map=replace(page.map, ink=np.array([[0.0, 0.0, 210.0, 297.0]])))
    assert lines(full) == {}


@pytest.mark.parametrize(
    "layout", [Layout.excerpt(160), Layout(210, 297, heading=False), Layout(210, 90)], ids=["excerpt", "bare", "low"]
)
def test_a_page_without_room_has_no_imprint_and_keeps_its_margins(layout: Layout) -> None:
    page = tune(layout=layout)
    assert lines(page, layout, count=2) == {}
    assert page.map.music_bottom == page.height_mm


@pytest.mark.parametrize("layout", [A4, BARE, A5], ids=["A4", "bare", "A5"])
def test_digits_and_music_keep_out_of_the_foot(layout: Layout) -> None:
    for page in corpus_pages("haydn/opus1no1/movement1", 0, layout):
        digits = place(page.map, [Wanted(note_id, "3", below=True) for note_id in page.map.notes], METRICS)
        assert page.map.ink[:, 3].max() <= layout.height_mm - max(layout.margin_mm, 12) + 0.1
        assert boxes_of(digits)[:, 3].max() <= page.map.music_bottom < layout.height_mm - EDGE


def test_texts_are_one_line_each() -> None:
    assert Imprint(" Desk 2,\noutside ", "\tMay 1", "N.  N.") == Imprint("Desk 2, outside", "May 1", "N. N.")


@pytest.mark.parametrize(
    ("imprint", "said"),
    [
        ({"desk": "\x1b[2J"}, "Desk: the text holds signs that cannot be printed"),
        ({"date": "\ud800"}, "Date: the text holds signs that cannot be printed"),
        ({"marked_by": "N.\x00N."}, "Marked by: the text holds signs that cannot be printed"),
    ],
)
def test_signs_that_cannot_be_printed_are_refused(imprint: dict[str, str], said: str) -> None:
    with pytest.raises(EngravingError) as error:
        Imprint(**imprint)
    assert str(error.value) == said


def test_every_sheet_of_a_pdf_says_whose_it_is(qapp: QGuiApplication, tmp_path: Path) -> None:
    pages = corpus_pages("haydn/opus1no1/movement1")
    for name in ("Desk 1", "Desk 2"):
        write_pdf(tmp_path / "part.pdf", [(page, ()) for page in pages], A4, "Part", replace(COPY, desk=name))
        for number, sheet in enumerate(PdfReader(tmp_path / "part.pdf").pages, 1):
            text = " ".join(sheet.extract_text().split())
            for said in (name, "14 September 2026", "Marked by N. N.", f"Page {number} of {len(pages)}", "Violin I"):
                assert text.count(said) == 1


def test_without_an_imprint_sheets_are_numbered_once(qapp: QGuiApplication, tmp_path: Path) -> None:
    pages = corpus_pages("haydn/opus1no1/movement1")
    write_pdf(tmp_path / "part.pdf", [(page, ()) for page in pages], A4, "Part")
    text = " ".join(PdfReader(tmp_path / "part.pdf").pages[1].extract_text().split())
    assert "Page 2 of 2" in text
    assert text.count("2") == 2
    assert "Marked" not in text
