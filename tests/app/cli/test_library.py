"""A whole library of scores fingered by one command."""

from __future__ import annotations

import os
import re
import shutil
import signal
import subprocess
import sys
import time
from concurrent.futures import Future
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from io import StringIO
from pathlib import Path

import pytest
from pebble import ProcessExpired
from pypdf import PdfReader

from app.cli.arguments import FORMATS
from app.cli.finger import MAKERS
from app.cli.library import Asked, Order, Told, make_copies, settle, tell
from app.errors import AppError
from app.job.library.finished import FILE, Finished, Made
from app.job.library.folder import Source, find_sources, output_names
from app.main import main
from engraving.archive import archive_of
from tests.scores import full_score, part, score

LINE = "F#4/1 G4 A4 G4 | F#4 A4/3 | D5/1 E5 F#5 G5"
TUNES = b"X:1\nT:One\nM:4/4\nL:1/4\nK:D\nDEFG|\n\nX:2\nT:Two\nM:4/4\nL:1/4\nK:D\nGFED|\n"
WRITTEN = ["--format", "csv", "--format", "musicxml", "--format", "pdf"]


def fill(folder: Path) -> Path:
    """A library: scores in folders, two that differ in their suffix only, one that is damaged, files that are none."""
    (folder / "autumn" / "slow").mkdir(parents=True)
    (folder / ".trash").mkdir()
    music = score("Violin", "4/4", LINE, key=2)
    (folder / "tune.xml").write_bytes(music)
    (folder / "tune.mxl").write_bytes(archive_of(score("Viola", "4/4", "D4/4 | E4/4"), "tune.musicxml"))
    (folder / "autumn" / "bad.musicxml").write_bytes(b"<score-partwise>")
    (folder / "autumn" / "trio.musicxml").write_bytes(
        full_score(part("Oboe", "4/4", "D5/4"), part("Violin", "4/4", "D5/1 E5 F#5/2"), part("Cello", "4/4", "D3/4"))
    )
    (folder / "autumn" / "slow" / "air.musicxml").write_bytes(music)
    (folder / "autumn" / "read me.txt").write_text("no score", encoding="utf-8")
    (folder / ".trash" / "old.musicxml").write_bytes(music)
    (folder / "._tune.xml").write_bytes(b"left by another system")
    return folder


def contents(folder: Path) -> dict[str, bytes]:
    """What every file in a folder holds, by its path."""
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.fixture(scope="module")
def library(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return fill(tmp_path_factory.mktemp("scores"))


@dataclass(frozen=True)
class Run:
    """A run of the command: its status, what it said, the folder it wrote to, and which files it wrote there."""

    status: int
    out: str
    err: str
    folder: Path
    written: set[str]


def run(library: Path, folder: Path, *words: str) -> Run:
    before = {path: path.stat().st_mtime_ns for path in folder.rglob("*.*")}
    out, err = StringIO(), StringIO()
    with redirect_stdout(out), redirect_stderr(err):
        status = main(["finger", str(library), "-o", str(folder), *words])
    written = {path.name for path in folder.rglob("*.*") if path.stat().st_mtime_ns != before.get(path)}
    return Run(status, out.getvalue(), err.getvalue(), folder, written - {FILE})


@pytest.fixture(scope="module")
def made(library: Path, tmp_path_factory: pytest.TempPathFactory) -> Run:
    """What two processes make of the library."""
    return run(library, tmp_path_factory.mktemp("made") / "copies", "--jobs", "2", *WRITTEN)


def test_copies_lie_in_the_folders_of_their_scores_and_no_two_in_one_place(made):
    stems = ("autumn/slow/air", "autumn/trio", "tune.mxl", "tune.xml")
    wanted = {f"{stem}.{suffix}" for stem in stems for suffix in ("csv", "musicxml", "pdf")}
    assert contents(made.folder).keys() == wanted | {FILE}
    assert b"Viola" in (made.folder / "tune.mxl.csv").read_bytes()
    assert b"Violin" in (made.folder / "tune.xml.csv").read_bytes()


def test_a_copy_is_what_the_command_makes_of_the_single_score(made, library, tmp_path):
    source = library / "autumn" / "slow" / "air.musicxml"
    for suffix in ("csv", "musicxml", "pdf"):
        alone = tmp_path / f"air.{suffix}"
        assert main(["finger", str(source), "-o", str(alone)]) == 0
        assert alone.read_bytes() == (made.folder / "autumn" / "slow" / alone.name).read_bytes()


def test_one_process_and_two_make_the_same_files_byte_for_byte(made, library, tmp_path):
    # "Reproducible: any party can recreate bit-by-bit identical copies" (reproducible-builds.org, definitions).
    assert main(["finger", str(library), "-o", str(tmp_path), "--jobs", "1", *WRITTEN]) == 1
    assert contents(tmp_path) == contents(made.folder)


def test_a_pdf_holds_no_date_and_its_id_follows_from_what_it_holds(made):
    # ISO 32000-1, 14.3.3 and 14.4: the dates may be left out, and the id should follow from the contents.
    air, trio = (PdfReader(made.folder / "autumn" / name) for name in ("slow/air.pdf", "trio.pdf"))
    for reader in (air, trio):
        assert reader.metadata is not None
        assert reader.metadata.creation_date is None
        assert reader.metadata.modification_date is None
        assert reader.xmp_metadata is not None
        assert reader.xmp_metadata.xmp_create_date is None
    assert air.trailer["/ID"] != trio.trailer["/ID"]


def test_a_bad_file_is_named_at_the_end_and_the_others_are_done(made):
    first, last = made.err.splitlines()
    assert first.startswith("handframe: autumn/bad.musicxml is not readable XML")
    assert last == "handframe: 1 score was left out"
    assert made.status == 1
    assert made.out.splitlines() == [
        f"Wrote 12 files to {made.folder}.", "Left out, since their names say no string instrument: Oboe",
    ]  # fmt: skip


def elsewhere(library: Path, copies: Path, folder: Path) -> tuple[Path, Path]:
    """Library and copies as they are after they were copied elsewhere, with new dates; without the damaged score."""
    shutil.copytree(library, folder / "scores", copy_function=shutil.copyfile)
    shutil.copytree(copies, folder / "copies", copy_function=shutil.copyfile)
    (folder / "scores" / "autumn" / "bad.musicxml").unlink()
    return folder / "scores", folder / "copies"


def test_what_is_done_and_unchanged_is_not_done_again_even_after_it_was_copied(made, library, tmp_path):
    again = run(*elsewhere(library, made.folder, tmp_path), *WRITTEN)
    assert (again.status, again.written, again.err) == (0, set(), "")
    assert again.out == f"Wrote 0 files to {again.folder}; 4 scores were done already.\n"


@pytest.fixture(scope="module")
def second(library: Path, made: Run, tmp_path_factory: pytest.TempPathFactory) -> Run:
    """A second run, after one copy went missing, one was changed by hand, and one score is another."""
    scores, copies = elsewhere(library, made.folder, tmp_path_factory.mktemp("second"))
    (copies / "tune.xml.csv").unlink()
    (copies / "tune.mxl.csv").write_text("my own", encoding="utf-8")
    (scores / "autumn" / "trio.musicxml").write_bytes(score("Violin", "4/4", "D5/4"))
    return run(scores, copies, "--format", "csv", "--jobs", "1")


def test_only_what_lacks_or_was_changed_in_its_score_is_done_again(second):
    assert second.written == {"tune.xml.csv", "trio.csv"}
    assert "1 score was done already" in second.out


def test_a_copy_that_somebody_changed_is_not_written_over(second):
    assert (second.folder / "tune.mxl.csv").read_text(encoding="utf-8") == "my own"
    assert "handframe: tune.mxl: tune.mxl.csv is already there and was not made here" in second.err
    assert second.status == 1


def test_under_other_rules_all_is_done_again(made, library, tmp_path):
    scores, copies = elsewhere(library, made.folder, tmp_path)
    words = ["--format", "csv", "--rules", "third", "--jobs", "1"]
    assert run(scores, copies, *words).written == {"air.csv", "trio.csv", "tune.mxl.csv", "tune.xml.csv"}
    again = run(scores, copies, *words)
    assert (again.status, again.written) == (0, set())


def test_the_list_of_what_is_done_is_read_past_a_line_that_a_crash_cut_off(tmp_path):
    whole, other = (Made(name, "a.xml", "key", "digest") for name in ("a.csv", "b.csv"))
    finished = Finished(tmp_path)
    finished.write(whole, b"")
    with (tmp_path / FILE).open("a", encoding="utf-8") as file:
        file.write('{"file": "c.csv", "sou')
    Finished(tmp_path).write(other, b"")
    assert set(Finished(tmp_path).made) == {"a.csv", "b.csv"}


def test_the_list_of_what_is_done_is_the_same_whatever_was_made_first(tmp_path):
    lists = []
    for order in (("a.csv", "b.csv"), ("b.csv", "a.csv")):
        folder = tmp_path / order[0]
        finished = Finished(folder)
        for name in order:
            finished.write(Made(name, "a.xml", "key", "digest"), b"")
        finished.close()
        lists.append((folder / FILE).read_text(encoding="utf-8"))
    assert lists[0] == lists[1]
    assert [line[:16] for line in lists[0].splitlines()] == ['{"file": "a.csv"', '{"file": "b.csv"']


def test_of_several_tunes_in_a_file_it_is_said_that_the_first_was_taken(tmp_path, capsys):
    path = tmp_path / "book.abc"
    path.write_bytes(TUNES)
    assert main(["finger", str(path), "--instrument", "violin"]) == 0
    assert capsys.readouterr().err == "handframe: book.abc holds 2 tunes; the first was opened\n"
    copies = make_copies(path, ("csv",), Asked("violin", None, None, ("csv",)))
    assert copies.remarks == ("book.abc holds 2 tunes; the first was opened",)
    tell(Told(remarks=[("old/book.abc", *copies.remarks)]), tmp_path)
    assert "\nold/book.abc holds 2 tunes; the first was opened\n" in capsys.readouterr().out


def test_an_instrument_asked_for_a_whole_score_is_for_parts_that_do_not_tell_theirs(tmp_path):
    path, out = tmp_path / "duo.musicxml", tmp_path / "duo.csv"
    path.write_bytes(full_score(part("Soprano", "4/4", "D5/4"), part("Cello", "4/4", "C2/4")))
    assert main(["finger", str(path), "--instrument", "violin", "-o", str(out)]) == 0
    strings = [row.split(",")[8] for row in out.read_text(encoding="utf-8").splitlines()[1:]]
    assert strings == ["2", "4"]  # D5 on the violin's A string; C2 is the cello's lowest string


def test_sources_that_differ_in_suffix_capitals_or_accents_make_files_of_their_own():
    names = ["a.xml", "a.mxl", "A.mid", "a.xml.abc", "b.xml", "é.xml", "e\u0301.xml", "x/a.xml"]
    outputs = output_names(names)
    assert len({output.casefold() for output in outputs.values()}) == len(names)
    assert (outputs["b.xml"], outputs["x/a.xml"], outputs["a.mxl"]) == ("b", "x/a", "a.mxl")


def test_copies_written_into_the_library_are_not_read_as_scores(tmp_path):
    fill(tmp_path)
    inside = tmp_path / "autumn" / "copies"
    inside.mkdir()
    (inside / "air.musicxml").write_bytes(b"")
    names = [source.name for source in find_sources(tmp_path, inside).sources]
    assert names == ["autumn/bad.musicxml", "autumn/slow/air.musicxml", "autumn/trio.musicxml", "tune.mxl", "tune.xml"]


@pytest.mark.skipif(os.name != "posix", reason="links need rights of their own on Windows")
def test_links_in_a_circle_come_to_an_end_and_what_is_linked_from_outside_is_read_once(tmp_path):
    scores, outside = tmp_path / "scores", tmp_path / "outside"
    fill(scores)
    outside.mkdir()
    (outside / "song.xml").write_bytes(b"")
    (outside / "round").symlink_to(scores)
    (scores / "round").symlink_to(scores)
    (scores / "a").symlink_to(scores / "autumn" / "slow")
    (scores / "linked").symlink_to(outside)
    (scores / "again").symlink_to(outside)
    (scores / "gone.xml").symlink_to(scores / "nowhere.xml")
    shelf = find_sources(scores, tmp_path / "copies")
    assert [source.name for source in shelf.sources] == [
        "again/song.xml", "autumn/bad.musicxml", "autumn/slow/air.musicxml", "autumn/trio.musicxml",
        "tune.mxl", "tune.xml",
    ]  # fmt: skip
    assert shelf.faults == ("gone.xml is no file that can be read",)


@pytest.mark.parametrize(
    ("error", "sentence"),
    [
        (ProcessExpired("ended"), "the engraver broke down over it"),
        (MemoryError(), "it needs too much memory: it is too long, or damaged"),
        (TimeoutError(), "it took longer than an hour and was given up"),
        (RuntimeError("a bug"), "it broke off; this is a fault of Handframe"),
    ],
)
def test_a_process_that_breaks_costs_one_score_only(tmp_path, error, sentence):
    future: Future = Future()
    future.set_exception(error)
    told = Told()
    settle(Order(Source(tmp_path / "a.xml", "a.xml"), "a", "", ("csv",)), future, Finished(tmp_path), told)
    assert told.refused == [("a.xml", sentence)]


@pytest.fixture(scope="module")
def oddly_named(tmp_path_factory: pytest.TempPathFactory) -> Run:
    """A library with a name that is no text, and one so long that the file made from it would have too long a name."""
    scores = tmp_path_factory.mktemp("odd")
    music = score("Violin", "4/4", "D5/4")
    for name in ("plain.xml", "sur\udcff.xml", f"{'x' * 251}.xml"):
        (scores / name).write_bytes(music)
    every = [word for name in FORMATS for word in ("--format", name)]
    return run(scores, tmp_path_factory.mktemp("odd") / "copies", *every, "--jobs", "1")


@pytest.mark.skipif(os.name != "posix", reason="names of files that are no text are those of Unix")
def test_names_that_are_no_text_are_listed_and_those_that_are_too_long_are_told(oddly_named):
    """Names of files on Linux are bytes; those that are no text come as lone surrogates: PEP 383."""
    made = oddly_named
    stems = {made.file.partition(".")[0] for made in Finished(made.folder).made.values()}
    assert stems == {"plain", "sur\udcff", "x" * 251}
    # NAME_MAX is 255 bytes on Linux: limits.h(0p).
    told = made.err.splitlines()
    assert re.fullmatch(r"handframe: x{251}\.xml: x{251}\.json cannot be written in .*: File name too long", told[0])
    assert told[1:] == ["handframe: 1 score was left out"]
    assert (made.status, made.out) == (1, f"Wrote {2 * len(FORMATS) + 1} files to {made.folder}.\n")


def test_what_was_refused_is_told_even_where_the_list_of_what_is_done_cannot_be_written(
    library, tmp_path, monkeypatch, capsys
):
    def full(_finished):
        raise AppError("the disk is full")

    monkeypatch.setattr(Finished, "close", full)
    monkeypatch.setattr("app.cli.library._work_off", lambda *_: None)
    assert main(["finger", str(library), "-o", str(tmp_path)]) == 2
    said = capsys.readouterr()
    assert said.out.startswith("Wrote 0 files")
    assert said.err == "handframe: the disk is full\n"


def test_files_in_a_folder_that_cannot_be_gone_through_are_told(library, monkeypatch):
    plain = Path.stat

    def closed(path, *, follow_symlinks=True):
        if path.parent.name == "autumn":
            raise PermissionError(13, "Permission denied")
        return plain(path, follow_symlinks=follow_symlinks)

    # The superuser, who may run these tests, goes through every folder.
    monkeypatch.setattr(Path, "stat", closed)
    shelf = find_sources(library, library / "copies")
    assert shelf.faults == (
        "autumn/bad.musicxml is no file that can be read", "autumn/trio.musicxml is no file that can be read",
    )  # fmt: skip


WRONG = {
    "nowhere to write": (["LIBRARY"], "name one folder to write to with -o"),
    "two places to write": (["LIBRARY", "-o", "a", "-o", "b"], "name one folder to write to with -o"),
    "one part": (["LIBRARY", "-o", "OUT", "--part", "1"], "--part is for a single score, not for a folder"),
    "no processes": (["LIBRARY", "-o", "OUT", "--jobs", "0"], "--jobs is 1 or more, not 0"),
    "copies around the library": (["LIBRARY", "-o", "LIBRARY/.."], "write to a folder of its own"),
    "copies over the library": (["LIBRARY", "-o", "LIBRARY"], "write to a folder of its own"),
    "a file to write to": (["LIBRARY", "-o", "LIBRARY/tune.xml"], "is no folder to write to"),
    "too long a folder to write to": (["LIBRARY", "-o", "x" * 300], f"{'x' * 300} is no folder to write to: File name"),
    "too long a folder to read": (["x" * 304], f"{'x' * 304} cannot be read: File name too long"),
    "links in a circle": (["LIBRARY", "-o", "ROUND"], "round is no folder to write to: Too many levels of symbolic"),
    "unknown rules": (["LIBRARY", "-o", "OUT", "--rules", "none"], "no house rules 'none'"),
    "an empty folder": (["EMPTY", "-o", "OUT"], "there are no scores in"),
    "an unknown instrument": (["LIBRARY", "-o", "OUT", "--instrument", "kazoo"], "no instrument 'kazoo'"),
    "formats for a score": (["LIBRARY/tune.xml", "--format", "csv"], "--format and --jobs are for a folder of scores"),
}


@pytest.mark.parametrize("case", WRONG)
def test_what_cannot_be_asked_of_a_folder_is_said_in_one_sentence(case, library, tmp_path, capsys):
    words, sentence = WRONG[case]
    (tmp_path / "empty").mkdir()
    (tmp_path / "round").symlink_to(tmp_path / "round")
    places = {"LIBRARY": str(library), "OUT": str(tmp_path / "copies"), "EMPTY": str(tmp_path / "empty")}
    places["ROUND"] = str(tmp_path / "round")
    asked = [re.sub("LIBRARY|OUT|EMPTY|ROUND", lambda name: places[name[0]], word) for word in words]
    assert main(["finger", *asked]) == 2
    told = capsys.readouterr().err
    assert sentence in told
    assert told.count("\n") == 1
    assert not (tmp_path / "copies").exists()


def test_every_format_that_can_be_asked_for_can_be_made():
    assert {f".{name}" for name in FORMATS} == set(MAKERS)


@pytest.mark.skipif(os.name != "posix", reason="an interrupt cannot be sent to a process on Windows")
def test_an_interrupt_leaves_whole_files_only_and_the_next_run_takes_up_the_work(tmp_path):
    scores, out = tmp_path / "scores", tmp_path / "copies"
    scores.mkdir()
    for number in range(200):
        (scores / f"{number:03}.musicxml").write_bytes(score("Violin", "4/4", f"{LINE} | A4/{number + 1}", key=2))
    words = ["finger", str(scores), "-o", str(out), "--format", "csv", "--jobs", "1"]
    # What a shell begins in the background is deaf to interrupts, and so is all that it begins.
    hears = "import signal, sys\nsignal.signal(signal.SIGINT, signal.default_int_handler)"
    start = f"{hears}\nfrom app.main import main\nsys.exit(main({words!r}))"
    # A group of its own, so that the interrupt reaches the workers too, as from a terminal.
    process = subprocess.Popen(
        [sys.executable, "-c", start], start_new_session=True, stderr=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )
    while not list(out.glob("*.csv")) and process.poll() is None:
        time.sleep(0.01)
    os.killpg(process.pid, signal.SIGINT)
    _, told = process.communicate(timeout=60)
    assert (process.returncode, told) == (130, "handframe: stopped\n")
    stopped = contents(out)
    assert 0 < len(stopped) < 201
    assert {Path(name).suffix for name in stopped} <= {".csv", ".jsonl"}
    assert main(words) == 0
    whole = contents(out)
    assert len(whole) == 201
    assert all(whole[name] == data for name, data in stopped.items() if name != FILE)
