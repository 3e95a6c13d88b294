"""Pages made ready for the screen: ahead of time, kept, and never the wrong ones."""

from __future__ import annotations

import sys
import threading
import time
import weakref

import pytest
from PySide6.QtCore import Qt
from PySide6.QtGui import QImage, QPainter

from app.window.background.ahead import Ahead
from app.window.music.sheets import Sheets
from engraving.document import read_document
from engraving.engraver import engrave
from engraving.extract import part_for_engraving
from engraving.layout import A4
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


def painted(sheets, number):
    image = QImage(420, 594, QImage.Format.Format_RGB32)
    image.fill(Qt.GlobalColor.red)
    painter = QPainter(image)
    sheets.paint_picture(painter, number, 2.0, 1.0)
    painter.end()
    return image


def is_white(image):
    return all(image.pixelColor(x, y) == Qt.GlobalColor.white for x in range(0, 420, 7) for y in range(0, 594, 3))


def test_the_first_page_is_there_at_once_and_the_others_come(qtbot, qapp, pages, ahead):
    sheets, plain = Sheets(pages, (), ahead), Sheets(pages)
    assert painted(sheets, 0) == painted(plain, 0)
    assert not is_white(painted(plain, 1))
    with qtbot.waitSignal(ahead.done, timeout=10_000):
        assert is_white(painted(sheets, 1))
    assert painted(sheets, 1) == painted(plain, 1)


def test_in_another_size_the_picture_there_is_serves_until_the_right_one_comes(qtbot, qapp, pages, ahead):
    sheets = Sheets(pages, (), ahead)
    first = sheets.picture(0, 2.0, 1.0)
    with qtbot.waitSignal(ahead.done, timeout=10_000):
        assert sheets.picture(0, 3.0, 1.0).size() == first.size()
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
