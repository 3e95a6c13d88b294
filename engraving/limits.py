"""How much a score file may hold: one table for all readers.

A limit lies far above the largest score that is played and far below what fills a computer's memory or its owner's
afternoon. Whatever goes over one is refused in one sentence that names it. What scores hold is from memory.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, fields
from typing import Any

_MB = 2**20


def _limit(most: float, why: str) -> Any:
    return field(default=most, metadata={"why": why})


@dataclass(frozen=True, slots=True)
class Limits:
    """The most of everything; :func:`table` tells why each is what it is."""

    file_bytes: int = _limit(100 * _MB, "a symphony as plain MusicXML has 20 to 60 MB")
    score_bytes: int = _limit(100 * _MB, "the same, unpacked from an archive")
    work_bytes: int = _limit(32 * _MB, "the work in a project: 200,000 notes, all of them fixed, have about 25 MB")
    ratio: int = _limit(400, "MusicXML packs to a twentieth, empty measures to a hundredth; deflate allows 1,032")
    members: int = _limit(1_000, "an archive holds a score, its container, now and then the parts and pictures")
    markup: int = _limit(12_000_000, "tags and attributes take memory, some 100 bytes each; a note has about 30")
    depth: int = _limit(100, "MusicXML nests about ten deep")
    parts: int = _limit(500, "the largest orchestral scores have about a hundred staves")
    measures: int = _limit(300_000, "in all parts: a hundred parts of 3,000 measures")
    measures_of_part: int = _limit(20_000, "an opera has about 5,000")
    notes: int = _limit(300_000, "rests too; a long symphony has about 200,000")
    notes_of_measure: int = _limit(2_000, "of one part; a cadenza without barlines has some hundreds")
    quarters: int = _limit(200_000, "quarter notes; at 60 a minute 55 hours")
    denominator: int = _limit(10**18, "of a time in quarter notes; all tuplets up to 40 in one part need less")
    convert_seconds: float = _limit(120.0, "longer than anyone waits without taking the program for dead")
    engrave_seconds: float = _limit(600.0, "for one part or score; the largest that is let in takes some minutes")
    engrave_bytes: int = _limit(
        6 * 1024 * _MB, "address space of the engraver's process; damage can make it ask for all"
    )
    convert_bytes: int = _limit(3 * 1024 * _MB, "address space of the process that converts, 1 GB of it libraries")


LIMITS = Limits()


def table() -> Iterator[tuple[str, float, str]]:
    """The limits as (name, value, why)."""
    for limit in fields(Limits):
        yield limit.name, getattr(LIMITS, limit.name), limit.metadata["why"]
