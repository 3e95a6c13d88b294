"""``handframe ways``: the few ways to play a passage, each with what it asks of the hand and the bow."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from itertools import groupby
from pathlib import Path
from typing import Any

from analysis.fingering.passages import PassageWay, passage_ways
from analysis.fingering.placements import finger_text, hand_name
from analysis.fingering.plan import Plan
from analysis.fingering.rules.files import rules_to
from analysis.language import _, later
from analysis.music import Note
from analysis.wording import decimal
from app.cli.asked import Passage, asked_passage
from app.cli.tables import written_finger
from app.errors import AppError
from app.job.words.names import rules_title
from engraving.atomic import write_atomically

# The counts a reader weighs ways by, with the heads of their columns.
_COLUMNS = {
    "shifts": later("Shifts"),
    "crossings": later("Crossings"),
    "open_strings": later("Open strings"),
    "fourth_fingers": later("Fourth fingers"),
}
_EXTRA = later("Extra effort")


@dataclass(frozen=True, slots=True)
class Weighed:
    """A passage of a plan and the ways to play it."""

    passage: Passage
    plan: Plan
    ways: tuple[PassageWay, ...]


def run_ways(arguments: argparse.Namespace) -> None:
    """Do what the parsed ``arguments`` ask; what is wrong with them is raised as one sentence."""
    for path in arguments.output:
        if path.suffix.casefold() != ".json":
            raise AppError(_("{file}: the file to write ends in .json").format(file=path.name))
    weighed = _weigh(arguments)
    for path in arguments.output:
        _write_json(weighed, path)
    if not arguments.output:
        sys.stdout.writelines(f"{line}\n" for line in _table(weighed))


def _weigh(arguments: argparse.Namespace) -> Weighed:
    passage = asked_passage(arguments, arguments.rules)
    plan = passage.work.plan(passage.part)
    ways = passage_ways(plan, *passage.measures) if plan else ()
    if plan is None or not ways:
        for problem in _problems(plan, passage.measures) if plan else ():
            raise AppError(f"{passage.part.name}: {problem}")
        raise AppError(_("{passage}: there is no note to finger").format(passage=passage.title))
    return Weighed(passage, plan, ways)


def _table(weighed: Weighed) -> Iterator[str]:
    """A line of figures for each way, and its fingers below."""
    plan = weighed.plan
    yield f"{weighed.passage.title} ({plan.setting.instrument.title}, {rules_title(plan.setting.rules)})"
    width = max(len(way.name) for way in weighed.ways)
    heads = {field: _(head) for field, head in _COLUMNS.items()}
    yield "  ".join([" " * width, _(_EXTRA), *heads.values()])
    for way in weighed.ways:
        cells = [f"{way.name:<{width}}", decimal(f"{way.extra:>+{len(_(_EXTRA))}.1f}")]
        cells += [f"{getattr(way.counts, field):>{len(head)}}" for field, head in heads.items()]
        yield "  ".join(cells)
        yield f"    {_fingers(plan, way, weighed.passage.measures)}"
    yield from _left_out(weighed)


def _fingers(plan: Plan, way: PassageWay, measures: tuple[int, int]) -> str:
    """The fingers of a way in one line: ``[II] 1 3 [I] 0 | 2``, the string's numeral where it changes.

    ``?`` stands for a note without a finger.
    """
    here: int | None = None
    every = []
    for measure in range(measures[0], measures[1] + 1):
        words = []
        struck = [note for note in plan.part.notes_in(measure) if plan.struck(note.id) or _is_left_out(plan, note)]
        for _stage, notes in groupby(
            struck, key=lambda note: plan.stage_id(note.id) if note.id in plan else note.onset
        ):
            placements = [way.placements[note.id] for note in notes if note.id in way.placements]
            if not placements:
                words.append("?")
                continue
            if placements[0].string != here:
                here = placements[0].string
                words.append(f"[{plan.setting.instrument.string(here).roman}]")
            words.append("+".join(finger_text(placement.finger) for placement in placements))
        every.append(" ".join(words) or "–")
    return " | ".join(every)


def _is_left_out(plan: Plan, note: Note) -> bool:
    return note.id not in plan and not note.tied_from


def _left_out(weighed: Weighed) -> Iterator[str]:
    """Why notes of the passage have no finger in any of the ways, each sentence once."""
    yield from _problems(weighed.plan, weighed.passage.measures)


def _problems(plan: Plan, measures: tuple[int, int]) -> Iterator[str]:
    first, last = measures
    problems = plan.problems
    here = (note.id for note in plan.part.notes if first <= note.measure <= last and note.id in problems)
    yield from dict.fromkeys(problems[note_id] for note_id in here)


def _write_json(weighed: Weighed, path: Path) -> None:
    plan = weighed.plan
    plain = {
        "passage": weighed.passage.title,
        "part": plan.part.name,
        "instrument": plan.setting.instrument.key,
        "rules": rules_to(plan.setting.rules),
        "problems": list(_left_out(weighed)),
        "ways": [_way_object(weighed, way) for way in weighed.ways],
    }
    write_atomically(path, f"{json.dumps(plain, indent=1, ensure_ascii=False)}\n".encode())


def _way_object(weighed: Weighed, way: PassageWay) -> dict[str, Any]:
    part, instrument = weighed.plan.part, weighed.plan.setting.instrument
    # The effort of a passage is that of the whole part: it stands in "extra".
    counts = {name: value for name, value in asdict(way.counts).items() if name != "effort"}
    notes = [
        {
            "note_id": note.id,
            "measure": part.measures[note.measure].label,
            "beat": str(part.measures[note.measure].beat(note.onset)),
            "pitch": note.pitch.name,
            "string": placement.string,
            "position": placement.position,
            "hand": hand_name(placement, instrument),
            "finger": written_finger(placement),
            "lie": placement.lie.word,
            "printed": "yes" if weighed.plan.struck(note.id) else "no",
        }
        for note in part.notes
        if (placement := way.placements.get(note.id)) is not None
    ]
    return {"name": way.name, "extra": way.extra, "counts": counts, "notes": notes}
