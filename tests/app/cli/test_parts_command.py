"""``handframe parts`` as it is typed: the whole set to one file or a folder, and what it says."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader

from app.job.files.opening import open_any
from app.job.project.file import save_project
from app.job.teacher.printing import Copies, Printing
from app.main import main
from app.window import dialogs
from engraving.marks.teacher import TeacherMark
from tests.app.conftest import opened, settled
from tests.scores import full_score, part

THREE = full_score(
    part("Violin I", "4/4", "D5/1@a E5 F#5 G5 | A5/4"),
    part("Violin II", "4/4", "D4/1 E4 F#4 G4 | A4/4"),
    part("Timpani", "4/4", "D3/4 | A3/4"),
    title="Small Hours",
)


@pytest.fixture
def three(tmp_path: Path) -> Path:
    path = tmp_path / "three.musicxml"
    path.write_bytes(THREE)
    return path


def outline(path: Path) -> list[str]:
    return [str(entry.title) for entry in PdfReader(path).outline]


def words(path: Path, number: int) -> str:
    return " ".join(PdfReader(path).pages[number].extract_text().split())


def test_the_set_is_one_pdf_with_an_entry_for_every_copy(three, tmp_path, capsys):
    path = tmp_path / "set.pdf"
    asked = ["--copies", "Violin I=2", "--names", "Violin II=Desk 1, Desk 2", "--marked-by", "The teacher"]
    assert main(["parts", str(three), *asked, "--date", "3 May", "-o", str(path)]) == 0
    assert outline(path) == ["Violin I", "Violin I", "Violin II, Desk 1", "Violin II, Desk 2", "Timpani"]
    said = capsys.readouterr()
    assert said.out == "Wrote set.pdf: 5 copies, 5 pages.\n"
    assert "Timpani: This part's name says no string instrument" in said.err
    assert "Desk 2" in words(path, 3)
    assert "Desk 2" not in words(path, 2)
    for number in range(5):
        assert "Marked by The teacher" in words(path, number)
        assert "3 May" in words(path, number)


def test_a_folder_gets_one_file_a_part(three, tmp_path, capsys):
    folder = tmp_path / "parts"
    assert main(["parts", str(three), "--copies", "Timpani=0", "-o", str(folder)]) == 0
    assert sorted(file.name for file in folder.iterdir()) == [
        "Small Hours, Violin I.pdf",
        "Small Hours, Violin II.pdf",
    ]
    assert capsys.readouterr().out == "Wrote 2 files to parts: 2 copies, 2 pages.\n"


def test_what_the_project_says_holds_where_the_command_line_says_nothing(three, tmp_path):
    opened = open_any(three)
    work = opened.work.printed_as(Printing("letter", date="4 June"), {"P1": Copies(3)})
    first = work.parts["P1"]
    marked = work.with_part("P1", replace(first, marks=(TeacherMark("text", "a", text="sing"),)))
    save_project(tmp_path / "work.handframe", opened.document, marked)
    path = tmp_path / "set.pdf"
    assert main(["parts", str(tmp_path / "work.handframe"), "--date", "5 June", "-o", str(path)]) == 0
    read = PdfReader(path)
    assert len(read.pages) == 5
    assert round(float(read.pages[0].mediabox.width)) == 612  # US Letter, 8.5 inches (ANSI Y14.1, size A)
    assert "5 June" in words(path, 0)
    assert "sing" in words(path, 0)


@pytest.mark.parametrize(
    ("asked", "sentence"),
    [
        (["--copies", "Violin I"], "'Violin I' is not said like 'Violin I=4'"),
        (["--copies", "Violin=2"], "'Violin' could be Violin I or Violin II; say which"),
        (["--copies", "Violin I=many"], "'many' is no number of copies"),
        (["--copies", "Violin I=999"], "a part is printed 0 to 60 times, not 999"),
        (["--names", "Flute=A"], "no part 'Flute'"),
        (["--staff", "40"], "a staff is 3.6 to 9.6 mm high, not 40 mm"),
        (["--marked-by", "a\x07b"], "cannot be printed"),
        (["--copies", "1=0", "--copies", "2=0", "--copies", "3=0"], "set.pdf: no part has copies to print"),
    ],
)
def test_what_cannot_be_printed_is_said_in_one_sentence(three, tmp_path, capsys, asked, sentence):
    path = tmp_path / "set.pdf"
    assert main(["parts", str(three), *asked, "-o", str(path)]) == 2
    said = capsys.readouterr().err.strip().splitlines()[-1]
    assert sentence in said
    assert not path.exists()


def test_being_stopped_leaves_what_was_there(three, tmp_path, capsys, monkeypatch):
    path = tmp_path / "set.pdf"
    path.write_bytes(b"old")
    monkeypatch.setattr("app.cli.parts.write_set", lambda *_, **__: (_ for _ in ()).throw(KeyboardInterrupt))
    assert main(["parts", str(three), "-o", str(path)]) == 130
    assert capsys.readouterr().err.endswith("handframe: stopped\n")
    assert path.read_bytes() == b"old"


def test_the_button_under_the_parts_prints_them_all(qtbot, window, three, tmp_path, monkeypatch):
    path = tmp_path / "set.pdf"
    monkeypatch.setattr(dialogs, "ask_save", lambda *_: (path, dialogs.PDF_FILES))
    assert not window.parts.print_all.isEnabled()
    opened(qtbot, window, three)
    with qtbot.waitSignal(window.desk.said, check_params_cb=lambda words: words.startswith("Wrote"), timeout=30_000):
        window.parts.print_all.click()
    settled(qtbot, window)
    assert outline(path) == ["Violin I", "Violin II", "Timpani"]
