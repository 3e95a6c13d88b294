"""The window prints parts and the set, and tells what comes in between."""

from __future__ import annotations

from pathlib import Path

import pytest
from pypdf import PdfReader

from app.job.teacher.printing import Copies, Printing
from app.window import dialogs
from tests.app.conftest import opened as open_in
from tests.app.conftest import settled
from tests.app.job.paper.copies import CRAMPED, LONG, THREE, TITLE, digits, outline, texts


@pytest.fixture
def three(qtbot, window, tmp_path):
    """The window on the three parts."""
    path = tmp_path / "three.musicxml"
    path.write_bytes(THREE)
    open_in(qtbot, window, path)
    return window


def printed(qtbot, window, name):
    action = window.actions_by_name[name]
    assert action.isEnabled(), name
    action.trigger()
    settled(qtbot, window)


def test_the_window_prints_the_set_as_it_is_set(qtbot, three, tmp_path, monkeypatch, told):
    path, suggested = tmp_path / "out", []
    monkeypatch.setattr(dialogs, "ask_printing", lambda *_: (Printing("letter"), {"P3": Copies(2, ("Anna",))}))
    three.actions_by_name["printing"].trigger()
    monkeypatch.setattr(dialogs, "ask_save", lambda *asked: (suggested.append(Path(asked[2]).name), (path, ""))[1])
    printed(qtbot, three, "set")
    written = tmp_path / "out.pdf"
    assert [entry for entry, _ in outline(written)] == ["Violin I", "Timpani", "Cello, Anna", "Cello"]
    assert round(float(PdfReader(written).pages[0].mediabox.width)) == 612
    assert suggested == [f"{TITLE}, parts.pdf"]
    assert three.statusBar().currentMessage() == "Wrote out.pdf: 4 copies, 4 pages."
    monkeypatch.setattr(dialogs, "ask_folder", lambda *_: tmp_path / "parts")
    printed(qtbot, three, "files")
    assert len(list((tmp_path / "parts").iterdir())) == 3
    assert told == []


def test_the_part_in_hand_is_printed_with_an_instrument_or_without(qtbot, three, tmp_path, monkeypatch, told):
    suggested = []
    for part_id, name in (("P1", "Violin I"), ("P2", "Timpani")):
        path = tmp_path / f"{part_id}.pdf"
        monkeypatch.setattr(
            dialogs, "ask_save", lambda *asked, path=path: (suggested.append(Path(asked[2]).name), (path, ""))[1]
        )
        three.desk.turn_to(part_id)
        settled(qtbot, three)
        printed(qtbot, three, "print")
        assert name in texts(path)[0]
        assert bool(digits(texts(path)[0])) is (part_id == "P1")
    assert suggested == [f"{TITLE}, Violin I.pdf", f"{TITLE}, Timpani.pdf"]
    assert told == []


def test_a_score_without_a_title_is_called_by_its_file(qtbot, window, mini, monkeypatch):
    open_in(qtbot, window, mini)
    suggested = []
    monkeypatch.setattr(dialogs, "ask_save", lambda *asked: suggested.append(Path(asked[2]).name))
    for name in ("print", "set", "sheet"):
        printed(qtbot, window, name)
    assert suggested == ["mini, Violin.pdf", "mini, parts.pdf", "mini, Violin, practice sheet.pdf"]


def test_no_path_no_print(qtbot, three, tmp_path, monkeypatch, told):
    before = sorted(tmp_path.rglob("*"))
    monkeypatch.setattr(dialogs, "ask_save", lambda *_: None)
    monkeypatch.setattr(dialogs, "ask_folder", lambda *_: None)
    for name in ("print", "set", "files"):
        printed(qtbot, three, name)
    assert sorted(tmp_path.rglob("*")) == before
    assert told == []


def test_the_window_tells_hard_turns(qtbot, window, tmp_path, monkeypatch, told):
    path = tmp_path / "long.musicxml"
    path.write_bytes(LONG)
    open_in(qtbot, window, path)
    window.desk.set_printing(CRAMPED, {})
    monkeypatch.setattr(dialogs, "ask_save", lambda *_: (tmp_path / "set.pdf", ""))
    printed(qtbot, window, "set")
    (sentence,) = told
    lines = sentence.splitlines()
    assert lines[0] == "Some pages turn where nobody rests:"
    assert len(lines) == 2
    assert lines[1].startswith("Violin I: Page 1 turns before measure ")
    assert (tmp_path / "set.pdf").exists()


def test_the_window_tells_why_nothing_was_written(qtbot, three, tmp_path, monkeypatch, told):
    monkeypatch.setattr(dialogs, "ask_save", lambda *_: (tmp_path / "missing" / "set.pdf", ""))
    printed(qtbot, three, "set")
    three.desk.set_printing(Printing(), {part_id: Copies(0) for part_id in ("P1", "P2", "P3")})
    printed(qtbot, three, "set")
    assert told[0].startswith("set.pdf cannot be written in ")
    assert told[1:] == ["set.pdf: no part has copies to print"]


def test_stopped_in_the_window_nothing_is_written(qtbot, three, tmp_path, monkeypatch, told):
    path = tmp_path / "set.pdf"
    path.write_bytes(b"old")
    monkeypatch.setattr(dialogs, "ask_save", lambda *_: (path, ""))
    three.actions_by_name["set"].trigger()
    qtbot.waitSignal(three.tasks.progressed, timeout=30_000).wait()
    three.actions_by_name["stop"].trigger()
    assert not three.tasks.is_busy
    three.tasks.shut_down()
    assert path.read_bytes() == b"old"
    assert told == []
