"""Stretches in which a letter is not what the key signature makes it; one word a measure in these lines."""

from __future__ import annotations

import pytest

from analysis.watch.altered import stretches
from analysis.watch.inflections import inflections
from tests.analysis.lines import line


def _stretches(music):
    """Letter, alteration, measures altered and measures as usual between, of lines of whole notes."""
    found = stretches(inflections(line(" ".join(f"{word}/4" if word[0] != "{" else word for word in music.split()))))
    return [
        (
            one.step,
            one.alter,
            *("".join(str(n + 1) for n in numbers) for numbers in (one.measures, one.measures_as_usual)),
        )
        for one in found
    ]


@pytest.mark.parametrize(
    ("music", "expected"),
    [
        pytest.param("C5 C5 D5", [], id="nothing"),
        pytest.param("C#5 D5 C#5 C5", [("C", 1, "13", "")], id="measures without the letter go on"),
        pytest.param("C#5 C5 C#5", [("C", 1, "13", "2")], id="one usual measure between"),
        pytest.param("C#5 C5 C5 C#5", [("C", 1, "14", "23")], id="two usual measures between"),
        pytest.param("C#5 C5 C5 C5 C#5", [("C", 1, "1", ""), ("C", 1, "5", "")], id="three part it"),
        pytest.param("C#5 C5 D5 D5 C#5", [("C", 1, "15", "2")], id="a usual measure, and the fourth after"),
        pytest.param("C#5 C5 D5 D5 D5 C#5", [("C", 1, "1", ""), ("C", 1, "6", "")], id="and the fifth after"),
        pytest.param("C#5" + " D5" * 7 + " C#5", [("C", 1, "19", "")], id="eight measures on"),
        pytest.param("C#5" + " r" * 10 + " C#5", [("C", 1, "112", "")], id="measures of rest are not counted"),
        pytest.param("C#5 D5 D5 D5 D5 D5 D5 D5 D5 C#5", [("C", 1, "1", ""), ("C", 1, "10", "")], id="nine measures on"),
        pytest.param("C#5 Cb5 C#5", [("C", 1, "1", ""), ("C", -1, "2", ""), ("C", 1, "3", "")], id="another sign"),
        pytest.param("C#5 D#5 C#4 D5", [("C", 1, "13", ""), ("D", 1, "2", "")], id="letters apart, octaves together"),
        pytest.param("C#5 {3b} C#5", [("C", 1, "1", ""), ("C", 1, "2", "")], id="a new key signature parts it"),
        pytest.param("{2#} C#5 C5 {0} C5 C#5", [("C", 0, "2", ""), ("C", 1, "4", "")], id="what is usual changes"),
    ],
)
def test_a_stretch_goes_on_while_players_think_of_it(music, expected):
    assert _stretches(music) == expected


def test_the_usual_notes_around_it_are_of_its_key_signature():
    (first, second) = stretches(inflections(line("C5 C#5 C5 C4 {1#} C#5 D5 {2#} C5! D5")))[:2]
    assert (first.before.note.id, first.after.note.id) == ("n1", "n3")
    assert (second.before, second.after) == (None, None)


def test_one_usual_measure_in_four_is_no_to_and_fro():
    assert not _only("C#5 C5 C#5 C#5 C#5").goes_to_and_fro
    assert _only("C#5 C5 C#5 C#5").goes_to_and_fro


def test_it_is_unbroken_where_no_measure_lacks_it():
    assert _only("C#5 C#5 C#5").is_unbroken
    assert not _only("C#5 D5 C#5").is_unbroken


def _only(music):
    (one,) = stretches(inflections(line(" ".join(f"{word}/4" for word in music.split()))))
    return one
