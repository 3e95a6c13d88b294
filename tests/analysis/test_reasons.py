"""Why one way costs more than another: the parts add up, and the words say what a teacher would."""

from __future__ import annotations

from hypothesis import given, settings

from analysis.fingering.costs import UNIT
from analysis.fingering.locks import Lock
from analysis.fingering.plan import make_plan
from analysis.fingering.reasons import Difference, against, compare_paths, why_chosen
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.terms import TERMS
from analysis.instruments import VIOLIN
from tests import strategies
from tests.analysis.lines import plan, played


def _way(made, note_id, finger, string):
    (found,) = [
        way
        for way in made.ways(note_id)
        if (way.placement.finger, way.placement.string, way.placement.position) == (finger, string, 1)
    ]
    return found


def _by_term(way):
    return {item.term: item.thousandths for item in way.differences}


@settings(max_examples=50)
@given(strategies.parts(least=2, most=8), strategies.rules())
def test_the_differences_of_every_way_add_up_to_its_extra_exactly(part, rules):
    made = make_plan(part, VIOLIN, rules)
    for note in part:
        for way in made.ways(note.id):
            assert sum(item.thousandths for item in way.differences) == round(way.extra * UNIT)


@settings(max_examples=50)
@given(strategies.parts(least=2, most=8), strategies.rules())
def test_the_differences_of_any_path_are_what_it_costs_more(part, rules):
    made = make_plan(part, VIOLIN, rules)
    for chain in made.chains:
        paths = [[0] * len(chain.stages), list(chain.solution.path), [len(grips) - 1 for grips in chain.grips]]
        for path, found in zip(paths, compare_paths(chain, paths), strict=True):
            assert compare_paths(chain, [path]) == [found]
            more = chain.costs.path_effort(path) - chain.solution.effort
            assert sum(item.thousandths for item in found) == more
            assert len({item.term for item in found}) == len(found)
            assert all(item.thousandths for item in found)


def test_the_weightiest_difference_comes_first():
    made = plan("F#4 G4 A4 G4 F#4 B4 E5/4")
    for note in made.part:
        for way in made.ways(note.id):
            sizes = [abs(item.thousandths) for item in way.differences]
            assert sizes == sorted(sizes, reverse=True)


def test_the_same_path_differs_in_nothing():
    made = plan("G4 A4 B4")
    (chain,) = made.chains
    assert compare_paths(chain, [chain.solution.path]) == [()]


def test_an_open_string_for_one_note_costs_the_crossings_and_saves_the_fourth_finger():
    made = plan("F#4 G4 A4 G4 F#4")
    assert played(made) == "D2 D3 D4 D3 D2"
    found = _by_term(_way(made, "n3", 0, 2))
    assert {"crossing", "single_crossing", "open_string"} <= set(found)
    assert found["single_crossing"] > 0
    assert found["weak_finger"] < 0


def test_a_long_open_note_says_that_it_is_long_and_open():
    made = plan("B4 A4/4 B4/1")
    found = _way(made, "n2", 0, 2).differences
    assert found[0].says == "a long open string"
    assert against(found).startswith("Costs a long open string")


def test_a_term_without_weight_is_no_reason():
    made = plan("F#4 G4 A4 G4 F#4", HouseRules(positions=(1,), weights=(("single_crossing", 0.0),)))
    for way in made.ways("n3"):
        assert "single_crossing" not in _by_term(way)


def test_an_easier_way_that_a_lock_forbids_is_told_as_a_saving():
    made = plan("F#4 G4 A4 G4 F#4", locks={"n3": Lock(finger=0)})
    easier = made.ways("n3")[0]
    assert easier.extra < 0
    assert not easier.chosen
    assert _by_term(easier)["single_crossing"] < 0


def test_a_difference_is_told_in_units_too():
    assert Difference("crossing", "a string crossing", 1234).effort == 1.234


def test_what_a_way_costs_and_saves_is_one_sentence():
    costs = Difference("crossing", "a string crossing", 1200)
    more = Difference("shift", "a shift", 900)
    third = Difference("open_string", "an open string", 200)
    saves = Difference("weak_finger", "a weaker finger", -450)
    assert against([costs]) == "Costs a string crossing."
    assert against([costs, more, third]) == "Costs a string crossing and a shift."
    assert against([costs, saves]) == "Costs a string crossing, though it saves a weaker finger."
    assert against([saves, third]) == "Saves a weaker finger, though it costs an open string."
    assert against([saves]) == "Saves a weaker finger."
    assert against([]) == "As easy as the choice made."


def test_what_speaks_for_the_choice_is_what_its_rival_would_cost():
    costs = Difference("crossing", "a string crossing", 1200)
    saves = Difference("weak_finger", "a weaker finger", -450)
    assert why_chosen([costs, saves]) == "Spares a string crossing."
    assert why_chosen([]) == "As easy as the next best way."


def test_every_term_has_words_and_a_source():
    for term in TERMS:
        assert term.says
        assert not term.says.endswith(".")
        assert term.source
        assert term.span in (1, 2, 3)
    assert len({term.name for term in TERMS}) == len(TERMS)
