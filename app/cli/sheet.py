"""``handframe sheet``: the practice sheet of a part."""

from __future__ import annotations

import argparse
from pathlib import Path

from analysis.language import _
from app.cli.asked import open_asked, set_part
from app.cli.engraver import engraver_apart
from app.cli.headless import use_offscreen
from app.errors import AppError
from app.job.paper.practice import practice
from app.job.paper.practice_sheet import practice_sheet
from app.job.teacher.printing import PAPERS
from app.job.teacher.work import NO_INSTRUMENT
from app.job.words.finding import find_part


def run_sheet(arguments: argparse.Namespace) -> None:
    """Do what the parsed ``arguments`` ask; what is wrong with them is raised as one sentence."""
    path: Path = arguments.output
    if path.suffix.casefold() != ".pdf":
        raise AppError(_("{file}: the file to write ends in .pdf").format(file=path.name))
    opened = open_asked(arguments.score)
    part = find_part(opened.score, arguments.part)
    work = set_part(opened, part, arguments.instrument, arguments.rules)
    plan = work.plan(part)
    if plan is None:
        raise AppError(f"{part.name}: {_(NO_INSTRUMENT)}")
    asked = practice(part, work.watched(opened.score, part, plan), work.marks)
    title = opened.score.title or Path(opened.document.name).stem
    paper = PAPERS[arguments.paper or opened.work.printing.paper]
    with use_offscreen(), engraver_apart(opened.document.name) as call:
        practice_sheet(path, opened.document, title, plan, asked, paper, call)
