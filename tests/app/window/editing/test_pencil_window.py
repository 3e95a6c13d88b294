"""The teacher's pencil in the window: marks placed, moved, carried, printed and written, each edit one step."""

from __future__ import annotations

import pytest
from lxml import etree
from pypdf import PdfReader
from PySide6.QtCore import QPointF, Qt
from PySide6.QtTest import QTest

from analysis.fingering.locks import Lock
from analysis.watch.finding import Finding
from app.job.files.opening import open_any
from app.job.teacher.passages import Passage
from app.window import dialogs
from app.window.editing import watch
from engraving.marks.teacher import MARK_KINDS, TeacherMark
from tests.app.conftest import ids, opened, settled, trigger
from tests.scores import full_score, part, score

LINE = "D5/1 E5 F#5 G5 | A5 G5 F#5/2 | G4/1 A4 B4 C5 | D5 C5 B4/2"


@pytest.fixture
def marked(qtbot, window, tmp_path):
    """The window on a part of one line: its measures 3 and 4 are 1 and 2 again, a fifth lower."""
    path = tmp_path / "line.musicxml"
    path.write_bytes(score("Violin", "4/4", LINE, key=1))
    opened(qtbot, window, path)
    return window


def select(window, first, last=None):
    window.desk.select_note(ids(window)[first])
    if last is not None:
        window.desk.select_until(ids(window)[last])


def work(window):
    return window.desk.part_work


def kinds(window):
    return [mark.kind for mark in window.pencil.marks]


@pytest.fixture
def says(monkeypatch):
    """What the teacher writes when a mark takes text; what was offered is kept."""
    offered = []

    def answer(text):
        monkeypatch.setattr(dialogs, "ask_words", lambda parent, title, question, texts: offered.append(texts) or text)
        return offered

    return answer


@pytest.mark.parametrize("kind", MARK_KINDS.values(), ids=MARK_KINDS)
def test_every_kind_is_placed_seen_undone_and_taken_away(qtbot, marked, says, kind):
    says({"dynamic": "mf", "string": "II", "position": "3rd pos.", "held-position": "3rd pos."}.get(kind.name, "sing"))
    select(marked, 1, 2)
    trigger(marked, f"mark-{kind.name}")
    settled(qtbot, marked)
    placed = kinds(marked)
    assert set(placed) == {kind.name}
    assert marked.desk.pages is marked.music.sheets.pages
    for mark in marked.pencil.marks:
        assert marked.music.sheets.mark_areas(0, mark), "it lies on the page"
    if kind.engraved:
        assert marked.desk.engraved.marks == marked.pencil.marks
    marked.desk.history.undo()
    settled(qtbot, marked)
    assert marked.pencil.marks == ()
    assert marked.desk.engraved.marks == ()
    marked.desk.history.redo()
    marked.pencil.choose(marked.pencil.marks[0])
    trigger(marked, "take_away")
    settled(qtbot, marked)
    assert len(marked.pencil.marks) == len(placed) - 1


def test_a_mark_is_seen_before_the_page_is_engraved_anew(qtbot, marked):
    select(marked, 0, 2)
    trigger(marked, "mark-slur")
    assert marked.desk.engraved.marks == ()
    (slur,) = marked.pencil.marks
    painted = marked.music.sheets.mark_areas(0, slur)
    assert painted
    settled(qtbot, marked)
    assert marked.desk.engraved.marks == (slur,)
    assert not marked.music.sheets.digits(0).marks, "now the engraver draws it"


def test_marks_set_in_quick_succession_all_come_to_the_page(qtbot, marked):
    for number in range(5):
        select(marked, number)
        trigger(marked, "mark-accent")
    settled(qtbot, marked)
    assert len(marked.desk.engraved.marks) == 5


def test_the_same_mark_again_takes_it_away(qtbot, marked):
    select(marked, 0, 3)
    trigger(marked, "mark-accent")
    trigger(marked, "mark-accent")
    settled(qtbot, marked)
    assert marked.pencil.marks == ()


def test_a_slur_over_one_note_is_refused_in_words(qtbot, marked):
    select(marked, 0)
    with qtbot.waitSignal(marked.desk.said) as said:
        trigger(marked, "mark-slur")
    assert "select the notes from the first to the last" in said.args[0]
    assert marked.desk.history.count() == 0


def test_a_position_offers_where_the_hand_lies_and_no_answer_writes_nothing(marked, says):
    offered = says(None)
    marked.desk.fix({ids(marked)[0]: Lock(string=2, position=3)}, "third")
    select(marked, 0)
    trigger(marked, "mark-position")
    assert offered[0][0] == "3rd pos."
    assert marked.pencil.marks == ()


def drag(window, start, by):
    viewport = window.music.viewport()
    QTest.mousePress(viewport, Qt.MouseButton.LeftButton, pos=start.toPoint())
    QTest.mouseMove(viewport, (start + by).toPoint())
    QTest.mouseRelease(viewport, Qt.MouseButton.LeftButton, pos=(start + by).toPoint())


def middle(window, mark):
    area = window.music.sheets.mark_areas(0, mark)[0]
    scale = window.music.page_area(0).width() / window.music.sheets.pages[0].width_mm
    corner = window.music.page_area(0).topLeft()
    return corner + QPointF(area.centre[0], area.centre[1]) * scale, scale


@pytest.mark.parametrize("kind", ["retake", "accent"])
def test_a_mark_that_is_dragged_lies_where_it_is_let_go(qtbot, marked, kind):
    """One that is painted, and one that the engraver has drawn."""
    select(marked, 5)
    trigger(marked, f"mark-{kind}")
    settled(qtbot, marked)
    marked.pencil.choose(None)
    before, scale = middle(marked, marked.pencil.marks[0])
    by = QPointF(25, -40)
    drag(marked, before, by)
    settled(qtbot, marked)
    (mark,) = marked.pencil.marks
    assert mark == marked.pencil.mark
    after, _ = middle(marked, mark)
    assert (after - before - by).manhattanLength() < 0.15 * scale * marked.music.sheets.pages[0].map.staff_space + 2
    marked.desk.history.undo()
    settled(qtbot, marked)
    assert middle(marked, marked.pencil.marks[0])[0] == before


def test_keys_nudge_the_mark_in_hand_and_a_command_brings_it_back(qtbot, marked):
    select(marked, 1)
    trigger(marked, "mark-retake")
    old = marked.music.sheets.mark_areas(0, marked.pencil.mark)[0]
    QTest.keyClick(marked.music, Qt.Key.Key_Up, Qt.KeyboardModifier.AltModifier)
    QTest.keyClick(marked.music, Qt.Key.Key_Up, Qt.KeyboardModifier.AltModifier)
    new = marked.music.sheets.mark_areas(0, marked.pencil.mark)[0]
    space = marked.music.sheets.pages[0].map.staff_space
    assert old.y0 - new.y0 == pytest.approx(0.5 * space, abs=0.02 * space)
    trigger(marked, "back")
    assert (marked.pencil.mark.dx, marked.pencil.mark.dy) == (0, 0)


def test_a_click_on_a_mark_takes_it_in_hand_and_on_a_note_the_note(qtbot, marked):
    select(marked, 5)
    trigger(marked, "mark-retake")
    marked.pencil.choose(None)
    start, _ = middle(marked, marked.pencil.marks[0])
    QTest.mouseClick(marked.music.viewport(), Qt.MouseButton.LeftButton, pos=start.toPoint())
    assert marked.pencil.mark == marked.pencil.marks[0]
    head = marked.music.note_area(ids(marked)[2]).center().toPoint()
    QTest.mouseClick(marked.music.viewport(), Qt.MouseButton.LeftButton, pos=head)
    assert marked.pencil.mark is None
    assert marked.desk.note_id == ids(marked)[2]


def test_shift_and_a_click_select_the_notes_up_to_there(marked):
    select(marked, 1)
    head = marked.music.note_area(ids(marked)[4]).center().toPoint()
    shift = Qt.KeyboardModifier.ShiftModifier
    QTest.mouseClick(marked.music.viewport(), Qt.MouseButton.LeftButton, shift, head)
    assert marked.desk.ends == (ids(marked)[1], ids(marked)[4])
    both = shift | Qt.KeyboardModifier.ControlModifier
    QTest.keyClick(marked.music, Qt.Key.Key_Right, both)
    assert marked.desk.ends == (ids(marked)[1], ids(marked)[5])
    QTest.keyClick(marked.music, Qt.Key.Key_Left)
    assert marked.desk.until_id is None


def test_every_bar_is_shaped_in_one_step(qtbot, marked):
    marked.desk.select_passage((0, 3))
    trigger(marked, "shape")
    assert kinds(marked) == ["diminuendo"] * 4
    assert marked.desk.history.count() == 1
    settled(qtbot, marked)
    assert len(marked.desk.engraved.marks) == 4


def test_a_passage_is_marked_as_its_notes_are(marked):
    marked.desk.select_passage((1, 1))
    trigger(marked, "mark-accent")
    assert len(marked.pencil.marks) == 3


def test_music_that_comes_again_gets_fingers_and_marks_in_one_step(qtbot, window, tmp_path, monkeypatch):
    """Three notes of the first measure a fifth lower: the mark and the string numeral go one string over."""
    findings: list[Finding] = []
    monkeypatch.setattr(watch, "watch_list", lambda *_: tuple(findings))
    path = tmp_path / "line.musicxml"
    path.write_bytes(score("Violin", "4/4", LINE, key=1))
    later, earlier = (7, 8, 9, 10), (0, 1, 2, 3)
    findings.append(
        Finding(
            "look-alike",
            tuple(f"note-{n + 1}" for n in later),
            1.0,
            "Again.",
            tuple(f"note-{n + 1}" for n in earlier),
        )
    )
    opened(qtbot, window, path)
    n = ids(window)
    assert n[7] == "note-8"
    window.desk.fix({n[0]: Lock(string=2, position=1, finger=3)}, "third finger")
    select(window, 0)
    window.pencil.place("up-bow")
    window.pencil.place("string", "II")
    window.pencil.print_digit(True)
    settled(qtbot, window)
    steps = window.desk.history.count()
    before = work(window)
    window.watch.choose(window.watch.entries[0])
    trigger(window, "carry")
    settled(qtbot, window)
    assert window.desk.history.count() == steps + 1
    assert set(window.pencil.marks) >= {TeacherMark("up-bow", n[7]), TeacherMark("string", n[7], text="III")}
    assert work(window).locks[n[7]].string == 3
    assert work(window).on_paper[n[7]] is True
    window.desk.history.undo()
    assert work(window) == before


def test_marks_passages_and_digits_are_in_the_project(qtbot, marked, tmp_path, monkeypatch):
    select(marked, 0, 2)
    trigger(marked, "mark-slur")
    trigger(marked, "no_digit")
    marked.desk.select_passage((0, 1))
    monkeypatch.setattr(dialogs, "ask_passage", lambda *_: ("Tune", "first desk"))
    trigger(marked, "name")
    settled(qtbot, marked)
    marked.desk.save(tmp_path / "work.handframe")
    saved = open_any(tmp_path / "work.handframe").work.parts[marked.desk.part.id]
    assert saved == work(marked)
    assert saved.marks
    assert saved.passages == (Passage("Tune", 0, 1, "first desk"),)
    opened(qtbot, marked, tmp_path / "work.handframe")
    assert marked.desk.engraved.marks == saved.marks


def test_a_passage_loses_its_name_when_none_is_given(marked, monkeypatch):
    marked.desk.select_passage((0, 1))
    answers = iter([("Tune", ""), ("", "")])
    monkeypatch.setattr(dialogs, "ask_passage", lambda *_: next(answers))
    trigger(marked, "name")
    assert [one.name for one in work(marked).passages] == ["Tune"]
    trigger(marked, "name")
    assert work(marked).passages == ()


def test_marks_are_in_the_written_score_of_every_part(qtbot, window, tmp_path, monkeypatch):
    path = tmp_path / "two.musicxml"
    path.write_bytes(full_score(*(part(name, "4/4", "D5/1 E5 F#5 G5") for name in ("Violin I", "Violin II"))))
    opened(qtbot, window, path)
    for name in ("P1", "P2"):
        window.desk.turn_to(name)
        settled(qtbot, window)
        select(window, 1)
        trigger(window, "mark-up-bow")
    settled(qtbot, window)
    out = tmp_path / "out.musicxml"
    monkeypatch.setattr(dialogs, "ask_save", lambda *_: (out, "MusicXML (*.musicxml)"))
    trigger(window, "export")
    settled(qtbot, window)
    assert len(etree.parse(out).findall(".//up-bow")) == 2


def test_undo_in_another_part_engraves_it_anew_when_it_is_in_hand_again(qtbot, window, tmp_path):
    path = tmp_path / "two.musicxml"
    path.write_bytes(full_score(*(part(name, "4/4", "D5/1 E5 F#5 G5") for name in ("Violin I", "Violin II"))))
    opened(qtbot, window, path)
    select(window, 1)
    trigger(window, "mark-accent")
    settled(qtbot, window)
    window.desk.turn_to("P2")
    settled(qtbot, window)
    window.desk.history.undo()
    window.desk.turn_to("P1")
    settled(qtbot, window)
    assert window.desk.engraved.marks == ()
    assert window.pencil.marks == ()


def test_a_mark_in_words_is_on_the_printed_page(qtbot, marked, tmp_path, monkeypatch, says):
    says("sing here")
    select(marked, 1)
    trigger(marked, "mark-text")
    path = tmp_path / "part.pdf"
    monkeypatch.setattr(dialogs, "ask_save", lambda *_: (path, "PDF"))
    trigger(marked, "print")
    settled(qtbot, marked)
    assert "sing here" in " ".join(PdfReader(path).pages[0].extract_text().split())
