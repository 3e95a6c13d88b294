"""Projects that are damaged, older, newer or changed by others: what is whole is opened, what is lost is said."""

from __future__ import annotations

import json
import zipfile
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

import pytest

from analysis.fingering.locks import Lock
from analysis.fingering.rules.files import preset
from analysis.instruments import find_instrument
from app.errors import AppError
from app.job.files.opening import open_any
from app.job.project.archive import contents, torn_json
from app.job.project.file import open_project, save_project
from app.job.teacher.passages import Passage
from app.job.teacher.printing import Copies, Printing
from app.job.teacher.watching import Remark, Standing
from app.job.teacher.work import PartWork, Work, first_work
from app.main import main
from app.window import dialogs
from engraving.document import read_document
from engraving.errors import ScoreFileError
from engraving.limits import LIMITS
from engraving.marks.teacher import TeacherMark
from engraving.reading import read_score
from tests.app.conftest import settled
from tests.scores import full_score, part

MUSIC = full_score(
    part("Violin", "4/4", "D5/1@n1 E5@n2 F#5@n3 G5@n4"), part("Viola", "4/4", "D4/1@m1 E4@m2 F#4@m3 G4@m4")
)
VERSION_1 = Path(__file__).parent / "project_version_1.json"

FULL = PartWork(
    find_instrument("violin"),
    replace(preset("whole-board"), title="Ours", weights={"shift": 2.5}),
    MappingProxyType({"n1": Lock(string=2, finger=1), "n3": Lock(position=3, hand=5.0)}),
    MappingProxyType(
        {
            ("shift", "n1", "n2"): Remark(Standing.ACCEPTED, "Move early.", "Slow."),
            ("bar-line", "n3", "n4"): Remark(Standing.HIDDEN),
        }
    ),
    MappingProxyType({"n2": "Breathe. \N{MUSIC SHARP SIGN}", "n4": "Listen."}),
    (
        TeacherMark("up-bow", "n1"),
        TeacherMark("slur", "n2", "n3", dx=0.5),
        TeacherMark("dynamic", "n4", text="mf", dy=-1.0),
    ),
    MappingProxyType({"n1": True, "n2": False}),
    (Passage("Tune", 0, 0, "first desk"),),
    Copies(3, ("Desk 1", "Desk 2")),
)
WORK = Work(
    MappingProxyType({"P1": FULL, "P2": PartWork(find_instrument("viola"), preset("first"))}),
    Printing("letter", 6.5, colour=True, date="3 May", marked_by="A. Teacher"),
)


@pytest.fixture
def project(tmp_path):
    """A project in which every field says something."""
    path = tmp_path / "two.handframe"
    save_project(path, read_document(MUSIC, "two.musicxml"), WORK)
    return path


def inside(path):
    with zipfile.ZipFile(path) as archive:
        return {name: archive.read(name) for name in archive.namelist()}


def with_members(path, found):
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in found.items():
            archive.writestr(name, data)


def rewritten(path, change):
    """The project with its work changed, as another program or a bad disk would have it."""
    found = inside(path)
    work = json.loads(found["work.json"])
    change(work)
    with_members(path, {**found, "work.json": json.dumps(work)})


def violin(work):
    return work["parts"]["P1"]


DAMAGED = "two.handframe is damaged. What can be read of it is opened as a copy; the file itself stays as it is."
NOT_OPENED = ("it cannot be unpacked", "the score in it cannot be read")


def opened_or_told(path):
    """What is opened, or what is said of it."""
    try:
        return open_any(path), ""
    except AppError as error:
        return None, str(error)


# Versions


def test_a_project_of_version_1_is_read_and_written_back_as_it_was(tmp_path):
    path = tmp_path / "two.handframe"
    text = VERSION_1.read_text(encoding="utf-8")
    with_members(path, {"score.musicxml": MUSIC, "work.json": text})
    opened = open_any(path)
    assert opened.faults == ()
    assert opened.path == path
    assert opened.document.name == "two.musicxml"
    assert dict(opened.work.parts) == dict(WORK.parts)
    assert opened.work.printing == WORK.printing
    save_project(path, opened.document, opened.work)
    assert json.loads(inside(path)["work.json"]) == json.loads(text)


def unknown_on_every_level(work):
    work["desk_plan"] = {"rows": 3}
    work["printing"]["foot"] = {"logo": True}
    own = violin(work)
    own["players"] = 8
    own["rules"]["vibrato"] = "late"
    own["locks"]["n1"]["bow"] = "tip"
    own["remarks"][0]["voice"] = "low"
    own["marks"][1]["thickness"] = 2
    own["marks"].append({"kind": "spiral", "first": "n1", "turns": 3})
    own["passages"][0]["colour"] = "red"
    own["copies"]["lamination"] = True


def test_what_a_newer_program_wrote_on_any_level_is_written_back(project):
    rewritten(project, unknown_on_every_level)
    before = json.loads(inside(project)["work.json"])
    opened = open_any(project)
    assert opened.faults == ()
    save_project(project, opened.document, opened.work)
    assert json.loads(inside(project)["work.json"]) == before


# An archive that is damaged


def test_an_archive_cut_anywhere_opens_as_far_as_it_is_whole_or_is_told_of(project, tmp_path):
    data, cut = project.read_bytes(), tmp_path / "cut.handframe"
    with zipfile.ZipFile(project) as archive:
        work = archive.getinfo("work.json")
    kinds = set()
    for size in range(0, len(data), 31):
        cut.write_bytes(data[:size])
        opened, error = opened_or_told(cut)
        if opened is None:
            assert size < work.header_offset
            assert error.removeprefix("cut.handframe is damaged: ") in NOT_OPENED
            kinds.add("nothing")
            continue
        if "The score breaks off; what follows is lost." in opened.faults:
            assert size < work.header_offset
            assert opened.path is None
            for part in opened.score.parts:
                whole = next(one for one in read_score(read_document(MUSIC, "")).parts if one.id == part.id)
                assert part.notes == whole.notes[: len(part.notes)]
            kinds.add("torn")
            continue
        assert opened.document.source == MUSIC
        if size >= len(data) - 22 - 2 * 46 - len("score.musicxmlwork.json"):
            assert (opened.faults, opened.work.parts) == ((), WORK.parts)
            kinds.add("all")
        else:
            assert opened.faults[0].startswith("cut.handframe is damaged. ")
            locks = opened.work.parts["P1"].locks
            assert locks.items() <= FULL.locks.items()
            kinds.add("some" if locks else "score")
    assert kinds == {"nothing", "torn", "score", "some", "all"}


def test_a_list_at_the_end_that_is_lost_is_not_missed(project):
    data = project.read_bytes()
    project.write_bytes(data[: data.index(b"PK\x01\x02")])
    opened = open_project(project)
    assert opened.losses == ()
    assert opened.work.parts == WORK.parts


def test_a_single_wrong_byte_opens_the_rest_or_is_told_of(project):
    data = project.read_bytes()
    told = set()
    for at in range(0, len(data), 29):
        project.write_bytes(data[:at] + bytes([data[at] ^ 0x55]) + data[at + 1 :])
        opened, error = opened_or_told(project)
        if opened is None:
            assert error.startswith("two.handframe")
            assert "\n" not in error
            told.add("nothing")
        elif opened.faults:
            assert opened.path is None
            told.add("faults")
        else:
            assert dict(opened.work.parts) == dict(WORK.parts)
            told.add("whole")
    assert told == {"nothing", "faults", "whole"}


def test_a_project_without_the_work_opens_its_score_and_one_without_the_score_does_not(project):
    found = inside(project)
    with_members(project, {"score.musicxml": found["score.musicxml"]})
    opened = open_any(project)
    assert opened.faults[1:] == ("The work on the score is missing in it.",)
    assert opened.work.parts == first_work(read_score(read_document(MUSIC, ""))).parts
    with_members(project, {"work.json": found["work.json"]})
    with pytest.raises(AppError, match=r"^two\.handframe is no Handframe project: it holds no score$"):
        open_any(project)


@pytest.mark.parametrize("text", [b"", b"\xff\xfe", b"[1]", b'"parts"', b"[" * 100_000, b'{"parts": 7}', b"null"])
def test_work_that_is_no_json_or_another_value_leaves_the_score(project, text):
    with_members(project, {**inside(project), "work.json": text})
    opened = open_any(project)
    assert len(opened.faults) == 2
    assert opened.faults[1].endswith(" cannot be read.")
    assert opened.work.parts["P1"].locks == {}


def test_text_that_is_torn_keeps_what_is_finished():
    text = '{"parts": {"P1": {"locks": {"a": {"string": 2, "finger": 1}, "b": {"string": 3, "finger": 2}}, "x": "}"}}}'
    whole = json.loads(text)
    assert torn_json(text, 4) == whole
    cut = text.index('"b"') + 16
    assert torn_json(text[:cut], 4) == {"parts": {"P1": {"locks": {"a": {"string": 2, "finger": 1}}}}}
    assert torn_json(text[: text.index('"}"') + 2], 4) == {"parts": {"P1": {"locks": whole["parts"]["P1"]["locks"]}}}
    assert torn_json('{"a": "\\"', 4) is None
    assert torn_json("", 4) is None


@pytest.mark.parametrize("member", ["score.musicxml", "work.json"])
def test_a_project_that_unpacks_to_what_no_score_needs_is_refused(project, member):
    with_members(project, {**inside(project), member: bytes(3 * 2**20)})
    with pytest.raises(
        AppError, match=r"^two\.handframe unpacks to more than 400 times its size, which no score does$"
    ):
        open_any(project)


@pytest.mark.parametrize("member", ["score.musicxml", "work.json"])
def test_each_member_of_a_project_has_a_limit_of_its_own(project, member):
    data = project.read_bytes()
    most = {name: len(held) for name, held in inside(project).items()}
    assert all(found.whole for found in contents(data, "two.handframe", most).members.values())
    with pytest.raises(ScoreFileError, match=r"^two\.handframe unpacks to more than [0-9.e-]+ MB"):
        contents(data, "two.handframe", {**most, member: most[member] - 1})


def test_a_project_of_too_many_files_or_with_one_twice_is_refused_like_a_score(project):
    data = project.read_bytes()
    assert contents(data, "two.handframe", {}, replace(LIMITS, members=2)).others == ("score.musicxml", "work.json")
    with pytest.raises(ScoreFileError, match=r"^two\.handframe is an archive of more than 1 files"):
        contents(data, "two.handframe", {}, replace(LIMITS, members=1))
    with zipfile.ZipFile(project, "a") as archive, pytest.warns(UserWarning, match="Duplicate name"):
        archive.writestr("work.json", "{}")
    with pytest.raises(AppError, match=r"^two\.handframe is an archive that holds work\.json twice$"):
        open_any(project)


def test_what_else_lies_in_a_project_is_not_unpacked_and_that_it_is_not_written_back_is_said(project):
    others = {f"page {number}.txt": bytes(3 * 2**20) for number in range(5)}
    with_members(project, {**inside(project), **others})
    opened = open_any(project)
    assert opened.faults == (
        "two.handframe also holds page 0.txt, page 1.txt, page 2.txt, page 3.txt, …, which Handframe does not know: "
        "saving the project leaves that out.",
    )
    assert opened.path == project
    assert dict(opened.work.parts) == dict(WORK.parts)


# Values that do not read


LOCKS_LOST = ("Violin: 1 of 2 fixed fingerings cannot be read.", "Violin: they are left out in measure 1.")


@pytest.mark.parametrize(
    "lock",
    [
        {"finger": "two"}, {"finger": -1}, {"finger": 6}, {"finger": True}, {"string": 0}, {"string": 6},
        {"position": -1}, {"position": 13}, {"position": 3.0}, {"hand": True}, {"hand": 10**400}, {"hand": -1},
        {"hand": 49}, {"hand": float("nan")}, None,
    ],
)  # fmt: skip
def test_a_fixed_fingering_that_no_instrument_has_is_left_out_with_its_measure(project, lock):
    rewritten(project, lambda work: violin(work)["locks"].update(n1=lock))
    opened = open_any(project)
    assert opened.faults == (DAMAGED, *LOCKS_LOST)
    assert opened.path is None
    assert opened.work.parts["P1"] == FULL.with_locks({"n3": FULL.locks["n3"]})


def test_fixed_fingerings_at_the_ends_of_what_there_is_are_read(project):
    held = {"n1": {"string": 5, "position": 12, "finger": 5}, "n2": {"string": 1, "position": 0, "finger": 0}}
    rewritten(project, lambda work: violin(work).update(locks=held))
    opened = open_any(project)
    assert opened.faults == ()
    assert opened.work.parts["P1"].locks == {"n1": Lock(5, 12, 5), "n2": Lock(1, 0, 0)}
    assert opened.work.parts["P1"].plan(opened.score.parts[0]).problems


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda own: own.update(locks=[1]), "Violin: 1 of 1 fixed fingerings cannot be read."),
        (lambda own: own.pop("locks"), "Violin: 1 of 1 fixed fingerings cannot be read."),
        (lambda own: own["rules"].update(tempo="quick"), "Violin: 1 of 21 house rules cannot be read."),
        (lambda own: own["rules"].update(positions=[40]), "Violin: 1 of 21 house rules cannot be read."),
        (lambda own: own.update(rules=3), "Violin: 1 of 1 house rules cannot be read."),
        (lambda own: own.update(instrument="kazoo"), "Violin: who plays it cannot be read."),
        (lambda own: own.update(instrument=[1]), "Violin: who plays it cannot be read."),
        (lambda own: own["remarks"][0].pop("first"), "Violin: 1 of 2 remarks on the watch-list cannot be read."),
        (lambda own: own["remarks"][0].update(standing=1), "Violin: 1 of 2 remarks on the watch-list cannot be read."),
        (lambda own: own["remarks"][0].update(note=3), "Violin: 1 of 2 remarks on the watch-list cannot be read."),
        (lambda own: own.update(remarks={"a": 1}), "Violin: 1 of 1 remarks on the watch-list cannot be read."),
        (lambda own: own["own_notes"].update(n2=3), "Violin: 1 of 2 notes of your own cannot be read."),
        (lambda own: own["marks"][0].update(kind=[]), "Violin: 1 of 3 marks cannot be read."),
        (lambda own: own["marks"][0].update(first=""), "Violin: 1 of 3 marks cannot be read."),
        (lambda own: own["marks"].append(own["marks"].pop(0)["kind"]), "Violin: 1 of 3 marks cannot be read."),
        (
            lambda own: own["on_paper"].update(n1="yes"),
            "Violin: of 1 of 2 digits it cannot be read whether they are printed.",
        ),
        (lambda own: own["passages"][0].update(last=-1), "Violin: 1 of 1 named passages cannot be read."),
        (lambda own: own["copies"].update(number=1000), "Violin: who gets a copy cannot be read."),
    ],
)
def test_a_value_that_does_not_read_is_left_out_and_all_else_is_opened(project, change, said):
    rewritten(project, lambda work: change(violin(work)))
    damaged = project.read_bytes()
    opened = open_any(project)
    assert opened.faults == (DAMAGED, said)
    assert (opened.path, opened.file) == (None, project)
    own = opened.work.parts["P1"]
    others = sum(getattr(own, name) == getattr(FULL, name) for name in PartWork.__dataclass_fields__)
    assert others == len(PartWork.__dataclass_fields__) - 1
    assert opened.work.parts["P2"] == WORK.parts["P2"]
    again = project.with_name("again.handframe")
    save_project(again, opened.document, opened.work)
    assert open_any(again).work.parts == opened.work.parts
    assert open_any(again).faults == ()
    assert project.read_bytes() == damaged


PRINTING_LOST = "How the parts are printed cannot be read, or not all of it."


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda work: work["parts"].update(P1=7), "Violin: the work on it cannot be read."),
        (lambda work: work["printing"].update(staff_mm="big"), PRINTING_LOST),
        (lambda work: work.update(printing=[1]), PRINTING_LOST),
    ],
)
def test_what_belongs_to_all_parts_is_left_out_alone_too(project, change, said):
    rewritten(project, change)
    opened = open_any(project)
    assert opened.faults[1:] == (said,)
    assert opened.work.parts["P2"] == WORK.parts["P2"]


def test_a_version_and_a_name_that_do_not_read_are_made_anew(project):
    rewritten(project, lambda work: work.update(version="1", score_name=3))
    opened = open_any(project)
    save_project(project, opened.document, opened.work)
    work = json.loads(inside(project)["work.json"])
    assert (opened.faults, work["version"], work["score_name"]) == ((), 1, "two")


# A score that was changed


def test_work_on_notes_and_parts_that_are_gone_is_said_and_kept(project):
    music = full_score(part("Violin", "4/4", "D5/1@n1 E5@n2 r/2"), title="Two")
    with_members(project, {**inside(project), "score.musicxml": music})
    opened = open_any(project)
    assert opened.path == project
    assert opened.faults == (
        "Violin: 2 notes with fixed fingerings, marks or notes of your own are not in the score any more; what you did "
        "there is kept in the file.",
        "The score has no part P2 any more; the work on it is kept in the file.",
    )
    found = opened.score.parts[0]
    plan = opened.work.parts["P1"].plan(found)
    assert plan.with_locks({}).choice("n1") is not None
    save_project(project, opened.document, opened.work)
    with_members(project, {**inside(project), "score.musicxml": MUSIC})
    assert open_any(project).work.parts == WORK.parts


# Text that is no proper Unicode


def test_halves_of_signs_in_texts_and_names_do_not_keep_a_project_from_being_saved(tmp_path):
    path = tmp_path / "two.handframe"
    torn = FULL.with_own_note("n1", "half \ud83d")
    save_project(path, read_document(MUSIC, "caf\udce9.musicxml"), WORK.with_part("P1", torn))
    opened = open_any(path)
    assert opened.faults == ()
    assert opened.work.parts["P1"].own_notes["n1"] == "half \N{REPLACEMENT CHARACTER}"
    assert opened.document.name == "caf\N{REPLACEMENT CHARACTER}.musicxml"


def test_halves_of_signs_that_another_program_wrote_are_read_as_a_sign_that_is_missing(project):
    text = inside(project)["work.json"].decode().replace("Listen.", "\\ud83d\\ude00 \\ude00!")
    with_members(project, {**inside(project), "work.json": text})
    opened = open_any(project)
    assert opened.work.parts["P1"].own_notes["n4"] == "\N{GRINNING FACE} \N{REPLACEMENT CHARACTER}!"


# How it is said


def test_the_command_line_says_what_is_damaged_and_goes_on(project, capsys):
    rewritten(project, lambda work: violin(work).update(locks=3))
    assert main(["finger", str(project), "--part", "Violin"]) == 0
    said = capsys.readouterr()
    assert said.err.splitlines() == [
        f"handframe: {DAMAGED}",
        "handframe: Violin: 1 of 1 fixed fingerings cannot be read.",
    ]
    assert "D5" in said.out


def test_the_window_says_what_is_damaged_and_saves_elsewhere(qtbot, window, told, project, monkeypatch):
    rewritten(project, lambda work: violin(work).update(own_notes={"n1": 3}))
    damaged, elsewhere = project.read_bytes(), project.with_name("saved.handframe")
    window.open(project)
    qtbot.waitUntil(lambda: bool(told), timeout=30_000)
    settled(qtbot, window)
    assert told == [f"{DAMAGED}\n\nViolin: 1 of 1 notes of your own cannot be read."]
    monkeypatch.setattr(dialogs, "ask_save", lambda *_: (elsewhere, ""))
    assert window.paperwork.save()
    assert project.read_bytes() == damaged
    assert open_any(elsewhere).faults == ()


def test_a_project_that_cannot_be_saved_is_told_in_the_window_and_still_counts_as_unsaved(qtbot, window, told, project):
    window.open(project)
    qtbot.waitUntil(lambda: window.desk.score is not None, timeout=30_000)
    settled(qtbot, window)
    window.desk.note_down(lambda work: work.with_own_note("n1", "Slow."), "your note")
    before = project.read_bytes()
    project.chmod(0o444)
    assert not window.paperwork.save()
    assert told == [f"two.handframe cannot be written in {project.parent}: the file there is write-protected"]
    assert window.isWindowModified()
    assert project.read_bytes() == before
