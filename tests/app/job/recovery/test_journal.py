"""The journal: whatever tears it or ends its process, what was written before is read back; nothing stops editing."""

from __future__ import annotations

import copy
import errno
import gzip
import os
import resource
from dataclasses import fields, replace
from pathlib import Path
from types import MappingProxyType

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.fingering.rules.files import preset
from app.errors import AppError
from app.job.project.work_json import WorkWriter, work_from_json, work_to_json
from app.job.recovery.changes import apply, differences
from app.job.recovery.journal import Journal
from app.job.recovery.lines import Heading, line_of, replay
from app.job.teacher.work import PartWork, Work
from tests.app.job.project.test_project import part_works, printings
from tests.app.job.recovery.kills import editing, killed_often
from tests.scores import score

MUSIC = score("Violin", "4/4", "D5/1 E5 F#5 G5", key=2)
HEADING = Heading("piece.musicxml", Path("/music/piece.musicxml"), None, MUSIC)

leaves = st.none() | st.booleans() | st.integers(-3, 3) | st.floats(allow_nan=False) | st.text(max_size=4)
values = st.recursive(
    leaves,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text("abc", max_size=2), inner, max_size=4),
    max_leaves=12,
)
plain_values = st.dictionaries(st.text("abc", max_size=2), values, max_size=4)
edited_works = st.lists(st.tuples(st.sampled_from(["P1", "P2"]), part_works), min_size=1, max_size=4)


def said(number):
    """A state in which the teacher's note says that number."""
    return {"work": {"parts": {"P1": {"own_notes": {"n1": f"say {number}"}}}}, "in_hand": "P1"}


def begun(path, state, *, saved=True, failed=pytest.fail, **options):
    return Journal(path, HEADING, state, saved=saved, failed=failed, **options)


def read(path):
    return replay(path.read_bytes(), path.name)


# Changes


@given(plain_values, plain_values)
@settings(max_examples=200)
def test_the_changes_make_one_value_of_the_other_and_leave_the_first_as_it_was(old, new):
    before, made = copy.deepcopy(old), copy.deepcopy(old)
    changes = differences(old, new)
    apply(made, changes)
    assert made == new
    assert old == before
    assert bool(changes) == (old != new)


def test_a_change_is_no_larger_than_what_changed():
    marks = [{"kind": "accent", "first": str(number)} for number in range(500)]
    slur = {"kind": "slur", "first": "3"}
    old, new = ({"parts": {"P1": {"marks": some}}} for some in (marks, [*marks[:250], slur, *marks[251:]]))
    assert differences(old, new) == [[["parts", "P1", "marks"], "splice", 250, 1, [slur]]]


@pytest.mark.parametrize(
    "change",
    [
        [["a", "b"], "set", 1],
        [["a"], "splice", 2, 2, []],
        [["a"], "splice", -1, 1, []],
        [["x"], "splice", 0, 0, []],
        [["y"], "drop"],
        [[], "set", 1],
        [["a"], "paint", 1],
        ["a"],
        7,
    ],
)
def test_changes_that_do_not_fit_are_refused(change):
    with pytest.raises(ValueError, match="does not fit"):
        apply({"a": [1, 2, 3], "x": "abc"}, [change])


# Works as plain values


def test_every_field_of_the_work_on_a_part_is_written():
    plain = work_to_json("piece", Work(MappingProxyType({"P1": PartWork(None, preset("first"))})))
    assert set(plain["parts"]["P1"]) == {field.name for field in fields(PartWork)}


@given(edited_works, printings)
@settings(max_examples=40)
def test_a_work_after_another_is_written_as_if_it_were_the_first(edits, printing):
    writer, work = WorkWriter("piece"), Work(MappingProxyType({}))
    for part_id, part in edits:
        work = replace(work.with_part(part_id, part), printing=printing)
        assert writer.plain(work) == work_to_json("piece", work)
        noted = work.with_part(part_id, part.with_own_note("n", "Slow."))
        assert writer.plain(noted) == work_to_json("piece", noted)


# Lines


def test_the_checksum_of_a_line_is_that_of_gzip():
    # RFC 1952, 2.3.1: the trailer of a gzip member holds the CRC-32 of what was packed, the low byte first.
    line, checksum = line_of({"at": 1.5}, 0)
    length, check, text = line.rstrip(b"\n").split(b" ", 2)
    assert int(length) == len(text)
    assert int(check, 16) == checksum == int.from_bytes(gzip.compress(text)[-8:-4], "little")


@given(edited_works)
@settings(max_examples=5)
def test_a_journal_torn_at_any_byte_gives_the_state_after_its_last_whole_line(tmp_path_factory, edits):
    path = tmp_path_factory.mktemp("journal") / "a.journal"
    writer, work = WorkWriter("piece"), Work(MappingProxyType({}))
    states = [{"work": writer.plain(work), "in_hand": ""}]
    written = begun(path, states[0])
    ends = [path.stat().st_size]
    for part_id, part in edits:
        work = work.with_part(part_id, part)
        states.append({"work": writer.plain(work), "in_hand": part_id})
        written.write(states[-1])
        ends.append(path.stat().st_size)
    written.close(remove=False)
    data = path.read_bytes()
    assert ends[-1] == len(data)
    for cut in range(len(data) + 1):
        replayed = replay(data[:cut], "a.journal")
        whole = sum(end <= cut for end in ends)
        if not whole:
            assert replayed is None
        else:
            assert replayed.state == states[whole - 1]
            assert replayed.unsaved == (states[whole - 1]["work"] != states[0]["work"])
            assert (replayed.lost, replayed.heading) == (0, HEADING)
    assert work_from_json(replayed.state["work"], "a").parts == work.parts


def five_lines(tmp_path):
    """A journal of five edits: its bytes, and where each of its lines ends."""
    path = tmp_path / "a.journal"
    written, ends = begun(path, said(0)), []
    for number in range(1, 6):
        ends.append(path.stat().st_size)
        written.write(said(number))
    written.close(remove=False)
    return path.read_bytes(), [*ends, path.stat().st_size]


def test_a_journal_damaged_at_any_byte_is_read_up_to_there_and_the_rest_is_counted(tmp_path):
    data, ends = five_lines(tmp_path)
    for at in range(len(data)):
        for wrong in (data[at] ^ 1, 0, ord("\n")):
            damaged = data[:at] + bytes([wrong]) + data[at + 1 :]
            if damaged == data:
                continue
            if at < ends[0]:
                with pytest.raises(AppError, match=r"^a\.journal is damaged where it begins"):
                    replay(damaged, "a.journal")
                continue
            whole = sum(end <= at for end in ends)
            replayed = replay(damaged, "a.journal")
            assert replayed.state == said(whole - 1)
            assert replayed.lost == damaged.count(b"\n", ends[whole - 1])


def test_a_line_that_is_missing_or_in_another_place_is_noticed(tmp_path):
    data, ends = five_lines(tmp_path)
    first, second, third = (data[ends[n] : ends[n + 1]] for n in range(3))
    for lines, known, lost in (((first, third), 1, 1), ((second, first), 0, 2), ((first, first), 1, 1)):
        replayed = replay(data[: ends[0]] + b"".join(lines), "a.journal")
        assert (replayed.state, replayed.lost) == (said(known), lost)


@pytest.mark.parametrize("data", [b"", b"hello", b"\0" * 300])
def test_what_breaks_off_before_the_first_edit_holds_nothing(data):
    assert replay(data, "a.journal") is None


@pytest.mark.parametrize("heading", [{"journal": 99}, {}, [1]])
def test_a_journal_of_another_version_is_told_in_one_sentence(heading):
    first, checksum = line_of(heading, 0)
    second, _ = line_of({"at": 1.0, "saved": True, "state": said(0)}, checksum)
    with pytest.raises(AppError, match=r"^a\.journal was not written by this version of Handframe$"):
        replay(first + second, "a.journal")


def test_text_that_is_no_proper_unicode_is_kept(tmp_path):
    written = begun(tmp_path / "a.journal", said(0))
    written.write(said("half a sign \ud83d"))
    written.close(remove=False)
    assert read(tmp_path / "a.journal").state == said("half a sign \ud83d")


# Writing


def test_work_that_was_undone_to_what_is_saved_is_not_unsaved(tmp_path):
    path = tmp_path / "a.journal"
    written = begun(path, said(0))
    written.write(said(1))
    assert read(path).unsaved
    written.write(said(0))
    assert not read(path).unsaved
    written.write({**said(0), "in_hand": "P2"})
    assert not read(path).unsaved
    written.close(remove=True)
    assert not path.exists()


def test_a_long_journal_is_written_anew_and_short(tmp_path):
    path = tmp_path / "a.journal"
    written = begun(path, said(0), rewrite_after=10)
    longest = 0
    for number in range(1, 301):
        written.write(said(number))
        assert read(path).state == said(number)
        assert read(path).unsaved
        if number % 10 == 0:
            assert written.flush(10)
            assert read(path).unsaved
        longest = max(longest, path.read_bytes().count(b"\n"))
    assert written.flush(10)
    written.close(remove=False)
    assert longest < 50
    assert [file.name for file in tmp_path.iterdir()] == ["a.journal"]
    assert path.stat().st_mode & 0o777 == 0o600


def test_a_journal_written_anew_still_knows_what_is_saved(tmp_path):
    path = tmp_path / "a.journal"
    written = begun(path, said(0), rewrite_after=2)
    for number in range(12):
        written.write({**said(0), "in_hand": f"P{number}"})
        assert written.flush(10)
    written.close(remove=False)
    assert path.read_bytes().count(b"\n") < 8
    assert not read(path).unsaved


def test_a_journal_that_somebody_removed_is_there_again_after_the_next_edit(tmp_path):
    path = tmp_path / "a.journal"
    written = begun(path, said(0))
    assert written.flush(10)
    path.unlink()
    written.write(said(1))
    assert written.flush(10)
    written.close(remove=False)
    assert read(path).state == said(1)


def test_a_disk_that_is_full_in_the_middle_of_a_line_is_told_and_the_next_edit_brings_all(tmp_path):
    path = tmp_path / "a.journal"
    written = begun(path, said(0))
    written.write(said(1))
    assert written.flush(10)
    whole = path.read_bytes()
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (len(whole) + 20, hard))
    try:
        with pytest.raises(AppError, match=r"^What you do is not kept safe .*: File too large\. You can go on") as told:
            written.write(said(2))
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert "\n" not in str(told.value)
    assert path.read_bytes() == whole
    written.write(said(3))
    written.close(remove=False)
    assert read(path).state == said(3)


def test_a_journal_that_cannot_begin_leaves_nothing_behind(tmp_path):
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (50, hard))
    try:
        with pytest.raises(AppError, match="You can go on, but save often"):
            begun(tmp_path / "a.journal", said(0))
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    assert list(tmp_path.iterdir()) == []


def test_a_disk_that_does_not_take_what_was_written_gets_all_of_it_anew(tmp_path, monkeypatch):
    path, told, sync, refused = tmp_path / "a.journal", [], os.fsync, [True]

    def fsync(file):
        if refused[0]:
            raise OSError(errno.EIO, "Input/output error")
        sync(file)

    monkeypatch.setattr(os, "fsync", fsync)
    written = begun(path, said(0), failed=told.append)
    assert not written.flush(10)
    assert told
    assert "Input/output error" in told[0]
    before = path.stat().st_ino
    refused[0] = False
    written.write(said(1))
    assert written.flush(10)
    assert path.stat().st_ino != before
    written.close(remove=False)
    assert read(path).state == said(1)


def test_a_journal_that_cannot_be_written_anew_goes_on_as_it_is(tmp_path, monkeypatch):
    path, told = tmp_path / "a.journal", []

    def replace_by(*_):
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(os, "replace", replace_by)
    monkeypatch.setattr(Path, "replace", replace_by)
    written = begun(path, said(0), failed=told.append, rewrite_after=3)
    for number in range(1, 9):
        written.write(said(number))
        written.flush(10)
        assert read(path).state == said(number)
    written.close(remove=False)
    assert told
    assert [file.name for file in tmp_path.iterdir()] == ["a.journal"]


# A process that is killed


@pytest.fixture
def editor(tmp_path):
    """A process that makes copies of itself, each of which edits until it is killed."""
    with editing(tmp_path) as process:
        yield process


def test_every_edit_shown_is_there_after_a_kill(editor, tmp_path):
    shown = killed_often(editor, tmp_path, 20, seed=1)
    assert max(shown) > 50, "the journal is written anew in some of them"
