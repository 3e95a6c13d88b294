"""Every string part of the corpus is fingered and watched without breaking a rule: the tables of rules, part by part.

The files are worked through in several processes; what was found is asserted here file by file.
"""

from __future__ import annotations

import multiprocessing
from collections.abc import Iterator, Mapping
from concurrent.futures import Future, ProcessPoolExecutor

import pytest

from analysis.fingering.plan import make_plan
from analysis.fingering.rules.files import preset
from analysis.instruments import guess_instrument
from analysis.watch.watchlist import watch_list
from engraving.document import open_document
from engraving.reading import read_score
from tests.amounts import sampled
from tests.analysis.invariants import offenders
from tests.analysis.watch.offences import offences
from tests.engraving.corpus import corpus_folder, string_score_names

pytestmark = pytest.mark.sweep

# The most notes that the whole fingerboard may leave unfingered, as a share of a part.
_UNPLAYED = 0.04

Found = tuple[int, list[str]]


def fingered(name: str) -> Found:
    """How many notes of a score are fingered under both presets, and what breaks a rule, of plans and watch-lists."""
    count, broken = 0, []
    score = read_score(open_document(corpus_folder() / name))
    for part in score.parts:
        instrument = guess_instrument(part.name)
        if instrument is None:
            continue
        for rules in ("whole-board", "home-ground"):
            made = make_plan(part, instrument, preset(rules))
            here = f"{part.name} under {rules}"
            broken += [f"{here}: {words}" for words in offenders(made, with_ways=False)]
            if rules == "whole-board":
                findings = watch_list(score, part, made)
                broken += [f"{here}: {words}" for words in offences(part, findings)]
                if part is score.parts[0] and watch_list(score, part, made) != findings:
                    broken.append(f"{here}: read again, the part has another watch-list")
            if rules == "whole-board" and len(made.problems) > _UNPLAYED * len(part.notes) + 3:
                broken.append(f"{here}: {len(made.problems)} of {len(part.notes)} notes are left out")
            count += sum(1 for _ in made.choices())
    return count, broken


@pytest.fixture(scope="module")
def everything() -> Iterator[Mapping[str, Future[Found]]]:
    with ProcessPoolExecutor(mp_context=multiprocessing.get_context("spawn")) as pool:
        yield {name: pool.submit(fingered, name) for name in sampled(string_score_names())}


@pytest.mark.parametrize("name", sampled(string_score_names()))
def test_every_string_part_is_fingered_and_watched_without_breaking_a_rule(
    everything: Mapping[str, Future[Found]], name: str
):
    count, broken = everything[name].result()
    assert count > 0
    assert broken == []
