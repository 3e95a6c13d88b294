"""``handframe parts``: every part's marked copy, in one PDF or one file a part."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType

from analysis.language import _
from app.cli.asked import open_asked, set_part
from app.cli.engraver import engraver_apart
from app.cli.headless import use_offscreen
from app.errors import AppError
from app.job.files.opening import Opened
from app.job.paper.part_set import write_set
from app.job.teacher.printing import Copies, Printing
from app.job.teacher.work import NO_INSTRUMENT, Work
from app.job.words.finding import find_part


def run_parts(arguments: argparse.Namespace) -> None:
    """Do what the parsed ``arguments`` ask; what is wrong with them is raised as one sentence."""
    opened = open_asked(arguments.score)
    parts = {part.id: set_part(opened, part, None, arguments.rules) for part in opened.score.parts}
    for part in opened.score.parts:
        if parts[part.id].instrument is None:
            sys.stderr.write(f"handframe: {part.name}: {_(NO_INSTRUMENT)}\n")
    work = replace(opened.work, parts=MappingProxyType(parts))
    work = work.printed_as(_printing(arguments, opened.work.printing), _copies(arguments, opened, work))
    with use_offscreen(), engraver_apart(opened.document.name) as call:
        written = write_set(arguments.output, opened, work, {}, call, _progress())
    sys.stdout.write(f"{written.text}\n")
    sys.stdout.writelines(f"{remark}\n" for remark in written.remarks)


def _printing(arguments: argparse.Namespace, known: Printing) -> Printing:
    """How the project prints, with what the command line says in place of it."""
    asked = {
        name: value
        for name in ("paper", "staff_mm", "margin_mm", "colour", "cues", "turns", "date", "marked_by")
        if (value := getattr(arguments, name)) is not None
    }
    return replace(known, **asked)


def _copies(arguments: argparse.Namespace, opened: Opened, work: Work) -> Mapping[str, Copies]:
    """The copies of each part for which the command line asks for another number, or names."""
    found = {part_id: part.copies for part_id, part in work.parts.items()}
    for asked, change in (
        *_asked(arguments.copies, _("Violin I=4"), _numbered),
        *_asked(arguments.names, _("Violin I=Desk 1, Desk 2"), _named),
    ):
        part = find_part(opened.score, asked)
        found[part.id] = change(found[part.id])
    return found


Change = Callable[[Copies], Copies]


def _asked(said: Sequence[str], example: str, read: Callable[[str], Change]) -> list[tuple[str, Change]]:
    found = []
    for one in said:
        part, equals, value = one.rpartition("=")
        if not equals or not part.strip():
            raise AppError(_("'{text}' is not said like '{example}'").format(text=one, example=example))
        found.append((part, read(value)))
    return found


def _numbered(value: str) -> Change:
    if not value.strip().isdecimal():
        raise AppError(_("'{text}' is no number of copies").format(text=value.strip()))
    return lambda copies: replace(copies, number=int(value))


def _named(value: str) -> Change:
    return lambda copies: replace(copies, names=tuple(value.split(",")))


def _progress() -> Callable[[float], None]:
    """Says on a terminal how far the work is; nothing where the output goes to a file."""
    if not sys.stderr.isatty():
        return lambda share: None

    def tick(share: float) -> None:
        sys.stderr.write(f"\r{share:4.0%}\r")
        sys.stderr.flush()

    return tick
