"""Who gets which copy of a part, and in which files."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import replace

import pytest
from pypdf import PdfReader

from app.errors import AppError
from app.job.paper.part_set import file_name, write_part, write_set
from app.job.teacher.printing import Copies
from tests.app.job.paper.copies import CRAMPED, LONG, THREE, TITLE, engraver, outline, texts
from tests.scores import full_score, part

# Who gets which copy


def test_every_copy_has_an_entry_that_leads_to_its_first_page(job, tmp_path):
    score, work = job(LONG, Copies(3, ("Desk 1", "Desk 2")), Copies(2), printing=CRAMPED)
    path = tmp_path / "set.pdf"
    written = write_set(path, score, work, {}, engraver)
    assert outline(path) == [
        ("Violin I, Desk 1", 0),
        ("Violin I, Desk 2", 3),
        ("Violin I", 6),
        ("Violin II", 9),
        ("Violin II", 10),
    ]
    assert PdfReader(path).page_mode == "/UseOutlines"
    assert (written.paths, written.copies, written.pages) == ((path,), 5, 11)
    assert written.text == "Wrote set.pdf: 5 copies, 11 pages."


def test_every_copy_is_numbered_and_named_for_itself(job, tmp_path):
    score, work = job(LONG, Copies(2, ("Anna",)), Copies(1, ("Ben",)), printing=CRAMPED)
    path = tmp_path / "set.pdf"
    write_set(path, score, work, {}, engraver)
    read = texts(path)
    numbers = [re.findall(r"Page \d of \d", text) for text in read]
    assert numbers == [["Page 1 of 3"], ["Page 2 of 3"], ["Page 3 of 3"]] * 2 + [[]]
    assert [number for number, text in enumerate(read) if "Anna" in text] == [0, 1, 2]
    assert [number for number, text in enumerate(read) if "Ben" in text] == [6]


def test_date_and_who_marked_it_stand_on_every_page_if_they_are_given(job, tmp_path):
    path = tmp_path / "set.pdf"
    said = replace(CRAMPED, date="3 May", marked_by="A. Teacher")
    for printing, there in ((said, True), (replace(said, date="", marked_by=""), False)):
        score, work = job(LONG, printing=printing)
        write_set(path, score, work, {}, engraver)
        for text in texts(path):
            assert ("3 May" in text) is there
            assert ("Marked by A. Teacher" in text) is there


def test_a_part_without_copies_is_left_out_whatever_names_it_has(job, tmp_path):
    score, work = job(THREE, Copies(0, ("Anna", "Ben")), Copies(1), Copies(2))
    path = tmp_path / "set.pdf"
    assert write_set(path, score, work, {}, engraver).copies == 3
    assert [entry for entry, _ in outline(path)] == ["Timpani", "Cello", "Cello"]
    assert not any("Anna" in text or "Violin" in text for text in texts(path))


@pytest.mark.parametrize("name", ["set.pdf", "folder"])
def test_no_copies_at_all_are_one_sentence_and_no_file(job, tmp_path, name):
    score, work = job(THREE, *[Copies(0)] * 3)
    with pytest.raises(AppError, match=rf"^{name}: no part has copies to print$"):
        write_set(tmp_path / name, score, work, {}, engraver)
    assert [file.name for file in tmp_path.iterdir()] == ["score.musicxml"]


def test_a_part_printed_by_itself_has_all_its_copies_and_one_if_the_set_leaves_it_out(job, tmp_path):
    path = tmp_path / "part.pdf"
    for copies, entries in ((Copies(2, ("Anna",)), ["Violin I, Anna", "Violin I"]), (Copies(0, ("Anna",)), [])):
        score, work = job(THREE, copies)
        written = write_part(path, score, work, score.score.parts[0], None, engraver)
        assert [entry for entry, _ in outline(path)] == entries
        assert written.copies == written.pages == len(PdfReader(path).pages) == max(len(entries), 1)
        assert ("Anna" in texts(path)[0]) is bool(entries)


# In which files


def test_a_folder_gets_one_file_a_part_with_all_its_copies(job, tmp_path):
    score, work = job(THREE, Copies(2, ("Anna", "Ben")), Copies(0), Copies(1))
    folder = tmp_path / "new" / "parts"
    written = write_set(folder, score, work, {}, engraver)
    violin, cello = folder / f"{TITLE}, Violin I.pdf", folder / f"{TITLE}, Cello.pdf"
    assert written.paths == (violin, cello)
    assert sorted(folder.iterdir()) == sorted(written.paths)
    assert [entry for entry, _ in outline(violin)] == ["Violin I, Anna", "Violin I, Ben"]
    assert outline(cello) == []
    assert written.text == "Wrote 2 files to parts: 3 copies, 3 pages."


AWKWARD = (
    "Violin", "violin", "Violin 2", "Violin", "../../etc", 'Solo: "A|B" <C>?*\\', "...", "Bratsche gr\u00fcn",
    "Bratsche gru\u0308n", "\u5f13" * 200, "\u5f13" * 201, "Viola\tsolo\n",
)  # fmt: skip


def test_every_part_has_a_file_of_its_own_whatever_it_is_called(job, tmp_path):
    """Signs kept out of names are those of Windows (Microsoft, Naming files, paths, and namespaces); 255 bytes are the
    most of POSIX file systems (NAME_MAX, limits.h)."""
    score, work = job(full_score(*(part(name, "4/4", "D4/4") for name in AWKWARD), title="../Night: 1/2?"))
    desks = {one.id: Copies(1, (f"Desk {number}",)) for number, one in enumerate(score.score.parts)}
    folder = tmp_path / "parts"
    written = write_set(folder, score, work.printed_as(work.printing, desks), {}, engraver)
    assert len(written.paths) == len(AWKWARD)
    assert sorted(folder.iterdir()) == sorted(written.paths)
    assert len({unicodedata.normalize("NFC", path.name).casefold() for path in written.paths}) == len(AWKWARD)
    for number, path in enumerate(written.paths):
        assert path.parent == folder
        assert not set(path.name) & set('<>:"/\\|?*\t\n')
        assert path.name.endswith(".pdf")
        assert not path.stem.endswith((" ", "."))
        assert not path.name.startswith((".", " "))
        assert len(path.name.encode()) <= 240
        assert f"Desk {number}" in texts(path)[0]
    assert [path.stem.rpartition(", ")[2] for path in written.paths[:4]] == [
        "Violin",
        "violin 3",
        "Violin 2",
        "Violin 4",
    ]


def test_a_name_for_a_file_is_one_line_of_plain_signs():
    assert file_name(' A/B:\x00 "C"\n. ') == "A B C"
    assert file_name("?") == ""
    assert file_name("\u00e9" * 300).encode() == "\u00e9".encode() * 100
