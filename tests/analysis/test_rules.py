"""House rules: the presets, the files, and what is said of a file that does not fit."""

from __future__ import annotations

import json
import re
from dataclasses import fields
from fractions import Fraction

import pytest
from hypothesis import given

from analysis.errors import HouseRuleError, UnknownNameError
from analysis.fingering.placements import placements
from analysis.fingering.rules.files import PRESETS, find_rules, parse_rules, preset, rules_from, rules_to
from analysis.fingering.rules.house import RULE_SENTENCES, HouseRules
from analysis.fingering.terms import TERM_NAMES
from analysis.instruments import CELLO, INSTRUMENTS, VIOLA, VIOLIN
from analysis.music import Pitch
from tests import strategies
from tests.analysis.lines import line, plan, played, positions


@pytest.mark.parametrize("name", PRESETS)
def test_every_preset_loads_under_its_own_name_with_a_title(name):
    rules = preset(name)
    assert rules.name == name
    assert rules.title not in ("", name)
    assert find_rules(name) == rules


def test_the_presets_go_from_first_position_to_the_whole_board():
    """Home ground, two homes, whole board, and two to compare first with third position."""
    assert [preset(name).positions for name in PRESETS] == [(1,), (1, 3), tuple(range(13)), (1,), (1, 3)]
    assert [preset(name).home for name in PRESETS] == [1, 1, 1, 1, 3]


@pytest.mark.parametrize("instrument", INSTRUMENTS, ids=lambda one: one.key)
@pytest.mark.parametrize("name", PRESETS)
def test_every_preset_has_positions_for_every_instrument(name, instrument):
    """From the lowest string up to a whole tone above the highest, no note of the scale is left out of reach."""
    low, high = (int(instrument.strings[n].pitch.midi) - instrument.octave for n in (-1, 0))
    names = [f"{step}{octave}" for octave in range(1, 7) for step in "CDEFGAB"]
    scale = [name for name in names if low <= Pitch.parse(name).midi <= high + 2]
    made = plan(line(" ".join(scale), transpose=instrument.octave), name, instrument)
    if name != "home-ground" and name != "first":
        assert made.problems == {}
    assert len(made.problems) <= len(scale) // 4


def test_the_rules_without_a_file_are_first_and_third_position():
    assert HouseRules().positions == preset("two-homes").positions
    assert HouseRules().longest_open == 2


def test_an_unknown_preset_is_named_beside_those_there_are():
    with pytest.raises(
        UnknownNameError, match=r"no house rules 'fourth'; there is home-ground, two-homes, whole-board, first, third"
    ):
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
    ('printed = "some"', "printed", "must be one of every-note, where-it-matters, exceptions"),
    ("colour = 1", "colour", "no rule 'colour'; there is name, title, positions"),
    ("name = 3", "name", "must be a text in quotation marks"),
    ("title = false", "title", "must be a text in quotation marks"),
    ("positions = 1", "positions", "must be a list of whole numbers from 0 to 12"),
    ("positions = []", "positions", "is empty; the hand needs at least one position"),
    ("positions = [1, 13]", "positions", "must be a list of whole numbers from 0 to 12"),
    ("positions = [1.5]", "positions", "must be a list of whole numbers from 0 to 12"),
    ("positions = [true]", "positions", "is [true]; it must be a list of whole numbers from 0 to 12"),
    ("positions = ['1']", "positions", "must be a list of whole numbers from 0 to 12"),
    ("home = 2", "home", "is 2nd position, which is not among the positions allowed: 1st and 3rd"),
    ("home = 'first'", "home", "is 'first'; it must be a whole number from 0 to 12"),
    ("home = -1", "home", "must be a whole number from 0 to 12"),
    ("home = true", "home", "is true; it must be a whole number from 0 to 12"),
    ("longest_open = 'two'", "longest_open", "must be a number of quarter notes such as 2 or '3/2'"),
    ("longest_open = '1/0'", "longest_open", "must be a number of quarter notes"),
    ("longest_open = -1", "longest_open", "must be a number of quarter notes"),
    ("longest_open = nan", "longest_open", "must be a number of quarter notes"),
    ("longest_open = inf", "longest_open", "must be a number of quarter notes"),
    ("longest_open = true", "longest_open", "must be a number of quarter notes"),
    ("longest_open = '1e999999999'", "longest_open", "must be a number of quarter notes"),
    ("longest_open = 1979-05-27", "longest_open", "is 1979-05-27; it must be a number of quarter notes"),
    ("never_open = 1", "never_open", "must be a list of whole numbers from 1 to 5"),
    ("never_open = [0]", "never_open", "must be a list of whole numbers from 1 to 5"),
    ("open_or_fourth = 'thumb'", "open_or_fourth", "must be one of open, fourth, either"),
    ("open_or_fourth = 4", "open_or_fourth", "must be one of open, fourth, either"),
    ("lower_strings_to = 13", "lower_strings_to", "must be a whole number from 0 to 12"),
    ("keep_on = 'G'", "keep_on", "must be a list of whole numbers from 1 to 5"),
    ("keep_on = [6]", "keep_on", "must be a list of whole numbers from 1 to 5"),
    ("same_again = 1", "same_again", "must be true or false"),
    ("size = 34", "size", "must be a text in quotation marks"),
    ("reach = 'long'", "reach", "must be one of small, usual, large"),
    ("instrument = 1", "instrument", "must be a table of rules"),
    ("[instrument]\ncello = 1", 'instrument."cello"', "must be a table of rules"),
    ("[instrument.cello]\nname = 'ours'", 'instrument."cello"', "has no rule 'name'; there is positions, home"),
    ("[instrument.cello]\npositions = [14]", 'instrument."cello"', "positions is [14]; it must be a list of whole"),
    ("[instrument.cello]\nhome = 2", 'instrument."cello"', "home is 2nd position, which is not"),
    ("[instrument.cello.weights]\ncrosing = 1", 'instrument."cello"', "has no effort term 'crosing'"),
    ("part = 'Violin'", "part", "must be a table of rules"),
    ("[part.'Violin I']\nextensions = 0", 'part."Violin I"', "extensions is 0; it must be true or false"),
    ("passage = [1]", "passage 1", "must be a table of rules"),
    ("[[passage]]\nhome = 1", "passage 1", "measures is None; it must be a text such as '12-16'"),
    ("[[passage]]\nmeasures = ''", "passage 1", "must be a text such as '12-16'"),
    ("[[passage]]\nmeasures = '3'\n[[passage]]\nmeasures = true", "passage 2", "must be a text such as '12-16'"),
    ("[[passage]]\nmeasures = '3'\npart = 1", "passage 1: part", "must be a text in quotation marks"),
    ("[[passage]]\nmeasures = '3'\nreach = 'far'", "passage 1", "reach is 'far'; it must be one of small, usual"),
    ("fourth_saves_crossing = 'yes'", "fourth_saves_crossing", "must be true or false"),
    ("avoid_shrill_open = 1", "avoid_shrill_open", "must be true or false"),
    ("extensions = 0", "extensions", "must be true or false"),
    ("lower_strings_to = 13", "lower_strings_to", "must be a whole number from 0 to 12"),
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
    refused = {re.split(r"[. ]", names)[0] for _, names, _ in WRONG}
    assert {rule.name for rule in fields(HouseRules)} <= refused


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
    text = "G4 B4 G4"
    plain = plan(text, HouseRules(positions=(1,)))
    double = plan(text, HouseRules(positions=(1,), weights=(("crossing", 2.0),)))
    assert played(plain) == played(double) == "D3 A1 D3"
    off = plan(text, HouseRules(positions=(1,), weights=(("crossing", 0.0),)))
    # Each of the two crossings is rounded to a thousandth.
    assert double.effort - plain.effort == pytest.approx(plain.effort - off.effort, abs=0.003)
    assert plain.effort > off.effort


def test_a_weight_of_nothing_switches_a_term_off():
    """The long open string is let alone once nothing speaks against it."""
    text = "A4/4 B4/1 C5"
    assert played(plan(text, HouseRules(positions=(1,)))).startswith("D4")
    without = HouseRules(positions=(1,), weights=(("long_open", 0.0), ("open_string", 0.0)))
    assert played(plan(text, without)).startswith("A0")


def test_rules_allow_their_positions_and_strings_only():
    rules = HouseRules(positions=(1,), never_open=(2,), extensions=False)
    allowed = [way for way in placements(VIOLIN, Pitch.parse("A4")) if rules.allows(way)]
    assert [(way.string, way.position, way.finger) for way in allowed] == [(3, 1, 4)]
    assert not any(rules.allows(way) for way in placements(VIOLIN, Pitch.parse("C6")))
    assert any(HouseRules(positions=(1,)).allows(way) for way in placements(VIOLIN, Pitch.parse("C6")))


def test_a_string_never_played_open_is_when_nothing_else_reaches_the_note():
    assert played(plan("G3 D4", HouseRules(positions=(1,), never_open=(3, 4)))) == "G0 G4"


TABLES = """
name = "ours"
positions = [1, 3]
longest_open = 2
[weights]
crossing = 2
[instrument.viola]
positions = [2]
never_open = [1]
[instrument.viola.weights]
shift = 3
[part."Viola II"]
never_open = [4]
[[passage]]
measures = "3-4"
keep_on = [2]
[[passage]]
measures = 4
part = "Viola II"
longest_open = 1
[[passage]]
measures = "90"
extensions = false
"""


def test_what_stands_for_the_part_counts_more_than_what_stands_for_its_instrument():
    rules = parse_rules(TABLES, "ours.toml")
    assert rules.for_part("violin", "Violin").never_open == ()
    viola = rules.for_part("viola", "Viola I")
    assert (viola.positions, viola.home, viola.never_open) == ((2,), 2, (1,))
    assert (viola.weight("shift"), viola.weight("crossing")) == (3.0, 2.0)
    second = rules.for_part("viola", "Viola II")
    assert (second.positions, second.never_open) == ((2,), (4,))


def test_a_passage_has_its_own_rules_and_of_two_the_later_counts():
    rules = parse_rules(TABLES, "ours.toml").for_part("viola", "Viola II")
    found = rules.in_measures(line("D4/4 " * 6, name="Viola II"))
    assert sorted(found) == [2, 3]
    assert (found[2].keep_on, found[2].longest_open) == ((2,), 2)
    assert (found[3].keep_on, found[3].longest_open) == ((), 1)
    other = parse_rules(TABLES, "ours.toml").for_part("viola", "Viola I").in_measures(line("D4/4 " * 6))
    assert other[3].keep_on == (2,)


def test_a_passage_on_some_strings_only_is_played_on_them():
    at_home = {"positions": [1, 3], "weights": {"away_from_home": 5}}
    rules = rules_from({**at_home, "passage": [{"measures": "2", "keep_on": [2, 3]}]})
    strings = [word[0] for word in played(plan("F#5 G5 A5 G5 " * 3, rules)).split()]
    assert strings == [*"EEEE", "A", "A", "-", "A", *"EEEE"]


def test_the_open_string_or_the_fourth_finger_is_taken_as_the_rules_like():
    """Common practice, no source: either serves where a scale goes on over the string."""
    for name, wanted in (("open", "A0"), ("fourth", "D4")):
        rules = HouseRules(positions=(1,), open_or_fourth=name)
        assert played(plan("F#4 G4 A4 B4 C#5 D5", rules)).split()[2] == wanted


def test_on_the_lower_strings_the_hand_goes_no_higher_than_the_rules_let_it():
    rules = HouseRules(positions=(1, 5), lower_strings_to=3)
    allowed = [way for way in placements(VIOLIN, Pitch.parse("B5")) if rules.allows(way)]
    assert {(way.string, way.position) for way in allowed} == {(1, 1), (1, 5)}
    assert not any(rules.allows(way) for way in placements(VIOLIN, Pitch.parse("C5")) if way.position > 3)


def test_rules_for_one_instrument_leave_the_others_alone():
    rules = rules_from({"positions": [1], "instrument": {"cello": {"positions": [4]}}})
    assert set(positions(plan("E4 F4 G4", rules, CELLO))) == {4}
    assert set(positions(plan("E4 F4 G4", rules, VIOLA))) == {1}
