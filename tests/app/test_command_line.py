"""The command line, as a user types it."""

from __future__ import annotations

import csv
import json
import os
import subprocess
import sys
from fractions import Fraction

import pytest
from lxml import etree
from pypdf import PdfReader

from app.job.opening import open_any
from app.main import main
from tests.scores import full_score, part, score

HEADER = "part,measure,beat,note_id,voice,pitch,onset,duration,string,position,finger,lie,effort,locked,printed"


def rows(path):
    with path.open(newline="", encoding="utf-8") as file:
        return list(csv.DictReader(file))


def test_csv_has_the_header_and_a_row_for_every_note(mini, tmp_path):
    out = tmp_path / "out.csv"
    assert main(["finger", str(mini), "--rules", "first", "-o", str(out)]) == 0
    assert out.read_text(encoding="utf-8").splitlines()[0] == HEADER
    table = rows(out)
    assert [row["pitch"] for row in table][:6] == ["F#4", "G4", "A4", "G4", "F#4", "A4"]
    assert [row["finger"] for row in table][:6] == ["2", "3", "4", "3", "2", "4"]
    assert {row["position"] for row in table} == {"1"}
    assert [row["lie"] for row in table][:2] == ["high", "normal"]


def test_csv_times_are_exact_fractions_and_efforts_add_up(tmp_path):
    path, out, told = tmp_path / "s.musicxml", tmp_path / "o.csv", tmp_path / "o.json"
    path.write_bytes(score("Violin", "3/4", "D5/3/2 E5/1/2 F#5/1 | G5/1/3 A5 B5 G5/2", key=1))
    assert main(["finger", str(path), "-o", str(out), "-o", str(told)]) == 0
    table = rows(out)
    assert [row["duration"] for row in table] == ["3/2", "1/2", "1", "1/3", "1/3", "1/3", "2"]
    assert [row["beat"] for row in table] == ["1", "5/2", "3", "1", "4/3", "5/3", "2"]
    assert sum(Fraction(row["duration"]) for row in table) == 6
    effort = json.loads(told.read_text())["parts"][0]["counts"]["effort"]
    assert sum(float(row["effort"]) for row in table) == pytest.approx(effort, abs=1e-6)


def test_one_part_is_found_by_number_and_by_the_beginning_of_its_name(example, tmp_path):
    for asked, name in (("2", "Violin II"), ("viola", "Viola")):
        out = tmp_path / f"{asked}.csv"
        assert main(["finger", str(example), "--part", asked, "-o", str(out)]) == 0
        assert {row["part"] for row in rows(out)} == {name}


def test_without_an_output_a_table_to_read_is_printed(mini, capsys):
    assert main(["finger", str(mini), "--measures", "2"]) == 0
    printed = capsys.readouterr().out
    assert "F#4 2" in printed
    assert "A4 4" in printed
    assert "D5" not in printed


def test_cello_parts_say_that_their_fingering_comes_next(example, capsys):
    assert main(["finger", str(example), "--part", "Violoncello"]) == 0
    assert "Fingering for the cello comes next" in capsys.readouterr().err


def test_marked_musicxml_opened_again_gives_the_same_plan_as_locks(example, tmp_path):
    for rules in ("first", "two-homes", "whole-board"):
        out, first, again = (tmp_path / f"{rules}{end}" for end in (".mxl", ".csv", "-again.csv"))
        assert main(["finger", str(example), "--part", "1", "--rules", rules, "-o", str(out), "-o", str(first)]) == 0
        assert main(["finger", str(out), "--part", "1", "--rules", rules, "-o", str(again)]) == 0
        fields = ("pitch", "onset", "string", "position", "finger")
        assert [[row[f] for f in fields] for row in rows(first)] == [[row[f] for f in fields] for row in rows(again)]
        struck = [row for row in rows(again) if row["finger"] and row["printed"] == "yes"]
        assert {row["locked"] for row in struck} == {"yes"}


def test_fingers_come_back_the_same_from_music21(example, tmp_path):
    """Reference library: music21 reads the exported file; the digits stand on the same notes, in order."""
    import music21

    out, table = tmp_path / "m.musicxml", tmp_path / "m.csv"
    assert main(["finger", str(example), "--part", "1", "-o", str(out), "-o", str(table)]) == 0
    read = [note for note in music21.converter.parse(out).parts[0].recurse().notes if not note.isChord]
    theirs = [
        (
            note.pitch.nameWithOctave.replace("-", "b"),
            [mark.fingerNumber for mark in note.articulations if mark.name == "fingering"],
        )
        for note in read
    ]
    onsets = [(row["onset"], row["duration"]) for row in rows(table)]
    ours = [
        (row["pitch"], [int(row["finger"])] if row["finger"] and row["printed"] == "yes" else [])
        for row, when in zip(rows(table), onsets, strict=True)
        if onsets.count(when) == 1
    ]
    assert theirs == ours


def test_pdf_and_png_are_painted_without_a_display(mini, tmp_path):
    command = [sys.executable, "-c", "import sys; from app.main import main; sys.exit(main())", "finger", str(mini)]
    outputs = ["-o", str(tmp_path / "a.pdf"), "-o", str(tmp_path / "a.png"), "--paper", "letter"]
    bare = {name: value for name, value in os.environ.items() if name not in ("DISPLAY", "QT_QPA_PLATFORM")}
    run = subprocess.run([*command, *outputs], env=bare, capture_output=True, text=True, check=False)
    assert (run.returncode, run.stderr) == (0, "")
    assert round(PdfReader(tmp_path / "a.pdf").pages[0].mediabox.width) == 612
    assert (tmp_path / "a.png").read_bytes().startswith(b"\x89PNG")


def test_compare_prints_a_table_and_writes_a_sheet(mini, tmp_path, capsys):
    words = ["compare", str(mini), "--part", "1", "--measures", "3-4", "--rules", "first", "--rules", "third"]
    assert main(words) == 0
    printed = capsys.readouterr().out
    assert "First position" in printed
    assert "String crossings" in printed
    sheet, told = tmp_path / "c.pdf", tmp_path / "c.json"
    assert main([*words, "-o", str(sheet), "-o", str(told)]) == 0
    assert "Third position" in " ".join(PdfReader(sheet).pages[0].extract_text().split())
    first, third = json.loads(told.read_text())["ways"]
    assert first["counts"]["crossings"] > third["counts"]["crossings"] == 0


BAD = {
    "no such file": (["finger", "nowhere.musicxml"], "nowhere.musicxml"),
    "unknown part": (["finger", "MINI", "--part", "Viola 2"], "no part 'Viola 2'; the file has Violin"),
    "unknown rules": (["finger", "MINI", "--rules", "fourth"], "no house rules 'fourth'; there is first"),
    "unknown instrument": (["finger", "MINI", "--instrument", "kazoo"], "no instrument 'kazoo'; there is violin"),
    "unknown measure": (["finger", "MINI", "--measures", "9-12"], "no measure 9 in Violin; its measures are 1 to 5"),
    "backward measures": (["finger", "MINI", "--measures", "4-2"], "measure 2 does not come after measure 4"),
    "output kind": (["finger", "MINI", "-o", "out.docx"], "out.docx: the file to write ends in .csv"),
    "output folder": (["finger", "MINI", "-o", "no/such/out.csv"], "out.csv"),
    "one rule to compare": (
        ["compare", "MINI", "--part", "1", "--measures", "1", "--rules", "first"],
        "at least twice",
    ),
}


@pytest.mark.parametrize("case", BAD)
def test_bad_input_is_one_plain_line_and_status_2(case, mini, capsys, monkeypatch, tmp_path):
    words, expected = BAD[case]
    monkeypatch.chdir(tmp_path)
    assert main([str(mini) if word == "MINI" else word for word in words]) == 2
    told = capsys.readouterr().err
    assert told.startswith("handframe: ")
    assert expected in told
    assert told.count("\n") == 1


def test_without_a_display_the_window_says_so_and_names_the_other_commands(mini, capsys, monkeypatch):
    for name in ("DISPLAY", "WAYLAND_DISPLAY", "QT_QPA_PLATFORM"):
        monkeypatch.delenv(name, raising=False)
    assert main([str(mini)]) == 2
    told = capsys.readouterr().err
    assert "no display" in told
    assert "handframe finger SCORE" in told


def test_a_note_out_of_range_is_told_with_its_measure_and_the_rest_is_fingered(tmp_path, capsys):
    path = tmp_path / "low.musicxml"
    path.write_bytes(score("Violin", "4/4", "D4/1 E4 F#4 G4 | F3/2 A4/2", key=2))
    assert main(["finger", str(path)]) == 0
    printed = capsys.readouterr().out
    assert "measure 2, beat 1: the violin has no F3" in printed
    assert "G4 3" in printed


def test_of_some_measures_only_their_own_problems_are_told(tmp_path, capsys):
    path = tmp_path / "low.musicxml"
    path.write_bytes(score("Violin", "4/4", "D4/1 E4 F#4 G4 | F3/2 A4/2", key=2))
    for measures, told in (("1", False), ("2", True)):
        assert main(["finger", str(path), "--measures", measures]) == 0
        assert ("has no F3" in capsys.readouterr().out) is told


def test_house_rules_come_from_a_file(tmp_path, mini):
    rules = tmp_path / "ours.toml"
    rules.write_text('name = "ours"\npositions = [1]\nnever_open = [1, 2, 3]\n')
    out = tmp_path / "o.csv"
    assert main(["finger", str(mini), "--rules", str(rules), "-o", str(out)]) == 0
    assert "0" not in {row["finger"] for row in rows(out)}


def test_a_part_keeps_its_other_parts_unmarked(tmp_path):
    path, out = tmp_path / "two.musicxml", tmp_path / "out.musicxml"
    path.write_bytes(full_score(part("Violin I", "4/4", "D5/4"), part("Viola", "4/4", "D4/4")))
    assert main(["finger", str(path), "--part", "Viola", "-o", str(out)]) == 0
    marked = [element.getparent().getparent().getparent().getparent().getparent().get("id")
              for element in etree.parse(out).iter("fingering")]  # fmt: skip
    assert marked == [open_any(path).score.parts[1].id]
