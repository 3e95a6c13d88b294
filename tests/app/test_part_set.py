"""The set on paper: who gets which copy, in which files, what stands on them, and what is left when it fails."""

from __future__ import annotations

import errno
import os
import re
import unicodedata
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from pypdf import PageObject, PdfReader

from app.errors import AppError
from app.job.opening import open_any
from app.job.paper import paper_part
from app.job.part_set import file_name, write_part, write_set
from app.job.printing import PAPERS, Copies, Printing
from app.window import dialogs
from engraving.errors import EngravingError
from engraving.layout import MARGIN_MM, STAFF_MM, Layout
from engraving.marks.teacher import TeacherMark
from engraving.styles import OWN_INK
from engraving.turning import Turned, engrave_turning
from tests.app.conftest import opened as open_in
from tests.app.conftest import settled
from tests.scores import full_score, part

TITLE = "Small Hours"
THREE = full_score(
    part("Violin I", "4/4", "D5/1@a E5 F#5 G5 | A5/4", key=1),
    part("Timpani", "4/4", "D3/4 | A3/4", key=1),
    part("Cello", "4/4", "D3/1 E3 F#3 G3 | A3/4", key=1),
    title=TITLE,
)
PLAIN = Printing()
# On paper with so little room that 100 long notes are three pages.
CRAMPED = Printing(staff_mm=9.6, margin_mm=35.0)
BUSY = " | ".join(["D5/4"] * 100)
LONG = full_score(part("Violin I", "4/4", BUSY), part("Violin II", "4/4", "D5/4"), title=TITLE)


@cache
def _turned(text: str, layout: Layout, rests: tuple[float, ...]) -> Turned:
    return engrave_turning(text, layout, rests)


def engraver(text: str, layout: Layout, rests: Sequence[float]) -> Turned:
    """The engraver; what it has engraved once it knows."""
    return _turned(text, layout, tuple(rests))


@pytest.fixture
def job(qapp, tmp_path):
    """An open score and the work on it, with the copies of its parts in their order."""

    def made(data=THREE, *copies, printing=PLAIN):
        path = tmp_path / "score.musicxml"
        path.write_bytes(data)
        score = open_any(path)
        wanted = dict(zip((one.id for one in score.score.parts), copies, strict=False))
        return score, score.work.printed_as(printing, wanted)

    return made


def outline(path: Path) -> list[tuple[str, int]]:
    """The entries of a PDF's outline and the pages they lead to, counted from 0."""
    reader = PdfReader(path)
    return [(str(entry.title), reader.get_destination_page_number(entry)) for entry in reader.outline]


def words(sheet: PageObject) -> str:
    return " ".join(sheet.extract_text().split())


def texts(path: Path) -> list[str]:
    return [words(sheet) for sheet in PdfReader(path).pages]


def inks(path: Path) -> set[tuple[float, ...]]:
    """The colours a PDF is painted in: the operands of rg and RG, scn and SCN (ISO 32000-2, 8.6.8), to a hundredth."""
    data = b" ".join(sheet.get_contents().get_data() for sheet in PdfReader(path).pages)
    found = re.findall(rb"([\d.]+) ([\d.]+) ([\d.]+) (?:rg|RG|scn|SCN)\b", data)
    return {tuple(round(float(share), 2) for share in colour) for colour in found}


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


# What stands on them


def digits(text: str) -> list[str]:
    return re.findall(r"(?<!\S)[0-4](?!\S)", text)


def test_a_part_that_nobody_can_finger_is_printed_without_digits(job, tmp_path):
    score, work = job(THREE)
    path = tmp_path / "set.pdf"
    write_set(path, score, work, {}, engraver)
    violin, timpani, cello = texts(path)
    assert digits(violin)
    assert digits(cello)
    assert digits(timpani) == []
    assert timpani == f"{TITLE} Timpani"


def test_parts_are_fingered_as_they_are_set_and_fingerings_at_hand_are_taken(job, tmp_path):
    score, work = job(THREE)
    path = tmp_path / "set.pdf"
    write_set(path, score, work, {}, engraver)
    fresh = texts(path)
    plans = {one.id: work.parts[one.id].plan(one) for one in score.score.parts if work.parts[one.id].instrument}
    asked = []
    told = replace(work.parts["P1"], instrument=None)
    write_set(path, score, work.with_part("P1", told), plans, engraver, asked.append)
    assert texts(path) == fresh
    write_set(path, score, work.with_part("P1", told), {}, engraver)
    assert digits(texts(path)[0]) == []


@pytest.mark.parametrize(("paper", "inches"), [("a4", (210 / 25.4, 297 / 25.4)), ("letter", (8.5, 11.0))])
def test_all_sheets_have_the_size_of_the_paper(job, tmp_path, paper, inches):
    """A4 is 210 by 297 mm (ISO 216), Letter 8.5 by 11 in (ASME Y14.1); a point is 1/72 in (ISO 32000-2, 8.3.2.3)."""
    score, work = job(THREE, printing=Printing(paper))
    path = tmp_path / "set.pdf"
    write_set(path, score, work, {}, engraver)
    for sheet in PdfReader(path).pages:
        assert (float(sheet.mediabox.width) / 72, float(sheet.mediabox.height) / 72) == pytest.approx(inches, abs=0.01)


@pytest.mark.parametrize("kind", ["accent", "circle"], ids=["engraved", "painted"])
def test_marks_are_black_for_the_copier_or_in_colour(job, tmp_path, kind):
    own = tuple(round(int(OWN_INK[at : at + 2], 16) / 255, 2) for at in (1, 3, 5))
    path = tmp_path / "set.pdf"
    for colour in (False, True):
        score, work = job(THREE, printing=Printing(colour=colour))
        ids = [note.id for note in score.score.parts[0].notes]
        mark = TeacherMark(kind, ids[0], ids[1] if kind == "circle" else "")
        work = work.with_part("P1", replace(work.parts["P1"], marks=(mark,)))
        write_set(path, score, work, {}, engraver)
        assert (own in inks(path)) is colour
        coloured = {ink for ink in inks(path) if len(set(ink)) > 1}
        assert coloured == ({own} if colour else set())


@pytest.mark.parametrize("paper", PAPERS)
def test_the_widest_margins_are_kept_at_the_largest_staff(job, paper):
    """Also where the part's name stands over the music of a later page."""
    margin = MARGIN_MM[1]
    printing = Printing(paper, staff_mm=STAFF_MM[1], margin_mm=margin)
    score, work = job(LONG, printing=printing)
    first = score.score.parts[0]
    pages = paper_part(score, first, None, work.parts[first.id], printing, engraver).pages
    assert len(pages) > 2
    for page, _ in pages:
        music = page.map.ink[page.map.ink[:, 3] > page.map.music_top]
        assert music[:, 0].min() >= margin - 3
        assert music[:, 2].max() <= page.width_mm - margin + 1
        assert music[:, 1].min() >= margin
        assert music[:, 3].max() <= page.height_mm - margin + 1


def test_turns_where_nobody_rests_are_told_with_the_part(job, tmp_path):
    score, work = job(LONG, printing=CRAMPED)
    (remark,) = write_set(tmp_path / "set.pdf", score, work, {}, engraver).remarks
    found = re.fullmatch(
        r"Violin I: Page 1 turns before measure (\d+) with no rest: let one player of the desk turn\.", remark
    )
    first_on_page_2 = min(int(number) for number in re.findall(r"\b\d\d\b", texts(tmp_path / "set.pdf")[1]))
    assert found is not None
    assert int(found[1]) == first_on_page_2
    part_alone = write_part(tmp_path / "part.pdf", score, work, score.score.parts[0], None, engraver)
    assert part_alone.remarks == (remark,)


def test_turns_in_rests_are_not_told(job, tmp_path):
    """Every other measure rests, for 4 seconds at 60 a minute."""
    resting = " | ".join(["!=60 D5/0.5 E5 F#5 G5 A5 G5 F#5 E5", *["r/4", "D5/0.5 E5 F#5 G5 A5 G5 F#5 E5"] * 34])
    score, work = job(full_score(part("Violin I", "4/4", resting)), printing=CRAMPED)
    written = write_set(tmp_path / "set.pdf", score, work, {}, engraver)
    assert written.pages > 2
    assert written.remarks == ()


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


# Stopping, and how far it is


class StopError(Exception):
    """The teacher has stopped it."""


def to_file(path, score, work, tick):
    return write_set(path / "set.pdf", score, work, {}, engraver, tick)


def to_folder(path, score, work, tick):
    return write_set(path / "parts", score, work, {}, engraver, tick)


def one_part(path, score, work, tick):
    return write_part(path / "set.pdf", score, work, score.score.parts[0], None, engraver, tick)


WAYS = pytest.mark.parametrize("write", [to_file, to_folder, one_part])


@WAYS
def test_the_share_told_goes_from_nothing_to_all_and_never_back(job, tmp_path, write):
    score, work = job(THREE, Copies(2), Copies(1), Copies(1))
    told = []
    write(tmp_path, score, work, told.append)
    assert told == sorted(told)
    assert (told[0], told[-1]) == (0.0, 1.0)
    assert len(set(told)) > 4


@WAYS
def test_stopped_at_any_moment_it_leaves_what_was_there(job, tmp_path, write):
    score, work = job(THREE, Copies(2), Copies(1), Copies(1))
    old = tmp_path / "set.pdf"
    old.write_bytes(b"old")
    before = sorted(tmp_path.rglob("*"))
    moments = 0
    stopped = True
    while stopped:
        moments += 1
        left = iter(range(moments - 1))

        def tick(share, left=left):
            if next(left, None) is None:
                raise StopError

        try:
            write(tmp_path, score, work, tick)
            stopped = False
        except StopError:
            assert sorted(tmp_path.rglob("*")) == before
            assert old.read_bytes() == b"old"
    assert moments > 5
    assert len(list(tmp_path.rglob("*.pdf"))) > 1 or old.read_bytes() != b"old"


# What cannot be written


def failing(path: Path, kind: str) -> tuple[Path, str]:
    """A place where nothing can be written, and what is said of it."""
    if kind == "no folder":
        return path / "missing" / "set.pdf", rf"set\.pdf cannot be written in .*missing: {os.strerror(errno.ENOENT)}"
    if kind == "is a folder":
        (path / "set.pdf").mkdir()
        return path / "set.pdf", r"set\.pdf cannot be written in .*: .+"
    (path / "file").write_bytes(b"old")
    if kind == "under a file":
        return path / "file" / "set.pdf", r"set\.pdf cannot be written in .*file: .+"
    return path / "file", rf"the folder file cannot be made in .*: {os.strerror(errno.EEXIST)}"


@pytest.mark.parametrize("kind", ["no folder", "is a folder", "under a file", "folder is a file"])
def test_what_cannot_be_written_is_said_in_one_sentence_and_leaves_nothing(job, tmp_path, kind):
    score, work = job(THREE)
    path, sentence = failing(tmp_path, kind)
    before = sorted(tmp_path.rglob("*"))
    with pytest.raises(EngravingError, match=f"^{sentence}$"):
        write_set(path, score, work, {}, engraver)
    assert sorted(tmp_path.rglob("*")) == before


@WAYS
@pytest.mark.parametrize("code", [errno.ENOSPC, errno.EROFS])
def test_a_full_or_read_only_disk_leaves_the_old_file_whole(job, tmp_path, monkeypatch, write, code):
    score, work = job(THREE)
    old = tmp_path / "set.pdf"
    old.write_bytes(b"old")

    def full(_: int) -> None:
        raise OSError(code, os.strerror(code))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(EngravingError, match=rf"^.*\.pdf cannot be written in .*: {os.strerror(code)}$"):
        write(tmp_path, score, work, lambda share: None)
    assert old.read_bytes() == b"old"
    assert [file.name for file in tmp_path.rglob("*.p*") if file != old] == []


# In the window


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
    monkeypatch.setattr(dialogs, "ask_save", lambda *asked: (suggested.append(asked[2]), (path, ""))[1])
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
        monkeypatch.setattr(dialogs, "ask_save", lambda *asked, path=path: (suggested.append(asked[2]), (path, ""))[1])
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
    monkeypatch.setattr(dialogs, "ask_save", lambda *asked: suggested.append(asked[2]))
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
