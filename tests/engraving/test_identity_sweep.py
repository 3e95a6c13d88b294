"""File, values and page speak of the same notes, in every string part of the corpus, with music21 as an oracle.

Checked of each note: pitch, onset and duration as exact fractions, ties, grace, chord and voice. The files are worked
through in several processes; what was found is asserted here file by file.
"""

from __future__ import annotations

import multiprocessing
from collections.abc import Iterator, Mapping
from concurrent.futures import Future, ProcessPoolExecutor

import pytest

from tests.amounts import sampled
from tests.engraving.confrontation import confront
from tests.engraving.corpus import quartet_names, string_score_names

pytestmark = pytest.mark.sweep

Found = tuple[int, list[str]]


@pytest.fixture(scope="module")
def confronted() -> Iterator[Mapping[str, Future[Found]]]:
    with ProcessPoolExecutor(mp_context=multiprocessing.get_context("spawn")) as pool:
        yield {name: pool.submit(confront, name) for name in sampled(string_score_names())}


def test_the_corpus_is_complete() -> None:
    # Counted once in the corpus of music21 10.5: 51 string quartets among 66 scores with a bowed string part.
    assert (len(quartet_names()), len(string_score_names())) == (51, 66)


@pytest.mark.parametrize("name", sampled(string_score_names()))
def test_all_witnesses_agree(confronted: Mapping[str, Future[Found]], name: str) -> None:
    notes, quarrels = confronted[name].result()
    assert notes > 0
    assert quarrels == []
