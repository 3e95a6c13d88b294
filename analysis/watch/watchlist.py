"""The watch-list of a part: what every watcher finds, in the order in which a player meets it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

from analysis.fingering.plan import Plan
from analysis.fingering.ticking import Tick, no_tick
from analysis.music import Part, Score
from analysis.watch.finding import Finding
from analysis.watch.kinds import KINDS
from analysis.watch.study import Study


def watch_list(score: Score, part: Part, plan: Plan | None, tick: Tick = no_tick) -> tuple[Finding, ...]:
    """All findings of a part of ``score``, by place, then by kind.

    Without a ``plan`` only what the notes themselves tell is found. ``tick`` is called now and then with the share of
    the work done, 0 to 1; what it raises ends the work.
    """
    study = Study(score, part, plan)
    places = {note.id: (note.onset, number) for number, note in enumerate(part.notes)}
    every: list[tuple[int, Finding]] = []
    for number, kind in enumerate(KINDS):
        tick(number / len(KINDS))
        every.extend((number, _in_playing_order(finding, places)) for finding in kind.watch(study))
    every.sort(key=lambda one: (places[one[1].note_ids[0]], one[0]))
    return tuple(finding for _, finding in every)


def _in_playing_order(finding: Finding, places: Mapping[str, tuple[Fraction, int]]) -> Finding:
    """The finding with its notes by onset; of those that sound together, as they are written."""
    ids = finding.note_ids
    order = sorted(range(len(ids)), key=lambda number: places[ids[number]])
    if order == list(range(len(ids))):
        return finding
    again = tuple(finding.again[number] for number in order) if finding.again else ()
    return replace(finding, note_ids=tuple(ids[number] for number in order), again=again)
