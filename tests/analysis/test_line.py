"""Seams: which stages are played one after the other where a section is repeated or has endings."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from analysis.fingering.costs import UNIT
from analysis.fingering.line import parted, seams
from analysis.fingering.locks import Lock
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.stages import GRACE_SECONDS, stages, voices
from analysis.fingering.terms import TERMS
from tests import strategies
from tests.analysis.lines import line, plan, played, positions, repeated


def found(part):
    """Every seam as (first, last, whether it goes back), by stages."""
    return [(seam.first, seam.last, seam.back) for seam in seams(part, stages(part, part.notes, 60.0), 60.0)]


def split(part):
    return set(parted(part, stages(part, part.notes, 60.0)))


FOUR_MEASURES = "G4/1 A4 B4 C5 D5 E5 F#5 G5"  # two notes a measure, in 2/4


def short(text=FOUR_MEASURES, **signs):
    return repeated(line(text, time=(2, 4)), **signs)


def test_a_line_without_repeats_has_no_seam():
    assert found(short()) == []
    assert split(short()) == set()


def test_a_repeated_section_leads_from_its_last_note_back_to_its_first():
    part = short(starts=(1,), backs={2: 2})
    assert found(part) == [(2, 5, True)]
    assert split(part) == set()


def test_without_a_sign_at_its_beginning_a_section_begins_with_the_part():
    assert found(short(backs={2: 2})) == [(0, 5, True)]


def test_without_a_sign_at_its_beginning_a_section_begins_after_the_one_before():
    assert found(short(backs={1: 2, 3: 2})) == [(0, 3, True), (4, 7, True)]


def test_how_often_a_section_is_played_adds_no_seam():
    assert found(short(backs={1: 4})) == found(short(backs={1: 2}))


def test_two_endings_lead_back_from_the_first_and_over_it_to_the_second():
    part = short(backs={2: 2}, endings={2: (1,), 3: (2,)})
    assert found(part) == [(0, 5, True), (3, 6, False)]
    assert split(part) == {5}


def test_three_endings_each_follow_the_notes_before_the_first():
    part = short("G4/1 A4 B4 C5 D5 E5 F#5 G5 A5 B5", backs={2: 2, 3: 2}, endings={2: (1,), 3: (2,), 4: (3,)})
    assert found(part) == [(0, 5, True), (0, 7, True), (3, 6, False), (3, 8, False)]
    assert split(part) == {5, 7}


def test_an_ending_may_be_played_more_than_once_and_last_several_measures():
    part = short("G4/1 A4 B4 C5 D5 E5 F#5 G5", backs={2: 3}, endings={1: (1, 2), 2: (1, 2), 3: (3,)})
    assert found(part) == [(0, 5, True), (1, 6, False)]
    assert split(part) == {5}


def test_a_section_after_endings_begins_behind_the_last_of_them():
    """The last ending has no sign at its end: a later repeat without a sign at its beginning goes back over it."""
    signs = {"backs": {1: 2, 4: 2}, "endings": {1: (1,), 2: (2,)}}
    text = "G4/1 A4 B4 C5 D5 E5 F#5 G5 A5 B5"
    assert found(short(text, starts=(3,), **signs)) == [(0, 3, True), (1, 4, False), (6, 9, True)]


def test_a_section_of_one_note_comes_back_to_itself():
    part = repeated(line("G4/4 A4 B4"), starts=(1,), backs={1: 2})
    assert found(part) == [(1, 1, True)]


def test_a_section_of_rests_has_no_seam():
    assert found(short("G4/1 A4 r/2 B4/1 C5", starts=(1,), backs={1: 2})) == []


def test_endings_of_rests_lead_back_and_on_to_what_comes_after_them():
    part = short("G4/1 A4 B4 C5 r/2 r/2 D5/1", backs={2: 2}, endings={2: (1,), 3: (2,)})
    assert found(part) == [(0, 3, True), (3, 4, False)]
    assert split(part) == {3}


def test_endings_after_nothing_but_rests_lead_back_but_not_over():
    part = short("r/4 B4/1 C5 D5 E5", backs={2: 2}, endings={2: (1,), 3: (2,)})
    assert found(part) == [(0, 1, True)]


def test_an_empty_ending_leads_on_to_what_comes_after_it():
    part = short("G4/1 A4 B4 C5 r/2 D5/1 E5", backs={1: 2}, endings={1: (1,), 2: (2,)})
    assert found(part) == [(0, 3, True), (1, 4, False)]
    assert split(part) == {3}


def test_a_tie_over_the_barline_belongs_to_where_it_is_struck():
    part = short("G4/1 A4~ A4 C5 D5 E5", backs={1: 2})
    assert found(part) == [(0, 2, True)]


def test_a_seam_takes_the_rests_at_its_end_and_at_its_beginning_for_time():
    part = repeated(line("r/1 G4 A4/1/2 r/3/2 B4/4", tempo=60), backs={0: 2})
    (seam,) = seams(part, stages(part, part.notes, 60.0), 60.0)
    assert (seam.first, seam.last) == (0, 1)
    # An eighth note, then a rest of three eighths, then the quarter rest with which the section begins.
    assert seam.arrival.seconds_rest == 2.5
    assert seam.arrival.seconds_since == 3.0


def test_a_seam_between_notes_that_fill_their_measures_has_no_rest():
    part = short(backs={1: 2})
    made = stages(part, part.notes, 60.0)
    (seam,) = seams(part, made, 60.0)
    assert seam.arrival.seconds_rest == 0
    assert seam.arrival.seconds_since == 1.0
    assert (seam.arrival.heads, seam.arrival.quarters) == (made[0].heads, made[0].quarters)


def test_nothing_is_slurred_or_held_over_a_seam():
    part = short("(G4/1 A4 B4 C5 D5 E5)", backs={1: 2}, endings={1: (1,), 2: (2,)})
    made = seams(part, stages(part, part.notes, 60.0), 60.0)
    assert [seam.back for seam in made] == [True, False]
    assert not any(seam.arrival.slurred or seam.arrival.held or seam.arrival.alternates for seam in made)


def _seam_cost(text, **signs):
    """What the chosen fingering pays over its one seam, in units."""
    made = plan(repeated(line(text, time=(2, 4)), **signs), HouseRules(positions=(1, 3)))
    (link,) = made.chains[0].costs.links
    path = made.chains[0].solution.path
    return int(link.effort[path[link.first], path[link.last]]) / UNIT


def test_a_rest_at_the_seam_makes_it_cheap():
    joined = _seam_cost("G3/1 A3 A3 E5", backs={1: 2})
    parted_by_rest = _seam_cost("G3/1 A3 A3 E5/1/2 r", backs={1: 2})
    assert 0 < parted_by_rest < joined


def test_the_way_back_is_paid_in_the_direction_it_is_played():
    """Crossing to a lower string is dearer than to a higher one: back from the E to the D string, or the other way."""
    locks = {"n1": Lock(string=3), "n4": Lock(string=1)}
    down = plan(short("F#4/1 G4 B4 F#5", backs={1: 2}), locks=locks)
    up = plan(short("F#5/1 B4 G4 F#4", backs={1: 2}), locks={"n1": Lock(string=1), "n4": Lock(string=3)})
    (falling,), (rising,) = down.chains[0].costs.links, up.chains[0].costs.links
    cost_down = int(falling.effort[down.chains[0].solution.path[0], down.chains[0].solution.path[3]])
    cost_up = int(rising.effort[up.chains[0].solution.path[0], up.chains[0].solution.path[3]])
    assert cost_down > cost_up > 0


def test_a_seam_is_paid_by_the_rules_where_it_arrives():
    nothing = dict.fromkeys((term.name for term in TERMS if term.span == 2), 0.0)
    efforts = []
    for measure in ("1", "2"):
        rules = HouseRules(positions=(1, 3), passage=[{"measures": measure, "weights": nothing}])
        (link,) = plan(short("G3/1 A3 A3 E5", backs={1: 2}), rules).chains[0].costs.links
        efforts.append(int(link.effort.max()))
    assert efforts[0] == 0 < efforts[1]


def test_two_endings_cost_nothing_from_one_to_the_other():
    part = short(backs={2: 2}, endings={2: (1,), 3: (2,)})
    chain = plan(part, "two-homes").chains[0]
    assert not chain.costs.pair[5].any()
    assert not chain.costs.triple[4].any()
    assert not chain.costs.triple[5].any()
    assert chain.costs.pair[4].any()
    assert chain.costs.pair[6].any()


def test_the_hand_starts_where_the_repeat_will_need_it():
    """Played once, the line ends in third position; repeated, it would shift at every time round."""
    rules = HouseRules(positions=(1, 3), weights=(("away_from_home", 0.2), ("start_away", 0.2)))
    text = "D5/1/2 E5 F#5 G5 A5/1/2 B5 C6 D6"
    once = plan(line(text, time=(4, 4)), rules)
    again = plan(repeated(line(text, time=(4, 4)), backs={0: 2}), rules)
    assert positions(again)[-1] == positions(once)[-1] == 3
    assert again.effort >= once.effort
    assert positions(again)[0] == 3
    assert played(again) != ""


@settings(max_examples=200)
@given(strategies.parts(least=1, most=14, seams=True, voices=2))
def test_seams_are_in_order_and_every_end_is_a_stage(part):
    for notes in voices(part).values():
        made = stages(part, notes, 88.0)
        for seam in seams(part, made, 88.0):
            assert 0 <= seam.first <= seam.last < len(made)
            arrived = made[seam.first if seam.back else seam.last]
            assert seam.arrival.heads == arrived.heads
            assert seam.arrival.seconds_since >= GRACE_SECONDS
            assert seam.arrival.seconds_rest >= 0
            if seam.back:
                assert part.measures[made[seam.last].measure].index <= max(
                    measure.index for measure in part.measures if measure.repeat_back
                )
        for k in parted(part, made):
            here, there = made[k].measure, made[k + 1].measure
            assert any(m.repeat_back and m.endings for m in part.measures[here:there])


@pytest.mark.parametrize("backs", [{0: 2}, {1: 2}, {3: 2}])
def test_the_efforts_of_the_notes_and_seams_add_up(backs):
    made = plan(short(backs=backs), "two-homes")
    own = sum(made.own_effort(note.id) for note in made.part)
    assert round(own * UNIT) == round(made.effort * UNIT)
