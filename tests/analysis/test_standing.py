"""Figures that come again: one way to play them wherever they stand, also a string over."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.fingering.locks import Lock
from analysis.fingering.plan import make_plan
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.stages import stages
from analysis.fingering.standing import events, line_figures, tuning_interval
from analysis.instruments import BASS, CELLO, VIOLA, VIOLIN
from tests import strategies
from tests.analysis.lines import line, plan

ALIKE = (("same_again", 20.0),)
FIGURE = "D5/1/2 E5 F#5 G5"
# Between low notes the figure lies in first position by itself, between high ones in third.
TWICE = f"E4/1/2 F#4 G4 A4 {FIGURE} E5 D5 C#5 B4 A4/1 r/2 A5/1/2 B5 C6 D6 {FIGURE} A5 B5 C6 D6"


def rules(*, same_again=True):
    return HouseRules(positions=(1, 3), same_again=same_again, weights=ALIKE)


def ways(made, first, count=4):
    choices = [made.choice(f"n{number}") for number in range(first, first + count)]
    return [(way.string, way.position, way.finger) for way in choices]


def test_a_figure_that_returns_is_played_with_the_same_fingers():
    made = plan(TWICE, rules())
    assert ways(made, 5) == ways(made, 18)


def test_without_the_rule_each_place_is_played_as_lies_best_there():
    made = plan(TWICE, rules(same_again=False))
    assert ways(made, 5) != ways(made, 18)
    assert not any(made.chains[0].line.standing)


def test_a_weight_of_nothing_switches_it_off_too():
    made = plan(TWICE, HouseRules(positions=(1, 3), weights=(("same_again", 0.0),)))
    assert not any(made.chains[0].line.standing)
    assert ways(made, 5) == ways(plan(TWICE, rules(same_again=False)), 5)


def test_a_passage_may_be_left_out_of_it():
    free = HouseRules(positions=(1, 3), weights=ALIKE, passage=[{"measures": "3-4", "same_again": False}])
    made = plan(TWICE, free)
    assert made.chains[0].line.rules[-1].same_again is False
    assert ways(made, 18) == ways(plan(TWICE, rules(same_again=False)), 18)


@pytest.mark.parametrize("instrument", [VIOLIN, VIOLA], ids=lambda one: one.key)
def test_a_figure_that_returns_a_fifth_lower_gets_the_same_fingers_one_string_over(instrument):
    """Common practice, no source."""
    text = "B4/1 C#5/1/2 D5 E5/3 D5/1 r/2 E4/1 F#4/1/2 G4 A4/3 G4/1"
    made = plan(text, rules(), instrument)
    here, lower = ways(made, 1, 5), ways(made, 6, 5)
    assert [(string + 1, position, finger) for string, position, finger in here] == lower


def test_on_the_bass_a_string_over_is_a_fourth():
    assert tuning_interval(BASS) == (3, 5)
    assert tuning_interval(CELLO) == tuning_interval(VIOLA) == tuning_interval(VIOLIN) == (4, 7)
    made = plan("A2/1 B2/1/2 A2/3/4 B2/1 r/2 E2/1 F#2/1/2 E2/3/4 F#2/1", HouseRules(positions=(0, 1)), BASS)
    (figure,) = line_figures(made.chains[0].line)
    assert (figure.length, figure.places) == (4, ((0, 0), (4, -1)))
    here, lower = ways(made, 1), ways(made, 5)
    assert [(string + 1, position, finger) for string, position, finger in here] == lower


def test_three_notes_that_come_again_are_no_figure():
    assert line_figures(plan("D5/1/2 E5 F#5 r/2 D5/1/2 E5 F#5").chains[0].line) == ()


def test_a_figure_in_another_rhythm_is_another_one():
    assert line_figures(plan("D5/1/2 E5 F#5 G5 r/2 D5/1 E5 F#5 G5").chains[0].line) == ()


def test_events_tell_pitches_lengths_slurs_and_rests():
    part = line("(G4/1 [A4 D5]/2) r/1 F#4/1")
    first, chord, last = events(stages(part, part.notes, 60.0))
    assert first.pitches == ((32, 67),)
    assert chord.pitches == ((36, 74), (33, 69))
    assert (chord.quarters, chord.slurred, chord.rest_before) == (2, True, 0)
    assert (last.slurred, last.rest_before) == (False, 1)


def test_a_figure_of_which_a_note_cannot_be_played_alike_keeps_the_rest_alike():
    """A fifth lower the open E string would have to be the A string: the note above G5 has no such place below."""
    text = "G5/1/2 A5 G5 F#5 C#6 D6 r/2 C5/1/2 D5 C5 B4 F#5 G5"
    made = plan(text, rules())
    standing = made.chains[0].line.standing
    assert any(standing)
    assert [way is None for way in standing[:6]] == [way is None for way in standing[6:]]


def test_locks_beyond_the_rules_on_every_note_of_a_figure_change_nothing_in_how_it_is_played_elsewhere():
    """Solved again or afresh, the locks are paid for as what they are: departures from how the figure is played."""
    text = "B4/1 C5 D5 E5 r/8 B4/1 C5 D5 E5"
    beyond = plan(text, HouseRules(positions=(1,)))
    locks = {note.id: Lock.on(beyond.choice(note.id)) for note in beyond.part}
    free = HouseRules(
        positions=(5,), home=5, weights=(("away_from_home", 0.0), ("start_away", 0.0), ("high_position", 20.0))
    )
    made = plan(text, free)
    again, afresh = made.with_locks(locks), plan(text, free, locks=locks)
    assert again.chains[0].line.standing == afresh.chains[0].line.standing == made.chains[0].line.standing
    assert again.effort == afresh.effort


@settings(max_examples=60)
@given(strategies.instruments(), st.data())
def test_a_line_with_figures_solved_again_under_locks_is_the_line_solved_afresh(instrument, data):
    text = data.draw(strategies.texts(least=4, most=6, instrument=instrument))
    part = line(f"{text} r/8 {text}", transpose=instrument.octave)
    made = make_plan(part, instrument, data.draw(strategies.rules()))
    half = len(part.notes) // 2
    for _ in range(2):
        locks = {}
        for first, second in zip(part.notes[:half], part.notes[half:], strict=True):
            kind = data.draw(st.sampled_from("nnobd"))
            ways = made.setting.ways_of(first)
            if kind != "n" and ways:
                lock = Lock.on(data.draw(st.sampled_from(ways)))
                locks |= {first.id: lock} if kind in "ob" else {}
                locks |= {second.id: lock} if kind in "db" else {}
        made = made.with_locks(locks)
        afresh = make_plan(part, instrument, made.setting.rules, locks)
        assert [chain.line.standing for chain in made.chains] == [chain.line.standing for chain in afresh.chains]
        assert list(made.choices()) == list(afresh.choices())
        assert made.effort == afresh.effort


@settings(max_examples=60)
@given(strategies.instruments(), st.data())
def test_a_line_played_twice_over_has_one_way_to_be_played(instrument, data):
    text = data.draw(strategies.texts(least=4, most=7, instrument=instrument))
    part = line(f"{text} r/8 {text}", transpose=instrument.octave)
    made = make_plan(part, instrument, HouseRules(positions=(0, 1, 2, 3, 4)))
    for chain in made.chains:
        standing = chain.line.standing
        for figure in line_figures(chain.line):
            for step in range(figure.length):
                shapes = {_shape(standing[start + step], over) for start, over in figure.places}
                assert len(shapes) == 1
                for start, _ in figure.places:
                    way = standing[start + step]
                    assert way is None or way in chain.grips[start + step]


def _shape(grip, over):
    return grip and tuple((way.string + over, way.hand, way.finger, way.place) for way in grip)
