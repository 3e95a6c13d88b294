"""Plans as tables: CSV, JSON and a table to read."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from dataclasses import asdict
from typing import Any

from analysis.fingering.cautions import CAUTION, Caution, cautions
from analysis.fingering.placements import THUMB, Placement, finger_text, hand_name
from analysis.fingering.plan import Plan
from analysis.fingering.position_words import short_position
from analysis.fingering.rules.files import rules_to
from analysis.language import _
from analysis.music import Measure, Note
from analysis.wording import decimal
from app.job.words.names import rules_title

COLUMNS = (
    "part", "measure", "beat", "note_id", "voice", "pitch", "onset", "duration",
    "string", "position", "hand", "finger", "lie", "effort", "locked", "printed", "reason",
)  # fmt: skip

Measures = tuple[int, int] | None


def note_rows(plan: Plan, measures: Measures = None) -> Iterator[dict[str, Any]]:
    """One row for every note of the plan's part, fingered or not, by column name.

    Beat, onset and duration are exact fractions of quarter notes (``3/2``); the efforts add up to the part's.
    """
    counted: set[str] = set()
    for note in plan.part.notes:
        if measures is None or measures[0] <= note.measure <= measures[1]:
            yield _row(plan, note, counted)


def _row(plan: Plan, note: Note, counted: set[str]) -> dict[str, Any]:
    measure = plan.part.measures[note.measure]
    placement = plan.choice(note.id)
    row: dict[str, Any] = {
        "part": plan.part.name,
        "measure": measure.label,
        "beat": str(measure.beat(note.onset)),
        "note_id": note.id,
        "voice": note.voice,
        "pitch": note.pitch.name,
        "onset": str(note.onset),
        "duration": str(note.duration),
        "string": None,
        "position": None,
        "hand": None,
        "finger": None,
        "lie": None,
        "effort": None,
        "locked": "yes" if note.id in plan.locks else "no",
        "printed": "yes" if plan.struck(note.id) else "no",
        "reason": plan.reason(note.id),
    }
    if placement is not None:
        # A chord's effort stands with its first note, a tied note's with the note it is tied from.
        stage = plan.stage_id(note.id)
        own = plan.own_effort(note.id) if stage not in counted else 0.0
        counted.add(stage)
        row |= {
            "string": placement.string,
            "position": placement.position,
            "hand": hand_name(placement, plan.setting.instrument),
            "finger": written_finger(placement),
            "lie": placement.lie.word,
            "effort": round(own, 3),
        }
    return row


def written_finger(placement: Placement) -> int | str:
    """The finger's number, as a text ``T`` for the thumb."""
    return finger_text(THUMB) if placement.finger == THUMB else placement.finger


def csv_text(plans: Iterable[tuple[Plan, Measures]]) -> str:
    """All plans as one CSV table with the header ``COLUMNS``; an unfingered note's cells stay empty."""
    buffer = io.StringIO()
    writer = csv.DictWriter(buffer, COLUMNS, lineterminator="\n")
    writer.writeheader()
    for plan, measures in plans:
        for row in note_rows(plan, measures):
            writer.writerow({**row, "effort": "" if row["effort"] is None else f"{row['effort']:.3f}"})
    return buffer.getvalue()


def plan_object(plan: Plan, measures: Measures = None) -> dict[str, Any]:
    """A plan as plain values for JSON; the counts are those of the whole part."""
    far = _cautions(plan, measures)
    return {
        "part": plan.part.name,
        "instrument": plan.setting.instrument.key,
        "rules": rules_to(plan.setting.rules),
        "counts": asdict(plan.counts),
        "problems": _problems(plan, measures),
        "cautions": [asdict(caution) for caution in far],
        "caution": _(CAUTION) if far else "",
        "notes": list(note_rows(plan, measures)),
    }


def reading_table(plan: Plan, measures: Measures = None, *, reasons: bool = False) -> Iterator[str]:
    """A plan as lines to read, one a measure: each note with its finger and, where it changes, the string.

    ``reasons``: under each measure why notes are played otherwise than expected. Cautions come last.
    """
    yield f"{plan.part.name} ({plan.setting.instrument.title}, {rules_title(plan.setting.rules)})"
    here: tuple[int, float] | None = None
    for measure in plan.part.measures:
        if measures is not None and not measures[0] <= measure.index <= measures[1]:
            continue
        words = []
        for note in plan.part.notes_in(measure.index):
            word, here = _note_words(plan, note, here)
            words.append(word)
        if words:
            yield f"{measure.label:>5}  {'  '.join(words)}"
        if reasons:
            yield from _reasons(plan, measure)
    counts = plan.counts
    said = _(
        "Whole part: {notes} notes, {shifts} shifts, {crossings} string crossings ({single_crossings} for a single "
        "note), {open_strings} open strings, effort {effort}"
    )
    yield f"       {said.format(**asdict(counts) | {'effort': decimal(f'{counts.effort:.1f}')})}"
    yield from (f"       {problem}" for problem in _problems(plan, measures))
    far = _cautions(plan, measures)
    yield from (f"       {caution.text} {caution.easier}" for caution in far)
    if far:
        yield f"       {_(CAUTION)}"


def _reasons(plan: Plan, measure: Measure) -> Iterator[str]:
    told: set[tuple[str, str]] = set()
    for note in plan.part.notes_in(measure.index):
        # A fixed note has its mark already; what holds for two notes of a chord is said once.
        reason = "" if note.id in plan.locks else plan.reason(note.id)
        if reason and (plan.stage_id(note.id), reason) not in told:
            told.add((plan.stage_id(note.id), reason))
            yield (
                "         "
                + _("{pitch} on beat {beat}: {reason}").format(
                    pitch=note.pitch.said, beat=measure.beat(note.onset), reason=reason
                )
            )


def _cautions(plan: Plan, measures: Measures) -> list[Caution]:
    return [
        caution
        for caution in cautions(plan)
        if measures is None or measures[0] <= plan.part.note(caution.note_id).measure <= measures[1]
    ]


def _problems(plan: Plan, measures: Measures) -> list[str]:
    """What cannot be fingered, or which lock cannot be kept, in these measures: each sentence once."""
    here = (
        problem
        for note_id, problem in plan.problems.items()
        if measures is None or measures[0] <= plan.part.note(note_id).measure <= measures[1]
    )
    return list(dict.fromkeys(here))


def _note_words(plan: Plan, note: Note, here: tuple[int, float] | None) -> tuple[str, tuple[int, float] | None]:
    placement = plan.choice(note.id)
    if placement is None:
        return f"{note.pitch.said} –", here
    if not plan.struck(note.id):
        return f"({note.pitch.said})", here
    words = f"{note.pitch.said} {finger_text(placement.finger)}{'!' if note.id in plan.locks else ''}"
    place = (placement.string, placement.hand)
    if place == here:
        return words, here
    instrument = plan.setting.instrument
    string = instrument.string(placement.string)
    moved = here is None or placement.hand != here[1]
    where = f"{string.roman} {short_position(hand_name(placement, instrument))}" if moved else string.roman
    return f"[{where}] {words}", place
