"""Passages really in another key than the printed one: told once, with both edges; printed changes are not told."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.music import Part, Score
from analysis.watch.finding import Finding
from analysis.watch.key_regions import watch_key_regions
from analysis.watch.study import Study
from tests.analysis.key_walks import planted
from tests.analysis.lines import line
from tests.analysis.watch.studies import watched

# D major, printed so.
HOME = "{2#} D4/1 F#4 A4 F#4 G4 B4 A4 G4 F#4 E4 D4 E4 F#4 D4 C#4 D4 "
HOME_AGAIN = "D5/1 B4 G4 F#4 G4 A4 B4 G4 A4 F#4 E4 D4 E4 C#4 D4/2 "
# A major: fact F11 of a school class, accidentals that sharpen a note through many measures.
AWAY = "A4/1 G#4 A4 C#5 B4 G#4 A4 B4 C#5 B4 A4 G#4 A4 B4 G#4 A4 E4 F#4 G#4 A4 B4 G#4 A4/2 "


def told(text: str | Part) -> list[Finding]:
    return watched("key-region", text)


def test_a_key_that_is_not_printed_is_told_with_both_edges():
    """F11: the danger is in the first measure that changes and the first that changes back."""
    (finding,) = told(HOME + AWAY + HOME_AGAIN)
    assert finding.text == (
        "Measures 5–10 are really in A major, though no new key is printed: every G is sharp (6 notes); "
        "in measure 11 G is natural again."
    )
    part = line(HOME + AWAY + HOME_AGAIN)
    assert [part.note(name).pitch.spelling for name in finding.note_ids] == ["G#"] * 6


def test_the_first_note_is_named_where_it_comes_later_than_the_key():
    above = line(HOME + "C#5/1 E5 C#5 A4 " + AWAY + HOME_AGAIN)
    below = line(HOME + "A4/1 G#4 A4 G#4 " + AWAY + HOME_AGAIN)
    below = Part("P2", "Violin II", below.measures, below.notes, keys=below.keys)
    (finding,) = watch_key_regions(Study(Score("", (above, below)), above, None))
    assert finding.text.startswith("Measures 5–11 are really in A major")
    assert "every G is sharp (6 notes), first in measure 6;" in finding.text


def test_a_key_that_is_printed_is_not_told():
    assert told(HOME + "{3#} " + AWAY + HOME_AGAIN.replace("D5", "{2#} D5", 1)) == []


def test_a_key_printed_only_later_is_told_up_to_there():
    (finding,) = told(HOME + AWAY + "{3#} " + AWAY)
    assert finding.text.startswith("Measures 5–10 are really in A major")


def test_a_few_sharps_in_passing_are_not_told():
    decorated = HOME.replace("G4 B4 A4 G4", "G4 G#4 A4 G4") + HOME_AGAIN
    assert told(decorated) == []


def test_chromatic_neighbours_make_no_key():
    neighbours = "A4/1/2 G#4 A4 B4 A4 G#4 A4/1 F#4/1/2 E#4 F#4 G4 F#4 E#4 F#4/1 "
    assert told(HOME + neighbours + HOME_AGAIN) == []


def test_a_minor_key_is_named_by_its_tonic():
    """D minor has one flat and a raised seventh, C sharp: any theory book."""
    minor = "D4/1 F4 A4 Bb4 A4 G4 F4 E4 D4 E4 F4 G4 A4 Bb4 A4 F4 E4 F4 E4 C#4 D4/4 "
    (finding,) = told(HOME + minor + HOME_AGAIN)
    assert "really in D minor" in finding.text
    assert "every F is natural (5 notes) and every B is flat (2 notes)" in finding.text


def test_a_letter_altered_only_now_and_then_is_not_named():
    """F sharp minor has the signature of A major; its leading note is E sharp, which the scale below has as E."""
    relative = "F#4/1 A4 C#5 A4 B4 E4 G#4 E4 F#4 E#4 F#4 A4 G#4 E4 F#4 G#4 A4 E4 F#4 C#5 G#4 E#4 F#4/2 "
    part = line(HOME + AWAY + relative + HOME_AGAIN)
    (finding,) = told(part)
    assert "F♯ minor" in {one.key.words for one in Study(Score("", (part,)), part, None).regions}
    assert "E is sharp" not in finding.text
    assert {part.note(name).pitch.spelling for name in finding.note_ids} == {"G#"}


def test_a_note_that_a_tie_holds_on_speaks_once():
    (finding,) = told(HOME + AWAY.replace("F#4 G#4 A4 B4", "F#4 G#4~ G#4 B4") + HOME_AGAIN)
    part = line(HOME + AWAY.replace("F#4 G#4 A4 B4", "F#4 G#4~ G#4 B4") + HOME_AGAIN)
    assert "every G is sharp (6 notes)" in finding.text
    assert not any(part.note(name).tied_from for name in finding.note_ids)


def test_a_rest_belongs_to_no_passage():
    (finding,) = told(HOME + AWAY + "r/4 r r " + HOME_AGAIN)
    assert finding.text.startswith("Measures 5–10 ")


def test_one_key_all_along_is_not_told():
    assert told((HOME + HOME_AGAIN) * 2) == []
    assert told("{0} " + HOME.removeprefix("{2#} ").replace("#", "") * 3) == []


def test_a_part_that_keeps_silent_in_the_passage_is_told_nothing():
    above = line(HOME + AWAY + HOME_AGAIN)
    below = line(HOME + "r/4 " * 6 + HOME_AGAIN)
    below = Part("P2", "Violin II", below.measures, below.notes, keys=below.keys)
    assert list(watch_key_regions(Study(Score("", (above, below)), below, None))) == []
    assert len(list(watch_key_regions(Study(Score("", (above, below)), above, None)))) == 1


@given(st.integers(0, 10**6))
@settings(max_examples=25)
def test_planted_keys_that_are_printed_are_silent(seed):
    part = planted(seed, sign=True).part
    assert list(watch_key_regions(Study(Score("", (part,)), part, None))) == []


def test_planted_keys_that_are_not_printed_are_told():
    cases = [planted(seed) for seed in range(2000, 2040)]
    found = [list(watch_key_regions(Study(Score("", (case.part,)), case.part, None))) for case in cases]
    assert sum(map(bool, found)) >= 33
    assert max(map(len, found)) <= 2
