"""What the documents promise is what the program has: rules, presets, commands, and examples that read."""

from __future__ import annotations

import argparse
import re
from dataclasses import fields
from textwrap import dedent

import pytest

from analysis.fingering.rules.files import PRESETS, find_rules, parse_rules
from analysis.fingering.rules.house import HouseRules
from analysis.instruments import INSTRUMENTS, VIOLIN
from app.cli.arguments import command_parser
from app.cli.opening import COMMANDS
from app.job.teacher.locking import read_lock
from tests.app.programs import ROOT

GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_table_of_house_rules_has_every_rule_once():
    table = GUIDE[GUIDE.index("| rule | holds |") : GUIDE.index("Tables say what is otherwise")]
    rows = [row.split("|")[1] for row in table.splitlines()[1:] if row.startswith("|")]
    named = [name for row in rows for name in re.findall(r"`\[?(\w+)\]?`", row)]
    assert sorted(named) == sorted({rule.name for rule in fields(HouseRules)} - {"instrument", "part", "passage"})


def test_the_guide_names_every_preset_and_every_instrument():
    assert all(f"`{name}`" in GUIDE for name in PRESETS)
    assert all(f"`{instrument.key}`" in GUIDE for instrument in INSTRUMENTS)
    assert "|".join(PRESETS) in README


def test_the_rules_shown_in_the_guide_are_those_of_the_example_file():
    shown = re.search(r"(?:^    .*\n|^\n)+", GUIDE[GUIDE.index('    title = "Afternoon Strings"') :], re.MULTILINE)
    rules = parse_rules(dedent(shown[0]), "DEVELOPERS.md")
    whole = find_rules(str(ROOT / "examples" / "afternoon-strings.toml"))
    assert (rules.title, rules.positions) == (whole.title, whole.positions)
    assert rules.passage[0] == whole.passage[0]
    for name in ("instrument", "part"):
        for key, table in getattr(rules, name):
            assert set(table) <= set(dict(getattr(whole, name))[key])


@pytest.mark.parametrize("command", COMMANDS)
def test_every_option_of_a_command_stands_in_the_readme(command):
    lines = "".join(re.findall(rf"^    handframe {command} .*\n(?:^ {{6,}}.*\n)*", README, re.MULTILINE))
    choices = next(a for a in command_parser()._actions if isinstance(a, argparse._SubParsersAction)).choices
    options = {option for action in choices[command]._actions for option in action.option_strings}
    written = set(re.findall(r"(?<![\w-])--?[a-z]+(?:-[a-z]+)*", lines))
    assert written == {option for option in options if option not in ("-h", "--help", "--output")}


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_says_in_its_own_help_what_it_is_for(command):
    action = next(a for a in command_parser()._actions if isinstance(a, argparse._SubParsersAction))
    said = next(listed.help for listed in action._choices_actions if listed.dest == command)
    told = action.choices[command].description
    assert told is not None
    assert told.casefold() == f"{said}.".casefold()
    assert told[0].isupper()


def test_the_locks_shown_in_the_readme_are_read():
    shown = re.findall(r'`"\d[\d-]*: ([^"]+)"`', README)
    assert len(shown) == 4
    assert all(read_lock(words, VIOLIN) for words in shown)
