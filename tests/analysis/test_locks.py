"""Locks: what they ask for, which of them are kept where not all can be, and how a conflict is told."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.fingering.costs import UNIT
from analysis.fingering.locks import Demand, Lock, broken, demands_on, least_conflict
from analysis.fingering.placements import THUMB, placements
from analysis.fingering.rules.house import HouseRules
from analysis.instruments import BASS, CELLO, VIOLA, VIOLIN
from analysis.music import Pitch
from tests import strategies
from tests.analysis.lines import line, plan, played, repeated


def test_a_lock_asks_for_what_it_names_and_nothing_else():
    assert Lock().demands() == ()
    asked = Lock(string=2, position=3, finger=1, hand=5.0).demands()
    assert asked == (Demand("string", 2), Demand("position", 3), Demand("finger", 1), Demand("hand", 5.0))
    assert Lock(finger=0).demands() == (Demand("finger", 0),)


@pytest.mark.parametrize("instrument", [VIOLIN, CELLO, BASS], ids=lambda one: one.key)
def test_a_lock_on_a_placement_admits_it_and_no_other(instrument):
    for way in placements(instrument, Pitch.parse("A3")):
        same = [other for other in placements(instrument, Pitch.parse("A3")) if Lock.on(way).admits(other)]
        assert way in same
        assert all(other == way for other in same) or all(other.is_open for other in same)


def test_of_two_locks_joined_the_later_counts_where_they_differ():
    assert Lock(string=2, finger=1).joined_with(Lock(finger=3)) == Lock(string=2, finger=3)
    assert Lock(position=2, hand=3.0).joined_with(Lock(position=3)) == Lock(position=3)
    assert Lock(position=2, hand=3.0).joined_with(Lock(string=1)) == Lock(string=1, position=2, hand=3.0)
    assert Lock(position=2, hand=3.0).joined_with(Lock(hand=4.0)) == Lock(position=2, hand=4.0)


@pytest.mark.parametrize(
    ("lock", "instrument", "words"),
    [
        (Lock(), VIOLIN, "any way"),
        (Lock(string=2, position=3, finger=2), VIOLIN, "finger 2 on the A string in 3rd position"),
        (Lock(finger=0, string=4), VIOLA, "open on the C string"),
        (Lock(position=0), VIOLIN, "in half position"),
        (Lock(string=5), VIOLIN, "on string 5"),
        (Lock(finger=THUMB, position=8), CELLO, "with the thumb in thumb position"),
        (Lock(hand=4.0), CELLO, "with the hand 4 half steps up"),
        (Lock(position=2, hand=4.0), CELLO, "in 2nd position"),
    ],
)
def test_a_lock_is_told_in_words(lock, instrument, words):
    assert lock.words(instrument) == words


CONFLICTS = [
    ("E5", {"n1": Lock(string=4)}, VIOLIN, None),
    ("G4", {"n1": Lock(string=1)}, VIOLIN, "G4 cannot be played on the E string"),
    ("G4", {"n1": Lock(string=1, finger=3)}, VIOLIN, "G4 cannot be played on the E string"),
    ("G4", {"n1": Lock(string=3, position=1, finger=2)}, VIOLIN,
     "G4 cannot be played in 1st position and with finger 2"),
    ("G4", {"n1": Lock(string=1, position=12)}, VIOLIN,
     "G4 cannot be played on the E string; G4 cannot be played in 12th position"),
    ("A4", {"n1": Lock(string=3, finger=0)}, VIOLIN, "A4 cannot be played on the D string and open"),
    ("C3", {"n1": Lock(finger=THUMB)}, VIOLA, "C3 cannot be played with the thumb"),
    ("E2", {"n1": Lock(string=1)}, CELLO, "E2 cannot be played on the A string"),
    ("[D4 A4]", {"n1": Lock(string=4), "n2": Lock(string=2)}, VIOLIN,
     "these locks do not go together: A4 on the A string, D4 on the G string"),
    ("[D4 A4]", {"n1": Lock(finger=1), "n2": Lock(finger=2)}, VIOLIN,
     "these locks do not go together: A4 finger 2, D4 finger 1"),
    ("A4/1~ A4~ A4", {"n1": Lock(string=2), "n3": Lock(string=3)}, VIOLIN,
     "A4 cannot be played on the A string and on the D string"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "locks", "instrument", "words"), CONFLICTS, ids=[case[0] for case in CONFLICTS])
def test_the_fewest_demands_that_conflict_are_named_in_words(text, locks, instrument, words):
    told = set(plan(text, "whole-board", instrument, locks).problems.values())
    assert told == (set() if words is None else {f"measure 1, beat 1: {words}"})


def test_what_can_be_kept_of_a_lock_is_kept():
    made = plan("G4 A4", "whole-board", locks={"n2": Lock(string=1, finger=2, position=3)})
    assert made.choice("n2").finger == 2
    assert made.choice("n2").position == 3
    assert "cannot be played on the E string" in made.problems["n2"]


def test_of_a_chords_locks_as_many_are_kept_as_can_be():
    """Three demands, of which one stands against the other two."""
    locks = {"n1": Lock(string=3, finger=0), "n2": Lock(string=3)}
    made = plan("[D4 A4]", "first", locks=locks)
    assert (made.choice("n1").string, made.choice("n1").finger) == (3, 0)
    assert set(made.problems) <= {"n1", "n2"}
    assert made.problems


def test_a_lock_of_a_note_that_stays_unfingered_all_the_same_changes_nothing():
    made = plan("A4 F3", locks={"n2": Lock(finger=1)})
    assert made.problems["n2"] == "measure 1, beat 2: the violin has no F3"
    assert played(made) == "A0 -"


def test_the_effort_of_a_plan_leaves_out_what_is_said_against_locks():
    made = plan("G4 A4 B4", locks={"n2": Lock(string=1)})
    assert made.effort < 50
    for note in made.part:
        assert all(abs(way.extra) < 50 for way in made.ways(note.id))


def test_locks_of_a_long_tied_note_that_all_conflict_leave_the_plan_sound():
    """Six tied notes, each asking for something else: many demands unmet at once."""
    text = "A4/1~ A4~ A4~ A4~ A4~ A4~ A4~ A4 B4"
    locks = {
        f"n{number}": Lock(string=1 + number % 4, position=number, finger=number % 5, hand=90.0 + number)
        for number in range(1, 9)
    }
    made = plan(text, "whole-board", locks=locks)
    chosen = made.choice("n1")
    asked = [demand for lock in locks.values() for demand in lock.demands()]
    kept = sum(demand.met_by(chosen) for demand in asked)
    every = placements(VIOLIN, Pitch.parse("A4"))
    assert kept == max(sum(demand.met_by(way) for demand in asked) for way in every)
    assert made.effort < 50
    assert all(abs(way.extra) < 1000 for way in made.ways("n9"))


@pytest.mark.parametrize("times", [2, 6, 8, 30])
def test_a_long_tied_note_whose_every_part_is_locked_alike_is_played_so(times):
    """Against any other way stand four demands a written note."""
    text = f"G4/1 {'A4/1~ ' * (times - 1)}A4 B4"
    for way in placements(VIOLIN, Pitch.parse("A4")):
        locks = {f"n{number}": Lock.on(way) for number in range(2, times + 2)}
        made = plan(text, "whole-board", locks=locks)
        assert Lock.on(made.choice("n2")) == Lock.on(way)
        assert made.problems == {}


def test_neighbours_that_are_all_locked_so_keep_their_ways_in_a_repeat():
    """Whatever stands against other ways adds up over neighbours and over what a repeat remembers."""
    names = ("G4", "A4", "B4", "C5", "B4", "A4")
    text = " ".join(f"{name}/1~ " * 7 + name for name in names)
    part = repeated(line(text), backs={3: 2, 7: 2, 11: 2})
    ways = [placements(VIOLIN, Pitch.parse(name))[-1] for name in names]
    locks = {f"n{8 * index + number}": Lock.on(way) for index, way in enumerate(ways) for number in range(1, 9)}
    made = plan(part, "whole-board", locks=locks)
    assert [Lock.on(made.choice(f"n{8 * index + 1}")) for index in range(6)] == [Lock.on(way) for way in ways]
    assert made.problems == {}
    easier = made.with_locks({})
    assert easier.with_locks(locks).effort == made.effort > easier.effort


def test_a_lock_binds_nothing_beyond_its_note():
    part = line("G4 A4 B4 r/8 G4 A4 B4")
    free, bound = plan(part), plan(part, locks={"n1": Lock(string=4)})
    assert played(bound).split()[3:] == played(free).split()[3:]


@settings(max_examples=200)
@given(strategies.instruments(), st.data())
def test_the_conflict_named_is_one_and_no_smaller_one_is(instrument, data):
    part = data.draw(strategies.parts(most=3, instrument=instrument))
    locks = data.draw(strategies.locked(part, most=3, instrument=instrument))
    made = plan(part, HouseRules(positions=tuple(range(13))), instrument, locks)
    for chain in made.chains:
        for stage in chain.stages:
            every, asked = made.setting.grips_of(stage), demands_on(stage, locks)
            conflict = least_conflict(every, asked)
            assert bool(conflict) == bool(asked and min(broken(grip, asked) for grip in every))
            assert not conflict or all(broken(grip, conflict) for grip in every)
            for fewer in itertools.combinations(dict.fromkeys(asked), max(len(conflict) - 1, 0)):
                assert any(not broken(grip, fewer) for grip in every)


def test_an_easier_way_is_told_as_cheaper_than_what_a_lock_holds():
    made = plan("F#4 G4 A4 G4 F#4", locks={"n3": Lock(finger=0)})
    easier = made.ways("n3")[0]
    freed = made.with_locks({})
    assert round(easier.extra * UNIT) == round((freed.effort - made.effort) * UNIT) < 0
