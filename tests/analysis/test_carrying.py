"""Carrying a fingering to music that comes again.

A passage that returns a fifth lower or higher is played with the same fingers one string over, in the same position:
common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.fingering.carrying import carried, move, string_over, strings_over
from analysis.fingering.locks import Lock
from analysis.fingering.plan import Plan
from analysis.instruments import BASS, BASS5, CELLO, INSTRUMENTS, VIOLA, VIOLIN
from analysis.music import Pitch
from tests.analysis.lines import line, plan, played, positions
from tests.strategies import parts

TUNE = "A4/1 B4 C#5 D5 E5 F#5 E5 C#5"
FIFTH_LOWER = "D4/1 E4 F#4 G4 A4 B4 A4 F#4"


def ids(first: int, count: int) -> list[str]:
    return [f"n{number}" for number in range(first, first + count)]


def carried_on(made: Plan, count: int, at: int | None = None) -> Plan:
    """The plan with the fingering of its first ``count`` notes carried to those from note ``at`` on."""
    found = carried(made, made, ids(at or count + 1, count), ids(1, count))
    return made.with_locks({**made.locks, **found.locks})


def fingers(made: Plan, first: int, count: int) -> list[str]:
    return played(made).split()[first - 1 : first - 1 + count]


@pytest.mark.parametrize("position", [1, 3])
def test_a_passage_a_fifth_lower_gets_the_same_fingers_one_string_over_in_the_same_position(position):
    tune = "B4/1 C#5 D5 E5 F#5 E5 D5 C#5" if position == 1 else "D5/1 E5 F#5 G5 A5 G5 F#5 E5"
    lower = "E4/1 F#4 G4 A4 B4 A4 G4 F#4" if position == 1 else "G4/1 A4 B4 C5 D5 C5 B4 A4"
    locks = {note_id: Lock(position=position) for note_id in ids(1, 8)}
    made = carried_on(plan(f"{tune} r/4 {lower}", "two-homes", locks=locks), 8)
    over = {"E": "A", "A": "D", "D": "G"}
    assert not made.problems
    assert fingers(made, 9, 8) == [over[word[0]] + word[1] for word in fingers(made, 1, 8)]
    assert positions(made)[8:] == positions(made)[:8]


def test_the_same_music_gets_just_the_same_fingering():
    locks = {"n1": Lock(string=3, finger=4), "n5": Lock(string=2, finger=4), "n3": Lock(position=3)}
    made = carried_on(plan(f"{TUNE} r/4 {TUNE}", "two-homes", locks=locks), 8)
    assert not made.problems
    assert fingers(made, 9, 8) == fingers(made, 1, 8)
    assert made.choice("n11") == made.choice("n3")


def test_what_would_go_over_the_edge_of_the_strings_is_left_out_with_its_place():
    """A fifth over the E string there is none."""
    locks = {note_id: Lock(string=1) for note_id in ("n3", "n4")}
    made = plan("A4/1 B4 E5 F#5 r/4 E5/1 F#5 B5 C#6", "whole-board", locks=locks)
    found = carried(made, made, ids(5, 4), ids(1, 4))
    assert set(found.locks) == {"n5", "n6"}
    assert found.left_out["n7"] == "measure 3, beat 3: B5 has no string to go over to from the E string"
    assert set(found.left_out) == {"n7", "n8"}


def test_a_step_higher_in_the_key_the_fingers_stay_where_the_rules_let_them():
    made = plan("B4/1 C#5 D5 E5 r/4 C#5/1 D5 E5 F#5", "whole-board", locks={"n4": Lock(finger=4)})
    found = carried(made, made, ids(5, 4), ids(1, 4))
    assert [found.locks[note_id] for note_id in ids(5, 4)] == [Lock(finger=number) for number in (1, 2, 3, 4)]
    after = carried_on(made, 4)
    assert not after.problems
    assert [word[1] for word in fingers(after, 5, 4)] == ["1", "2", "3", "4"]


def test_a_finger_that_the_rules_have_no_way_with_is_left_out():
    """In first position no first finger takes C sharp."""
    made = plan("B4/1 C#5 D5 E5 r/4 C#5/1 D5 E5 F#5", "first", locks={"n4": Lock(finger=4)})
    found = carried(made, made, ids(5, 4), ids(1, 4))
    assert not found.locks
    assert found.left_out["n5"] == ("measure 3, beat 1: C#5 cannot be played with finger 1 under the house rules")


def test_an_open_string_is_carried_to_open_strings_only():
    made = plan("A4/1 B4 r/2 B4/1 C#5 r/2 D4/1 E4", "first")
    found = carried(made, made, ["n3", "n4", "n5", "n6"], ["n1", "n2", "n1", "n2"])
    assert found.left_out["n3"] == "measure 2, beat 1: B4 is on no open string"
    assert found.locks["n5"] == Lock(string=3, finger=0)


def test_in_minor_the_finger_is_the_same_only_low():
    """F sharp and F are the second finger on the D string, high and low (stringskills.com, on finger patterns)."""
    made = carried_on(plan("D4/1 E4 F#4 G4 r/4 D4/1 E4 F4 G4", "first"), 4)
    assert fingers(made, 5, 4) == ["D0", "D1", "D2", "D3"]
    assert made.locks["n7"] == Lock.on(made.choice("n7"))


def test_a_bass_goes_over_by_fourths():
    """The bass is tuned in fourths (HyperPhysics, double bass)."""
    lower = plan(line("E3/1 F#3 r/2 B2/1 C#3", transpose=-12), "two-homes", BASS)
    found = carried(lower, lower, ["n3", "n4"], ["n1", "n2"])
    assert {lock.string for lock in found.locks.values()} == {lower.choice("n1").string + 1}
    assert not found.left_out


def test_a_viola_takes_over_what_a_violin_plays_on_the_strings_they_share():
    violin = plan("E4/1 F#4 G4 A4 B4 C#5 D5 B4", "first")
    viola = plan("E4/1 F#4 G4 A4 B4 C#5 D5 B4", "whole-board", VIOLA, locks={"n1": Lock(string=4)})
    found = carried(violin, viola, ids(1, 8), ids(1, 8))
    after = viola.with_locks(found.locks)
    assert not found.left_out
    assert not after.problems
    assert played(after) == played(violin)
    assert positions(after)[0] == 1


def test_a_note_without_fingering_has_nothing_to_take_over():
    made = plan("G3/1 A3 F3/2 r/4 G3/1 A3 F3/2", "first")
    found = carried(made, made, ids(4, 3), ids(1, 3))
    assert set(found.locks) == {"n4", "n5"}
    assert found.left_out["n6"] == ("measure 3, beat 3: F3 has no fingering to take over from measure 1, beat 3: F3")


def test_a_chord_goes_over_note_by_note():
    made = carried_on(plan("[A4 F#5]/1 [B4 G5] r/2 [D4 B4]/1 [E4 C5] r/2", "first"), 4)
    assert not made.problems
    assert fingers(made, 5, 4) == [{"E": "A", "A": "D"}[word[0]] + word[1] for word in fingers(made, 1, 4)]


def test_a_note_that_is_tied_on_follows_the_one_before():
    made = plan("B4/1~ B4/1 C#5/2 r/4 B4/1~ B4/1 C#5/2", "first")
    found = carried(made, made, ids(4, 3), ids(1, 3))
    assert set(found.locks) == {"n4", "n6"}
    assert not found.left_out


@pytest.mark.parametrize(("text", "count"), [("[B3 F4]/1 r/3 [B3 F4]/1", 2), ("A4/1^B4 r/3 A4/1^B4", 1)])
def test_a_chord_spelled_otherwise_and_a_trill_left_out_are_carried_as_they_are_played(text, count):
    made = plan(text, "first")
    found = carried(made, made, ids(count + 1, count), ids(1, count))
    assert list(found.locks.values()) == [Lock.on(made.choice(note_id)) for note_id in ids(1, count)]


def test_a_harmonic_is_carried_to_harmonics_only():
    """In fourth position the fourth finger touches the middle of the string, or stops the octave."""
    made = plan("A5/1o r/3 D5/1o r/3 D5/1", "whole-board", locks={"n1": Lock(string=2, position=4)})
    found = carried(made, made, ["n2", "n3"], ["n1", "n1"])
    assert found.locks["n2"] == Lock.on(replace(made.choice("n1"), string=3))
    assert "n3" in found.left_out


def test_a_quarter_tone_takes_no_finger_over():
    part = line("B4/1 C5 r/2 B4/1 C5")
    raised = replace(part.notes[2], pitch=Pitch("B", Fraction(1, 2), 4))
    made = plan(replace(part, notes=(*part.notes[:2], raised, part.notes[3])), "first")
    found = carried(made, made, ["n3", "n4"], ["n1", "n2"])
    assert set(found.locks) == {"n4"}
    assert "has not the pitch for finger 1" in found.left_out["n3"]


def test_rows_of_unlike_length_are_refused():
    made = plan(TUNE)
    with pytest.raises(ValueError, match="zip"):
        carried(made, made, ["n1", "n2"], ["n1"])


def test_moves_are_counted_as_they_sound():
    """A bass sounds an octave below what is written (baroque-music.com, contrabass)."""
    bass, cello = line("D3/1", transpose=-12), line("D3/1")
    assert move(bass, bass.notes[0], cello, cello.notes[0]) == (-7, -12)


@pytest.mark.parametrize(
    ("instrument", "moved", "strings"),
    [
        (VIOLIN, (4, 7), 1),
        (VIOLIN, (-4, -7), 1),
        (VIOLA, (-8, -14), 2),
        (CELLO, (4, 7), 1),
        (BASS, (3, 5), 1),
        (BASS, (4, 7), 0),
        (BASS5, (-2, -4), 1),
        (VIOLIN, (3, 5), 0),
        (VIOLIN, (4, 8), 0),
    ],
)
def test_strings_lie_a_fifth_apart_those_of_a_bass_a_fourth(instrument, moved, strings):
    """Tunings: music21's instrument classes; five-string bass down to C1 (baroque-music.com, contrabass)."""
    assert strings_over(instrument, moved) == strings


def test_only_a_string_with_that_very_note_is_the_next_one():
    assert string_over(VIOLIN, 2, VIOLIN, (-4, -7)) == 3
    assert string_over(VIOLIN, 1, VIOLIN, (4, 7)) is None
    assert string_over(VIOLIN, 2, VIOLA, (0, 0)) == 1
    assert string_over(BASS5, 3, BASS5, (-2, -4)) is None


@given(st.data())
@settings(max_examples=50)
def test_whatever_the_music_each_note_struck_gets_a_way_that_exists_or_a_word_why_not(data):
    instrument = data.draw(st.sampled_from(INSTRUMENTS))
    part = data.draw(parts(least=2, most=10, instrument=instrument))
    made = plan(part, data.draw(st.sampled_from(("first", "two-homes", "whole-board"))), instrument)
    later = [note.id for note in part.notes]
    again = data.draw(st.permutations(later))
    found = carried(made, made, later, again)
    assert set(found.locks).isdisjoint(found.left_out)
    assert {note.id for note in part.notes if not note.tied_from} == {*found.locks, *found.left_out}
    for note_id, lock in found.locks.items():
        note = part.note(note_id)
        ways = (*made.setting.ways_of(note), *made.setting.ways_of(note, any_spelling=True), *made.placements(note_id))
        assert any(lock.admits(way) for way in ways)
        assert lock.finger == made.choice(again[later.index(note_id)]).finger


@given(st.data())
@settings(max_examples=50)
def test_what_is_carried_to_itself_is_what_it_is(data):
    instrument = data.draw(st.sampled_from(INSTRUMENTS))
    part = data.draw(parts(least=1, most=10, instrument=instrument))
    made = plan(part, "whole-board", instrument)
    later = [note.id for note in part.notes if made.struck(note.id)]
    found = carried(made, made, later, later)
    assert dict(found.locks) == {note_id: Lock.on(made.choice(note_id)) for note_id in later if note_id in found.locks}
    assert all(part.note(note_id).tied_from for note_id in later if note_id not in found.locks)
