"""One measure of a cue, written into the measure of the player who reads it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

from lxml import etree

from engraving.cueing.notes import CueNote, Place, cue_note, cue_rest, moved_by, name_over
from engraving.reading.partwalk import WalkedNote

_TIMED = ("note", "backup", "forward")


@dataclass(frozen=True, slots=True)
class CueBar:
    """What one measure shows of a cue, up to ``end`` in quarter notes.

    ``own`` are the player's notes and rests in it; ``rests`` those of the source between the ``notes``. ``name`` is put
    over it unless it is "". ``entry``: the player comes in at ``end`` or later.
    """

    element: etree._Element
    own: Sequence[WalkedNote]
    divisions: Fraction
    notes: Sequence[tuple[CueNote, str]]
    rests: Sequence[WalkedNote]
    end: Fraction
    marks: frozenset[etree._Element]
    name: str
    entry: bool

    @property
    def finer(self) -> int:
        """How many times finer the divisions of the quarter note have to be for it."""
        timed = (*(one.note for one, _ in self.notes), *self.rests)
        times = (self.end, *(time for one in timed for time in (one.onset, one.onset + one.duration)))
        return lcm(*((time * self.divisions).denominator for time in times))

    def write(self, finer: int, ids: Iterator[str]) -> None:
        """Write it into its measure, whose divisions have been made so many times finer."""
        first = self.own[0] if self.own else None
        staff = None if first is None else first.element.findtext("staff")
        place = Place("1" if first is None else first.voice, staff, self.divisions * finer)
        made = [name_over(self.name, place)] if self.name else []
        made.extend(self._line(place, ids))
        at = _first_place(self.element)
        if self.entry:
            for rest in self.own:
                if rest.onset < self.end:
                    self.element.remove(rest.element)
        elif first is not None:
            made.append(moved_by("backup", self.end, place))
            _move_below(self.own, self.end)
        self.element[at:at] = made

    def _line(self, place: Place, ids: Iterator[str]) -> Iterator[etree._Element]:
        now = Fraction(0)
        every: list[tuple[WalkedNote, CueNote | None, str]] = [(one.note, one, sign) for one, sign in self.notes]
        every += [(rest, None, "") for rest in self.rests]
        for timed, one, sign in sorted(every, key=lambda item: item[0].onset):
            if timed.onset > now:
                yield moved_by("forward", timed.onset - now, place)
            now = timed.onset + timed.duration
            yield cue_rest(timed, place) if one is None else cue_note(one, sign, place, self.marks, next(ids))
        if now < self.end:
            yield moved_by("forward", self.end - now, place)


def _first_place(measure: etree._Element) -> int:
    """Where in a measure its first note is written; where it has none, before the closing barline."""
    for index, child in enumerate(measure):
        if child.tag in _TIMED or (child.tag == "barline" and child.get("location", "right") == "right"):
            return index
    return len(measure)


def _move_below(own: Sequence[WalkedNote], length: Fraction) -> None:
    """Make the player's rests the lower voice of their staff; rests of further voices are not drawn."""
    below = 1 + max((int(rest.voice) for rest in own if rest.voice.isdecimal()), default=1)
    for rest in own:
        if rest.staff != own[0].staff:
            continue
        if rest.voice != own[0].voice:
            rest.element.set("print-object", "no")
            continue
        _set_voice(rest.element, str(below))
        sign = rest.element.find("rest")
        if sign is not None and rest.duration == length:
            sign.set("measure", "yes")


def _set_voice(note: etree._Element, name: str) -> None:
    voice = note.find("voice")
    if voice is None:
        voice = etree.Element("voice")
        before = [
            child for child in note if child.tag in ("cue", "rest", "duration", "instrument", "footnote", "level")
        ]
        before[-1].addnext(voice)
    voice.text = name
