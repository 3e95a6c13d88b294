"""Beams that are not closed, or closed without being opened: mended, because the engraver would tie bars together.

Some files leave out the ends of beams. A group of beamed notes ends where the next one begins or where a note has no
beam; what is then left of a group is beamed anew. Well-formed beams, also over a barline, stay as they are.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field

from lxml import etree


@dataclass(slots=True)
class _Voice:
    """The beam groups of one voice: ``open`` is being read, ``begun`` says whether it has a beginning of its own."""

    broken: list[list[etree._Element]] = field(default_factory=list)
    open: list[etree._Element] = field(default_factory=list)
    begun: bool = False

    def read(self, note: etree._Element) -> None:
        value = note.findtext("beam[@number='1']") or note.findtext("beam")
        if value is None:
            if note.find("rest") is None:
                self.break_off()
            return
        if value == "begin":
            self.break_off()
            self.begun = True
        self.open.append(note)
        if value == "end":
            if self.begun:
                self.open, self.begun = [], False
            self.break_off()

    def break_off(self) -> None:
        """End a group that has no beginning or no end of its own."""
        if self.open:
            self.broken.append(self.open)
        self.open, self.begun = [], False


def mend_beams(part: etree._Element) -> None:
    """Close or take out every broken beam of a part; each kind of grace note and every voice by itself."""
    voices: dict[tuple[str | None, str | None, bool], _Voice] = defaultdict(_Voice)
    for note in part.iter("note"):
        if note.find("chord") is None:
            grace = note.find("grace") is not None
            voices[note.findtext("voice"), note.findtext("staff"), grace].read(note)
    for voice in voices.values():
        voice.break_off()
        for group in voice.broken:
            _beam_anew(group)


def _beam_anew(group: list[etree._Element]) -> None:
    """One unbroken primary beam; further beams follow from the note values. A lone note gets flags."""
    for number, note in enumerate(group):
        first, *others = note.findall("beam")
        for beam in others if len(group) > 1 else [first, *others]:
            note.remove(beam)
        first.set("number", "1")
        first.text = "begin" if number == 0 else "end" if number == len(group) - 1 else "continue"
