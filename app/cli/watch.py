"""``handframe watch``: what to watch in a part before the first rehearsal."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from analysis.fingering.plan import Plan
from analysis.music import Part, beat_words
from analysis.watch.finding import SUGGESTION
from app.cli.asked import set_part
from app.errors import AppError
from app.job.finding import find_part
from app.job.opening import Opened, open_any
from app.job.watching import Entry, title_of
from app.job.work import NO_INSTRUMENT


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
    opened = open_any(arguments.score)
    for part in _asked_parts(opened, arguments):
        work = set_part(opened, part, arguments.instrument, arguments.rules)
        if work.instrument is None:
            sys.stderr.write(f"handframe: {part.name}: {NO_INSTRUMENT}\n")
        plan = work.plan(part)
        entries = work.watched(opened.score, part, plan)
        yield Watched(part, plan, tuple(entry for entry in entries if not entry.is_hidden))


def _asked_parts(opened: Opened, arguments: argparse.Namespace) -> list[Part]:
    if arguments.part:
        return [find_part(opened.score, arguments.part)]
    parts = [part for part in opened.score.parts if set_part(opened, part, arguments.instrument, None).instrument]
    if not parts:
        raise AppError(f"{opened.document.name} has no string part to watch; name one with --part")
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
    played = f" ({plan.setting.instrument.name}, {plan.setting.rules.title})" if plan else ""
    yield f"{part.name}{played}: {len(watched.entries)} to watch"
    titles = [title_of(entry.finding.kind) for entry in watched.entries]
    width = max(map(len, titles), default=0)
    for entry, title in zip(watched.entries, titles, strict=True):
        note = part.note(entry.finding.note_ids[0])
        measure = part.measures[note.measure]
        place = f"{measure.label}, {beat_words(measure.beat(note.onset))}"
        mark = "?" if entry.finding.certainty < SUGGESTION else " "
        yield f"{place:>10} {mark} {title:<{width}}  {entry.text}"
