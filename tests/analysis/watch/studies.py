"""Findings of lines of words, for tests of watchers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from analysis.fingering.locks import Lock
from analysis.fingering.rules.house import HouseRules
from analysis.instruments import VIOLIN, Instrument
from analysis.music import Part, Score
from analysis.watch.finding import Finding
from analysis.watch.kinds import KINDS
from analysis.watch.study import Study
from tests.analysis.lines import line, plan


def study(
    music: str | Part,
    rules: str | HouseRules = "first",
    instrument: Instrument = VIOLIN,
    *others: Part,
    locks: Mapping[str, Lock] | None = None,
) -> Study:
    """The study of a line or a part, fingered; ``others`` stand below it in the score."""
    part = line(music) if isinstance(music, str) else music
    return Study(Score("", (part, *others)), part, plan(part, rules, instrument, locks))


def watched(
    kind: str,
    music: str | Part,
    rules: str | HouseRules = "first",
    instrument: Instrument = VIOLIN,
    *others: Part,
    locks: Mapping[str, Lock] | None = None,
) -> list[Finding]:
    """The findings of one kind in a line or a part."""
    (watch,) = (one.watch for one in KINDS if one.name == kind)
    return list(watch(study(music, rules, instrument, *others, locks=locks)))


def ensemble(*music: str | Part, names: tuple[str, ...] = ()) -> Score:
    """A score of lines or parts, ``P1``, ``P2`` ... from the top, with the names of a string orchestra or others."""
    usual = names or ("Violin I", "Violin II", "Viola", "Violoncello", "Double Bass")
    parts = (line(one) if isinstance(one, str) else one for one in music)
    return Score(
        "", tuple(replace(one, id=f"P{number}", name=usual[number - 1]) for number, one in enumerate(parts, 1))
    )
