"""The project file ``.handframe``: the untouched score and the teacher's work on it, in one zip archive.

``score.musicxml`` holds the score as it was opened. ``work.json`` holds the work: ``version``, ``score_name``, and for
each part its ``instrument``, ``rules`` and ``locks`` by note id. Fields that this program does not know, written by a
newer one, are kept and written back.
"""

from __future__ import annotations

import io
import json
import math
import zipfile
import zlib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

from analysis.errors import AnalysisError
from analysis.fingering.locks import Lock
from analysis.fingering.rules.files import known_rules, rules_from, rules_to
from analysis.fingering.rules.house import HouseRules
from analysis.instruments import find_instrument
from app.errors import AppError
from app.job.work import PartWork, Work
from engraving.atomic import write_atomically
from engraving.document import Document, read_document

SUFFIX = ".handframe"
VERSION = 1
_SCORE = "score.musicxml"
_WORK = "work.json"
_LOCK_FIELDS = ("string", "position", "finger", "hand")


def save_project(path: Path, document: Document, work: Work) -> None:
    """Write the project, all of it or nothing: the old file stays until the new one is whole on the disk."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(_SCORE, document.source)
        archive.writestr(_WORK, json.dumps(_work_to_json(document, work), indent=1, ensure_ascii=False))
    write_atomically(path, buffer.getvalue())


def open_project(path: Path) -> tuple[Document, Work]:
    """Read a project back; AppError says in one sentence what is wrong with it."""
    try:
        with zipfile.ZipFile(path) as archive:
            source, text = archive.read(_SCORE), archive.read(_WORK).decode("utf-8")
        plain = json.loads(text)
    except FileNotFoundError as error:
        raise AppError(f"{path.name}: there is no such file in {path.parent}") from error
    except KeyError as error:
        raise AppError(f"{path.name} is no Handframe project: it lacks a score or the work on it") from error
    except (zipfile.BadZipFile, UnicodeDecodeError, json.JSONDecodeError, zlib.error) as error:
        raise AppError(f"{path.name} is damaged: it cannot be unpacked") from error
    except OSError as error:
        raise AppError(f"{path.name} cannot be read: {error.strerror or error}") from error
    if not isinstance(plain, dict):
        raise AppError(f"{path.name} is damaged: {_WORK} holds no work")
    name = plain.get("score_name")
    document = read_document(source, name if isinstance(name, str) else path.stem)
    return document, _work_from_json(plain, path.name)


def _work_to_json(document: Document, work: Work) -> dict[str, Any]:
    plain = _thawed(work.unread)
    parts = plain.setdefault("parts", {})
    for part_id, part in work.parts.items():
        own = parts.setdefault(part_id, {})
        own["instrument"] = part.instrument.key if part.instrument else None
        own["rules"] = _rules_to_json(part.rules, own.get("rules", {}))
        held = own.get("locks", {})
        own["locks"] = {note_id: _lock_to_json(lock, held.get(note_id, {})) for note_id, lock in part.locks.items()}
    return {**plain, "version": max(VERSION, plain.get("version", VERSION)), "score_name": document.name}


def _work_from_json(plain: dict[str, Any], where: str) -> Work:
    parts = {}
    try:
        for part_id, own in plain["parts"].items():
            instrument = find_instrument(own["instrument"]) if own["instrument"] else None
            locks = {note_id: _lock_from_json(lock) for note_id, lock in own["locks"].items()}
            parts[part_id] = PartWork(instrument, rules_from(known_rules(own["rules"]))).with_locks(locks)
    except AnalysisError as error:
        raise AppError(f"{where}: {error}") from error
    except (KeyError, TypeError, AttributeError) as error:
        raise AppError(f"{where} is damaged: the work on its parts does not read") from error
    return replace(Work(MappingProxyType(parts)), unread=MappingProxyType(plain))


def _rules_to_json(rules: HouseRules, held: Mapping[str, Any]) -> dict[str, Any]:
    """The rules over what the file ``held``, tables within them too where they still say the same."""
    if rules_from(known_rules(held)) == rules:
        return {**rules_to(rules), **held}
    return {**held, **rules_to(rules)}


def _lock_to_json(lock: Lock, held: Mapping[str, Any]) -> dict[str, Any]:
    unread = {name: value for name, value in held.items() if name not in _LOCK_FIELDS}
    return unread | {name: getattr(lock, name) for name in _LOCK_FIELDS if getattr(lock, name) is not None}


def _lock_from_json(plain: Mapping[str, Any]) -> Lock:
    known = {name: plain[name] for name in _LOCK_FIELDS if name in plain}
    hand = known.pop("hand", None)
    if not all(type(value) is int for value in known.values()):
        raise TypeError("string, position and finger of a lock are whole numbers")
    if hand is not None and (type(hand) not in (int, float) or not math.isfinite(hand)):
        raise TypeError("the hand of a lock is a number")
    return Lock(**known, hand=hand if hand is None else float(hand))


def _thawed(mapping: Mapping[str, Any]) -> dict[str, Any]:
    """A copy that can be changed without touching the work it came from."""
    copied: dict[str, Any] = json.loads(json.dumps(dict(mapping)))
    return copied
