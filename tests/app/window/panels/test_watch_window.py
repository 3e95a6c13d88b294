"""The watch-list beside the music: lit notes, what the teacher makes of an entry, and undo over all of it."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from pypdf import PdfReader
from PySide6.QtCore import Qt
from PySide6.QtGui import QStandardItem, QStandardItemModel
from PySide6.QtWidgets import QApplication

from analysis.fingering.locks import Lock
from analysis.watch.finding import Finding
from app.job.files.opening import open_any
from app.job.teacher.printing import Printing
from app.job.teacher.watching import OWN, Standing
from app.window import dialogs
from app.window.editing import watch
from app.window.widgets.cards import CARD, Card, CardList
from tests.app.conftest import ids, opened, settled, trigger
from tests.scores import full_score, part, score


@pytest.fixture
def found(monkeypatch):
    """Findings of our own in place of those that are read from the music."""
    findings: list[Finding] = []
    monkeypatch.setattr(watch, "watch_list", lambda score, part, plan, tick: tuple(findings))
    return findings


@pytest.fixture
def written(monkeypatch):
    """What the teacher writes when asked; the texts the window offered are collected."""

    said = SimpleNamespace(text="", offered=[])

    def ask(parent, title, question, text):
        said.offered.append(text)
        return said.text

    monkeypatch.setattr(dialogs, "ask_text", ask)
    return said


def texts(window):
    return [entry.text for entry in window.watch_panel.model.entries]


@pytest.fixture
def watched(qtbot, window, tmp_path, found):
    """The window on a small part with three findings."""
    path = tmp_path / "again.musicxml"
    path.write_bytes(
        score("Violin", "4/4", "D5/1@a E5@b F#5@c E5@d | G4/2@e B4@f | D5/1@g E5@h F#5@i E5@j | G4/2@k B4@l", key=2)
    )
    found += [
        Finding("shift", ("b", "c"), 1.0, "Move on the first finger."),
        Finding("open-string", ("e",), 0.4, "Perhaps: the fourth finger."),
        Finding("look-alike", ("g", "h", "i", "j"), 1.0, "Measure 3 is measure 1 again.", again=("a", "b", "c", "d")),
    ]
    opened(qtbot, window, path)
    qtbot.waitUntil(lambda: len(window.watch_panel.model.entries) == 3)
    return window


def test_entries_are_listed_in_playing_order_and_a_click_lights_their_notes(qtbot, watched):
    panel = watched.watch_panel
    assert [entry.finding.kind for entry in panel.model.entries] == ["shift", "open-string", "look-alike"]
    area = panel.list.visualRect(panel.model.index(1))
    qtbot.mouseClick(panel.list.viewport(), Qt.MouseButton.LeftButton, pos=area.center())
    assert watched.watch.entry.finding.kind == "open-string"
    assert watched.desk.note_id == "e"
    before = watched.music.grab().toImage()
    watched.watch.choose(None)
    watched.desk.select_note(None)
    assert watched.music.grab().toImage() != before


def test_keys_go_from_entry_to_entry_and_stop_at_both_ends(watched):
    seen = []
    for name in ("next", "next", "next", "next", "previous", "previous", "previous"):
        trigger(watched, name)
        seen.append(watched.desk.note_id)
    assert seen == ["b", "e", "g", "g", "e", "b", "b"]


def test_an_accepted_entry_goes_to_the_sheet_and_undo_takes_it_off_again(watched):
    plan = watched.desk.plan
    trigger(watched, "next")
    trigger(watched, "accept")
    assert watched.watch.entry.is_accepted
    assert watched.watch_panel.accept.isChecked()
    watched.actions_by_name["undo"].trigger()
    assert not watched.watch.entry.is_accepted
    watched.actions_by_name["redo"].trigger()
    trigger(watched, "accept")
    assert watched.watch.entry.remark.standing is Standing.OPEN
    assert watched.desk.plan is plan


def test_a_hidden_entry_is_put_away_and_can_be_shown_and_brought_back(watched):
    trigger(watched, "next")
    trigger(watched, "hide")
    assert texts(watched) == ["Perhaps: the fourth finger.", "Measure 3 is measure 1 again."]
    watched.watch_panel.hidden.setChecked(True)
    assert len(texts(watched)) == 3
    assert watched.watch.entry.is_hidden
    trigger(watched, "hide")
    watched.watch_panel.hidden.setChecked(False)
    assert len(texts(watched)) == 3


def test_after_hiding_the_keys_go_on_from_there(watched):
    for _ in range(2):
        trigger(watched, "next")
    trigger(watched, "hide")
    trigger(watched, "next")
    assert watched.desk.note_id == "g"
    watched.actions_by_name["undo"].trigger()
    trigger(watched, "previous")
    trigger(watched, "hide")
    trigger(watched, "previous")
    assert watched.desk.note_id == "b"


def test_what_is_hidden_can_be_brought_back_at_once_and_nothing_else_be_done_to_it(watched):
    trigger(watched, "next")
    trigger(watched, "hide")
    panel = watched.watch_panel
    assert [one.isEnabled() for one in (panel.hide_it, panel.accept, panel.reword, panel.join)] == [
        True,
        False,
        False,
        False,
    ]
    assert not any(watched.actions_by_name[name].isEnabled() for name in ("accept", "reword", "join"))
    trigger(watched, "hide")
    assert len(texts(watched)) == 3
    assert panel.accept.isEnabled()
    assert watched.actions_by_name["accept"].isEnabled()


def test_an_entry_that_the_list_shows_no_longer_is_let_go(watched):
    trigger(watched, "next")
    kinds = watched.watch_panel.kinds
    kinds.setCurrentIndex(kinds.findData("shift"))
    kinds.activated.emit(kinds.currentIndex())
    assert watched.watch.entry is not None
    kinds.setCurrentIndex(kinds.findData("look-alike"))
    kinds.activated.emit(kinds.currentIndex())
    assert watched.watch.entry is None
    assert not watched.watch_panel.hide_it.isEnabled()
    assert not watched.actions_by_name["hide"].isEnabled()


def test_a_title_that_leaves_no_room_has_the_line_to_itself(watched):
    panel = watched.watch_panel
    panel.setFixedWidth(400)
    QApplication.processEvents()
    assert panel.hidden.geometry().center().y() == pytest.approx(panel.kinds.geometry().center().y(), abs=2)
    panel.kinds.addItem("The key that the music is really in, whatever is printed")
    panel.kinds.setCurrentIndex(panel.kinds.count() - 1)
    QApplication.processEvents()
    assert panel.hidden.y() >= panel.kinds.geometry().bottom()
    assert panel.kinds.width() > 360


def test_the_chosen_entry_stays_in_sight_when_the_list_has_less_room(qtbot):
    cards = CardList("Cards")
    qtbot.addWidget(cards)
    model = QStandardItemModel(cards)
    for number in range(30):
        item = QStandardItem()
        item.setData(Card(f"{number}", "", "Move on the first finger."), CARD)
        model.appendRow(item)
    cards.setModel(model)
    cards.resize(300, 300)
    cards.show()
    cards.setCurrentIndex(model.index(12, 0))
    cards.resize(300, 250)
    QApplication.processEvents()
    chosen = cards.visualRect(model.index(12, 0))
    assert cards.viewport().rect().contains(chosen)
    # Title and sentence, a line each, with the same room above and below.
    assert chosen.height() <= 2 * cards.fontMetrics().lineSpacing() + 2 * 8 + 6


def test_the_list_shows_one_kind_alone_when_asked(watched):
    kinds = watched.watch_panel.kinds
    kinds.setCurrentIndex(kinds.findData("look-alike"))
    kinds.activated.emit(kinds.currentIndex())
    assert texts(watched) == ["Measure 3 is measure 1 again."]
    kinds.setCurrentIndex(0)
    kinds.activated.emit(0)
    assert len(texts(watched)) == 3


def test_an_entry_is_said_in_the_teachers_words_with_a_note_after_it(watched, written):
    trigger(watched, "next")
    written.text = "Slide on the first finger."
    trigger(watched, "reword")
    written.text = "Ten times slowly."
    trigger(watched, "join")
    assert written.offered == ["Move on the first finger.", ""]
    assert texts(watched)[0] == "Slide on the first finger. Ten times slowly."
    written.text = None
    trigger(watched, "reword")
    assert texts(watched)[0] == "Slide on the first finger. Ten times slowly."
    written.text = "  "
    trigger(watched, "reword")
    assert texts(watched)[0] == "Move on the first finger. Ten times slowly."


def test_the_teacher_writes_an_entry_of_their_own_and_takes_it_away(watched, written):
    watched.desk.select_note("f")
    written.text = "Breathe here."
    trigger(watched, "own_note")
    assert "Breathe here." in texts(watched)
    (own,) = (entry for entry in watched.watch.entries if entry.finding.kind == OWN)
    assert own.is_accepted
    watched.watch.choose(own)
    written.text = ""
    trigger(watched, "reword")
    assert "Breathe here." not in texts(watched)
    assert written.offered == ["", "Breathe here."]


def test_what_is_said_of_the_watch_list_is_saved_and_opened_again(qtbot, watched, written, tmp_path):
    trigger(watched, "next")
    trigger(watched, "accept")
    watched.desk.select_note("f")
    written.text = "Breathe here."
    trigger(watched, "own_note")
    path = tmp_path / "again.handframe"
    watched.desk.save(path)
    work = open_any(path).work.parts[watched.desk.part.id]
    assert work == watched.desk.part_work
    assert dict(work.own_notes) == {"f": "Breathe here."}


def test_the_practice_sheet_has_what_was_accepted_in_the_teachers_words(qtbot, watched, written, monkeypatch, tmp_path):
    trigger(watched, "next")
    trigger(watched, "accept")
    written.text = "Ten times slowly."
    trigger(watched, "join")
    path = tmp_path / "sheet.pdf"
    watched.desk.set_printing(Printing("letter"), {})
    monkeypatch.setattr(dialogs, "ask_save", lambda *asked: (path, "PDF (*.pdf)"))
    monkeypatch.setattr(
        "app.job.teacher.work.watch_list", lambda score, part, plan, tick: watch.watch_list(score, part, plan, tick)
    )
    trigger(watched, "sheet")
    settled(qtbot, watched)
    (page,) = PdfReader(path).pages
    assert (round(page.mediabox.width), round(page.mediabox.height)) == (612, 792)
    words = " ".join(page.extract_text().split())
    assert "Move on the first finger. Ten times slowly." in words
    assert "Perhaps" not in words


def test_music_that_comes_again_takes_the_fingers_it_had_in_one_step(qtbot, watched):
    desk = watched.desk
    desk.lock("b", Lock(string=1, finger=0), "open")
    settled(qtbot, watched)
    desk.lock("h", Lock(string=2, finger=4), "fourth")
    settled(qtbot, watched)
    steps = desk.history.count()
    entry = next(entry for entry in watched.watch.entries if entry.finding.again)
    watched.watch.choose(entry)
    trigger(watched, "carry")
    assert [desk.plan.choice(note).as_played for note in "ghij"] == [
        desk.plan.choice(note).as_played for note in "abcd"
    ]
    assert desk.history.count() == steps + 1
    watched.actions_by_name["undo"].trigger()
    assert desk.plan.choice("h").finger == 4


def test_the_list_is_read_anew_when_the_fingering_changes(qtbot, watched, found):
    found[:] = [Finding("range", ("a",), 1.0, "Another list.")]
    watched.desk.lock("b", Lock(string=1, finger=0), "open")
    qtbot.waitUntil(lambda: texts(watched) == ["Another list."], timeout=10_000)


def test_a_remark_made_while_the_part_is_fingered_keeps_its_fingering(qtbot, window, mini):
    window.open(mini)
    qtbot.waitUntil(lambda: window.desk.part is not None, timeout=30_000)
    note = ids(window)[0]
    window.desk.note_down(lambda work: work.with_own_note(note, "Listen."), "note")
    qtbot.waitUntil(lambda: window.desk.plan is not None, timeout=30_000)
    settled(qtbot, window)
    window.actions_by_name["undo"].trigger()
    assert window.desk.plan is not None
    assert window.desk.part_work.own_notes == {}


def test_undo_in_one_part_leaves_the_fingering_of_another(qtbot, window, tmp_path):
    path = tmp_path / "two.musicxml"
    path.write_bytes(full_score(part("Violin I", "4/4", "D5/1 E5 F#5 G5"), part("Violin II", "4/4", "D5/1 E5 D5 E5")))
    opened(qtbot, window, path)
    first, second = (part.id for part in window.desk.score.score.parts)
    window.desk.lock(ids(window)[1], Lock(finger=0), "open")
    window.desk.turn_to(second)
    qtbot.waitUntil(lambda: window.desk.plan is not None, timeout=30_000)
    settled(qtbot, window)
    plan = window.desk.plan
    window.actions_by_name["undo"].trigger()
    assert window.desk.plan is plan
    assert window.desk.state.plans[first].locks == {}


def test_the_bow_is_shown_on_demand(qtbot, watched):
    assert watched.music.sheets.digits(0).bows == ()
    trigger(watched, "bows")
    assert {placed.note_id for placed in watched.music.sheets.digits(0).bows} == set("abcdefghijkl")
    trigger(watched, "bows")
    assert watched.music.sheets.digits(0).bows == ()
