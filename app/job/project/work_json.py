"""The work of a project as plain values for JSON, and read back.

``version``, ``score_name``, ``printing``, and for each part its ``instrument``, ``rules``, ``locks``, ``own_notes`` and
``on_paper`` by note id, ``marks``, ``passages``, ``copies``, and ``remarks`` on findings: each names its ``kind``, the
``first`` and ``last`` of its notes, how it stands, and its ``text`` and ``note``. Fields that this program does not
know, written by a newer one, are kept and written back.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from analysis.errors import AnalysisError
from analysis.fingering.locks import Lock
from analysis.fingering.placements import HIGHEST_POSITION, THUMB
from analysis.fingering.rules.files import known_rules, rules_from, rules_to
from analysis.fingering.rules.house import HouseRules
from analysis.instruments import INSTRUMENTS, find_instrument
from analysis.language import _
from app.errors import AppError
from app.job.project.pencil_json import (
    copies_from_json,
    copies_to_json,
    marks_from_json,
    marks_to_json,
    on_paper_from_json,
    passages_from_json,
    passages_to_json,
    printing_from_json,
    printing_to_json,
)
from app.job.teacher.watching import Key, Remark, Standing
from app.job.teacher.work import PartWork, Work
from engraving.errors import EngravingError

VERSION = 1
_LOCK_FIELDS = ("string", "position", "finger", "hand")
# What any instrument has: one that lacks a fifth string says so itself.
_LOCK_RANGES = {
    "string": range(1, 1 + max(len(instrument.strings) for instrument in INSTRUMENTS)),
    "position": range(HIGHEST_POSITION + 1),
    "finger": range(THUMB + 1),
}
_HIGHEST_HAND = 48.0  # semitones above the open string: four octaves, beyond every fingerboard
_KEY_FIELDS = ("kind", "first", "last")


def work_to_json(score_name: str, work: Work) -> dict[str, Any]:
    """The work as plain values for JSON, with what a newer program wrote."""
    return WorkWriter(score_name).plain(work)


class WorkWriter:
    """Makes plain values of one work after another; what is the same object as before is not made anew.

    What it gave before is part of what it gives next, so none of it may be changed.
    """

    def __init__(self, score_name: str) -> None:
        self._score_name = score_name
        self._unread: Mapping[str, Any] | None = None
        self._held: dict[str, Any] = {}
        self._made: dict[str, tuple[PartWork, dict[str, Any]]] = {}

    def plain(self, work: Work) -> dict[str, Any]:
        """The work as :func:`work_to_json` gives it."""
        if work.unread is not self._unread:
            self._unread, self._held, self._made = work.unread, _thawed(work.unread), {}
        held = self._held
        parts = {
            **held.get("parts", {}),
            **{part_id: self._part(part_id, part) for part_id, part in work.parts.items()},
        }
        printing = {**held.get("printing", {}), **printing_to_json(work.printing)}
        version = max(VERSION, held.get("version", VERSION))
        return {**held, "parts": parts, "printing": printing, "version": version, "score_name": self._score_name}

    def _part(self, part_id: str, part: PartWork) -> dict[str, Any]:
        held = self._held.get("parts", {}).get(part_id, {})
        before, made = self._made.get(part_id, (None, {}))
        if before is part:
            return made
        plain = dict(held)
        for name, write in _WRITERS.items():
            value = getattr(part, name)
            same = before is not None and getattr(before, name) is value
            plain[name] = made[name] if same else write(value, held.get(name))
        self._made[part_id] = (part, plain)
        return plain


def work_from_json(plain: dict[str, Any], where: str) -> Work:
    """The work read back; AppError, naming the file ``where`` it stood, when it does not read."""
    try:
        parts = {
            part_id: PartWork(**{name: read(own[name]) for name, read in READERS.items() if name in own})
            for part_id, own in plain["parts"].items()
        }
        printing = printing_from_json(plain.get("printing", {}))
    except (AnalysisError, EngravingError, AppError) as error:
        raise AppError(f"{where}: {error}") from error
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise AppError(_("{where} is damaged: the work on its parts does not read").format(where=where)) from error
    return Work(MappingProxyType(parts), printing, MappingProxyType(plain))


def _rules_to_json(rules: HouseRules, held: Mapping[str, Any]) -> dict[str, Any]:
    """The rules over what the file ``held``, tables within them too where they still say the same."""
    if rules_from(known_rules(held)) == rules:
        return {**rules_to(rules), **held}
    return {**held, **rules_to(rules)}


def _locks_to_json(locks: Mapping[str, Lock], held: Mapping[str, Any]) -> dict[str, Any]:
    return {note_id: _lock_to_json(lock, held.get(note_id, {})) for note_id, lock in locks.items()}


def _lock_to_json(lock: Lock, held: Mapping[str, Any]) -> dict[str, Any]:
    unread = {name: value for name, value in held.items() if name not in _LOCK_FIELDS}
    return unread | {name: getattr(lock, name) for name in _LOCK_FIELDS if getattr(lock, name) is not None}


def _lock_from_json(plain: Mapping[str, Any]) -> Lock:
    if not isinstance(plain, Mapping):
        raise TypeError("a lock is a table")
    known = {name: plain[name] for name in _LOCK_FIELDS if name in plain}
    hand = known.pop("hand", None)
    for name, value in known.items():
        if type(value) is not int or value not in _LOCK_RANGES[name]:
            raise ValueError(f"no {name} of an instrument is {value!r}")
    if hand is not None and (type(hand) not in (int, float) or not math.isfinite(hand)):
        raise TypeError("the hand of a lock is a number")
    if hand is not None and not 0 <= hand <= _HIGHEST_HAND:
        raise ValueError("no string is so long")
    return Lock(**known, hand=hand if hand is None else float(hand))


def _remarks_to_json(remarks: Mapping[Key, Remark], held: Sequence[Any]) -> list[dict[str, Any]]:
    """The remarks, each over what the file ``held`` of it."""
    kept = {_key_from_json(plain): plain for plain in held}
    return [
        {
            **kept.get(key, {}),
            **dict(zip(_KEY_FIELDS, key, strict=True)),
            "standing": remark.standing.value,
            "text": remark.text,
            "note": remark.note,
        }
        for key, remark in remarks.items()
    ]


def _remark_from_json(plain: Mapping[str, Any]) -> tuple[Key, Remark]:
    text, note = plain.get("text", ""), plain.get("note", "")
    if not (isinstance(text, str) and isinstance(note, str)):
        raise TypeError("what a remark says is text")
    return _key_from_json(plain), Remark(Standing(plain["standing"]), text, note)


def _key_from_json(plain: Mapping[str, Any]) -> Key:
    kind, first, last = (str(plain[name]) for name in _KEY_FIELDS)
    return kind, first, last


def _own_notes_from_json(plain: Mapping[str, Any]) -> dict[str, str]:
    if not all(isinstance(text, str) for text in plain.values()):
        raise TypeError("a note of the teacher's own is text")
    return dict(plain)


# How each field of the work on a part is written over what the file held of it, ``None`` where it held nothing.
_WRITERS: Mapping[str, Callable[[Any, Any], Any]] = {
    "instrument": lambda instrument, held: instrument.key if instrument else None,
    "rules": lambda rules, held: _rules_to_json(rules, held or {}),
    "locks": lambda locks, held: _locks_to_json(locks, held or {}),
    "remarks": lambda remarks, held: _remarks_to_json(remarks, held or []),
    "own_notes": lambda notes, held: dict(notes),
    "marks": lambda marks, held: marks_to_json(marks, held or []),
    "on_paper": lambda wanted, held: dict(wanted),
    "passages": lambda passages, held: passages_to_json(passages, held or []),
    "copies": lambda copies, held: {**(held or {}), **copies_to_json(copies)},
}

# How each of them is read.
READERS: Mapping[str, Callable[[Any], Any]] = {
    "instrument": lambda key: find_instrument(key) if key else None,
    "rules": lambda plain: rules_from(known_rules(plain)),
    "locks": lambda plain: MappingProxyType({note_id: _lock_from_json(lock) for note_id, lock in plain.items()}),
    "remarks": lambda plain: MappingProxyType(dict(map(_remark_from_json, plain))),
    "own_notes": lambda plain: MappingProxyType(_own_notes_from_json(plain)),
    "marks": marks_from_json,
    "on_paper": lambda plain: MappingProxyType(on_paper_from_json(plain)),
    "passages": passages_from_json,
    "copies": copies_from_json,
}


def _thawed(mapping: Mapping[str, Any]) -> dict[str, Any]:
    """A copy that can be changed without touching the work it came from."""
    copied: dict[str, Any] = json.loads(json.dumps(dict(mapping)))
    return copied
