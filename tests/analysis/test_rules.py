"""House rules: the presets, the files, and what is said of a file that does not fit."""

from __future__ import annotations

import json
from dataclasses import fields
from fractions import Fraction

import pytest
from hypothesis import given

from analysis.errors import HouseRuleError, UnknownNameError
from analysis.fingering.placements import placements
from analysis.fingering.rules.files import PRESETS, find_rules, parse_rules, preset, rules_from, rules_to
from analysis.fingering.rules.house import RULE_SENTENCES, HouseRules
from analysis.fingering.terms import TERM_NAMES
from analysis.instruments import VIOLIN
from analysis.music import Pitch
from tests import strategies
from tests.analysis.lines import plan, played


@pytest.mark.parametrize("name", PRESETS)
def test_every_preset_loads_under_its_own_name_with_a_title(name):
    rules = preset(name)
    assert rules.name == name
    assert rules.title not in ("", name)
    assert find_rules(name) == rules


def test_the_presets_go_from_first_position_to_any():
    assert [preset(name).positions for name in PRESETS] == [(1,), (1, 3), (1, 3), tuple(range(13))]
    assert [preset(name).home for name in PRESETS] == [1, 3, 1, 1]


def test_the_rules_without_a_file_are_first_and_third_position():
    assert HouseRules().positions == preset("two-homes").positions
    assert HouseRules().longest_open == 2


def test_an_unknown_preset_is_named_beside_those_there_are():
    with pytest.raises(UnknownNameError, match=r"no house rules 'fourth'; there is first, third, first-third, any"):
        preset("fourth")


def test_every_rule_has_its_sentence():
    assert list(RULE_SENTENCES) == [rule.name for rule in fields(HouseRules)]
    assert all(sentence.endswith(".") for sentence in RULE_SENTENCES.values())


def test_a_file_of_rules_is_read_and_what_it_leaves_out_keeps_its_default(tmp_path):
    path = tmp_path / "ours.toml"
    path.write_text(
        'name = "ours"\npositions = [3, 1]\nlongest_open = "3/2"\nnever_open = [1]\ntempo = 72\n'
        "[weights]\ncrossing = 2\nshift = 0.5\n",
        encoding="utf-8",
    )
    rules = find_rules(str(path))
    assert rules == HouseRules(
        name="ours",
        positions=(1, 3),
        longest_open=Fraction(3, 2),
        never_open=(1,),
        tempo=72.0,
        weights=(("crossing", 2.0), ("shift", 0.5)),
    )
    assert rules.title == "ours"
    assert rules.home == 1


# One wrong line, what the message must name, and what it must say.
WRONG = [
    ("colour = 1", "colour", "no rule 'colour'; there is name, title, positions"),
    ("name = 3", "name", "must be a text in quotation marks"),
    ("title = false", "title", "must be a text in quotation marks"),
    ("positions = 1", "positions", "must be a list of whole numbers from 0 to 12"),
    ("positions = []", "positions", "is empty; the hand needs at least one position"),
    ("positions = [1, 13]", "positions", "must be a list of whole numbers from 0 to 12"),
    ("positions = [1.5]", "positions", "must be a list of whole numbers from 0 to 12"),
    ("positions = [true]", "positions", "must be a list of whole numbers from 0 to 12"),
    ("positions = ['1']", "positions", "must be a list of whole numbers from 0 to 12"),
    ("home = 2", "home", "is position 2, but positions allows only [1, 3]"),
    ("home = 'first'", "home", "is 'first'; it must be a whole number from 0 to 12"),
    ("home = -1", "home", "must be a whole number from 0 to 12"),
    ("home = true", "home", "must be a whole number from 0 to 12"),
    ("longest_open = 'two'", "longest_open", "must be a number of quarter notes such as 2 or '3/2'"),
    ("longest_open = '1/0'", "longest_open", "must be a number of quarter notes"),
    ("longest_open = -1", "longest_open", "must be a number of quarter notes"),
    ("longest_open = nan", "longest_open", "must be a number of quarter notes"),
    ("longest_open = inf", "longest_open", "must be a number of quarter notes"),
    ("longest_open = true", "longest_open", "must be a number of quarter notes"),
    ("longest_open = '1e999999999'", "longest_open", "must be a number of quarter notes"),
    ("longest_open = 1979-05-27", "longest_open", "must be a number of quarter notes"),
    ("never_open = 1", "never_open", "must be a list of whole numbers from 1 to 5"),
    ("never_open = [0]", "never_open", "must be a list of whole numbers from 1 to 5"),
    ("fourth_saves_crossing = 'yes'", "fourth_saves_crossing", "must be true or false"),
    ("avoid_shrill_open = 1", "avoid_shrill_open", "must be true or false"),
    ("extensions = 0", "extensions", "must be true or false"),
    ("tempo = 'fast'", "tempo", "must be a number from 10 to 400"),
    ("tempo = 0", "tempo", "must be a number from 10 to 400"),
    ("tempo = nan", "tempo", "must be a number from 10 to 400"),
    ("tempo = true", "tempo", "must be a number from 10 to 400"),
    ("weights = 1", "weights", "must be a table of effort terms and numbers"),
    ("weights = 'crossing'", "weights", "must be a table of effort terms and numbers"),
    ("[weights]\ncrosing = 1", "weights", "has no effort term 'crosing'; there is weak_finger"),
    ("[weights]\ncrossing = -1", "weights.crossing", "must be a number from 0 to 20"),
    ("[weights]\ncrossing = 'much'", "weights.crossing", "must be a number from 0 to 20"),
    ("[weights]\nshift = inf", "weights.shift", "must be a number from 0 to 20"),
    ("positions = [1", "not TOML", "not TOML"),
    ("home = 1\nhome = 3", "not TOML", "not TOML"),
]


@pytest.mark.parametrize(("text", "names", "says"), WRONG, ids=[text for text, _, _ in WRONG])
def test_a_rule_that_does_not_fit_is_named_in_one_sentence(text, names, says):
    with pytest.raises(HouseRuleError) as caught:
        parse_rules(text, "ours.toml")
    message = str(caught.value)
    assert message.startswith("ours.toml: ")
    assert names in message
    assert says in message
    assert "\n" not in message


def test_every_rule_is_refused_once_in_these_tests():
    assert {rule.name for rule in fields(HouseRules)} <= {names.split(".")[0] for _, names, _ in WRONG}


def test_a_file_that_is_not_there_is_told_in_one_sentence(tmp_path):
    with pytest.raises(HouseRuleError, match=r"^ours\.toml: cannot be read \(No such file or directory\)$"):
        find_rules(str(tmp_path / "ours.toml"))


def test_a_file_that_is_no_text_is_told_in_one_sentence(tmp_path):
    path = tmp_path / "ours.TOML"
    path.write_bytes(b"\xff\xfe\x00")
    with pytest.raises(HouseRuleError, match=r"^ours\.TOML: cannot be read \(it is not UTF-8 text\)$"):
        find_rules(str(path))


@given(strategies.rules())
def test_rules_come_back_from_plain_values_as_they_were(rules):
    assert rules_from(rules_to(rules)) == rules


@given(strategies.rules())
def test_rules_come_back_from_json_as_they_were(rules):
    assert rules_from(json.loads(json.dumps(rules_to(rules)))) == rules


@pytest.mark.parametrize("name", PRESETS)
def test_a_preset_comes_back_from_plain_values_as_it_was(name):
    assert rules_from(rules_to(preset(name))) == preset(name)


def test_positions_are_kept_in_order_and_once():
    assert HouseRules(positions=(3, 1, 3), home=3).positions == (1, 3)


def test_a_weight_multiplies_its_term_and_leaves_the_others():
    rules = HouseRules(weights=(("crossing", 3.0),))
    assert [rules.weight(term) for term in TERM_NAMES] == [3.0 if term == "crossing" else 1.0 for term in TERM_NAMES]


def test_a_doubled_weight_doubles_what_the_term_costs():
    line = "G4 B4 G4"
    plain = plan(line, HouseRules(positions=(1,)))
    double = plan(line, HouseRules(positions=(1,), weights=(("crossing", 2.0),)))
    assert played(plain) == played(double) == "D3 A1 D3"
    off = plan(line, HouseRules(positions=(1,), weights=(("crossing", 0.0),)))
    # Each of the two crossings is rounded to a thousandth.
    assert double.effort - plain.effort == pytest.approx(plain.effort - off.effort, abs=0.003)
    assert plain.effort > off.effort


def test_a_weight_of_nothing_switches_a_term_off():
    """The long open string is let alone once nothing speaks against it."""
    line = "A4/4 B4/1 C5"
    assert played(plan(line, HouseRules(positions=(1,)))).startswith("D4")
    without = HouseRules(positions=(1,), weights=(("long_open", 0.0), ("open_string", 0.0)))
    assert played(plan(line, without)).startswith("A0")


def test_rules_allow_their_positions_and_strings_only():
    rules = HouseRules(positions=(1,), never_open=(2,), extensions=False)
    allowed = [way for way in placements(VIOLIN, Pitch.parse("A4")) if rules.allows(way)]
    assert [(way.string, way.position, way.finger) for way in allowed] == [(3, 1, 4)]
    assert not any(rules.allows(way) for way in placements(VIOLIN, Pitch.parse("C6")))
    assert any(HouseRules(positions=(1,)).allows(way) for way in placements(VIOLIN, Pitch.parse("C6")))


def test_a_string_never_played_open_is_when_nothing_else_reaches_the_note():
    assert played(plan("G3 D4", HouseRules(positions=(1,), never_open=(3, 4)))) == "G0 G4"
