"""Ways of playing a passage weighed against each other, under rules that differ from measure to measure."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analysis.fingering.locks import Lock
from analysis.fingering.rules.files import parse_rules, preset
from analysis.instruments import VIOLIN
from app.job.comparing.tempo_scan import scan_tempi
from app.job.comparing.ways import comparison_rows, locks_of, weigh
from app.job.teacher.work import PartWork
from engraving.document import read_document
from engraving.reading import read_score
from tests.scores import score

PASSAGES = """
name = "ours"
positions = [1, 3]
[weights]
crossing = 3
[[passage]]
measures = "2"
positions = [3]
[[passage]]
measures = "3"
keep_on = [2]
"""


@pytest.fixture
def part():
    music = "F#4/1 G4 A4 G4 | D5/1 E5 F#5 G5 | E5/1 D5 E5 G5 | F#4/1 G4 A4 G4"
    return read_score(read_document(score("Violin", "4/4", music, key=2), "s.musicxml")).parts[0]


def test_the_rules_of_a_passage_hold_in_a_comparison_too(part):
    ours = parse_rules(PASSAGES, "ours.toml")
    (way,) = weigh(part, PartWork(VIOLIN, preset("two-homes")), (1, 2), [ours])
    placements = {note.id: way.plan.choice(note.id) for note in part.notes if note.measure in (1, 2)}
    assert len(placements) == way.counts.notes == 8
    assert {placements[note.id].position for note in part.notes_in(1)} == {3}
    assert {placements[note.id].string for note in part.notes_in(2)} == {2}


def test_a_way_under_the_parts_own_rules_costs_what_its_plan_does(part):
    """Tables for passages, the instrument and the part are weighed as they are planned."""
    passages = parse_rules(PASSAGES, "ours.toml")
    tables = parse_rules('[instrument.violin]\nhome = 3\n[part."Violin"]\nopen_or_fourth = "open"\n', "ours.toml")
    for own in (passages, tables, preset("whole-board")):
        ways = weigh(part, PartWork(VIOLIN, own), (0, 3), [own, preset("first")])
        assert ways[0].counts.effort == pytest.approx(ways[0].plan.effort, abs=1e-9)
        assert ways[0].plan.effort > 0
        assert ways[1].counts.effort != pytest.approx(ways[1].plan.effort, abs=1e-6)


def test_the_same_fingers_cost_the_same_whatever_tempo_the_rules_say(part):
    """The part gives no tempo: the table takes its own rules' for every way, as what is told of the tempi does."""
    own = preset("first")
    work = PartWork(VIOLIN, own)
    ways = weigh(part, work, (0, 3), [own, replace(own, tempo=own.tempo + 30)])
    assert dict(ways[0].plan.choices()) == dict(ways[1].plan.choices())
    assert ways[0].counts.effort == ways[1].counts.effort
    assert scan_tempi(part, work, (0, 3), ways).is_level


def test_only_locks_inside_the_passage_hold(part):
    inside, outside = part.notes_in(1)[0].id, part.notes_in(0)[0].id
    work = PartWork(VIOLIN, preset("two-homes")).with_locks({inside: Lock(finger=1), outside: Lock(finger=4)})
    for way in weigh(part, work, (1, 2), [preset("home-ground"), preset("whole-board")]):
        assert dict(way.plan.locks) == {inside: Lock(finger=1)}


def test_the_way_used_is_kept_note_by_note_with_the_place_of_its_hand(part):
    work = PartWork(VIOLIN, preset("two-homes"))
    (way,) = weigh(part, work, (1, 2), [preset("third")])
    plan = work.with_locks(locks_of(way)).plan(part)
    for note in (*part.notes_in(1), *part.notes_in(2)):
        assert plan.choice(note.id).as_played == way.plan.choice(note.id).as_played
        assert plan.locks[note.id].hand == (None if plan.choice(note.id).is_open else plan.choice(note.id).hand)


def test_the_rows_of_the_table_have_a_value_for_every_way(part):
    work = replace(PartWork(VIOLIN, preset("two-homes")))
    ways = weigh(part, work, (1, 2), [preset("first"), preset("third"), preset("whole-board")])
    rows = dict(comparison_rows(ways))
    assert all(len(values) == 3 for values in rows.values())
    assert rows["Shifts"] == [str(way.counts.shifts) for way in ways]
    assert rows["Effort"] == [f"{way.counts.effort:.1f}" for way in ways]
