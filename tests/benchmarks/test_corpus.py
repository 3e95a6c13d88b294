"""A few scores of the corpus, small ones of every kind, through the whole job; the sweep over all is a command."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from tests.benchmarks.corpus import EXPLAINED, failures, report, sample, score_names, sweep
from tests.benchmarks.one_score import SEVERAL_PARTS, Outcome, Refused
from tests.engraving.corpus import corpus_folder

pytestmark = pytest.mark.sweep

# A chorale, a minuet for quartet, an exercise with chord symbols, chords in voices, a fiddle tune, a piece for piano.
SCORES = (
    "bach/bwv300.mxl",
    "haydn/opus1no1/movement4.mxl",
    "demos/chord_realization_exercise.mxl",
    "demos/voices_with_chords.xml",
    "ryansMammoth/DaffyDontYouReel.abc",
    "chopin/mazurka06-2.krn",
)


@pytest.fixture(scope="module")
def outcomes() -> list[Outcome]:
    return list(sweep(SCORES))


def test_every_score_gets_through_the_whole_job(outcomes: Sequence[Outcome]) -> None:
    assert [one.name for one in outcomes] == list(SCORES)
    assert failures(outcomes) == []
    assert [one.left_out for one in outcomes] == ["", "", "", "", "", SEVERAL_PARTS]


def test_the_figures_of_a_score_are_those_of_its_file(outcomes: Sequence[Outcome]) -> None:
    # Counted by music21 10.5 in the same file: notes, those of chords one by one, ties and grace notes among them.
    from music21 import converter

    score = converter.parse(corpus_folder() / SCORES[0], forceSource=True)
    notes = sum(len(sounding.pitches) for sounding in score.recurse().notes if "ChordSymbol" not in sounding.classes)
    assert (outcomes[0].counts["notes"], outcomes[0].counts["parts"]) == (notes, len(score.parts))


def test_the_report_names_what_failed_and_what_is_left_out(outcomes: Sequence[Outcome]) -> None:
    broken = Outcome("a.xml", refused=Refused("engrave", "RuntimeError: no", known=False))
    lines = list(report([*outcomes, broken]))
    assert lines[0] == "7 files, 5 worked through"
    assert "FAILED: a.xml: engrave: RuntimeError: no" in lines
    assert f"{1:8}  left out: {SEVERAL_PARTS}" in lines


def test_a_sample_is_spread_over_small_and_large() -> None:
    assert sample([str(number) for number in range(10)], 3) == ["0", "3", "6"]
    assert sample(["a"], 3) == ["a"]


def test_the_sweep_knows_every_file_of_the_corpus_and_explains_none_that_is_not_there() -> None:
    names = score_names()
    # Counted once in the corpus of music21 10.5.
    assert sum(name.endswith((".mxl", ".xml", ".musicxml")) for name in names) == 654
    assert set(EXPLAINED) <= set(names)


def test_a_score_over_its_time_costs_that_score_only() -> None:
    slow, *_ = sweep(["haydn/opus1no1/movement4.mxl"], limit=0.01)
    assert slow.refused == Refused("time", "took more than 0.01 seconds", known=False)
