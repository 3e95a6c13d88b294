"""What the parser of the command line says by itself, in the user's language."""

from __future__ import annotations

import argparse
import ast
import inspect
import os
import subprocess
import sys

import pytest

from app.cli.parser_words import WORDS


def test_the_words_are_those_of_pythons_parser():
    said = {node.value for node in ast.walk(ast.parse(inspect.getsource(argparse))) if isinstance(node, ast.Constant)}
    assert [words for words in WORDS if words not in said] == []


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("finger",), "handframe finger: Fehler: es fehlen diese Angaben: SCORE"),
        (("finger", "x.mxl", "--jobs", "many"), "Fehler: Angabe --jobs: 'many' ist kein gültiger Wert (int)"),
        (("finger", "x.mxl", "--paper", "b7"), "Angabe --paper: 'b7' gibt es nicht (zur Wahl stehen 'a4', 'letter')"),
        (("finger", "x.mxl", "-o"), "Fehler: Angabe -o/--output: verlangt ist genau ein Wert"),
        (("--nothing",), "handframe: Fehler: unbekannte Angaben: --nothing"),
    ],
)
def test_they_are_said_in_german(words, told):
    done = subprocess.run(
        [sys.executable, "-c", "from app.main import main; raise SystemExit(main())", *words],
        env={**os.environ, "LANGUAGE": "de", "PYTHONIOENCODING": "utf-8"},
        capture_output=True,
        encoding="utf-8",
        timeout=60,
        check=False,
    )
    assert done.returncode == 2
    assert done.stderr.startswith("Aufruf: handframe")
    assert told in done.stderr.replace("\n", " ")
