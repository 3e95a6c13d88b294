"""Marking with the mouse: the palette, the list of marks here, the mark in hand, digits on paper, and the pictures."""

from __future__ import annotations

import pytest
from lxml import etree
from PySide6.QtCore import QPointF, QSize, Qt
from PySide6.QtGui import QIcon, QImage

from app.window import dialogs
from app.window.panels.mark_icons import COURTESY, HEAD, SIZES, Inks, MarkPictures
from app.window.panels.mark_palette import GROUPS
from app.window.style import look
from engraving.marks.teacher import MARK_KINDS, TeacherMark
from engraving.metrics import MUSIC_FAMILY, data_folder
from tests.app.conftest import opened, settled
from tests.scores import score
from tests.waiting import wait_until

LINE = "D5/1@a E5@b F#5@c G5@d | A5@e G5@f F#5/2@g | G4/1@h A4@i B4@j C5@k | D5@l C5@m B4/2@n"
# What the kinds that take text say here, where not anything will do.
SAYS = {"dynamic": "mf", "string": "II", "position": "3rd pos.", "held-position": "3rd pos."}


@pytest.fixture
def marked(qtbot, window, tmp_path):
    """The window on a part of one line, the marks in front."""
    path = tmp_path / "line.musicxml"
    path.write_bytes(score("Violin", "4/4", LINE, key=1))
    opened(qtbot, window, path)
    window.lists.setCurrentWidget(window.marks_panel)
    return window


@pytest.fixture(scope="module")
def pictures(qapp):
    return MarkPictures()


def select(window, first, last=None):
    window.desk.select_note(first)
    if last is not None:
        window.desk.select_until(last)


def place(qtbot, window, kind, first, last=None, text=""):
    select(window, first, last)
    window.pencil.place(kind, text)
    settled(qtbot, window)
    return window.pencil.mark


def listed(window):
    return [(mark.kind, mark.first) for mark in window.marks_panel.model.marks]


def cards(window):
    model = window.marks_panel.model
    return [model.data(model.index(row)) for row in range(model.rowCount())]


def current(window):
    rows = window.marks_panel.list.selectionModel().selectedIndexes()
    return [window.marks_panel.model.marks[index.row()] for index in rows]


def click(qtbot, window, row):
    """A click on a row of the list."""
    panel = window.marks_panel
    area = panel.list.visualRect(panel.model.index(row))
    qtbot.mouseClick(panel.list.viewport(), Qt.MouseButton.LeftButton, pos=area.center())


def area_of(window, mark):
    return window.music.sheets.mark_areas(0, mark)[0]


def inked(image: QImage) -> int:
    """How many pixels are not clear."""
    return sum(image.pixelColor(x, y).alpha() > 60 for x in range(image.width()) for y in range(image.height()))


# The palette


def test_every_kind_has_one_button_in_one_group():
    grouped = [kind for row in GROUPS for _, kinds in row for kind in kinds]
    assert sorted(grouped) == sorted(MARK_KINDS)


def test_each_button_places_its_kind_of_mark_and_is_named_after_it(marked, monkeypatch):
    for kind, button in marked.marks_panel.palette_of_marks.buttons.items():
        monkeypatch.setattr(dialogs, "ask_words", lambda *asked, kind=kind: SAYS.get(kind, "sing"))
        action, title = marked.actions_by_name[f"mark-{kind}"], MARK_KINDS[kind].title
        keys = action.shortcut().toString()
        assert button.defaultAction() is action
        assert button.accessibleName() == title
        assert button.toolTip() == (f"{title} ({keys})" if keys else title)
        select(marked, "b", "c")
        button.click()
        assert {(mark.kind, mark.first) for mark in marked.pencil.here} >= {(kind, "b")}
        assert button.stands
        marked.desk.history.undo()
        assert marked.pencil.marks == ()


def test_buttons_can_be_pressed_while_notes_are_in_hand(marked):
    buttons = marked.marks_panel.palette_of_marks.buttons.values()
    assert not any(button.isEnabled() for button in buttons)
    select(marked, "b")
    assert all(button.isEnabled() for button in buttons)
    marked.desk.select_note(None)
    assert not any(button.isEnabled() for button in buttons)


def test_buttons_show_what_stands_at_the_notes_in_hand(qtbot, marked):
    place(qtbot, marked, "down-bow", "a")
    place(qtbot, marked, "slur", "a", "c")

    def standing():
        buttons = marked.marks_panel.palette_of_marks.buttons
        return {kind for kind, button in buttons.items() if button.stands}

    select(marked, "a")
    assert standing() == {"down-bow", "slur"}
    before = marked.marks_panel.palette_of_marks.buttons["slur"].grab().toImage()
    select(marked, "c")
    assert standing() == {"slur"}
    select(marked, "h")
    assert standing() == set()
    assert marked.marks_panel.palette_of_marks.buttons["slur"].grab().toImage() != before
    marked.desk.select_note(None)
    assert standing() == set()


# The list


def test_the_list_follows_the_selection_and_shows_the_whole_part_without_one(qtbot, marked):
    place(qtbot, marked, "accent", "f")
    place(qtbot, marked, "slur", "a", "c")
    place(qtbot, marked, "up-bow", "c")
    marked.pencil.choose(None)
    assert listed(marked) == [("slur", "a"), ("up-bow", "c")]
    select(marked, "e", "g")
    assert listed(marked) == [("accent", "f")]
    select(marked, "h")
    assert listed(marked) == []
    marked.desk.select_note(None)
    assert listed(marked) == [("slur", "a"), ("up-bow", "c"), ("accent", "f")]
    marked.desk.select_passage((1, 1))
    assert listed(marked) == [("accent", "f")]


def test_the_list_follows_undo_and_redo(qtbot, marked):
    place(qtbot, marked, "accent", "b")
    assert listed(marked) == [("accent", "b")]
    marked.actions_by_name["undo"].trigger()
    assert listed(marked) == []
    marked.actions_by_name["redo"].trigger()
    assert listed(marked) == [("accent", "b")]
    settled(qtbot, marked)


def test_marks_are_told_with_their_places_and_what_they_say(qtbot, marked):
    place(qtbot, marked, "dynamic", "b", text="mf")
    place(qtbot, marked, "slur", "d", "f")
    place(qtbot, marked, "crescendo", "h", "j")
    place(qtbot, marked, "circle", "l", "l")
    marked.pencil.move(0, 1)
    marked.desk.select_note(None)
    assert cards(marked) == [
        "Dynamic. Measure 1, beat 2: mf",
        "Slur. Measure 1, beat 4 to measure 2, beat 2",
        "Crescendo. Measure 3, beat 1 to 3",
        "Circle. Measure 4, beat 1. moved",
    ]


def test_a_click_in_the_list_takes_the_mark_in_hand_and_frames_it_in_the_score(qtbot, marked):
    place(qtbot, marked, "accent", "b")
    place(qtbot, marked, "text", "f", text="sing")
    marked.pencil.choose(None)
    marked.desk.select_note(None)
    wait_until(lambda: all(marked.music.sheets.shown_areas(0, mark) for mark in marked.pencil.marks))
    before = marked.music.grab().toImage()
    click(qtbot, marked, 1)
    assert marked.pencil.mark.kind == "text"
    assert [mark.kind for mark in current(marked)] == ["text"]
    assert marked.music.grab().toImage() != before
    click(qtbot, marked, 0)
    assert marked.pencil.mark.kind == "accent"


def test_a_mark_taken_in_hand_in_the_score_is_the_current_one_in_the_list(qtbot, marked):
    place(qtbot, marked, "accent", "b")
    text = place(qtbot, marked, "text", "f", text="sing")
    select(marked, "b")
    marked.pencil.choose(None)
    assert current(marked) == []
    rect, page = area_of(marked, text), marked.music.page_area(0)
    scale = page.width() / marked.music.sheets.pages[0].width_mm
    x, y = rect.centre
    where = (page.topLeft() + QPointF(x, y) * scale).toPoint()
    qtbot.mouseClick(marked.music.viewport(), Qt.MouseButton.LeftButton, pos=where)
    assert marked.pencil.mark == text
    assert current(marked) == [text], "though it stands at other notes than those in hand"
    click(qtbot, marked, 0)
    assert marked.pencil.mark.kind == "accent"
    assert listed(marked) == [("accent", "b")]


def test_a_mark_that_is_undone_is_no_longer_in_hand(qtbot, marked):
    place(qtbot, marked, "accent", "b")
    assert marked.marks_panel.take_away.isEnabled()
    marked.actions_by_name["undo"].trigger()
    assert current(marked) == []
    panel = marked.marks_panel
    assert not any(button.isEnabled() for button in (panel.take_away, panel.back, *panel.nudges.values()))
    settled(qtbot, marked)


# The mark in hand


@pytest.mark.parametrize("kind", ["text", "slur"])
def test_a_nudge_moves_the_mark_by_a_quarter_of_a_staff_space_as_one_step(qtbot, marked, kind):
    place(qtbot, marked, kind, "b", "c", text="sing" if kind == "text" else "")
    marked.pencil.move(1, 1)
    settled(qtbot, marked)
    before, space = area_of(marked, marked.pencil.mark), marked.music.sheets.pages[0].map.staff_space
    steps = marked.desk.history.count()
    ways = {"higher": (0, -1), "lower": (0, 1), "to the left": (-1, 0), "to the right": (1, 0)}
    assert marked.marks_panel.nudges.keys() == ways.keys()
    for words, (right, down) in ways.items():
        marked.marks_panel.nudges[words].click()
        settled(qtbot, marked)
        after = area_of(marked, marked.pencil.mark)
        assert marked.desk.history.count() == steps + 1
        assert (after.x0 - before.x0) / space == pytest.approx(right / 4, abs=0.01)
        assert (after.y0 - before.y0) / space == pytest.approx(down / 4, abs=0.01)
        marked.actions_by_name["undo"].trigger()
        assert (marked.pencil.mark.dx, marked.pencil.mark.dy) == (1, 1)


def test_a_moved_mark_goes_back_and_is_taken_away(qtbot, marked):
    place(qtbot, marked, "text", "b", text="sing")
    marked.marks_panel.nudges["higher"].click()
    assert cards(marked) == ["Text. Measure 1, beat 2: sing. moved"]
    marked.marks_panel.back.click()
    assert marked.pencil.marks == (TeacherMark("text", "b", text="sing"),)
    marked.marks_panel.take_away.click()
    assert marked.pencil.marks == ()
    assert listed(marked) == []


# Digits on paper


def test_the_choice_of_digits_shows_what_holds_for_the_notes_in_hand(qtbot, marked):
    digits = marked.marks_panel.digits
    assert digits.currentIndex() == -1
    assert not digits.isEnabled()
    select(marked, "a", "b")
    assert digits.currentText() == "As the house rules say"
    marked.pencil.print_digit(True)
    assert digits.currentText() == "Always printed"
    select(marked, "b", "c")
    assert digits.currentIndex() == -1
    select(marked, "c")
    assert digits.currentText() == "As the house rules say"
    marked.actions_by_name["undo"].trigger()
    select(marked, "a")
    assert digits.currentText() == "As the house rules say"


def test_choosing_digits_sets_it_for_all_notes_in_hand(marked):
    select(marked, "a", "c")
    digits = marked.marks_panel.digits
    for words, wanted in (("Always printed", True), ("Never printed", False), ("As the house rules say", None)):
        row = digits.findText(words)
        digits.setCurrentIndex(row)
        digits.activated.emit(row)
        expected = {} if wanted is None else dict.fromkeys("abc", wanted)
        assert dict(marked.desk.part_work.on_paper) == expected
        assert digits.currentText() == words


# The pictures


@pytest.mark.parametrize("kind", MARK_KINDS)
def test_every_kind_has_a_picture_inked_within_its_edges(pictures, kind):
    icon = pictures.icon(kind)
    for size in SIZES:
        image = icon.pixmap(QSize(size, size), 1.0).toImage()
        assert (image.width(), image.height()) == (size, size), "painted at this size, not stretched"
        assert inked(image) >= size
        inner = image.copy(1, 1, size - 2, size - 2)
        assert inked(inner) == inked(image), "nothing is cut off"


def test_the_command_of_every_kind_has_its_picture(window, pictures):
    palette = window.marks_panel.palette()
    inks = Inks(palette.color(look.OWN_ROLE), palette.color(look.QUIET))
    for kind in MARK_KINDS:
        icon = window.actions_by_name[f"mark-{kind}"].icon()
        assert icon.pixmap(QSize(24, 24), 1.0).toImage() == pictures.pixmap(kind, 24, inks).toImage()


def test_notes_and_reminders_in_pictures_are_the_signs_that_the_music_font_names_so():
    # Glyph names of SMuFL 1.4, "Noteheads" and "Standard accidentals (12-EDO)", as verovio's tables repeat them.
    glyphs = etree.parse(str(data_folder() / f"{MUSIC_FAMILY}.xml")).getroot().iter("g")
    names = {chr(int(glyph.get("c"), 16)): glyph.get("n") for glyph in glyphs}
    assert [names[sign] for sign in HEAD + COURTESY] == [
        "noteheadBlack",
        "accidentalParensLeft",
        "accidentalNatural",
        "accidentalParensRight",
    ]


def test_pictures_are_told_apart(pictures):
    images = {kind: pictures.pixmap(kind, 24).toImage() for kind in MARK_KINDS}
    for kind, image in images.items():
        assert [other for other, its in images.items() if its == image] == [kind]


def test_a_picture_is_as_sharp_on_a_screen_of_two_pixels_to_the_point(pictures):
    icon = pictures.icon("dynamic")
    fine = icon.pixmap(QSize(24, 24), 2.0)
    assert (fine.width(), fine.devicePixelRatio()) == (48, 2.0)
    pixels = fine.toImage()
    pixels.setDevicePixelRatio(1.0)
    assert pixels == icon.pixmap(QSize(48, 48), 1.0).toImage()


def test_in_the_chosen_line_of_a_menu_the_picture_lies_on_paper(pictures):
    icon = pictures.icon("up-bow")
    corner = icon.pixmap(QSize(16, 16), 1.0, QIcon.Mode.Active).toImage().pixelColor(3, 3)
    assert corner == look.PAPER
    assert icon.pixmap(QSize(16, 16), 1.0).toImage().pixelColor(3, 3).alpha() == 0


# The column


def test_going_through_the_watch_list_by_keys_brings_it_to_the_front(qtbot, marked):
    qtbot.waitUntil(lambda: marked.watch.is_read, timeout=30_000)
    marked.desk.note_down(lambda work: work.with_own_note("a", "Listen."), "note")
    assert marked.lists.currentWidget() is marked.marks_panel
    marked.actions_by_name["next"].trigger()
    assert marked.lists.currentWidget() is marked.watch_panel
