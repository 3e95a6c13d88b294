"""House rules saved over a teacher's own file: the comments and the order stay, the rules are the new ones."""

from __future__ import annotations

import tomllib
from dataclasses import replace

import pytest
from hypothesis import given, settings

from analysis.fingering.rules.files import parse_rules, rules_from, rules_to
from app.job.rules.editing import edited_text
from app.job.rules.file import rules_text, write_rules
from tests import strategies

OURS = """\
# Rules of the Tuesday strings, agreed in May.
title = "Tuesday"   # on the sheets, too

# Third position only once the concert is over!
positions = [
    1,  # home
    3,
]
tempo = 92          # slow hall

[weights]
shift = 2           # they slide
# crossing = 3      tried in April

# The cellos are new.
[instrument.cello]
positions = [1]     # one only
[instrument.cello.weights]
shift = 3           # even more

[part."Violin II"]
home = 1            # stays

# The solo of measure 5.
[[passage]]
part = "Violin I"
measures = "5-8"    # her solo
positions = [3]     # high

[[passage]]
measures = "12"     # all
keep_on = [2]
# The end.
"""


def edited(**changes):
    """The file with other rules, and what each line became: read back, it says just these rules."""
    rules = rules_from({**rules_to(parse_rules(OURS, "")), **changes})
    text = edited_text(OURS, rules)
    assert parse_rules(text, "") == rules
    return text


def changed_lines(text):
    old, new = OURS.splitlines(), text.splitlines()
    return [line for line in old if line not in new], [line for line in new if line not in old]


def test_nothing_is_changed_where_the_rules_are_the_same():
    assert edited() == OURS


@pytest.mark.parametrize(
    ("changes", "gone", "come"),
    [
        ({"tempo": 100.0}, ["tempo = 92          # slow hall"], ["tempo = 100          # slow hall"]),
        ({"weights": {"shift": 4.0}}, ["shift = 2           # they slide"], ["shift = 4           # they slide"]),
        ({"never_open": [1]}, [], ["never_open = [1]"]),
        ({"weights": {"shift": 2.0, "crossing": 3.0}}, [], ["crossing = 3"]),
        (
            {"instrument": {"cello": {"positions": [1, 2], "weights": {"shift": 3.0}}}},
            ["positions = [1]     # one only"],
            ["positions = [1, 2]     # one only"],
        ),
        (
            {"instrument": {"cello": {"positions": [1], "weights": {"shift": 5.0}}}},
            ["shift = 3           # even more"],
            ["shift = 5           # even more"],
        ),
        (
            {
                "passage": [
                    {"part": "Violin I", "measures": "5-8", "positions": [3]},
                    {"measures": "12", "keep_on": [3]},
                ]
            },
            ["keep_on = [2]"],
            ["keep_on = [3]"],
        ),
    ],
)
def test_only_the_line_of_a_rule_that_is_otherwise_is_changed(changes, gone, come):
    assert changed_lines(edited(**changes)) == (gone, come)


def test_tables_come_and_go_and_the_comments_of_the_others_stay():
    text = edited(part={"Viola": {"home": 3}}, passage=[{"measures": "1-2", "positions": [1]}])
    for comment in ("agreed in May", "# on the sheets", "# home", "# they slide", "# one only", "# even more"):
        assert comment in text
    assert edited(passage=[], instrument={}, part={}, weights={}).startswith(OURS.partition("[weights]")[0])


def test_of_two_passages_the_other_keeps_its_comments():
    text = edited(passage=[{"part": "Violin I", "measures": "5-8", "positions": [3]}])
    assert "# her solo" in text
    assert '"12"' not in text


@given(strategies.rules(), strategies.rules())
@settings(max_examples=15)
def test_any_rules_written_over_any_others_read_back_as_they_are(before, after):
    text = edited_text(rules_text(before), after)
    assert parse_rules(text, "") == after
    assert text.splitlines()[0] == rules_text(before).splitlines()[0]


@pytest.mark.parametrize("text", ["", "positions = [", 'positions = "all"\n', "# only a word\n", b"\xff\xfe"])
def test_what_is_no_file_of_rules_is_written_anew(tmp_path, text):
    path = tmp_path / "ours.toml"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    rules = replace(parse_rules(OURS, ""), title="Wednesday")
    write_rules(path, rules)
    assert parse_rules(path.read_text(encoding="utf-8"), "") == rules


def test_a_file_saved_over_keeps_its_comments_and_line_ends(tmp_path):
    path = tmp_path / "ours.toml"
    path.write_bytes(OURS.replace("\n", "\r\n").encode())
    rules = replace(parse_rules(OURS, ""), title="Wednesday")
    write_rules(path, rules)
    data = path.read_bytes()
    assert data == OURS.replace('Tuesday"', 'Wednesday"').replace("\n", "\r\n").encode()
    assert tomllib.loads(data.decode())["title"] == "Wednesday"
