"""The manual and the page of keys: as committed, complete, with pictures and links that lead somewhere."""

from __future__ import annotations

import io
import re

import pytest
from pypdf import PdfReader
from PySide6.QtCore import QEvent, QPointF, Qt
from PySide6.QtGui import QImage, QKeyEvent, QTextCursor, QTextTable
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QWidget

from analysis.fingering.rules.house import RULE_SENTENCES
from analysis.fingering.terms import TERMS
from analysis.watch.kinds import KINDS
from app.cli.arguments import command_parser
from app.cli.opening import COMMANDS as CLI_COMMANDS
from app.help.__main__ import PAGES, pages
from app.help.keys_sheet import keys_pdf
from app.help.manual import MANUAL, ROOM, SHORTCUTS, anchor_of, build_manual, build_shortcuts, portable
from app.window import dialogs
from app.window.commands import COMMANDS
from app.window.help import help_window
from app.window.help.help_window import SECTIONS, HelpWindow
from app.window.keys import FINGERBOARD, KEYS, MUSIC, PAPER, keys_of, pressed
from tests.app.conftest import trigger

_MOST_PICTURES, _LARGEST = 8, 120_000


def anchors(text):
    return {anchor_of(line.lstrip("# ")) for line in text.splitlines() if line.startswith("#")}


@pytest.fixture(scope="module")
def manual():
    return build_manual()


# The text


@pytest.mark.parametrize("name", [MANUAL, SHORTCUTS])
def test_the_committed_text_is_what_is_built(name):
    committed = (PAGES / name).read_text(encoding="utf-8")
    assert committed == pages()[name], f"{name} is not up to date: write it anew with python -m app.help"


def test_every_command_and_key_is_in_the_manual(manual):
    for command in COMMANDS:
        words = command.words.removesuffix("…")
        assert f"| {command.menu} | {words} | {command.shortcut} |" in manual
    for row in KEYS:
        assert f"| {row.place} | {row.text} | {', '.join(row.keys)} |" in manual


def test_every_key_is_on_the_page_of_keys():
    page = build_shortcuts()
    for command in COMMANDS:
        words = command.words.removesuffix("…")
        assert not command.shortcut or f"| {command.shortcut} | {words} |" in page
    for row in KEYS:
        assert f"| {', '.join(row.keys)} | {row.text} |" in page


def test_every_rule_effort_and_kind_is_in_the_manual_with_its_source(manual):
    for name, sentence in RULE_SENTENCES.items():
        assert f"| `{name}` | {sentence} |" in manual
    for term in TERMS:
        assert re.search(rf"\| `{term.name}` \| {re.escape(term.says)} \|.*\| {re.escape(term.source)} \|", manual)
    for kind in KINDS:
        assert f"| {kind.title} | {kind.says} | {kind.source} |" in manual


def test_the_values_of_a_rule_are_those_its_check_takes(manual):
    assert '| one of open, fourth, either | `"either"` |' in manual
    assert "| a number from 10 to 400 |" in manual


def test_the_command_line_is_told_as_it_is_parsed(manual, capsys):
    section = manual.partition("## Without a window")[2].partition("\n## ")[0]
    told = re.findall(r"^    handframe (\w+)((?:.|\n +\[)*)", section, re.MULTILINE)
    assert list(dict.fromkeys(name for name, _rest in told)) == list(CLI_COMMANDS)
    for name, rest in told:
        with pytest.raises(SystemExit):
            command_parser().parse_args([name, "--help"])
        offered = capsys.readouterr().out
        assert {option for option in re.findall(r"--?[a-z][\w-]*", rest) if option not in offered} == set()


def test_every_picture_is_there_and_small(manual):
    named = re.findall(r"!\[[^\]]+\]\(pictures/([\w-]+\.png)\)", manual)
    assert set(named) == {path.name for path in (ROOM / "pictures").iterdir()}
    assert len(named) <= _MOST_PICTURES
    for name in named:
        assert not QImage(str(ROOM / "pictures" / name)).isNull()
        assert (ROOM / "pictures" / name).stat().st_size <= _LARGEST


def test_every_link_of_the_committed_text_leads_somewhere():
    for name in (MANUAL, SHORTCUTS):
        text = (PAGES / name).read_text(encoding="utf-8")
        for link in re.findall(r"\]\(([^)]+)\)", text):
            path, _hash, anchor = link.partition("#")
            target = PAGES / (path or name)
            assert target.is_file(), link
            assert not anchor or anchor in anchors(target.read_text(encoding="utf-8")), link


def test_links_are_called_as_readers_of_markdown_call_them():
    """Letters and digits in lower case, blanks as hyphens, other signs left out: the GitHub documentation on links to
    sections (from memory)."""
    assert anchor_of("The job, step by step") == "the-job-step-by-step"
    assert anchor_of("The watch-list") == "the-watch-list"


def test_the_keys_fit_on_one_page(qapp):
    """210 by 297 mm, or 8.5 by 11 in: ISO 216, and ANSI/ASME Y14.1 (from memory); a point is 1/72 in."""
    pages = PdfReader(io.BytesIO(keys_pdf(portable))).pages
    assert len(pages) == 1
    size = round(float(pages[0].mediabox.width)), round(float(pages[0].mediabox.height))
    assert size in ((595, 842), (612, 792))
    text = pages[0].extract_text()
    assert all(command.shortcut in text for command in COMMANDS if command.shortcut)


# The keys


@pytest.mark.parametrize(
    ("place", "key", "modifiers", "done"),
    [
        (MUSIC, Qt.Key.Key_3, Qt.KeyboardModifier.NoModifier, ("finger", 3)),
        # On a French keyboard (NF Z71-300, from memory) digits are typed with the shift key.
        (MUSIC, Qt.Key.Key_3, Qt.KeyboardModifier.ShiftModifier, ("finger", 3)),
        (MUSIC, Qt.Key.Key_0, Qt.KeyboardModifier.KeypadModifier, ("finger", 0)),
        (MUSIC, Qt.Key.Key_2, Qt.KeyboardModifier.ControlModifier, ("above", 1)),
        (MUSIC, Qt.Key.Key_2, Qt.KeyboardModifier.AltModifier, ("below", 2)),
        (MUSIC, Qt.Key.Key_Right, Qt.KeyboardModifier.KeypadModifier, ("note", 1)),
        (MUSIC, Qt.Key.Key_5, Qt.KeyboardModifier.NoModifier, ("", 0)),
        (FINGERBOARD, Qt.Key.Key_Enter, Qt.KeyboardModifier.KeypadModifier, ("take", 1)),
        (FINGERBOARD, Qt.Key.Key_T, Qt.KeyboardModifier.NoModifier, ("", 0)),
        (PAPER, Qt.Key.Key_PageDown, Qt.KeyboardModifier.NoModifier, ("turn", 1)),
    ],
)
def test_a_key_does_what_the_table_says_at_its_place(place, key, modifiers, done):
    assert pressed(place, QKeyEvent(QEvent.Type.KeyPress, key, modifiers)) == done


def test_no_key_has_two_meanings_at_one_place():
    for place in {row.place for row in KEYS}:
        every = [key for row in KEYS if row.place == place for key in row.keys]
        assert len(every) == len(set(every)), place


def test_every_key_of_the_table_is_one():
    for row in KEYS:
        assert [keys.toString() for keys in keys_of(row.place, row.name)] == list(row.keys)


# The window


@pytest.fixture(scope="module")
def made(qapp):
    window = HelpWindow()
    window.show()
    yield window
    window.close()


@pytest.fixture
def shown(made):
    """The window, with the manual at its beginning."""
    made.turn_to(MANUAL, "")
    made.page.moveCursor(QTextCursor.MoveOperation.Start)
    return made


def headings_in_view(page):
    """The headings that can be read now, from the top."""
    found, block = [], page.document().begin()
    while block.isValid():
        if block.blockFormat().headingLevel() and page.viewport().rect().contains(page.cursorRect(QTextCursor(block))):
            found.append(block.text())
        block = block.next()
    return found


def test_f1_opens_the_manual_and_a_link_jumps(window, qtbot):
    QTest.keyClick(window, Qt.Key.Key_F1)
    shown = window.findChild(HelpWindow)
    page = shown.page
    assert page.source().path().endswith(MANUAL)
    assert page.verticalScrollBar().value() == 0
    place = page.document().find("cautions")
    href = place.charFormat().anchorHref()
    assert href == "#cautions"
    at = page.cursorRect(place).center() - QPointF(10, 0).toPoint()
    QTest.mouseClick(page.viewport(), Qt.MouseButton.LeftButton, pos=at)
    assert page.source().fragment() == "cautions"
    assert headings_in_view(page)[0] == "Cautions"
    assert shown.back.isEnabled()
    shown.back.click()
    assert page.verticalScrollBar().value() == 0
    QTest.keyClick(shown, Qt.Key.Key_Escape)
    QApplication.sendPostedEvents(None, QEvent.Type.DeferredDelete)
    assert window.findChild(HelpWindow) is None


def test_every_heading_of_the_contents_is_jumped_to(shown):
    rows = [shown.contents.item(row) for row in range(shown.contents.count())]
    for item in rows[:-1]:
        shown.contents.itemActivated.emit(item)
        assert item.text() in headings_in_view(shown.page)
    shown.contents.itemActivated.emit(rows[-1])
    assert shown.page.source().path().endswith(SHORTCUTS)


def test_pictures_are_no_wider_than_the_text(shown):
    shown.resize(1010, 560)
    QApplication.processEvents()
    assert shown.page.document().idealWidth() <= shown.page.viewport().width()
    assert shown.page.horizontalScrollBar().maximum() == 0


@pytest.mark.parametrize("ratio", [1.0, 2.0])
def test_pictures_are_as_large_on_every_screen(shown, monkeypatch, ratio):
    """And as sharp as the screen is: as many of its dots as they are wide on it."""
    widths = {}
    for file in sorted((ROOM / "pictures").glob("*.png")):
        whole = QImage(str(file)).width()
        monkeypatch.setattr(shown.page, "devicePixelRatioF", lambda: ratio)
        picture = shown.page._picture(f"pictures/{file.name}")
        widths[file.name] = picture.deviceIndependentSize().width(), min(whole, 680), picture.devicePixelRatio()
    assert widths
    assert {name: found for name, found in widths.items() if found != (found[1], found[1], ratio)} == {}


def test_the_tables_of_keys_stand_in_line(shown):
    page = shown.page
    page.turn_to(SHORTCUTS)
    tables = [one for one in page.document().rootFrame().childFrames() if isinstance(one, QTextTable)]
    begins = {page.cursorRect(table.cellAt(0, 1).firstCursorPosition()).left() for table in tables}
    assert len(tables) > 5
    assert max(begins) - min(begins) <= 1


def test_every_line_has_its_height(shown):
    """Lists that follow a picture among them."""
    layout, block = shown.page.document().documentLayout(), shown.page.document().begin()
    while block.isValid():
        assert not block.text() or layout.blockBoundingRect(block).height() > 0, block.text()
        block = block.next()


def test_words_are_found_round_the_end_and_their_absence_is_said(shown):
    shown.words.setText("clamp the thumb")
    shown.find_next.click()
    first = shown.page.textCursor().selectionStart()
    assert shown.page.textCursor().selectedText().casefold() == "clamp the thumb"
    shown.find_next.click()
    assert shown.page.textCursor().selectionStart() == first
    assert shown.not_found.text() == ""
    shown.words.setText("no such words")
    shown.find_before.click()
    assert shown.not_found.text() == "Not on this page."


def test_sections_about_panels_are_in_the_manual(window, manual, monkeypatch):
    assert {section for _kind, section in SECTIONS} <= anchors(manual)
    monkeypatch.setattr(QApplication, "focusWidget", lambda: window.watch_panel.list)
    trigger(window, "manual")
    assert window.findChild(HelpWindow).page.source().fragment() == "the-watch-list"
    assert help_window.section_of(QWidget(window)) == ""


def test_the_page_of_keys_is_written_as_a_pdf(window, tmp_path, monkeypatch):
    trigger(window, "keys")
    shown = window.findChild(HelpWindow)
    assert shown.page.source().path().endswith(SHORTCUTS)
    monkeypatch.setattr(dialogs, "ask_save", lambda *asked: (tmp_path / "keys", ""))
    shown.write_keys.click()
    assert (tmp_path / "keys.pdf").read_bytes().startswith(b"%PDF")


def test_all_that_can_be_used_has_a_name_to_hear(shown):
    assert all(widget.accessibleName() for widget in (shown.page, shown.contents, shown.words))
