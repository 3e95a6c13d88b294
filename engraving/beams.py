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
    """The beam groups of one voice; ``open`` is the one being read."""

    broken: list[list[etree._Element]] = field(default_factory=list)
    open: list[etree._Element] | None = None

    def read(self, note: etree._Element) -> None:
        value = note.findtext("beam[@number='1']") or note.findtext("beam")
        if value is None:
            if note.find("rest") is None:
                self.break_off()
        elif value == "begin":
            self.break_off()
            self.open = [note]
        elif self.open is None:
            self.open = [note]
            if value == "end":
                self.break_off()
        else:
            self.open.append(note)
            if value == "end":
                self.open = None

    def break_off(self) -> None:
        """End a group that has no end of its own."""
        if self.open is not None:
            self.broken.append(self.open)
        self.open = None


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
