"""A journal that is written point by point, and what it may hold when its process was killed at one of them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from app.job.recovery.journal import Journal
from app.job.recovery.lines import Heading, replay
from tests.disk.jobs import MUSIC

EDITS = 9
_REWRITE_AFTER = 3


def said(number: int) -> dict[str, Any]:
    """The state after so many edits."""
    return {"work": {"parts": {"P1": {"own_notes": {"n1": f"say {number}"}}}}, "in_hand": "P1"}


def write_journal(path: Path, shown: list[int]) -> None:
    """Write edits; the last number in ``shown`` is that of the last edit that the disk has taken."""
    heading = Heading("two.musicxml", Path("/music/two.musicxml"), None, MUSIC)
    told: list[str] = []
    journal = Journal(path, heading, said(0), saved=True, failed=told.append, rewrite_after=_REWRITE_AFTER)
    for number in range(1, EDITS + 1):
        journal.write(said(number))
        if journal.flush(10):
            shown[0] = number
    journal.close(remove=False)


def offence(path: Path, shown: int) -> str:
    """What is wrong with a journal in which so many edits were shown; "" for nothing."""
    replayed = replay(path.read_bytes(), path.name) if path.exists() else None
    if replayed is None:
        return f"{shown} edits are lost" if shown else ""
    if replayed.lost:
        return "lines are damaged"
    # What was in the making may be there too.
    return "" if replayed.state in (said(shown), said(shown + 1)) else f"edit {shown} is not the last"
