"""The watch-list as the teacher keeps it: each finding with what was made of it, and the teacher's own notes."""

from __future__ import annotations

import enum
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from analysis.language import _, later
from analysis.music import Part
from analysis.watch.finding import Finding
from analysis.watch.kinds import KINDS

# The kind of an entry that the teacher wrote.
OWN = "own-note"
Key = tuple[str, str, str]


_TITLES = {kind.name: kind.title for kind in KINDS} | {OWN: later("Your note")}


class Standing(enum.Enum):
    """What the teacher decided about a finding."""

    OPEN = "open"
    ACCEPTED = "accepted"
    HIDDEN = "hidden"


@dataclass(frozen=True, slots=True)
class Remark:
    """What the teacher made of a finding: ``text`` stands in place of its sentence, ``note`` after it ("" for none)."""

    standing: Standing = Standing.OPEN
    text: str = ""
    note: str = ""


@dataclass(frozen=True, slots=True)
class Entry:
    """A finding on the watch-list, with what the teacher made of it."""

    finding: Finding
    remark: Remark = Remark()

    @property
    def text(self) -> str:
        """What is said to the player: the teacher's wording where there is one, and the teacher's note after it."""
        return " ".join(filter(None, (self.remark.text or self.finding.text, self.remark.note)))

    @property
    def says_where(self) -> bool:
        """Whether what is said names its measures; of the teacher's wording nobody knows."""
        return self.finding.says_where and not self.remark.text

    @property
    def is_accepted(self) -> bool:
        """Whether it goes to the practice sheet."""
        return self.remark.standing is Standing.ACCEPTED

    @property
    def is_hidden(self) -> bool:
        """Whether the teacher has put it away."""
        return self.remark.standing is Standing.HIDDEN


def entries(
    part: Part, findings: Iterable[Finding], remarks: Mapping[Key, Remark], own_notes: Mapping[str, str]
) -> tuple[Entry, ...]:
    """The findings with the teacher's ``remarks``, and the teacher's ``own_notes`` by note id, in written order.

    An own note counts as accepted. Remarks on findings that are no longer made wait for them to come back.
    """
    made = [Entry(finding, remarks.get(finding.key, Remark())) for finding in findings]
    own = [
        Entry(Finding(OWN, (note_id,), 1.0, text, says_where=False), Remark(Standing.ACCEPTED))
        for note_id, text in own_notes.items()
        if note_id in part
    ]

    def place(entry: Entry) -> tuple[Fraction, int]:
        first = entry.finding.note_ids[0]
        return part.note(first).onset, part.index(first)

    return tuple(sorted([*made, *own], key=place))


def title_of(kind: str) -> str:
    """What a kind of entry is called."""
    return _(_TITLES[kind])
