"""Pages made ready for the screen: ahead of time, kept, and never the wrong ones."""

from __future__ import annotations

import sys
import threading
import time
import weakref
from dataclasses import replace

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QColor, QImage, QPainter

from app.window.background.ahead import Ahead
from app.window.music.page_lights import paint_lit, paint_passage, paint_selected
from app.window.music.sheets import Sheets
from app.window.style import look
from engraving.document import read_document
from engraving.engraver import engrave
from engraving.extract import part_for_engraving
from engraving.layout import A4
from engraving.marks.teacher import MARK_KINDS, TeacherMark
from tests.app.conftest import opened, settled
from tests.scores import full_score, part, score
from tests.waiting import wait_until

LONG = " | ".join(["F#4/1 G4 A4 E4"] * 200)


@pytest.fixture(scope="module")
def pages():
    document = read_document(score("Violin", "4/4", LONG, key=2), "long.musicxml")
    return engrave(part_for_engraving(document, "P1"), A4)


@pytest.fixture
def ahead(qtbot):
    made = Ahead()
    yield made
    made.end()


@pytest.fixture(scope="module")
def slurred():
    return read_document(score("Violin", "4/4", "D5/1 (E5@a F#5@b G5) | D5/4", key=2), "slurred.musicxml")


def painted(sheets, number):
    image = QImage(420, 594, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.red)
    painter = QPainter(image)
    sheets.paint_picture(painter, number, 2.0, 1.0)
    painter.end()
    return image


def is_white(image):
    return all(image.pixelColor(x, y) == Qt.GlobalColor.white for x in range(0, 420, 7) for y in range(0, 594, 3))


def test_pages_are_white_until_they_come(qtbot, qapp, pages, ahead):
    sheets, plain = Sheets(pages, (), ahead), Sheets(pages)
    for number in range(2):
        assert not is_white(painted(plain, number))
        with qtbot.waitSignal(ahead.done, timeout=10_000):
            assert is_white(painted(sheets, number))
        assert painted(sheets, number) == painted(plain, number)


def test_in_another_size_the_picture_there_is_serves_until_the_right_one_comes(qtbot, qapp, pages, ahead):
    sheets = Sheets(pages, (), ahead)
    with qtbot.waitSignal(ahead.done, timeout=10_000):
        assert sheets.picture(0, 2.0, 1.0) is None
    with qtbot.waitSignal(ahead.done, timeout=10_000):
        assert sheets.picture(0, 3.0, 1.0).width() == 420
    assert sheets.picture(0, 3.0, 1.0).width() == 630


def test_what_is_given_up_does_not_come(qtbot, qapp, pages, ahead):
    sheets = Sheets(pages, (), ahead)
    sheets.picture(0, 2.0, 1.0)
    sheets.picture(1, 2.0, 1.0)
    ahead.give_up()
    with qtbot.assertNotEmitted(ahead.done, wait=300):
        pass
    assert 1 not in sheets._pictures


def test_what_is_given_up_before_its_turn_is_let_go_of(ahead):
    begun, go_on = threading.Event(), threading.Event()
    pages = {"a page"}  # of a kind that can be referred to weakly
    kept = weakref.ref(pages)
    ahead.ask("first", lambda tick: (begun.set(), go_on.wait(5), tick(0.5)), lambda made: None)
    ahead.ask("second", lambda tick, pages=pages: pages, lambda made: None)
    del pages
    assert begun.wait(5)
    go_on.set()
    ahead.give_up()
    ahead.ask("third", lambda tick: None, lambda made: None)  # with it the thread comes past the second
    wait_until(lambda: kept() is None)


def test_a_bug_in_what_is_done_ahead_is_not_kept_quiet(ahead, monkeypatch):
    bugs = []
    monkeypatch.setattr(sys, "excepthook", lambda kind, error, trace: bugs.append(kind))
    ahead.ask("page", lambda tick: 1 / 0, lambda made: None)
    wait_until(lambda: bugs == [ZeroDivisionError])


def test_the_same_is_asked_for_once(qtbot, ahead):
    done = []
    for _ in range(5):
        ahead.ask("page", lambda tick: 1, done.append)
    qtbot.waitUntil(lambda: bool(done))
    qtbot.wait(50)
    assert done == [1]


def test_what_is_under_way_stands_back_until_the_window_has_done_what_it_has_to(qtbot, ahead):
    begun, told = threading.Event(), []

    def work(tick):
        begun.set()
        for share in (0.1, 0.2):
            tick(share)
            told.append(share)
        return "done"

    ahead.stand_back()
    ahead.ask("page", work, told.append)
    assert begun.wait(5)
    time.sleep(0.03)  # nothing of the event loop is done meanwhile
    assert told == []
    qtbot.waitUntil(lambda: "done" in told, timeout=5_000)
    assert told == [0.1, 0.2, "done"]


def test_what_is_under_way_stands_back_until_what_is_scrolled_is_painted(qtbot, ahead):
    begun, told = threading.Event(), []

    def work(tick):
        begun.set()
        tick(0.1)
        return "done"

    ahead.stand_back(10_000)
    ahead.ask("page", work, told.append)
    assert begun.wait(5)
    qtbot.wait(30)  # other events are done, of which none paints
    assert told == []
    ahead.stand_back()
    qtbot.waitUntil(lambda: told == ["done"], timeout=5_000)


def test_what_is_under_way_does_not_wait_for_ever(ahead):
    over = threading.Event()
    ahead.stand_back()
    ahead.ask("page", lambda tick: (tick(0.5), over.set()), lambda made: None)
    assert over.wait(5), "though the event loop does nothing"


def test_what_is_under_way_gives_up_at_its_next_tick(qtbot, ahead):
    begun, told = threading.Event(), []

    def work(tick):
        begun.set()
        while True:
            tick(0.5)

    ahead.ask("page", work, told.append)
    assert begun.wait(5)
    ahead.give_up()
    ahead.ask("other", lambda tick: 1, told.append)
    qtbot.waitUntil(lambda: told == [1], timeout=5_000)


def test_a_part_that_was_seen_is_shown_again_without_work(qtbot, window, tmp_path):
    path = tmp_path / "two.musicxml"
    path.write_bytes(full_score(*(part(name, "4/4", LONG, key=2) for name in ("Violin I", "Violin II"))))
    opened(qtbot, window, path)
    first = window.music.sheets
    window.desk.turn_to("P2")
    settled(qtbot, window)
    assert window.music.sheets is not first
    window.desk.turn_to("P1")
    assert window.music.sheets is first
    assert first.picture(0, window.music.scale, 1.0) is not None


def test_only_the_pages_in_view_are_painted(qtbot, window, tmp_path):
    path = tmp_path / "long.musicxml"
    path.write_bytes(score("Violin", "4/4", LONG, key=2))
    opened(qtbot, window, path)
    view = window.music
    assert len(view.sheets.pages) > 3
    whole = view.viewport().rect().toRectF()
    for number in (0, 2, len(view.sheets.pages) - 1):
        view.verticalScrollBar().setValue(view.verticalScrollBar().value() + round(view.page_area(number).top()))
        seen = view.pages_in(whole)
        wanted = [n for n in range(len(view.sheets.pages)) if view.page_area(n).intersects(whole)]
        assert list(seen)[-len(wanted) :] == wanted
        assert len(seen) <= len(wanted) + 1, "the gap under a page counts as its own"


def test_digits_of_a_page_scrolled_to_come_by_themselves(qtbot, window, tmp_path):
    path = tmp_path / "long.musicxml"
    path.write_bytes(score("Violin", "4/4", LONG, key=2))
    opened(qtbot, window, path)
    view = window.music
    last = len(view.sheets.pages) - 1
    assert last not in view.sheets._set
    view.verticalScrollBar().setValue(view.verticalScrollBar().maximum())
    qtbot.waitUntil(lambda: last in view.sheets._set, timeout=10_000)
    on_page = {note.id for note in window.desk.part.notes} & view.sheets.pages[last].map.notes.keys()
    assert {one.note_id for one in view.sheets.digits(last).computed} == on_page


MOVABLE = [kind for kind in MARK_KINDS.values() if kind.engraved and kind.name != "courtesy"]
TEXTS = {"dynamic": "mf", "position": "3rd pos.", "string": "III"}


def from_its_note(document, mark, shown):
    """Where a mark lies, seen from its note, when all marks that the engraver draws are ``shown``; and its sheets."""
    sheets = Sheets(engrave(part_for_engraving(document, "P1", marks=shown), A4), shown)
    sheets.show_marks((mark,))
    area, head = sheets.mark_areas(0, mark)[0], sheets.pages[0].map.notes["a"].head
    return area.x0 - head.x0, area.y0 - head.y0, sheets


@pytest.mark.parametrize("kind", MOVABLE, ids=lambda kind: kind.name)
def test_a_mark_is_moved_from_where_the_engraver_drew_it_though_then_it_is_painted_without(qapp, slurred, kind):
    """Without it on the page the slur lies lower, and the place nearest to the note is free."""
    text = TEXTS.get(kind.name, "soft") if kind.takes_text else ""
    mark = TeacherMark(kind.name, "a", "b" if kind.scope == "range" else "", text)
    x, y, sheets = from_its_note(slurred, mark, (mark,))
    space = sheets.pages[0].map.staff_space
    dx, dy = sheets.moved_by(0, mark, 0.5 * space, -0.25 * space)
    moved_x, moved_y, _sheets = from_its_note(slurred, replace(mark, dx=round(dx, 2), dy=round(dy, 2)), ())
    assert (moved_x - x) / space == pytest.approx(0.5, abs=0.02)
    assert (moved_y - y) / space == pytest.approx(-0.25, abs=0.02)


# What lies under the digits


def lit_up(image, page, light):
    painter = QPainter(image)
    painter.scale(8.0, 8.0)
    if light == "passage":
        paint_passage(painter, page, (0, 0))
    elif light == "selected":
        paint_selected(painter, page, ["a", "b"])
    else:
        paint_lit(painter, page, ["a", "b"], look.SOUNDING, look.ACCENT, heavy=True)
    painter.end()
    return image


@pytest.mark.parametrize("light", ["passage", "selected", "sounding"])
def test_ink_stays_black_under_every_light(qapp, slurred, light):
    (page,) = engrave(part_for_engraving(slurred, "P1"), A4)
    black = QImage(round(page.width_mm * 8), round(page.height_mm * 8), QImage.Format.Format_RGB32)
    black.fill(Qt.GlobalColor.black)
    white = QImage(black.size(), black.format())
    white.fill(Qt.GlobalColor.white)
    before = QImage(black), QImage(white)
    assert lit_up(black, page.map, light) == before[0]
    assert lit_up(white, page.map, light) != before[1]


def test_no_edge_of_a_light_runs_through_a_digit(qapp, slurred):
    """Digits stand nearest above their notes and the staff; only the passage's pale ground may lie under them."""
    (page,) = engrave(part_for_engraving(slurred, "P1"), A4)
    clear = 0.25 * page.map.staff_space  # digits keep 0.3
    for light, least in (("selected", 255), ("sounding", 225), ("passage", 225)):
        white = QImage(round(page.width_mm * 8), round(page.height_mm * 8), QImage.Format.Format_RGB32)
        white.fill(Qt.GlobalColor.white)
        lit_up(white, page.map, light)
        for note_id in ("a", "b"):
            place = page.map.notes[note_id]
            top = min(place.column.y0, place.staff_top)
            x = round(place.head.centre[0] * 8)
            for y in range(round((top - 1.8 * page.map.staff_space) * 8), round((top - clear) * 8)):
                assert QColor(white.pixel(x, y)).red() >= least, (light, y / 8, top)
