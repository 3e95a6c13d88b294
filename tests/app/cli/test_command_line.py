"""The command line, as a user types it."""

from __future__ import annotations

import csv
import json
import re
from fractions import Fraction

import pytest
from lxml import etree
from pypdf import PdfReader

from analysis.fingering.cautions import CAUTION
from app.cli.opening import COMMANDS
from app.job.files.opening import open_any
from app.main import main
from tests.app.programs import without_display
from tests.scores import full_score, part, score

HEADER = (
    "part,measure,beat,note_id,voice,pitch,onset,duration,string,position,hand,finger,lie,effort,locked,printed,reason"
)


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


def test_cello_and_bass_parts_are_fingered_and_the_place_of_the_hand_has_its_name(example, capsys, tmp_path):
    for name in ("Violoncello", "Double Bass"):
        out = tmp_path / f"{name}.csv"
        assert main(["finger", str(example), "--part", name, "--measures", "15-19", "-o", str(out)]) == 0
        assert all(row["finger"] for row in rows(out))
    hands = {(row["position"], row["hand"]) for row in rows(tmp_path / "Violoncello.csv")}
    assert {("1", "1st"), ("2", "lower 2nd")} <= hands
    assert capsys.readouterr().err == ""


def test_the_thumb_is_written_as_a_letter(tmp_path, capsys):
    path, out = tmp_path / "high.musicxml", tmp_path / "high.csv"
    path.write_bytes(score("Cello", "4/4", "A4/1 B4 C#5 D5"))
    words = ["finger", str(path), "--rules", "whole-board", "--lock", "1: thumb position"]
    assert main([*words, "-o", str(out)]) == 0
    assert [(row["finger"], row["position"], row["hand"]) for row in rows(out)] == [
        ("T", "8", "thumb"), ("1", "8", "thumb"), ("2", "8", "thumb"), ("3", "8", "thumb"),
    ]  # fmt: skip
    assert main(words) == 0
    assert "A4 T!" in capsys.readouterr().out


def test_a_part_that_names_no_string_instrument_is_told_and_left_out(tmp_path, capsys):
    path = tmp_path / "two.musicxml"
    path.write_bytes(full_score(part("Oboe", "4/4", "D5/4"), part("Viola", "4/4", "D4/4")))
    assert main(["finger", str(path)]) == 0
    printed = capsys.readouterr()
    assert printed.err == "handframe: Oboe: This part's name says no string instrument: choose one to finger it.\n"
    assert "Viola" in printed.out
    assert "Oboe" not in printed.out
    assert main(["ways", str(path), "--part", "Oboe", "--measures", "1"]) == 2


def test_reasons_stand_in_the_files_and_under_their_measures_where_asked_for(mini, tmp_path, capsys):
    out, told = tmp_path / "o.csv", tmp_path / "o.json"
    assert main(["finger", str(mini), "--rules", "first", "-o", str(out), "-o", str(told)]) == 0
    reasons = [row["reason"] for row in rows(out)]
    assert reasons[0] == ""
    assert reasons[5] == "4 on the D string, because an open A would ring for three beats."
    assert [note["reason"] for note in json.loads(told.read_text())["parts"][0]["notes"]] == reasons
    for words, shown in (([], False), (["--reasons"], True)):
        assert main(["finger", str(mini), "--rules", "first", "--measures", "2", *words]) == 0
        lines = capsys.readouterr().out.splitlines()
        assert (f"         A4 on beat 2: {reasons[5]}" in lines) is shown
    assert main(["finger", str(mini), "--lock", "2: open", "--reasons", "--measures", "2"]) == 0
    assert "fixed" not in capsys.readouterr().out


def test_what_holds_for_both_notes_of_a_chord_is_said_once(tmp_path, capsys):
    path = tmp_path / "fifth.musicxml"
    path.write_bytes(score("Violin", "4/4", "E4/2 [E4 B4]/2"))
    assert main(["finger", str(path), "--rules", "whole-board", "--reasons"]) == 0
    assert capsys.readouterr().out.count("lies across both strings, for the perfect fifth.") == 1


SMALL_CELLO = """
title = "Small hands"
positions = [1, 2, 3]
reach = "small"
"""


def test_a_far_reach_is_cautioned_of_with_an_easier_way_and_the_general_sentence(tmp_path, capsys):
    path, rules, told = tmp_path / "c.musicxml", tmp_path / "small.toml", tmp_path / "c.json"
    path.write_bytes(score("Cello", "4/4", "D3/1 E3 F#3 E3 | D3/1 E3 F#3 G#3", key=2))
    rules.write_text(SMALL_CELLO)
    words = ["finger", str(path), "--rules", str(rules), "--lock", "2: 1st position"]
    assert main([*words, "-o", str(told)]) == 0
    made = json.loads(told.read_text())["parts"][0]
    far = [note["note_id"] for note in made["notes"]][-1]
    assert [caution["note_id"] for caution in made["cautions"]] == [far]
    assert made["caution"] == CAUTION
    assert main(words) == 0
    *_, caution, general = capsys.readouterr().out.splitlines()
    assert caution.strip() == f"{made['cautions'][0]['text']} {made['cautions'][0]['easier']}"
    assert caution.strip().startswith("measure 2, beat 4: 4 for G#3 reaches")
    assert general.strip() == CAUTION
    assert main([*words, "--measures", "1"]) == 0
    assert CAUTION not in capsys.readouterr().out


def test_ranges_are_locked_by_words_and_of_two_for_one_note_the_later_counts(mini, tmp_path):
    out = tmp_path / "o.csv"
    locks = ["--lock", "3-4: 3rd position on the A string", "--lock", "4: 1st position", "--lock", "5: finger 4"]
    assert main(["finger", str(mini), "--measures", "3-5", *locks, "-o", str(out)]) == 0
    table = rows(out)
    assert {row["locked"] for row in table} == {"yes"}
    of_measure = {label: [row for row in table if row["measure"] == label] for label in "345"}
    assert [(row["string"], row["position"], row["finger"]) for row in of_measure["3"]] == [
        ("2", "3", "1"), ("2", "3", "2"), ("2", "3", "3"), ("2", "3", "4"),
    ]  # fmt: skip
    assert {row["string"] for row in of_measure["4"]} == {"2"}
    assert "4" in {row["finger"] for row in of_measure["5"]}


def test_a_lock_that_cannot_be_kept_is_named_with_its_place(mini, capsys):
    assert main(["finger", str(mini), "--lock", "1: open"]) == 0
    printed = capsys.readouterr().out
    assert "measure 1, beat 1: F#4 cannot be played open" in printed
    assert "A4 0!" in printed


def test_the_ways_of_a_passage_are_told_with_what_they_ask_and_their_fingers(example, tmp_path, capsys):
    words = ["ways", str(example), "--part", "Violin I", "--measures", "46-49"]
    assert main([*words, "--rules", "first"]) == 0
    printed = capsys.readouterr().out
    assert "Violin I, measures 46–49 (Violin, First position)" in printed
    told = tmp_path / "w.json"
    assert main([*words, "--rules", "two-homes", "-o", str(told)]) == 0
    plain = json.loads(told.read_text())
    own, *others = plain["ways"]
    assert (own["name"], own["extra"]) == ("Least effort", 0)
    assert all(way["extra"] >= 0 for way in others)
    assert "All in 1st position" in {way["name"] for way in others}
    assert len({tuple((n["string"], n["hand"], n["finger"]) for n in way["notes"]) for way in plain["ways"]}) == len(
        plain["ways"]
    )
    assert main([*words, "--rules", "two-homes"]) == 0
    _, head, *lines = capsys.readouterr().out.splitlines()
    columns = ["shifts", "crossings", "open_strings", "fourth_fingers"]
    assert re.split("  +", head.strip()) == ["Extra effort", "Shifts", "Crossings", "Open strings", "Fourth fingers"]
    for way, figures, fingers in zip(plain["ways"], lines[::2], lines[1::2], strict=True):
        assert figures.startswith(way["name"])
        assert figures.split()[-5:] == [f"{way['extra']:+.1f}", *(str(way["counts"][name]) for name in columns)]
        said = [word for word in fingers.split() if word != "|" and not word.startswith("[")]
        assert said == [str(note["finger"]) for note in way["notes"] if note["printed"] == "yes"]
    assert lines[1].split("|")[0].split()[0] == "[II]"


def test_the_fingers_of_a_chord_stand_together_and_what_has_none_is_told(tmp_path, capsys):
    path = tmp_path / "chord.musicxml"
    path.write_bytes(score("Violin", "4/4", "[D4 A4]/2 F3/2 | G4/2~ G4/1 F#4", key=1))
    assert main(["ways", str(path), "--part", "1", "--measures", "1-2"]) == 0
    printed = capsys.readouterr().out
    assert "    [III] 0+0 ? | 3 2\n" in printed
    assert "measure 1, beat 3: the violin has no F3" in printed


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
    outputs = ["-o", str(tmp_path / "a.pdf"), "-o", str(tmp_path / "a.png"), "--paper", "letter"]
    run = without_display("finger", str(mini), *outputs)
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
    "unknown rules": (["finger", "MINI", "--rules", "fourth"], "no house rules 'fourth'; there is home-ground"),
    "unknown instrument": (["finger", "MINI", "--instrument", "kazoo"], "no instrument 'kazoo'; there is violin"),
    "unknown measure": (["finger", "MINI", "--measures", "9-12"], "no measure 9 in Violin; its measures are 1 to 5"),
    "backward measures": (["finger", "MINI", "--measures", "4-2"], "measure 2 does not come after measure 4"),
    "output kind": (["finger", "MINI", "-o", "out.docx"], "out.docx: the file to write ends in .csv"),
    "output folder": (["finger", "MINI", "-o", "no/such/out.csv"], "out.csv"),
    "lock without a part": (["finger", "TWO", "--lock", "1: open"], "name one part with --part"),
    "lock without a colon": (["finger", "MINI", "--lock", "1 open"], "the lock '1 open' lacks a colon"),
    "lock on no measure": (["finger", "MINI", "--lock", "9: open"], "no measure 9 in Violin"),
    "lock that says nothing": (["finger", "MINI", "--lock", "1: slowly"], "'slowly' is nothing to fix a note to"),
    "ways without notes": (["ways", "REST", "--part", "1", "--measures", "1"], "there is no note to finger"),
    "ways of a chord of five": (
        ["ways", "FIVE", "--part", "1", "--measures", "1"],
        "Violin: measure 1, beat 1: G3, D4, ",
    ),
    "ways to a table": (["ways", "MINI", "--part", "1", "--measures", "1", "-o", "w.csv"], "w.csv: the file to write"),
    "one rule to compare": (
        ["compare", "MINI", "--part", "1", "--measures", "1", "--rules", "first"],
        "at least twice",
    ),
}


@pytest.mark.parametrize("case", BAD)
def test_bad_input_is_one_plain_line_and_status_2(case, mini, capsys, monkeypatch, tmp_path):
    words, expected = BAD[case]
    monkeypatch.chdir(tmp_path)
    files = {"MINI": mini, "TWO": tmp_path / "two.musicxml", "REST": tmp_path / "rest.musicxml"}
    files["TWO"].write_bytes(full_score(part("Violin", "4/4", "D5/4"), part("Viola", "4/4", "D4/4")))
    files["FIVE"] = tmp_path / "five.musicxml"
    files["FIVE"].write_bytes(score("Violin", "4/4", "[G3 D4 A4 E5 B5]/4"))
    files["REST"].write_bytes(score("Violin", "4/4", "r/4 | D5/4"))
    assert main([str(files.get(word, word)) for word in words]) == 2
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
    assert all(f"handframe {command} SCORE" in told for command in COMMANDS)


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
