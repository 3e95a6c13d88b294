"""The project file: what is kept, what survives, what is told when it is broken."""

from __future__ import annotations

import json
import zipfile
from dataclasses import replace
from types import MappingProxyType

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.fingering.locks import Lock
from analysis.fingering.placements import THUMB
from analysis.fingering.rules.files import PRESETS, preset
from analysis.instruments import INSTRUMENTS
from app.errors import AppError
from app.job.files.opening import open_any
from app.job.project.file import is_project, open_project, save_project
from app.job.teacher.passages import Passage
from app.job.teacher.printing import Copies, Printing
from app.job.teacher.watching import Remark, Standing
from app.job.teacher.work import PartWork, Work, first_work
from engraving.archive import archive_of
from engraving.document import read_document
from engraving.marks.teacher import TeacherMark
from engraving.reading import read_score
from tests.scores import score

MUSIC = score("Violin", "4/4", "D5/1 E5 F#5 G5", key=2)

locks = st.builds(
    Lock,
    string=st.none() | st.integers(1, 4),
    position=st.none() | st.integers(0, 12),
    finger=st.none() | st.integers(0, THUMB),
    hand=st.none() | st.sampled_from([1.0, 3.5, 10.5, 24.0]),
)
note_ids = st.text("abc-1", min_size=1, max_size=5)
remarks = st.builds(Remark, st.sampled_from(Standing), st.text(max_size=8), st.text(max_size=8))
distances = st.floats(-9, 9)
teacher_marks = st.builds(
    TeacherMark,
    st.sampled_from(["accent", "up-bow", "retake"]),
    note_ids,
    dx=distances,
    dy=distances,
) | st.builds(TeacherMark, st.sampled_from(["circle", "crescendo"]), note_ids, note_ids, dx=distances)
passages = st.builds(
    lambda name, first, more, players: Passage(name, first, first + more, players),
    st.sampled_from(["Tune", "Run-up"]),
    st.integers(0, 9),
    st.integers(0, 9),
    st.sampled_from(["", "first desk"]),
)
printings = st.builds(
    Printing,
    st.sampled_from(["a4", "letter"]),
    st.floats(4, 9),
    colour=st.booleans(),
    date=st.sampled_from(["", "3 May"]),
)
part_works = st.builds(
    PartWork,
    st.none() | st.sampled_from(INSTRUMENTS),
    st.sampled_from(PRESETS).map(preset),
    st.dictionaries(note_ids, locks, max_size=4),
    st.dictionaries(st.tuples(st.sampled_from(["shift", "bar-line"]), note_ids, note_ids), remarks, max_size=3),
    st.dictionaries(note_ids, st.text(min_size=1, max_size=8), max_size=2),
    st.lists(teacher_marks, max_size=3, unique_by=lambda mark: (mark.kind, mark.first, mark.last, mark.text)).map(
        tuple
    ),
    st.dictionaries(note_ids, st.booleans(), max_size=3),
    st.lists(passages, max_size=2).map(tuple),
    st.builds(Copies, st.integers(0, 9), st.lists(st.text("ab 1", max_size=4), max_size=3).map(tuple)),
)


@given(st.dictionaries(st.sampled_from(["P1", "P2"]), part_works, min_size=1), printings)
def test_saved_work_is_read_back_as_it_was(tmp_path_factory, parts, printing):
    path = tmp_path_factory.mktemp("project") / "work.handframe"
    document = read_document(MUSIC, "piece.musicxml")
    save_project(path, document, Work(MappingProxyType(parts), printing))
    opened = open_project(path)
    work = opened.work
    assert opened.losses == ()
    assert opened.document.source == MUSIC
    assert opened.document.name == "piece.musicxml"
    assert work.printing == printing
    for part_id, part in parts.items():
        assert work.parts[part_id] == part


def saved(tmp_path):
    document = read_document(MUSIC, "piece.musicxml")
    path = tmp_path / "work.handframe"
    save_project(path, document, first_work(read_score(document)))
    return path


def rewritten(path, change):
    """The project with its work changed, as another program would write it."""
    with zipfile.ZipFile(path) as archive:
        source, work = archive.read("score.musicxml"), json.loads(archive.read("work.json"))
    change(work)
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("score.musicxml", source)
        archive.writestr("work.json", json.dumps(work))


def test_fields_of_a_newer_program_survive_a_save(tmp_path):
    path = saved(tmp_path)

    def add(work):
        part = next(iter(work["parts"].values()))
        work.update(version=7, passages=[{"name": "Solo"}])
        part.update(desk="3")
        part["rules"].update(tape_colour="red")
        part["locks"]["x"] = {"finger": 2, "why": "vibrato"}
        key = {"kind": "shift", "first": "x", "last": "y"}
        part["remarks"] = [{**key, "standing": "accepted", "text": "", "note": "Slow.", "voice": "low"}]

    rewritten(path, add)
    opened = open_project(path)
    document, work = opened.document, opened.work
    save_project(path, document, work)
    with zipfile.ZipFile(path) as archive:
        plain = json.loads(archive.read("work.json"))
    part = next(iter(plain["parts"].values()))
    assert (plain["version"], plain["passages"], part["desk"]) == (7, [{"name": "Solo"}], "3")
    assert part["rules"]["tape_colour"] == "red"
    assert part["locks"]["x"] == {"finger": 2, "why": "vibrato"}
    assert part["remarks"][0]["voice"] == "low"
    assert part["remarks"][0]["note"] == "Slow."


def test_rules_of_a_newer_program_inside_tables_survive_until_other_rules_are_set(tmp_path):
    path = saved(tmp_path)
    newer = {
        "instrument": {"cello": {"positions": [1, 2], "endpin": "long"}},
        "passage": [{"measures": "1-1", "part": "", "keep_on": [2], "colour": "red"}],
        "weights": {"shift": 2.0, "warmth": 3.0},
    }
    rewritten(path, lambda work: next(iter(work["parts"].values()))["rules"].update(newer))
    opened = open_project(path)
    document, work = opened.document, opened.work
    (part_id, part), *_ = work.parts.items()
    assert dict(part.rules.weights) == {"shift": 2.0}
    assert dict(part.rules.instrument) == {"cello": (("positions", (1, 2)),)}
    save_project(path, document, work)
    assert {name: rules_in(path)[name] for name in newer} == newer
    save_project(path, document, work.with_part(part_id, replace(part, rules=preset("first"))))
    assert rules_in(path)["weights"] == {}
    assert rules_in(path)["positions"] == [1]


def rules_in(path):
    with zipfile.ZipFile(path) as archive:
        return next(iter(json.loads(archive.read("work.json"))["parts"].values()))["rules"]


# As version 0.1 wrote them: its presets had other names, and fewer rules.
OLD_RULES = {
    "first-third": {"title": "First and third position", "positions": [1, 3], "home": 1, "tempo": 88.0},
    "any": {"title": "Any position", "positions": list(range(13)), "home": 1, "tempo": 100.0},
}


@pytest.mark.parametrize("name", OLD_RULES)
def test_a_project_under_an_old_preset_opens_with_its_rules_and_plays_by_them(tmp_path, name):
    path = saved(tmp_path)
    plain = {
        "name": name, "longest_open": "2", "never_open": [], "fourth_saves_crossing": True,
        "avoid_shrill_open": True, "extensions": True, "weights": {}, **OLD_RULES[name],
    }  # fmt: skip

    def age(work):
        for part in work["parts"].values():
            part.update(rules=plain, locks={})

    rewritten(path, age)
    opened = open_any(path)
    part = opened.score.parts[0]
    rules = opened.work.parts[part.id].rules
    assert (rules.name, rules.title, list(rules.positions)) == (name, plain["title"], plain["positions"])
    assert opened.work.parts[part.id].plan(part).problems == {}


def test_the_place_of_the_hand_in_a_lock_may_be_written_as_a_whole_number(tmp_path):
    path = saved(tmp_path)
    held = {"position": 3, "hand": 5}
    rewritten(path, lambda work: next(iter(work["parts"].values())).update(locks={"x": held}))
    lock = next(iter(open_project(path).work.parts.values())).locks["x"]
    assert lock == Lock(position=3, hand=5.0)
    assert type(lock.hand) is float


@pytest.mark.parametrize("name", ["work.mxl", "work.zip", "work"])
def test_a_project_is_known_by_what_it_holds_whatever_it_is_called(tmp_path, name):
    document = read_document(MUSIC, "line.musicxml")
    (part,) = read_score(document).parts
    work = first_work(read_score(document))
    locked = work.parts[part.id].with_locks({part.notes[0].id: Lock(finger=3)})
    path = tmp_path / name
    save_project(path, document, replace(work, parts=MappingProxyType({part.id: locked})))
    opened = open_any(path)
    assert opened.work.parts[part.id].locks == locked.locks
    assert opened.path == path


def test_an_archive_without_work_is_a_score_though_it_begins_like_a_project(tmp_path):
    path = tmp_path / "line.mxl"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("score.musicxml", MUSIC)
        archive.writestr(
            "META-INF/container.xml",
            '<container><rootfiles><rootfile full-path="score.musicxml"/></rootfiles></container>',
        )
    assert not is_project(path)
    assert open_any(path).path is None


def test_a_project_of_music_that_packs_to_next_to_nothing_opens_again(tmp_path):
    blank = MUSIC.replace(b"<part-list>", b" " * 2_000_000 + b"<part-list>")
    document = read_document(blank, "line.musicxml")
    path = tmp_path / "line.handframe"
    save_project(path, document, first_work(read_score(document)))
    assert open_any(path).document.source == blank
    assert read_document(archive_of(blank, "line.musicxml"), "line.mxl").source == blank


def test_what_is_no_project_is_told_in_one_sentence(tmp_path):
    for name, data in {"text": b"hello", "cut": saved(tmp_path).read_bytes()[:200]}.items():
        path = tmp_path / f"{name}.handframe"
        path.write_bytes(data)
        with pytest.raises(AppError, match=f"^{name}.handframe is damaged"):
            open_any(path)
    with pytest.raises(AppError, match="there is no such file"):
        open_any(tmp_path / "nowhere.handframe")


def test_a_save_that_fails_leaves_the_old_project_whole(tmp_path, monkeypatch):
    path = saved(tmp_path)
    before = path.read_bytes()
    opened = open_project(path)
    document, work = opened.document, opened.work

    def full(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", full)
    with pytest.raises(Exception, match="No space left on device"):
        save_project(path, document, work)
    assert path.read_bytes() == before
    assert [item.name for item in tmp_path.iterdir()] == [path.name]


def test_printed_fingerings_become_locks():
    document = read_document(score("Violin", "4/4", "D5/1^1_2 E5 A4/1^o G5"), "p.musicxml")
    part = read_score(document).parts[0]
    work = first_work(read_score(document)).parts[part.id]
    assert [work.locks.get(note.id) for note in part.notes] == [Lock(string=2, finger=1), None, Lock(finger=0), None]
