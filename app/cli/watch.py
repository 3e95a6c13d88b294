"""``handframe watch``: what to watch in a part before the first rehearsal."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from analysis.fingering.plan import Plan
from analysis.language import _
from analysis.music import Part, beat_words
from analysis.watch.finding import SUGGESTION
from app.cli.asked import open_asked, set_part
from app.errors import AppError
from app.job.files.opening import Opened
from app.job.teacher.watching import Entry, title_of
from app.job.teacher.work import NO_INSTRUMENT
from app.job.words.finding import find_part
from app.job.words.names import rules_title


@dataclass(frozen=True, slots=True)
class Watched:
    """A part, its fingering (``None`` where nobody knows who plays it), and its watch-list without what is hidden."""

    part: Part
    plan: Plan | None
    entries: tuple[Entry, ...]


def run_watch(arguments: argparse.Namespace) -> None:
    """Do what the parsed ``arguments`` ask; what is wrong with them is raised as one sentence."""
    every = list(_watch(arguments))
    if arguments.json:
        plain = [entry_object(watched.part, entry) for watched in every for entry in watched.entries]
        sys.stdout.write(f"{json.dumps(plain, indent=1, ensure_ascii=False)}\n")
    else:
        sys.stdout.writelines(f"{line}\n" for watched in every for line in _table(watched))


def _watch(arguments: argparse.Namespace) -> Iterator[Watched]:
    opened = open_asked(arguments.score)
    for part in _asked_parts(opened, arguments):
        named = arguments.part is not None or len(opened.score.parts) == 1
        work = set_part(opened, part, arguments.instrument, arguments.rules, named=named)
        if work.instrument is None:
            sys.stderr.write(f"handframe: {part.name}: {_(NO_INSTRUMENT)}\n")
        plan = work.plan(part)
        entries = work.watched(opened.score, part, plan)
        yield Watched(part, plan, tuple(entry for entry in entries if not entry.is_hidden))


def _asked_parts(opened: Opened, arguments: argparse.Namespace) -> list[Part]:
    if arguments.part:
        return [find_part(opened.score, arguments.part)]
    parts = [part for part in opened.score.parts if set_part(opened, part, arguments.instrument, None).instrument]
    if not parts:
        raise AppError(_("{file} has no string part to watch; name one with --part").format(file=opened.document.name))
    return parts


def entry_object(part: Part, entry: Entry) -> dict[str, Any]:
    """An entry as plain values for JSON; ``beat`` is an exact number of beats as text (``5/2``)."""
    finding = entry.finding
    note = part.note(finding.note_ids[0])
    measure = part.measures[note.measure]
    return {
        "kind": finding.kind,
        "part": part.name,
        "measure": measure.label,
        "beat": str(measure.beat(note.onset)),
        "note_ids": list(finding.note_ids),
        "certainty": round(finding.certainty, 2),
        "text": entry.text,
    }


def _table(watched: Watched) -> Iterator[str]:
    """The part's name, and a line for each entry: where, what kind, what to know; ``?`` marks a proposal."""
    part, plan = watched.part, watched.plan
    played = f" ({plan.setting.instrument.title}, {rules_title(plan.setting.rules)})" if plan else ""
    yield _("{part}: {count} to watch").format(part=f"{part.name}{played}", count=len(watched.entries))
    titles = [title_of(entry.finding.kind) for entry in watched.entries]
    width = max(map(len, titles), default=0)
    for entry, title in zip(watched.entries, titles, strict=True):
        note = part.note(entry.finding.note_ids[0])
        measure = part.measures[note.measure]
        place = f"{measure.label}, {beat_words(measure.beat(note.onset))}"
        mark = "?" if entry.finding.certainty < SUGGESTION else " "
        yield f"{place:>10} {mark} {title:<{width}}  {entry.text}"
