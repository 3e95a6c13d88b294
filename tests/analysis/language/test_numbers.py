"""Numbers in sentences have the sign before their decimals that the language asks for.

Which sign that is: Unicode CLDR, Number Symbols, by way of Babel. That a row of numbers with decimal commas has
semicolons between them: common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from babel.numbers import get_decimal_symbol

from analysis.language import catalogue
from analysis.wording import decimal, numbers_listed
from app.main import main
from tests.scores import full_score, part

DISTANCES = ("35.8", "67.7", "82.3")
SCORE = full_score(part("Violin", "4/4", "D5/1 E5 F#5 G5 | A5/1 B5 C#6 D6 | D5/1 E5 F#5 G5", key=2))


@pytest.fixture(params=["en", "de"])
def language(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> Iterator[str]:
    monkeypatch.setenv("LANGUAGE", request.param)
    catalogue.cache_clear()
    yield request.param
    catalogue.cache_clear()


@pytest.fixture
def score(tmp_path: Path) -> str:
    path = tmp_path / "mini.musicxml"
    path.write_bytes(SCORE)
    return str(path)


def test_decimals_have_the_sign_of_the_language(language: str) -> None:
    assert decimal("35.8") == f"35{get_decimal_symbol(language)}8"


def test_numbers_in_a_row_are_not_taken_for_decimals(language: str) -> None:
    row = numbers_listed(DISTANCES)
    assert row.startswith(decimal(DISTANCES[0]) + ("; " if get_decimal_symbol(language) == "," else ", "))
    assert [number for number in map(decimal, DISTANCES) if number not in row] == []


@pytest.mark.parametrize(
    "command",
    [
        ("finger",),
        ("ways", "--part", "1", "--measures", "1-2"),
        ("compare", "--part", "1", "--measures", "1-2", "--rules", "first", "--rules", "third"),
    ],
    ids=lambda words: words[0],
)
def test_tables_to_read_have_it_too(
    language: str, score: str, command: tuple[str, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main([command[0], score, *command[1:]]) == 0
    signs = re.findall(r"\d([.,])\d", capsys.readouterr().out)
    assert set(signs) == {get_decimal_symbol(language)}
