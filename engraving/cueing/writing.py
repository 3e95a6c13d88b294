"""Cues written into the copied part: another part's notes, small, over the rests of the player who waits.

In a measure of rest the cue is the upper voice, and the player's own rest stays below it. In the measure of the entry
the cue takes the place of the rests before it, so that the player's own notes keep their voice.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import cached_property
from itertools import count
from math import lcm
from typing import TYPE_CHECKING

from lxml import etree

from analysis.language import _
from engraving.cueing.bars import CueBar
from engraving.cueing.notes import Accidentals, CueNote, in_divisions, lasting_marks, tied_together
from engraving.cueing.pitching import octaves_into, rewritten, written_in
from engraving.elements import number_in, pitch_in
from engraving.errors import EngravingError
from engraving.reading.partwalk import PartWalk, WalkedNote

if TYPE_CHECKING:
    from analysis.cues import Cue
    from engraving.document import Document

_COUNTED = ("divisions", "duration", "offset")


def write_cues(part: etree._Element, document: Document, cues: Iterable[Cue]) -> None:
    """Write the cues that stand in a copied ``<part>`` into it; ``document`` has the parts that they come from.

    A cue is left out where the part holds more than rests, as where the file has a cue of its own. EngravingError when
    the document has not the part or the notes of a cue.
    """
    cues = [cue for cue in cues if cue.part_id == part.get("id")]
    if not cues:
        return
    reader, sources = _Walked(part, document), dict[str, _Walked]()
    bars: list[CueBar] = []
    for cue in cues:
        if cue.source_id not in sources:
            sources[cue.source_id] = _source(document, cue.source_id)
        bars.extend(_Planner(reader, sources[cue.source_id], cue, document).bars())
    finer = lcm(*(bar.finer for bar in bars))
    if finer > 1:
        _make_finer(part, finer)
    ids = _fresh_ids(document)
    for bar in bars:
        bar.write(finer, ids)


class _Walked:
    """A part with where its notes stand and how its pitches are written, measure by measure."""

    def __init__(self, part: etree._Element, document: Document) -> None:
        self.elements = part.findall("measure")
        self.measures = PartWalk(part, document.name, part.get("id", "")).measures
        self.written = written_in(part)

    @cached_property
    def heard(self) -> dict[str, CueNote]:
        """The notes by id."""
        found: dict[str, CueNote] = {}
        for index, measure in enumerate(self.measures):
            for note in measure.notes:
                pitch = pitch_in(note.children["pitch"]) if "pitch" in note.children else None
                if pitch is not None:
                    found[note.element.get("id", "")] = CueNote(note, measure.notes[note.head], index, pitch)
        return found


def _source(document: Document, part_id: str) -> _Walked:
    for part in document.tree.iterfind("part"):
        if part.get("id") == part_id:
            return _Walked(part, document)
    raise EngravingError(
        _("{file}: no part with the id '{part_id}' to take a cue from").format(file=document.name, part_id=part_id)
    )


class _Planner:
    """Finds what each measure shows of one cue."""

    def __init__(self, reader: _Walked, source: _Walked, cue: Cue, document: Document) -> None:
        self._reader, self._source, self._cue, self._document = reader, source, cue, document

    def bars(self) -> list[CueBar]:
        """The measures of the cue, none where it cannot stand."""
        try:
            notes = [self._source.heard[note_id] for note_id in self._cue.note_ids]
        except KeyError as error:
            raise EngravingError(
                _("{file}: there is no note with the id {note_id}").format(
                    file=self._document.name, note_id=error.args[0]
                )
            ) from error
        measures = list(dict.fromkeys(one.measure for one in notes))
        entry = next((index for index in measures if not self._rests(index)), None)
        if entry is None:
            return self._written(notes, None)
        before = [one for one in notes if one.measure < entry]
        if not before or entry != measures[-1]:
            return []
        if self._gives_room(entry, notes[-1].end):
            bars = self._written(notes, entry)
            if not self._clashes(bars[-1]):
                return bars
        return self._written(before, None)

    def _rests(self, index: int) -> bool:
        return index < len(self._reader.measures) and all(map(_is_rest, self._reader.measures[index].notes))

    def _gives_room(self, index: int, end: Fraction) -> bool:
        """Whether nothing but rests of the only voice stands before ``end``."""
        if index >= len(self._reader.measures):
            return False
        own = self._reader.measures[index].notes
        is_plain = not any(child.tag in ("backup", "forward") for child in self._reader.elements[index])
        return is_plain and all(_is_rest(note) or note.onset >= end for note in own)

    def _clashes(self, bar: CueBar) -> bool:
        """Whether an accidental of the cue stands where the player then has a note without one."""
        signed = {one.pitch.letter for one, sign in bar.notes if sign}
        bare = (
            note.children["pitch"] for note in bar.own if {"pitch", "accidental"} & note.children.keys() == {"pitch"}
        )
        return any(pitch.letter in signed for pitch in map(pitch_in, bare) if pitch is not None)

    def _written(self, notes: Sequence[CueNote], entry: int | None) -> list[CueBar]:
        pitched = tied_together(self._pitched(notes))
        marks = lasting_marks([one.head for one in pitched])
        names = {listed.id: listed.name for listed in self._document.parts}
        bars: list[CueBar] = []
        for index in dict.fromkeys(one.measure for one in pitched):
            here = [one for one in pitched if one.measure == index]
            written, walked = self._reader.written[index], self._reader.measures[index]
            accidentals = Accidentals(written.fifths)
            signed = [(one, accidentals.sign(one)) for one in here]
            last = here[-1].end
            if index == entry:
                end = min((note.onset for note in walked.notes if note.onset >= last), default=last)
            else:
                end = max(walked.length or self._source.measures[index].length, last)
            rests = self._rests_between(here, here[-1].note.onset if index == entry else end)
            name = "" if bars else names.get(self._cue.source_id, "")
            element = self._reader.elements[index]
            bars.append(
                CueBar(element, walked.notes, written.divisions, signed, rests, end, marks, name, index == entry)
            )
        return bars

    def _pitched(self, notes: Sequence[CueNote]) -> list[CueNote]:
        """The notes with their pitches as the player reads them, brought into reach of the staff by octaves."""
        source, reader = self._source.written, self._reader.written
        pitches = [rewritten(one.pitch, source[one.measure], reader[one.measure]) for one in notes]
        octaves = octaves_into(reader[notes[0].measure], pitches)
        moved = (replace(pitch, octave=pitch.octave + octaves) for pitch in pitches)
        return [replace(one, pitch=pitch) for one, pitch in zip(notes, moved, strict=True)]

    def _rests_between(self, notes: Sequence[CueNote], end: Fraction) -> list[WalkedNote]:
        """The rests of the voice that these notes of one measure are of, up to ``end``."""
        one = notes[0].note
        taken = [(note.note.onset, note.end) for note in notes]
        return [
            rest
            for rest in self._source.measures[notes[0].measure].notes
            if _is_rest(rest)
            and (rest.voice, rest.staff) == (one.voice, one.staff)
            and rest.element.get("print-object") != "no"
            and rest.onset + rest.duration <= end
            and all(rest.onset >= stop or rest.onset + rest.duration <= start for start, stop in taken)
        ]


def _is_rest(note: WalkedNote) -> bool:
    return note.element.find("rest") is not None


def _make_finer(part: etree._Element, times: int) -> None:
    """Count the time of a part in divisions so many times finer."""
    for element in part.iter(*_COUNTED):
        number = number_in(element.text)
        if number is not None:
            element.text = in_divisions(number * times)


def _fresh_ids(document: Document) -> Iterator[str]:
    """Ids that nothing in the document has."""
    taken = {element.get("id") for element in document.tree.iter(etree.Element)}
    return (name for name in (f"cue-{number}" for number in count(1)) if name not in taken)
