"""``handframe watch`` as it is typed."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType

import pytest

from app.job.files.opening import open_any
from app.job.project.file import save_project
from app.job.teacher.watching import Remark, Standing
from app.main import main
from tests.scores import full_score, part, score

EXAMPLE = Path("examples/three-crossings.musicxml")
# F sharp, then F natural without a sign that says so in the next measure; a part that nobody plays on strings.
MUSIC = "F#5/1@a G5@b A5@c F#5@d | F#5/1@e G#5@f A5@g B5@h | G5/1@i A5@j F#5@k D5/1@l"


@pytest.fixture
def sheet(tmp_path):
    path = tmp_path / "sheet.musicxml"
    path.write_bytes(
        full_score(part("Violin I", "4/4", MUSIC, key=1), part("Flute", "4/4", re.sub("@.", "", MUSIC), key=1))
    )
    return path


def watched(capsys, *words):
    assert main(["watch", *map(str, words)]) == 0
    return capsys.readouterr()


def test_json_is_a_list_of_what_to_watch_where_and_how_sure_it_is(capsys, sheet):
    plain = json.loads(watched(capsys, sheet, "--part", "Violin I", "--json").out)
    assert plain
    for entry in plain:
        assert list(entry) == ["kind", "part", "measure", "beat", "note_ids", "certainty", "text"]
        assert entry["part"] == "Violin I"
        assert 0 < entry["certainty"] <= 1
        assert set(entry["note_ids"]) <= set("abcdefghijkl")
    (reminder,) = (entry for entry in plain if entry["kind"] == "bar-line")
    assert (reminder["measure"], reminder["beat"], reminder["note_ids"], reminder["certainty"]) == ("3", "1", ["i"], 1)


def test_the_table_says_the_same_as_the_json(capsys):
    plain = json.loads(watched(capsys, EXAMPLE, "--part", "1", "--json").out)
    first, *lines = watched(capsys, EXAMPLE, "--part", "1").out.splitlines()
    assert first == f"Violin I (Violin, Two homes): {len(plain)} to watch"
    assert [line.split("  ")[-1].strip() for line in lines] == [entry["text"] for entry in plain]
    proposals = [entry["text"] for entry in plain if entry["certainty"] < 0.5]
    assert [line.split("  ")[-1].strip() for line in lines if " ? " in line[:14]] == proposals


def test_without_a_part_every_string_part_is_watched(capsys, sheet):
    assert {entry["part"] for entry in json.loads(watched(capsys, sheet, "--json").out)} == {"Violin I"}
    every = json.loads(watched(capsys, EXAMPLE, "--json").out)
    assert list(dict.fromkeys(entry["part"] for entry in every)) == [
        "Violin I", "Violin II", "Viola", "Violoncello", "Double Bass",
    ]  # fmt: skip


def test_a_part_for_no_string_instrument_is_watched_by_its_notes_and_that_is_said(capsys, sheet):
    said = watched(capsys, sheet, "--part", "Flute", "--json")
    kinds = {entry["kind"] for entry in json.loads(said.out)}
    assert "bar-line" in kinds
    assert kinds.isdisjoint({"shift", "open-string", "range", "hard-spot"})
    assert said.err.startswith("handframe: Flute:")


def test_rules_change_what_there_is_to_watch(capsys):
    low = watched(capsys, EXAMPLE, "--part", "1", "--rules", "first").out
    assert "Shifts in little time" not in low
    assert "Shifts in little time" in watched(capsys, EXAMPLE, "--part", "1", "--rules", "two-homes").out


def test_what_the_teacher_made_of_it_holds_in_a_project(capsys, sheet, tmp_path):
    plain = json.loads(watched(capsys, sheet, "--part", "1", "--json").out)
    opened = open_any(sheet)
    work = opened.work.parts["P1"]
    first, second = ((one["kind"], one["note_ids"][0], one["note_ids"][-1]) for one in plain[:2])
    remarks = {first: Remark(Standing.HIDDEN), second: Remark(text="In my words.", note="Twice.")}
    work = replace(work, remarks=MappingProxyType(remarks), own_notes=MappingProxyType({"l": "Breathe."}))
    path = tmp_path / "sheet.handframe"
    save_project(path, opened.document, opened.work.with_part("P1", work))
    texts = [entry["text"] for entry in json.loads(watched(capsys, path, "--part", "1", "--json").out)]
    assert plain[0]["text"] not in texts
    assert "In my words. Twice." in texts
    assert "Breathe." in texts


def test_bad_input_gets_one_sentence(capsys, tmp_path):
    path = tmp_path / "flute.musicxml"
    path.write_bytes(score("Flute", "4/4", "D5/4"))
    assert main(["watch", str(path)]) == 2
    assert capsys.readouterr().err.splitlines() == [
        "handframe: flute.musicxml has no string part to watch; name one with --part"
    ]
