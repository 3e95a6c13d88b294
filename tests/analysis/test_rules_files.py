"""Files of house rules that are damaged or made up: they read, or one sentence says why not."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.errors import HouseRuleError
from analysis.fingering.rules.files import find_rules, parse_rules, rules_from, rules_to
from analysis.fingering.rules.house import HouseRules
from tests.strategies import rules_texts

SOUND = (Path(__file__).parent.parent.parent / "examples" / "afternoon-strings.toml").read_text(encoding="utf-8")


def read(text: str) -> HouseRules | str:
    """The rules, or the sentence that says why there are none."""
    try:
        return parse_rules(text, "mine.toml")
    except HouseRuleError as error:
        return str(error)


@settings(max_examples=150)
@given(rules_texts(SOUND))
def test_any_text_gives_rules_or_one_sentence(text: str) -> None:
    found = read(text)
    if isinstance(found, HouseRules):
        assert rules_from(rules_to(found)) == found
    else:
        assert found.startswith("mine.toml: ")
        assert "\n" not in found
        assert len(found) < 2_000


@settings(max_examples=100)
@given(st.text(max_size=60))
def test_any_letters_give_rules_or_one_sentence(text: str) -> None:
    found = read(text)
    assert isinstance(found, HouseRules) or found.startswith("mine.toml: ")


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("positions = " + "[" * 5_000, "nested too deep"),
        ("tempo = " + "9" * 5_000, "not TOML"),
        ("tempo = 2026-11-26", "tempo is"),
        ('"a\nb" = 1', "not TOML"),
        ('"a\\nb" = 1', "no rule 'a b'"),
    ],
)
def test_a_text_that_is_hard_on_readers_is_refused(text: str, says: str) -> None:
    found = read(text)
    assert isinstance(found, str)
    assert says in found
    assert "\n" not in found


def test_a_byte_order_mark_is_no_fault(tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    path.write_text(SOUND, encoding="utf-8-sig")
    assert find_rules(str(path)) == parse_rules(SOUND, "mine.toml")


@pytest.mark.skipif(os.name != "posix", reason="pipes with names are of POSIX systems")
def test_a_pipe_that_nobody_writes_to_holds_up_nobody(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.toml")
    with pytest.raises(HouseRuleError, match=r"^pipe\.toml: cannot be read \(it is not a file\)"):
        find_rules(str(tmp_path / "pipe.toml"))


def test_a_file_that_is_no_set_of_rules_by_its_size_is_refused(tmp_path: Path) -> None:
    with (tmp_path / "large.toml").open("wb") as file:
        file.truncate(2**34)
    with pytest.raises(HouseRuleError, match=r"^large\.toml: cannot be read \(it is larger than 1 MB\)"):
        find_rules(str(tmp_path / "large.toml"))
