"""The work in a damaged project without what does not read, and what is lost with it, in sentences."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from analysis.errors import AnalysisError
from analysis.fingering.rules.files import preset, rules_to
from analysis.language import _, later, n_
from analysis.wording import comma_listed
from app.errors import AppError
from app.job.project.pencil_json import printing_from_json
from app.job.project.work_json import READERS
from app.job.teacher.work import DEFAULT_RULES
from engraving.document import Document
from engraving.errors import EngravingError

# What readers raise on values that another program wrote, or a disk.
_UNREADABLE = (
    AnalysisError, EngravingError, AppError, LookupError, TypeError, ValueError, AttributeError, ArithmeticError,
)  # fmt: skip
# Fields of which each item counts with those before it: a home position is right or wrong by the positions.
_TOGETHER = ("rules", "copies")
_LOST = {
    "instrument": later("{part}: who plays it cannot be read."),
    "rules": later("{part}: {lost} of {all} house rules cannot be read."),
    "locks": later("{part}: {lost} of {all} fixed fingerings cannot be read."),
    "remarks": later("{part}: {lost} of {all} remarks on the watch-list cannot be read."),
    "own_notes": later("{part}: {lost} of {all} notes of your own cannot be read."),
    "marks": later("{part}: {lost} of {all} marks cannot be read."),
    "on_paper": later("{part}: of {lost} of {all} digits it cannot be read whether they are printed."),
    "passages": later("{part}: {lost} of {all} named passages cannot be read."),
    "copies": later("{part}: who gets a copy cannot be read."),
}
Reader = Callable[[Any], Any]


def mended(plain: Any, document: Document) -> tuple[dict[str, Any], tuple[str, ...]]:
    """The work as plain values of which every one reads, and a sentence for each kind of thing that is left out.

    ``document``: the score, for the sentences. What a newer program may have written is kept.
    """
    if not isinstance(plain, dict) or not isinstance(plain.get("parts"), dict):
        own = plain if isinstance(plain, dict) else {}
        return {**own, "parts": {}, "printing": {}}, (_("The work on the parts cannot be read."),)
    losses: list[str] = []
    parts = {}
    names = {part.id: part.name for part in document.parts}
    for part_id, own in plain["parts"].items():
        name = names.get(part_id, part_id)
        if isinstance(own, dict):
            parts[part_id] = _part(own, name, losses)
            losses.extend(_lost_locks(own, parts[part_id], name, document, part_id))
        else:
            losses.append(_("{part}: the work on it cannot be read.").format(part=name))
    printing = plain.get("printing", {})
    kept = _kept(printing, printing_from_json, together=True, otherwise={})
    if kept != printing:
        losses.append(_("How the parts are printed cannot be read, or not all of it."))
    version = {"version": plain["version"]} if type(plain.get("version")) is int else {}
    others = {key: value for key, value in plain.items() if key != "version"}
    return {**others, **version, "parts": parts, "printing": kept}, tuple(losses)


def _part(own: Mapping[str, Any], name: str, losses: list[str]) -> dict[str, Any]:
    """The work on one part; what is lost is added to ``losses``."""
    found = dict(own)
    needed = {"instrument": None, "rules": rules_to(preset(DEFAULT_RULES)), "locks": {}}
    for field, read in READERS.items():
        if field not in own and field not in needed:
            continue
        value = own.get(field)
        found[field] = _kept(value, read, together=field in _TOGETHER, otherwise=needed.get(field))
        if found[field] is None and field not in needed:
            del found[field]
        if field not in own or found.get(field) != value:
            lost, every = _counts(value, found.get(field))
            losses.append(_(_LOST[field]).format(part=name, lost=lost, all=every))
    return found


def _lost_locks(
    own: Mapping[str, Any], kept: Mapping[str, Any], name: str, document: Document, part_id: str
) -> Iterator[str]:
    """Where the notes are whose fixed fingerings are left out, as far as the score has them."""
    locks = own.get("locks")
    lost = set(locks) - set(kept["locks"]) if isinstance(locks, dict) else set()
    if not lost:
        return
    numbers = dict.fromkeys(
        measure.get("number", "")
        for part in document.tree.iterfind("part")
        if part.get("id") == part_id
        for measure in part.iterfind("measure")
        if any(note.get("id") in lost for note in measure.iterfind("note"))
    )
    if numbers:
        words = n_(
            "{part}: they are left out in measure {numbers}.",
            "{part}: they are left out in measures {numbers}.",
            len(numbers),
        )
        yield words.format(part=name, numbers=comma_listed(list(numbers)))


def _kept(value: Any, read: Reader, *, together: bool, otherwise: Any) -> Any:
    """The value as far as it reads: all of it, those of its items that do, or ``otherwise``."""
    if _reads(read, value):
        return value
    if isinstance(value, dict) and together:
        return _kept_together(value, read)
    if isinstance(value, dict) and _reads(read, {}):
        return {key: item for key, item in value.items() if _reads(read, {key: item})}
    if isinstance(value, list) and _reads(read, []):
        return [item for item in value if _reads(read, [item])]
    return otherwise


def _kept_together(value: Mapping[str, Any], read: Reader) -> dict[str, Any]:
    kept: dict[str, Any] = {}
    for key in sorted(value, key=lambda key: key != "positions"):
        if _reads(read, {**kept, key: value[key]}):
            kept[key] = value[key]
    return {key: kept[key] for key in value if key in kept}


def _reads(read: Reader, value: Any) -> bool:
    try:
        read(value)
    except _UNREADABLE:
        return False
    return True


def _counts(value: Any, kept: Any) -> tuple[int, int]:
    """How many items are lost, of how many; of a value that has none of its own, one of one."""
    if isinstance(value, dict | list) and isinstance(kept, type(value)) and len(kept) < len(value):
        return len(value) - len(kept), len(value)
    return 1, 1
