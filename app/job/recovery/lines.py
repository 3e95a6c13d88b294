"""The lines of a journal: what stands in them, and how far a damaged one can still be read.

A line is the length of its record in bytes, a checksum, and the record in JSON. The checksum, CRC-32, goes on from that
of the line before, so a line that was lost or that stands in another's place is noticed too. The first record is the
heading with the score; the second the state as it was then; every other one the changes of one edit
(``app.job.recovery.changes``).
"""

from __future__ import annotations

import base64
import copy
import json
import zlib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from analysis.language import _
from app.errors import AppError
from app.job.recovery.changes import apply

VERSION = 1
State = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Heading:
    """What a journal is about.

    ``name``: the score's file name. ``file``: what was opened, a score or a project. ``project``: where the project is
    saved, ``None`` where it is not. ``source``: the untouched MusicXML.
    """

    name: str
    file: Path
    project: Path | None
    source: bytes


@dataclass(frozen=True, slots=True)
class Replayed:
    """What a journal holds, as far as it can be read.

    ``state`` as it was after the last line that is whole, ``edited`` when that was written, in seconds since 1970.
    ``unsaved``: the work in it is not the saved one. ``lost``: how many lines after it are damaged, besides one that
    was torn off.
    """

    heading: Heading
    state: State
    edited: float
    unsaved: bool
    lost: int


def line_of(record: Mapping[str, Any], before: int) -> tuple[bytes, int]:
    """A record as one line, and its checksum; ``before`` is that of the line before, 0 in the first."""
    text = json.dumps(record, separators=(",", ":")).encode("ascii")
    checksum = zlib.crc32(text, before)
    return b"%d %08x %b\n" % (len(text), checksum, text), checksum


def heading_record(heading: Heading) -> dict[str, Any]:
    """The heading as a record."""
    return {
        "journal": VERSION,
        "name": heading.name,
        "file": str(heading.file),
        "project": None if heading.project is None else str(heading.project),
        "score": packed(heading.source),
    }


@lru_cache(maxsize=1)
def packed(source: bytes) -> str:
    """A score as a heading holds it; that of the last one is kept, so that whoever opens it can have it made ready."""
    return base64.b64encode(zlib.compress(source, 1)).decode("ascii")


def replay(data: bytes, where: str) -> Replayed | None:
    """Read a journal, up to the first line that is damaged; ``None`` if it breaks off before the first edit could be.

    AppError, naming the journal ``where`` it stands, if what all edits rest on is damaged.
    """
    records, lost = _records(data)
    if len(records) < 2:
        if lost:
            raise AppError(_("{where} is damaged where it begins").format(where=where))
        return None
    try:
        heading = _heading(records[0])
        state, saved, edited = records[1]["state"], records[1]["saved"], float(records[1]["at"])
        before = copy.deepcopy(state["work"])
    except (KeyError, TypeError, ValueError, zlib.error) as error:
        raise AppError(_("{where} was not written by this version of Handframe").format(where=where)) from error
    for number, record in enumerate(records[2:], start=2):
        try:
            apply(state, record["changes"])
            edited = float(record["at"])
        except (KeyError, TypeError, ValueError):
            lost += len(records) - number
            break
    return Replayed(heading, state, edited, not saved or state["work"] != before, lost)


def _heading(record: Mapping[str, Any]) -> Heading:
    if record["journal"] != VERSION:
        raise ValueError("another version")
    source = zlib.decompress(base64.b64decode(record["score"]))
    project = record["project"]
    return Heading(record["name"], Path(record["file"]), None if project is None else Path(project), source)


def _records(data: bytes) -> tuple[list[dict[str, Any]], int]:
    """The records of the lines that are whole, and how many lines follow the first that is not."""
    found: list[dict[str, Any]] = []
    checksum = begin = 0
    while (end := data.find(b"\n", begin)) >= 0:
        length, _, rest = data[begin:end].partition(b" ")
        check, _, text = rest.partition(b" ")
        checksum = zlib.crc32(text, checksum)
        if length != b"%d" % len(text) or check != b"%08x" % checksum:
            break
        try:
            found.append(json.loads(text))
        except ValueError:
            break
        begin = end + 1
    return found, data.count(b"\n", begin)
