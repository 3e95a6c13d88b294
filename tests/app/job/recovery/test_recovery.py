"""The folder of journals: what was left behind is found, what is alive is left alone, locks of the dead are taken."""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import pytest
from PySide6.QtCore import QSysInfo

from app.errors import AppError
from app.job.files.opening import open_any
from app.job.project.file import save_project
from app.job.project.work_json import work_to_json
from app.job.recovery.folder import RecoveryFolder, bring_back, stem_of
from app.job.recovery.journal import Journal
from app.job.recovery.lines import Heading
from tests.scores import full_score, part

MUSIC = full_score(part("Violin", "4/4", "D5/1 E5 F#5 G5"), part("Viola", "4/4", "D4/1 E4 F#4 G4"))


@pytest.fixture
def folder(tmp_path):
    return RecoveryFolder(tmp_path / "recovery")


@pytest.fixture
def piece(tmp_path):
    path = tmp_path / "piece.musicxml"
    path.write_bytes(MUSIC)
    return path


def left(folder, file, note="Slow.", project=None, in_hand="P2"):
    """A journal as a process leaves it behind that wrote one note and died: its path."""
    opened = open_any(file)
    document, work = opened.document, opened.work
    claim = folder.claim(stem_of(file))
    path = claim.new_journal()
    heading = Heading(document.name, file, project, document.source)
    state = {"work": work_to_json(document.name, work), "in_hand": in_hand}
    journal = Journal(path, heading, state, saved=True, failed=pytest.fail)
    if note:
        noted = work.with_part("P1", work.parts["P1"].with_own_note("n1", note))
        journal.write({"work": work_to_json(document.name, noted), "in_hand": in_hand})
    journal.close(remove=False)
    claim.release()
    return path


def test_what_was_left_behind_is_brought_back_with_score_work_and_part_in_hand(folder, piece):
    path = left(folder, piece)
    (found,) = folder.left_behind()
    assert (found.journal, found.name, found.file) == (path, "piece.musicxml", piece)
    assert (found.lost, found.overtaken, found.fault) == (0, False, "")
    piece.unlink()
    opened = bring_back(found.journal)
    assert opened.document.source == MUSIC
    assert opened.work.parts["P1"].own_notes == {"n1": "Slow."}
    assert (opened.path, opened.file, opened.journal, opened.in_hand) == (None, piece, path, "P2")


def test_a_journal_without_an_edit_is_removed(folder, piece):
    left(folder, piece, note="")
    assert folder.left_behind() == ()
    assert list(folder.path.iterdir()) == []


def test_only_what_belongs_to_the_file_is_offered_for_it_and_the_latest_first(folder, piece, tmp_path):
    other = tmp_path / "other.musicxml"
    other.write_bytes(MUSIC)
    first, second, third = left(folder, piece, "one"), left(folder, other), left(folder, piece, "two")
    assert [found.journal for found in folder.left_behind()] == [third, second, first]
    assert [found.journal for found in folder.left_behind(piece)] == [third, first]
    assert [found.journal for found in folder.left_behind(tmp_path / ".." / tmp_path.name / "other.musicxml")] == [
        second
    ]


def test_a_folder_that_is_not_there_holds_nothing_and_stays_away(folder):
    assert folder.left_behind() == ()
    assert not folder.path.exists()


def test_what_a_living_window_writes_is_not_offered_and_not_removed(folder, piece):
    path = left(folder, piece)
    claim = folder.claim(stem_of(piece))
    again = RecoveryFolder(folder.path)
    assert again.left_behind() == again.left_behind(piece) == ()
    again.remove(path)
    assert path.exists()
    assert again.claim(stem_of(piece)) is None
    assert again.holder(stem_of(piece)) == QSysInfo.machineHostName()
    claim.release()
    assert again.holder(stem_of(piece)) is None
    assert [found.journal for found in again.left_behind()] == [path]
    again.remove(path)
    assert list(folder.path.iterdir()) == []


def test_a_copy_of_what_is_open_has_journals_of_its_own(folder, piece):
    first = folder.claim(stem_of(piece))
    second = folder.claim_copy(stem_of(piece))
    assert (first.is_for_copy, second.is_for_copy) == (False, True)
    assert second.file_stem == first.stem != second.stem
    assert second.new_journal() != second.new_journal()


HOLDER = """
import sys
from pathlib import Path
from app.job.recovery.folder import RecoveryFolder
claim = RecoveryFolder(Path(sys.argv[1])).claim(sys.argv[2])
print("held", flush=True)
sys.stdin.read()
"""


def test_the_lock_of_another_process_holds_until_that_is_killed(folder, piece):
    stem = stem_of(piece)
    command = [sys.executable, "-c", HOLDER, str(folder.path), stem]
    with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout.readline() == "held\n"
        assert folder.claim(stem) is None
        process.kill()
        process.wait()
    assert (folder.path / f"{stem}.lock").exists()
    claim = folder.claim(stem)
    assert claim is not None
    claim.release()


def lock_of(folder, stem, text):
    folder.path.mkdir()
    (folder.path / f"{stem}.lock").write_text(text)


def test_a_lock_whose_number_is_now_another_process_of_the_same_name_is_taken_over(folder, piece):
    name = Path(f"/proc/{os.getpid()}/exe").resolve().name
    lock_of(folder, stem_of(piece), f"{os.getpid()}\n{name}\n{QSysInfo.machineHostName()}\n")
    assert folder.claim(stem_of(piece)) is not None


def test_a_lock_that_was_never_finished_is_taken_over(folder, piece):
    lock_of(folder, stem_of(piece), "")
    assert folder.claim(stem_of(piece)) is not None


def test_a_lock_of_another_computer_is_left_alone(folder, piece):
    path = left(folder, piece)
    (folder.path / f"{stem_of(piece)}.lock").write_text("4711\nhandframe\nmusic-room-2\n")
    assert folder.claim(stem_of(piece)) is None
    assert folder.holder(stem_of(piece)) == "music-room-2"
    assert folder.left_behind() == ()
    assert path.exists()


def test_what_a_dying_process_left_half_written_is_cleared_away(folder, piece):
    path = left(folder, piece)
    half = path.with_name(f"{path.name}.part")
    half.write_bytes(b"12 ")
    assert [found.journal for found in folder.left_behind()] == [path]
    assert not half.exists()


def test_damage_is_told_and_what_stands_before_it_brought_back(folder, piece):
    path = left(folder, piece)
    whole = path.read_bytes()
    path.write_bytes(whole[:-4] + b"!" + whole[-3:])
    (found,) = folder.left_behind()
    assert (found.lost, found.fault) == (1, "")
    assert bring_back(path).work.parts["P1"].own_notes == {}
    path.write_bytes(b"!" + whole[1:])
    (found,) = folder.left_behind()
    assert found.fault == f"{path.name} is damaged where it begins"
    with pytest.raises(AppError, match="is damaged where it begins"):
        bring_back(path)


def test_work_on_a_project_goes_back_to_it_unless_that_was_saved_since(folder, piece, tmp_path):
    project = tmp_path / "piece.handframe"
    opened = open_any(piece)
    save_project(project, opened.document, opened.work)
    os.utime(project, (1, 1))
    path = left(folder, project, project=project)
    (found,) = folder.left_behind(project)
    assert (found.name, found.overtaken) == ("piece.handframe", False)
    assert bring_back(path).path == project
    os.utime(project, (found.edited + 60, found.edited + 60))
    (found,) = folder.left_behind(project)
    assert found.overtaken
    assert bring_back(path).path is None


def test_what_another_window_has_taken_up_meanwhile_is_told(folder, piece):
    path = left(folder, piece)
    path.unlink()
    with pytest.raises(AppError, match="another window has brought it back"):
        bring_back(path)


def test_a_folder_that_cannot_be_made_is_told_in_one_sentence(tmp_path):
    (tmp_path / "taken").write_text("")
    for path in (tmp_path / "taken", tmp_path / "taken" / "recovery"):
        folder = RecoveryFolder(path)
        with pytest.raises(AppError, match=r"^What you do is not kept safe .* You can go on, but save often\.$"):
            folder.claim("abc")
        assert folder.left_behind() == ()
        assert folder.holder("abc") is None


def test_what_a_newer_program_wrote_into_the_project_comes_back_too(folder, piece):
    opened = open_any(piece)
    newer = replace(opened.work, unread={"parts": {"P1": {"desk": "3"}}, "version": 7})
    claim = folder.claim(stem_of(piece))
    heading = Heading("piece.musicxml", piece, None, MUSIC)
    state = {"work": work_to_json("piece.musicxml", newer), "in_hand": ""}
    path = claim.new_journal()
    Journal(path, heading, state, saved=False, failed=pytest.fail).close(remove=False)
    claim.release()
    work = bring_back(path).work
    assert work_to_json("piece.musicxml", work)["parts"]["P1"]["desk"] == "3"


def test_work_of_which_something_does_not_read_is_brought_back_without_it(folder, piece, tmp_path):
    project = tmp_path / "piece.handframe"
    save_project(project, open_any(piece).document, open_any(piece).work)
    os.utime(project, (1, 1))
    claim = folder.claim(stem_of(project))
    plain = work_to_json("piece.musicxml", open_any(piece).work)
    plain["parts"]["P1"]["own_notes"] = {"n1": "Slow."}
    plain["parts"]["P2"]["locks"] = {"n1": {"finger": "two"}}
    path = claim.new_journal()
    heading = Heading("piece.musicxml", project, project, MUSIC)
    Journal(path, heading, {"work": plain, "in_hand": ""}, saved=False, failed=pytest.fail).close(remove=False)
    claim.release()
    opened = bring_back(path)
    assert opened.work.parts["P1"].own_notes == {"n1": "Slow."}
    assert opened.faults[0] == "Viola: 1 of 1 fixed fingerings cannot be read."
    assert opened.path is None


def test_a_window_is_offered_what_was_left_of_the_file_that_lies_open_in_it_but_not_its_own_journal(folder, piece):
    path = left(folder, piece)
    claim = folder.claim(stem_of(piece))
    opened = open_any(piece)
    heading = Heading("piece.musicxml", piece, None, MUSIC)
    state = {"work": work_to_json("piece.musicxml", opened.work), "in_hand": ""}
    mine = Journal(claim.new_journal(), heading, state, saved=False, failed=pytest.fail)
    half = mine.path.with_name(f"{mine.path.name}.part")
    half.write_bytes(b"12 ")
    assert [found.journal for found in folder.left_behind(own=claim)] == [path]
    assert folder.left_behind() == ()
    assert half.exists()
    mine.close(remove=True)
    claim.release()
