"""The teacher's work as a value: for each part who plays it, under which rules, and what is fixed by hand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any

from analysis.fingering.locks import Lock
from analysis.fingering.plan import Plan, make_plan
from analysis.fingering.rules.files import preset
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.ticking import Tick, no_tick
from analysis.instruments import Instrument, guess_instruments
from analysis.language import later
from analysis.music import Part, Score
from analysis.watch.watchlist import watch_list
from app.job.teacher.passages import Passage
from app.job.teacher.printing import Copies, Printing
from app.job.teacher.watching import Entry, Key, Remark, entries
from engraving.marks.teacher import TeacherMark

DEFAULT_RULES = "two-homes"
# What is said of a part while nobody knows who plays it.
NO_INSTRUMENT = later("This part's name says no string instrument: choose one to finger it.")


@dataclass(frozen=True, slots=True)
class PartWork:
    """What is set for one part; ``locks`` and ``own_notes`` are by note id, ``remarks`` by the key of their finding.

    ``instrument`` is ``None`` while nobody knows who plays it. ``on_paper``: by note id, where the teacher wants the
    digit printed, and where not, whatever the house rules say. ``copies``: who gets a printed copy.
    """

    instrument: Instrument | None
    rules: HouseRules
    locks: Mapping[str, Lock] = field(default_factory=lambda: MappingProxyType({}))
    remarks: Mapping[Key, Remark] = field(default_factory=lambda: MappingProxyType({}))
    own_notes: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    marks: tuple[TeacherMark, ...] = ()
    on_paper: Mapping[str, bool] = field(default_factory=lambda: MappingProxyType({}))
    passages: tuple[Passage, ...] = ()
    copies: Copies = field(default_factory=Copies)

    @property
    def played(self) -> tuple[Instrument | None, HouseRules, Mapping[str, Lock]]:
        """What its fingering follows from."""
        return self.instrument, self.rules, self.locks

    @property
    def said(self) -> tuple[Mapping[Key, Remark], Mapping[str, str]]:
        """What the teacher says of its watch-list."""
        return self.remarks, self.own_notes

    @property
    def pencilled(self) -> tuple[tuple[TeacherMark, ...], Mapping[str, bool], tuple[Passage, ...]]:
        """What the teacher marks in it."""
        return self.marks, self.on_paper, self.passages

    def with_locks(self, locks: Mapping[str, Lock]) -> PartWork:
        """The same with other locks."""
        return replace(self, locks=MappingProxyType(dict(locks)))

    def with_remark(self, key: Key, remark: Remark) -> PartWork:
        """The same with another remark on the finding of that key; the plain one is none."""
        others = {other: kept for other, kept in self.remarks.items() if other != key}
        return replace(self, remarks=MappingProxyType(others if remark == Remark() else {**others, key: remark}))

    def with_own_note(self, note_id: str, text: str) -> PartWork:
        """The same with another note of the teacher's own at a written note; "" takes it away."""
        others = {other: kept for other, kept in self.own_notes.items() if other != note_id}
        return replace(self, own_notes=MappingProxyType({**others, note_id: text} if text else others))

    def with_digit_on_paper(self, note_id: str, wanted: bool | None) -> PartWork:
        """The same with a digit that is printed, or is not; ``None`` leaves that to the house rules."""
        others = {other: kept for other, kept in self.on_paper.items() if other != note_id}
        return replace(self, on_paper=MappingProxyType(others if wanted is None else {**others, note_id: wanted}))

    def watched(self, score: Score, part: Part, plan: Plan | None, tick: Tick = no_tick) -> tuple[Entry, ...]:
        """The watch-list of ``part`` under ``plan``, with what the teacher made of it, hidden entries too."""
        return entries(part, watch_list(score, part, plan, tick), self.remarks, self.own_notes)

    def plan(self, part: Part, tick: Tick = no_tick) -> Plan | None:
        """The fingering of ``part`` as it is set; ``None`` when no instrument is known."""
        if self.instrument is None:
            return None
        return make_plan(part, self.instrument, self.rules, self.locks, tick)


@dataclass(frozen=True, slots=True)
class Work:
    """The work on a whole score, part by part, and how it is printed.

    ``unread`` keeps what a newer program wrote into the project file.
    """

    parts: Mapping[str, PartWork]
    printing: Printing = field(default_factory=Printing)
    unread: Mapping[str, Any] = field(default_factory=lambda: MappingProxyType({}))

    def with_part(self, part_id: str, part: PartWork) -> Work:
        """The same work with one part set anew."""
        return replace(self, parts=MappingProxyType({**self.parts, part_id: part}))

    def printed_as(self, printing: Printing, copies: Mapping[str, Copies]) -> Work:
        """The same work printed otherwise; ``copies`` by part, of those that get another number."""
        parts = {id: replace(part, copies=copies.get(id, part.copies)) for id, part in self.parts.items()}
        return replace(self, printing=printing, parts=MappingProxyType(parts))


def first_work(score: Score, rules: HouseRules | None = None) -> Work:
    """The work as it stands when a score is first opened.

    Instruments are guessed from the part names; fingerings printed in the file become locks.
    """
    rules = rules or preset(DEFAULT_RULES)
    guessed = guess_instruments([part.name for part in score.parts])
    parts = {
        part.id: PartWork(instrument, rules).with_locks(printed_locks(part))
        for part, instrument in zip(score.parts, guessed, strict=True)
    }
    return Work(MappingProxyType(parts))


def printed_locks(part: Part) -> dict[str, Lock]:
    """The fingerings that stand in the file, as locks by note id."""
    return {
        note.id: Lock(string=note.printed.string, finger=note.printed.finger)
        for note in part.notes
        if note.printed is not None
    }
