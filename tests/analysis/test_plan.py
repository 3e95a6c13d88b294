"""Plans: what must hold of every one of them, after every kind of edit."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from analysis.fingering.locks import Lock
from analysis.fingering.plan import make_plan
from analysis.fingering.rules.files import PRESETS, preset
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.terms import TERM_NAMES
from analysis.instruments import BASS, BASS5, CELLO, guess_instrument
from engraving.document import open_document
from engraving.reading import read_score
from tests import strategies
from tests.analysis.invariants import extra_is_not_what_the_plan_pays, lone_notes, offenders
from tests.analysis.lines import line, plan, played
from tests.engraving.corpus import corpus_folder


def examples(count: int) -> settings:
    quiet = [HealthCheck.too_slow, HealthCheck.data_too_large]
    return settings(max_examples=count, deadline=None, suppress_health_check=quiet)


@examples(60)
@given(strategies.instruments(), st.data())
def test_a_fresh_plan_breaks_no_rule(instrument, data):
    part = data.draw(strategies.parts(most=8, voices=2, instrument=instrument, seams=data.draw(st.booleans())))
    assert offenders(make_plan(part, instrument, data.draw(strategies.rules()))) == []


@examples(50)
@given(strategies.instruments(), st.data())
def test_a_plan_in_which_the_transposition_changes_breaks_no_rule(instrument, data):
    part = data.draw(strategies.parts(most=8, instrument=instrument).flatmap(strategies.transposed))
    assert offenders(make_plan(part, instrument, data.draw(strategies.rules()))) == []


@examples(60)
@given(strategies.instruments(), st.data())
def test_a_plan_breaks_no_rule_after_any_row_of_edits(instrument, data):
    """Locks laid on, changed, laid beyond the rules, against the instrument, and taken off again."""
    part = data.draw(strategies.parts(most=6, voices=2, instrument=instrument, seams=True))
    made = make_plan(part, instrument, data.draw(strategies.rules()))
    for _ in range(data.draw(st.integers(1, 4))):
        made = made.with_locks(data.draw(strategies.locked(part, most=4, instrument=instrument)))
        assert offenders(made) == []


@examples(80)
@given(strategies.instruments(), st.data())
def test_a_way_costs_what_the_plan_pays_when_it_is_locked_so(instrument, data):
    part = data.draw(strategies.parts(least=2, most=8, instrument=instrument, seams=data.draw(st.booleans())))
    locks = data.draw(strategies.locked(part, most=2, instrument=instrument))
    made = make_plan(part, instrument, data.draw(strategies.rules()), locks)
    ids = lone_notes(made)
    if ids:
        note_id = data.draw(st.sampled_from(ids))
        ways = made.ways(note_id)
        assert [extra_is_not_what_the_plan_pays(made, note_id, way) for way in ways] == [None] * len(ways)


def test_where_two_grips_are_as_easy_the_way_played_is_still_the_chosen_one():
    """Of two equal grips of the chord with one placement of the lower note, the plan plays the second."""
    off = tuple((term, 0.0) for term in TERM_NAMES if term not in ("span_of_hand", "single_shift"))
    made = plan("E4 Bb5 [Db4 E#4] Db4", HouseRules(positions=(2, 5), home=5, weights=off))
    assert offenders(made) == []


def test_a_held_open_string_lets_the_hand_shift():
    """The open A rings on while the hand goes from first to third position on the E string."""
    locks = {"n2": Lock(position=1), "n4": Lock(position=3)}
    made = plan("[A4~ F#5] [A4 C#6]", "two-homes", locks=locks)
    assert played(made) == "A0 E1 A0 E3"
    assert made.effort < 10
    assert offenders(made) == []


@pytest.mark.parametrize(
    ("instrument", "text", "fingers"),
    [(CELLO, "G2 A2 B2 C3", "G0 G1 G3 G4"), (BASS, "G2 A2 Bb2", "G0 G1 G2"), (BASS5, "C1 D1 Eb1", "C0 C1 C2")],
)
def test_cello_and_bass_are_fingered_in_their_own_frames(instrument, text, fingers):
    """First-position charts: sources beside them in charts.json."""
    made = plan(text, HouseRules(positions=(1,)), instrument)
    assert played(made) == fingers
    assert made.problems == {}
    assert offenders(made) == []


def test_the_players_of_a_divided_chord_are_fingered_each_by_himself():
    """Undivided, the second that both notes lie on one string for cannot be held."""
    assert played(plan("[G3 A3]/1")) == "- -"
    made = plan("{div} [G3 A3]/1")
    assert played(made) == "G0 G1"
    assert len(made.chains) == 2


def test_a_lock_that_moves_a_held_note_is_kept_and_says_what_that_costs():
    made = plan(
        "[G4~ D5] [G4 D5]", HouseRules(positions=(1, 3)), locks={"n1": Lock(position=1), "n3": Lock(position=3)}
    )
    assert [made.choice("n1").position, made.choice("n3").position] == [1, 3]
    easier = made.ways("n3")[0]
    assert easier.differences[0].term == "held_note"
    assert extra_is_not_what_the_plan_pays(made, "n3", easier) is None


def test_a_chord_that_no_hand_holds_is_told_for_every_note_of_it_whatever_is_locked():
    made = plan("[G3 A3] B3", locks={"n1": Lock(finger=0)})
    assert made.problems["n1"] == made.problems["n2"] == "measure 1, beat 1: G3 and A3 cannot be held together"
    assert played(made) == "- - G2"


def test_an_empty_part_has_an_empty_plan():
    made = plan("r/4")
    assert list(made.choices()) == []
    assert made.effort == 0
    assert made.counts.notes == 0


@pytest.mark.parametrize(
    ("words", "rules", "problem"),
    [
        ("A4/4 F3", "whole-board", "measure 2, beat 1: the violin has no F3"),
        ("A4/2 E6", "first", "measure 1, beat 3: E6 is out of reach under the house rules"),
        ("A4 [B4 G#5 E6]", "first", "measure 1, beat 2: B4, G#5 and E6 are out of reach under the house rules"),
        ("A4 [G3 A3]", "whole-board", "measure 1, beat 2: G3 and A3 cannot be held together"),
    ],
)
def test_a_note_that_cannot_be_fingered_is_told_with_its_measure_and_the_rest_is_played(words, rules, problem):
    made = plan(words, rules)
    assert set(made.problems.values()) == {problem}
    assert played(made).split()[0] != "-"
    assert set(played(made).split()[1:]) == {"-"}


def test_a_lock_that_cannot_be_kept_is_named_and_the_note_played_all_the_same():
    made = plan("G4 A4", locks={"n1": Lock(string=1), "n2": Lock(string=3, finger=4)})
    assert made.problems == {"n1": "measure 1, beat 1: G4 cannot be played on the E string"}
    assert played(made) == "D3 D4"


def test_a_lock_fixes_just_what_it_names():
    made = plan("G4 A4 B4 C5", "two-homes", locks={"n1": Lock(position=3), "n3": Lock(string=3)})
    assert made.choice("n1").position == 3
    assert made.choice("n3").string == 3


def test_a_lock_on_a_tied_note_holds_for_the_whole_note():
    made = plan("G4 A4/3~ A4/1", locks={"n3": Lock(finger=0)})
    assert made.choice("n2").finger == made.choice("n3").finger == 0


def test_a_written_octave_is_played_where_it_sounds():
    made = plan(line("A5 B5", transpose=-12))
    assert played(made) == played(plan("A4 B4"))


@pytest.mark.parametrize(("transpose", "sounding"), [(-2, "G4 A4 Bb4"), (3, "C5 D5 Eb5"), (-12, "A3 B3 C4")])
def test_a_part_that_transposes_is_fingered_as_it_sounds(transpose, sounding):
    made = plan(line("A4 B4 C5", transpose=transpose))
    assert played(made) == played(plan(sounding))
    assert made.problems == {}


def test_the_ways_beyond_the_rules_are_offered_apart():
    made = plan("G4 A4", "first")
    others = made.other_placements("n1")
    assert all(way.position != 1 for way in others)
    assert (4, 3, 4) not in {(way.string, way.position, way.finger) for way in others}
    assert {way.placement.finger for way in made.ways("n1")} == {3}
    assert (3, 3, 1) in {(way.string, way.position, way.finger) for way in others}


def test_an_unknown_note_has_no_choice_and_no_ways():
    made = plan("G4 A4")
    assert made.choice("n9") is None
    assert made.ways("n9") == ()
    assert not made.struck("n9")
    assert made.with_locks({"n9": Lock(finger=1)}).effort == made.effort


def test_a_plan_is_a_value_that_no_edit_changes():
    made = plan("G4 A4 B4")
    before = (played(made), made.effort, dict(made.locks))
    made.with_locks({"n2": Lock(finger=0)})
    assert (played(made), made.effort, dict(made.locks)) == before
    with pytest.raises(TypeError):
        made.locks["n1"] = Lock(finger=1)


@pytest.mark.sweep
@pytest.mark.parametrize("rules", PRESETS)
@pytest.mark.parametrize("name", ["mozart/k155/movement1.mxl", "haydn/opus1no1/movement3.mxl"])
def test_the_ways_of_quartet_parts_and_edits_in_them_break_no_rule(name, rules):
    """Movements with double stops, ties, grace notes, repeats and high positions."""
    parts = read_score(open_document(corpus_folder() / name)).parts
    assert len(parts) == 4
    for part in parts[::3]:
        instrument = guess_instrument(part.name)
        made = make_plan(part, instrument, preset(rules))
        ids = [note.id for note in part if note.id in made]
        edited = made.with_locks({ids[len(ids) // 2]: Lock.on(made.ways(ids[len(ids) // 2])[-1].placement)})
        assert offenders(edited, with_ways=False) == []
        assert offenders(make_plan(part.within(8, 9), instrument, preset(rules))) == []
