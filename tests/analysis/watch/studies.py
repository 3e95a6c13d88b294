"""Findings of lines of words, for tests of watchers."""

from __future__ import annotations

from analysis.fingering.rules.house import HouseRules
from analysis.instruments import VIOLIN, Instrument
from analysis.music import Part, Score
from analysis.watch.finding import Finding
from analysis.watch.kinds import KINDS
from analysis.watch.study import Study
from tests.analysis.lines import line, plan


def study(
    music: str | Part, rules: str | HouseRules = "first", instrument: Instrument = VIOLIN, *others: Part
) -> Study:
    """The study of a line or a part, fingered; ``others`` stand below it in the score."""
    part = line(music) if isinstance(music, str) else music
    return Study(Score("", (part, *others)), part, plan(part, rules, instrument))


def watched(
    kind: str, music: str | Part, rules: str | HouseRules = "first", instrument: Instrument = VIOLIN, *others: Part
) -> list[Finding]:
    """The findings of one kind in a line or a part."""
    (watch,) = (one.watch for one in KINDS if one.name == kind)
    return list(watch(study(music, rules, instrument, *others)))
