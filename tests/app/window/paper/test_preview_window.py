"""What will be printed, looked at before it is written: as in the PDF, told when it is edited, sharp at any size."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader
from PySide6.QtCore import QPoint, QPointF, Qt
from PySide6.QtGui import QImage, QPainter, QWheelEvent
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QPushButton
from pytestqt.qtbot import QtBot

from app.job.files.opening import open_any
from app.job.paper.practice import practice
from app.job.paper.practice_sheet import practice_sheet, practice_sheet_pages
from app.job.teacher.printing import PAPERS, Copies, Printing
from app.window import dialogs
from app.window.main_window import MainWindow
from app.window.paper.preview_window import Preview, PreviewWindow
from engraving.layout import A4, LETTER
from engraving.paper import PaintedPage
from tests.app.conftest import opened, settled
from tests.engraving.pages import grey
from tests.scores import full_score, part, score

POINTS_A_MM = 72 / 25.4  # PDF, ISO 32000-2, 8.3.2.3
SCALE = 8.0  # dots a millimetre


@pytest.fixture
def desk(qtbot: QtBot, window: MainWindow, mini: Path) -> MainWindow:
    """The window on a small part."""
    opened(qtbot, window, mini)
    return window


def look(qtbot: QtBot, window: MainWindow, name: str = "see_part") -> PreviewWindow:
    """Have something shown by a command, and the window that shows it."""
    action = window.actions_by_name[name]
    assert action.isEnabled(), name
    action.trigger()
    settled(qtbot, window)
    return window.previews.windows[-1]


def print_as(window: MainWindow, copies: Copies | None = None, **printing: object) -> None:
    copies_by_part = {window.desk.part.id: copies} if copies else {}
    window.desk.set_printing(replace(window.desk.state.work.printing, **printing), copies_by_part)


def sizes(shown: PreviewWindow) -> list[tuple[float, float]]:
    return [(page.width_mm, page.height_mm) for page in shown.preview.pages]


def ink(page: PaintedPage) -> np.ndarray:
    """Where a page has ink, ``SCALE`` dots a millimetre."""
    image = QImage(round(page.width_mm * SCALE), round(page.height_mm * SCALE), QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    painter.scale(SCALE, SCALE)
    page.paint(painter)
    painter.end()
    return grey(image) < 160


# The same as what is written


def test_every_word_of_the_practice_sheets_pdf_lies_on_ink_of_its_preview(qapp, example, tmp_path):
    """Where the words lie pypdf reads from the PDF."""
    score_, path = open_any(example), tmp_path / "sheet.pdf"
    one = score_.score.parts[0]
    work = score_.work.parts[one.id]
    plan = work.plan(one)
    asked = practice(one, work.watched(score_.score, one, plan))
    arguments = score_.document, "Three Crossings", plan, asked, PAPERS["letter"]
    practice_sheet(path, *arguments)
    pages = practice_sheet_pages(*arguments)
    sheets = PdfReader(path).pages
    assert len(sheets) == len(pages)
    seen = 0
    for sheet, page in zip(sheets, pages, strict=True):
        black, found = ink(page), []

        def visit(text, matrix, text_matrix, *_, into=found):
            a, b, c, d, e, f = matrix
            x, y = text_matrix[4:6]
            if text.strip():
                into.append(((a * x + c * y + e) / POINTS_A_MM, (b * x + d * y + f) / POINTS_A_MM))

        sheet.extract_text(visitor_text=visit)
        for x, y in found:
            left, base = round(x * SCALE), round((page.height_mm - y) * SCALE)
            assert black[base - 10 : base + 3, left : left + 16].any(), (x, y)
        seen += len(found)
    assert seen > 60


def test_the_preview_of_a_part_is_the_first_copy_with_its_desk_and_foot(qtbot, desk):
    print_as(desk, Copies(3, ("Desk 1", "Desk 2")), date="12 March")
    shown = look(qtbot, desk)
    assert shown.windowTitle() == "Part on paper: mini, Violin"
    assert shown.about.text() == "The first of 3 copies, for Desk 1"
    named = ink(shown.preview.pages[0])
    print_as(desk, Copies(1))
    shown.again.click()
    settled(qtbot, desk)
    assert not shown.about.isVisibleTo(shown)
    plain = ink(shown.preview.pages[0])
    rows = np.flatnonzero((named & ~plain).any(axis=1)) / SCALE
    assert rows.size
    assert rows.max() < 30, "the desk is named at the head of the page"
    foot = plain[round((A4.height_mm - 12) * SCALE) :]
    assert foot.any(), "the date at its foot"


def test_what_is_written_is_what_is_shown_even_after_edits(qtbot, desk, monkeypatch, tmp_path):
    path = tmp_path / "part.pdf"
    monkeypatch.setattr(dialogs, "ask_save", lambda *asked: (path, dialogs.PDF_FILES))
    shown = look(qtbot, desk)
    print_as(desk, paper="letter")
    shown.write.click()
    settled(qtbot, desk)
    (sheet,) = PdfReader(path).pages
    assert round(float(sheet.mediabox.height) / POINTS_A_MM) == A4.height_mm
    shown.again.click()
    settled(qtbot, desk)
    shown.write.click()
    settled(qtbot, desk)
    (sheet,) = PdfReader(path).pages
    assert float(sheet.mediabox.height) / POINTS_A_MM == pytest.approx(LETTER.height_mm, abs=0.2)


def test_the_practice_sheet_that_is_shown_is_written(qtbot, window, example, monkeypatch, tmp_path):
    path = tmp_path / "sheet.pdf"
    monkeypatch.setattr(dialogs, "ask_save", lambda *asked: (path, dialogs.PDF_FILES))
    opened(qtbot, window, example)
    shown = look(qtbot, window, "see_sheet")
    assert shown.windowTitle() == "Practice sheet: Three Crossings, Violin I"
    assert sizes(shown) == [(A4.width_mm, A4.height_mm)]
    window.desk.turn_to(window.desk.score.score.parts[2].id)
    settled(qtbot, window)
    shown.write.click()
    settled(qtbot, window)
    (sheet,) = PdfReader(path).pages
    assert "Violin I (violin" in " ".join(sheet.extract_text().split())


def test_hard_page_turns_are_told_above_the_pages(qtbot, window, tmp_path):
    path = tmp_path / "long.musicxml"
    path.write_bytes(score("Violin", "4/4", " | ".join(["D5/1 E5 F#5 G5"] * 150), key=2))
    opened(qtbot, window, path)
    print_as(window, staff_mm=9.0)
    shown = look(qtbot, window)
    assert len(shown.preview.pages) > 2
    assert shown.preview.warnings
    assert shown.warnings.text().startswith("Page 1 turns before measure ")
    assert shown.warnings.isVisibleTo(shown)
    assert shown.title.height() == shown.title.sizeHint().height(), "the room is for the pages"


# Edits


def test_an_edit_is_told_and_taken_back_it_is_no_longer(qtbot, desk):
    shown = look(qtbot, desk)
    assert not shown.edited.isVisibleTo(shown)
    print_as(desk, paper="letter")
    assert shown.edited.isVisibleTo(shown)
    assert sizes(shown) == [(A4.width_mm, A4.height_mm)], "it does not change by itself"
    desk.desk.history.undo()
    assert not shown.edited.isVisibleTo(shown)
    desk.desk.history.redo()
    assert shown.edited.isVisibleTo(shown)
    shown.again.click()
    settled(qtbot, desk)
    assert sizes(shown) == [(LETTER.width_mm, LETTER.height_mm)]
    assert not shown.edited.isVisibleTo(shown)
    assert desk.previews.windows == [shown]


def test_a_fixed_finger_is_an_edit_and_drawn_again_it_is_seen(qtbot, desk):
    shown = look(qtbot, desk)
    before = ink(shown.preview.pages[0])
    one = desk.desk.part.notes[2]
    desk.desk.select_note(one.id)
    desk.notes.finger(0 if desk.desk.plan.choice(one.id).finger == 4 else 4)
    settled(qtbot, desk)
    assert shown.edited.isVisibleTo(shown)
    shown.again.click()
    settled(qtbot, desk)
    assert (ink(shown.preview.pages[0]) != before).any()


def test_looking_again_shows_the_window_that_is_open(qtbot, desk):
    first = look(qtbot, desk)
    print_as(desk, paper="letter")
    assert look(qtbot, desk) is first
    assert sizes(first) == [(LETTER.width_mm, LETTER.height_mm)]
    assert len(desk.previews.windows) == 1


def test_an_edit_of_another_part_is_none_of_this_one(qtbot, window, tmp_path):
    path = tmp_path / "duo.musicxml"
    line = "D4/1 E4 F#4 G4"
    path.write_bytes(full_score(part("Violin", "4/4", line), part("Viola", "4/4", line)))
    opened(qtbot, window, path)
    shown = look(qtbot, window)
    window.desk.turn_to(window.desk.score.score.parts[1].id)
    settled(qtbot, window)
    window.desk.select_note(window.desk.part.notes[0].id)
    window.notes.finger(0)
    settled(qtbot, window)
    assert not shown.edited.isVisibleTo(shown)
    other = look(qtbot, window)
    assert other is not shown
    assert other.windowTitle() == "Part on paper: duo, Viola"
    assert len(window.previews.windows) == 2


# Closing


def test_closing_forgets_a_preview_and_another_score_closes_all(qtbot, desk, mini):
    shown = look(qtbot, desk)
    shown.close_button.click()
    assert desk.previews.windows == []
    look(qtbot, desk)
    opened(qtbot, desk, mini)
    assert desk.previews.windows == []


def test_a_preview_that_comes_after_another_score_was_opened_is_not_shown(qtbot, desk, mini):
    before = desk.desk.score
    desk.desk.open(mini)
    desk.actions_by_name["see_part"].trigger()
    settled(qtbot, desk)
    assert desk.desk.score is not before
    assert desk.previews.windows == []


def test_previews_close_with_the_window(qtbot, desk):
    shown = look(qtbot, desk)
    gone = []
    shown.finished.connect(gone.append)
    desk.close()
    assert gone


def test_nothing_to_practise_is_told_in_a_sentence(qtbot, window, told, tmp_path, monkeypatch):
    monkeypatch.setattr("app.job.teacher.work.watch_list", lambda score, part, plan, tick: ())
    path = tmp_path / "tune.musicxml"
    path.write_bytes(score("Violin", "4/4", "D5/4"))
    opened(qtbot, window, path)
    window.actions_by_name["see_sheet"].trigger()
    settled(qtbot, window)
    assert told == ["Violin: its watch-list has nothing to practise"]
    assert window.previews.windows == []


def test_a_part_that_nobody_is_known_to_play_can_be_looked_at(qtbot, window, tmp_path):
    path = tmp_path / "tune.musicxml"
    path.write_bytes(score("Recorder", "4/4", "D5/4"))
    window.open(path)
    qtbot.waitUntil(lambda: bool(window.desk.pages), timeout=30_000)
    settled(qtbot, window)
    assert len(look(qtbot, window).preview.pages) == 1
    assert not window.actions_by_name["see_sheet"].isEnabled()


# The window


@pytest.fixture
def pages(qtbot: QtBot, window: MainWindow, example: Path) -> PreviewWindow:
    """A preview of two pages."""
    opened(qtbot, window, example)
    shown = look(qtbot, window)
    assert len(shown.preview.pages) == 2
    return shown


def button(shown: PreviewWindow, text: str) -> QPushButton:
    return next(one for one in shown.findChildren(QPushButton) if one.text() == text)


def test_a_page_is_as_wide_as_the_window_to_begin_with(pages):
    wide = pages.view.viewport().width()
    assert 0.96 * wide < pages.view.page_area(0).width() < wide
    pages.resize(pages.width() - 200, pages.height())
    QApplication.processEvents()
    assert pages.view.page_area(0).width() == pytest.approx(pages.view.viewport().width() - 12, abs=1)


def test_whole_pages_are_turned_one_by_one(pages):
    pages.show_preview(Preview(pages.preview.pages * 3))
    button(pages, "Whole page").click()
    room = pages.view.viewport().rect()
    down, up = Qt.Key.Key_PageDown, Qt.Key.Key_PageUp
    for number, key in ((0, Qt.Key.Key_Home), (1, down), (2, down), (3, down), (2, up), (5, Qt.Key.Key_End), (4, up)):
        QTest.keyClick(pages.view, key)
        assert room.contains(pages.view.page_area(number).toAlignedRect())
        assert pages.page.text() == f"Page {number + 1} of 6"


def test_the_page_in_view_stays_there_when_it_is_shown_whole(pages):
    QTest.keyClick(pages.view, Qt.Key.Key_End)
    button(pages, "Whole page").click()
    assert pages.page.text() == "Page 2 of 2"
    assert pages.view.viewport().rect().contains(pages.view.page_area(1).toAlignedRect())


def test_larger_and_smaller_by_buttons_and_the_wheel(pages):
    start = pages.view.scale
    button(pages, "Larger").click()
    assert pages.view.scale == pytest.approx(start * 1.15)
    button(pages, "Smaller").click()
    button(pages, "Smaller").click()
    assert pages.view.scale == pytest.approx(start / 1.15)
    middle = QPointF(pages.view.viewport().rect().center())
    turn = QWheelEvent(
        middle, pages.view.viewport().mapToGlobal(middle), QPoint(), QPoint(0, 240), Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.ControlModifier, Qt.ScrollPhase.NoScrollPhase, False,
    )  # fmt: skip
    QApplication.sendEvent(pages.view.viewport(), turn)
    assert pages.view.scale == pytest.approx(start * 1.15)
    button(pages, "As wide as the window").click()
    assert pages.view.scale == pytest.approx(start)


def test_every_zoom_has_its_keys_and_says_them(pages):
    keys = [button(pages, text).shortcut().toString() for text in ("Smaller", "Larger", "As wide as the window")]
    assert keys == ["Ctrl+-", "Ctrl++", "Ctrl+0"]
    assert all(key in button(pages, text).toolTip() for key, text in zip(keys, ("Smaller", "Larger"), strict=False))


@pytest.mark.parametrize("steps", [0, 4])
def test_the_view_shows_the_page_stroke_by_stroke_at_every_size(pages, steps):
    """Painted directly at the size of the view a page has the same ink, to a few of 256 greys."""
    pages.view.zoom(steps)
    area, scale = pages.view.page_area(0), pages.view.scale
    shot = grey(pages.view.viewport().grab().toImage()).astype(float)
    image = QImage(shot.shape[1], shot.shape[0], QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.white)
    painter = QPainter(image)
    painter.translate(area.topLeft())
    painter.scale(scale, scale)
    pages.preview.pages[0].paint(painter)
    painter.end()
    inside = np.s_[max(0, int(area.top()) + 3) :, max(0, int(area.left()) + 3) : int(area.right()) - 3]
    direct = grey(image).astype(float)[inside]
    assert (direct < 128).sum() > 2000
    assert np.abs(shot[inside] - direct).max() < 16


def test_the_keys_of_a_preview_belong_to_its_pages(pages):
    assert not any(one.autoDefault() for one in pages.findChildren(QPushButton))
    assert pages.focusWidget() is pages.view


def test_paper_and_printing_are_those_of_the_project(qtbot, desk):
    assert desk.desk.state.work.printing == Printing()
    print_as(desk, paper="letter", margin_mm=30.0)
    shown = look(qtbot, desk)
    columns = np.flatnonzero(ink(shown.preview.pages[0]).any(axis=0)) / SCALE
    assert sizes(shown) == [(LETTER.width_mm, LETTER.height_mm)]
    assert columns.min() > 25
