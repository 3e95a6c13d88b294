"""What the commands are asked about: a part as the command line sets it, and a passage of it."""

from __future__ import annotations

import argparse
import sys
from dataclasses import dataclass, replace
from pathlib import Path

from analysis.fingering.rules.files import find_rules
from analysis.fingering.rules.house import HouseRules
from analysis.instruments import find_instrument
from analysis.language import _
from analysis.music import Part
from app.errors import AppError
from app.job.files.opening import Opened, open_any
from app.job.teacher.work import NO_INSTRUMENT, PartWork
from app.job.words.finding import find_measures, find_part


@dataclass(frozen=True, slots=True)
class Passage:
    """The measures (indices, both included) of one part that a command works on."""

    opened: Opened
    part: Part
    work: PartWork
    measures: tuple[int, int]

    @property
    def title(self) -> str:
        """Part and measures as players say them."""
        return f"{self.part.name}, {self.part.span(self.measures)}"


def open_asked(path: Path) -> Opened:
    """Open a score or a project; what was left out of one that opens, or is wrong with it, is said, a line for each."""
    opened = open_any(path)
    sys.stderr.writelines(f"handframe: {told}\n" for told in (*opened.document.remarks, *opened.faults))
    return opened


def asked_passage(arguments: argparse.Namespace, rules: str | None) -> Passage:
    """The passage that ``arguments`` ask for, under those rules or its own; AppError where nobody can play it."""
    opened = open_asked(arguments.score)
    part = find_part(opened.score, arguments.part)
    work = set_part(opened, part, arguments.instrument, rules)
    if work.instrument is None:
        raise AppError(f"{part.name}: {_(NO_INSTRUMENT)}")
    return Passage(opened, part, work, find_measures(part, arguments.measures))


def set_part(
    opened: Opened, part: Part, instrument: str | None, rules: str | HouseRules | None, *, named: bool = True
) -> PartWork:
    """The part's settings, with what the command line says in place of them.

    ``named``: the part was asked for by its name; if not, the instrument is only for parts that do not tell theirs.
    """
    work = opened.work.parts[part.id]
    if instrument:
        found = find_instrument(instrument)
        work = replace(work, instrument=found if named else work.instrument or found)
    if rules:
        work = replace(work, rules=find_rules(rules) if isinstance(rules, str) else rules)
    return work
