"""One part of the tree walked in written order: where in its measure each note stands and how long it lasts."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from lxml import etree

from engraving.elements import Metre, metre_in, metronome_tempo, number_in, sound_tempo, transposition_in
from engraving.errors import ScoreFileError

_TAGS_OF_NOTE = frozenset(("grace", "cue", "chord", "pitch", "duration", "voice", "staff", "tie", "notations"))


@dataclass(slots=True)
class WalkedNote:
    """A ``<note>`` of any kind, rests too; times in quarter notes from the start of its measure.

    ``head`` is the place in ``WalkedMeasure.notes`` of the first note of its chord, its own place when it begins one.
    """

    element: etree._Element
    onset: Fraction
    duration: Fraction
    head: int
    children: dict[str, etree._Element]

    @property
    def grace(self) -> bool:
        """A grace note, which takes no time."""
        return "grace" in self.children

    def text(self, tag: str, default: str) -> str:
        """The text of a child element, ``default`` when it is missing or blank."""
        child = self.children.get(tag)
        return default if child is None else (child.text or "").strip() or default


@dataclass(slots=True)
class WalkedMeasure:
    """One ``<measure>``: its notes, its ``length`` as this part fills it, the metre in force and its tempo marks."""

    label: str
    implicit: bool
    metre: Metre | None
    length: Fraction = Fraction(0)
    notes: list[WalkedNote] = field(default_factory=list)
    tempi: list[tuple[Fraction, float]] = field(default_factory=list)


class PartWalk:
    """The walk over one ``<part>``; ``measures`` and ``transpose`` hold what it found.

    ``file_name`` and ``part_name`` are for messages. ScoreFileError when a note cannot be placed in time.
    """

    def __init__(self, part: etree._Element, file_name: str, part_name: str) -> None:
        self.measures: list[WalkedMeasure] = []
        self.transpose = 0
        self._place = f"{file_name}: {part_name}"
        self._divisions: Fraction | None = None
        self._metre: Metre | None = None
        self._durations: dict[str | None, Fraction] = {}
        self._now = Fraction(0)
        for measure in part.iterfind("measure"):
            self._walk_measure(measure)

    def _walk_measure(self, element: etree._Element) -> None:
        label = element.get("number", str(len(self.measures) + 1))
        measure = WalkedMeasure(label, element.get("implicit") == "yes", self._metre)
        self.measures.append(measure)
        self._now = Fraction(0)
        for child in element:
            match child.tag:
                case "note":
                    self._walk_note(child, measure)
                case "backup":
                    self._now = max(Fraction(0), self._now - self._duration(child.findtext("duration")))
                case "forward":
                    self._move(measure, self._duration(child.findtext("duration")))
                case "attributes":
                    self._walk_attributes(child, measure)
                case "direction" | "sound":
                    self._walk_tempo(child, measure)

    def _move(self, measure: WalkedMeasure, duration: Fraction) -> None:
        self._now += duration
        measure.length = max(measure.length, self._now)

    def _walk_note(self, element: etree._Element, measure: WalkedMeasure) -> None:
        children: dict[str, etree._Element] = {}
        for child in element:
            if child.tag in _TAGS_OF_NOTE:
                children.setdefault(child.tag, child)
        place = len(measure.notes)
        duration, onset, head = Fraction(0), self._now, place
        if "grace" not in children:
            stated = children.get("duration")
            duration = self._duration(None if stated is None else stated.text)
        if "chord" in children and measure.notes:
            onset, head = measure.notes[-1].onset, measure.notes[-1].head
        else:
            self._move(measure, duration)
        measure.notes.append(WalkedNote(element, onset, duration, head, children))

    def _walk_attributes(self, element: etree._Element, measure: WalkedMeasure) -> None:
        divisions = element.findtext("divisions")
        if divisions is not None:
            self._divisions = number_in(divisions)
            self._durations.clear()
        time = element.find("time")
        if time is not None:
            self._metre = metre_in(time)
            if not self._now:
                measure.metre = self._metre
        transpose = element.find("transpose")
        if transpose is not None and not self.transpose:
            self.transpose = transposition_in(transpose)

    def _walk_tempo(self, element: etree._Element, measure: WalkedMeasure) -> None:
        sounds = [element] if element.tag == "sound" else list(element.iterfind("sound"))
        tempo = next(filter(None, map(sound_tempo, sounds)), None)
        if tempo is None:
            tempo = next(filter(None, map(metronome_tempo, element.iterfind("direction-type/metronome"))), None)
        if tempo is None:
            return
        offset = number_in(element.findtext("offset")) or Fraction(0)
        onset = self._now + (offset / self._divisions if self._divisions else 0)
        measure.tempi.append((max(Fraction(0), onset), tempo))

    def _duration(self, text: str | None) -> Fraction:
        """Quarter notes of a duration in divisions; worked out once for each text."""
        known = self._durations.get(text)
        if known is None:
            known = self._durations[text] = self._counted(text)
        return known

    def _counted(self, text: str | None) -> Fraction:
        if text is None:
            raise self._fault("a note has no duration")
        duration = number_in(text)
        if duration is None or duration < 0:
            raise self._fault(f"'{text.strip()}' is no duration")
        if self._divisions is None or self._divisions <= 0:
            raise self._fault("the divisions of the quarter note are not given, so no duration can be counted")
        return duration / self._divisions

    def _fault(self, what: str) -> ScoreFileError:
        return ScoreFileError(f"{self._place}, measure {self.measures[-1].label}: {what}")
