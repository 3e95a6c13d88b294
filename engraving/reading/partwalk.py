"""One part of the tree walked in written order: where in its measure each note stands and how long it lasts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from math import lcm
from types import MappingProxyType

from lxml import etree

from analysis.language import _
from engraving.elements import Metre, metre_in, number_in, transposition_in
from engraving.errors import ScoreFileError
from engraving.limits import LIMITS, Limits
from engraving.reading.directions import Said, said_in, staff_in

_TAGS_OF_NOTE = frozenset(
    ("grace", "cue", "chord", "pitch", "rest", "duration", "voice", "staff", "tie", "notehead", "accidental")
)
# Of a text that is no number; what should be one may be a novel.
_MOST_SHOWN = 24
_NO_NOTATIONS: Mapping[str, list[etree._Element]] = MappingProxyType({})


@dataclass(slots=True, eq=False)
class WalkedNote:
    """A ``<note>`` of any kind, rests too; times in quarter notes from the start of its measure.

    ``head`` is the place in ``WalkedMeasure.notes`` of the first note of its chord, its own place when it begins one.
    ``children`` holds the first child of each kind, ``notations`` what stands in all its ``<notations>``, by kind.
    """

    element: etree._Element
    onset: Fraction
    duration: Fraction
    head: int
    children: dict[str, etree._Element]
    notations: Mapping[str, list[etree._Element]]
    voice: str
    staff: int

    @property
    def id(self) -> str:
        """The id of the ``<note>``."""
        return self.element.get("id", "")

    @property
    def grace(self) -> bool:
        """A grace note, which takes no time."""
        return "grace" in self.children


@dataclass(slots=True)
class WalkedDirection:
    """What a direction says, from ``onset`` in its measure on.

    ``following`` is the place in ``WalkedMeasure.notes`` of the note that is written after it. ``voice`` is the one the
    direction names, or else that note's, "" where there is none.
    """

    said: Said
    onset: Fraction
    following: int
    is_moved: bool
    voice: str = ""

    def settle(self, notes: Sequence[WalkedNote]) -> None:
        """Find voice and onset among the notes of the whole measure.

        Drawn away from its place, over the first half of a note of its voice, a direction belongs to that note. Before
        a cue note "solo" is the name of the cue.
        """
        if self.said.players and self.following < len(notes) and "cue" in notes[self.following].children:
            self.said = replace(self.said, players="")
        self.voice = self.said.voice or (notes[self.following].voice if self.following < len(notes) else "")
        if self.is_moved:
            mine = (note for note in notes if note.voice == self.voice and self.said.staff in (None, note.staff))
            over = (note.onset for note in mine if 0 <= 2 * (self.onset - note.onset) < note.duration)
            self.onset = max(over, default=self.onset)


@dataclass(slots=True)
class WalkedMeasure:
    """One ``<measure>``: its notes, its ``length`` as this part fills it, the metre in force and what else it holds.

    ``keys`` and ``transposes`` stand at their onset in the measure.
    """

    label: str
    implicit: bool
    metre: Metre | None
    length: Fraction = Fraction(0)
    notes: list[WalkedNote] = field(default_factory=list)
    directions: list[WalkedDirection] = field(default_factory=list)
    keys: list[tuple[Fraction, etree._Element]] = field(default_factory=list)
    transposes: list[tuple[Fraction, int]] = field(default_factory=list)
    barlines: list[etree._Element] = field(default_factory=list)


class PartWalk:
    """The walk over one ``<part>``; ``measures`` holds what it found.

    ``file_name`` and ``part_name`` are for messages. ScoreFileError when a note cannot be placed in time.
    """

    def __init__(self, part: etree._Element, file_name: str, part_name: str, limits: Limits = LIMITS) -> None:
        self.measures: list[WalkedMeasure] = []
        self._place = f"{file_name}: {part_name}"
        self._divisions: Fraction | None = None
        self._divisions_text: str | None = None
        self._metre: Metre | None = None
        self._durations: dict[str | None, Fraction] = {}
        # All times so far are multiples of one over this.
        self._common = 1
        self._limits = limits
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
                    measure.length = max(measure.length, self._now)
                    self._now = max(Fraction(0), self._now - self._duration(child.findtext("duration")))
                case "forward":
                    self._now += self._duration(child.findtext("duration"))
                case "attributes":
                    self._walk_attributes(child, measure)
                case "direction" | "sound":
                    self._walk_direction(child, measure)
                case "barline":
                    measure.barlines.append(child)
        measure.length = max(measure.length, self._now)
        for direction in measure.directions:
            direction.settle(measure.notes)

    def _walk_note(self, element: etree._Element, measure: WalkedMeasure) -> None:
        children: dict[str, etree._Element] = {}
        notations: dict[str, list[etree._Element]] = {}
        for child in element:
            tag = child.tag
            if tag in _TAGS_OF_NOTE:
                children.setdefault(tag, child)
            elif tag == "notations":
                for notation in child:
                    notations.setdefault(notation.tag, []).append(notation)
        place = len(measure.notes)
        duration, onset, head = Fraction(0), self._now, place
        if "grace" not in children:
            stated = children.get("duration")
            duration = self._duration(None if stated is None else stated.text)
        if "chord" in children and measure.notes:
            onset, head = measure.notes[-1].onset, measure.notes[-1].head
        else:
            self._now += duration
        voice = children.get("voice")
        voice_name = "" if voice is None else (voice.text or "").strip()
        staff = staff_in(children["staff"].text) if "staff" in children else None
        measure.notes.append(
            WalkedNote(
                element, onset, duration, head, children, notations or _NO_NOTATIONS, voice_name or "1", staff or 1
            )
        )

    def _walk_attributes(self, element: etree._Element, measure: WalkedMeasure) -> None:
        divisions = element.findtext("divisions")
        if divisions is not None:
            self._divisions, self._divisions_text = number_in(divisions), divisions
            self._durations.clear()
        time = element.find("time")
        if time is not None:
            self._metre = metre_in(time)
            if not self._now:
                measure.metre = self._metre
        measure.keys.extend((self._now, key) for key in element.iterfind("key"))
        transpose = element.find("transpose")
        if transpose is not None:
            measure.transposes.append((self._now, transposition_in(transpose)))

    def _walk_direction(self, element: etree._Element, measure: WalkedMeasure) -> None:
        said = said_in(element)
        if not (said.is_playing or said.is_tempo or said.is_swelling):
            return
        offset = number_in(element.findtext("offset")) or Fraction(0)
        onset = self._now
        if offset and self._divisions:
            onset = max(Fraction(0), onset + offset / self._divisions)
        measure.directions.append(WalkedDirection(said, onset, len(measure.notes), onset != self._now))

    def _duration(self, text: str | None) -> Fraction:
        """Quarter notes of a duration in divisions; worked out once for each text."""
        known = self._durations.get(text)
        if known is None:
            known = self._durations[text] = self._counted(text)
        return known

    def _counted(self, text: str | None) -> Fraction:
        if text is None:
            raise self._fault(_("a note has no duration"))
        duration = number_in(text)
        if duration is None or duration < 0:
            raise self._fault(_("'{text}' is no duration").format(text=text.strip()[:_MOST_SHOWN]))
        given = (self._divisions_text or "").strip()
        if not given:
            raise self._fault(_("the divisions of the quarter note are not given, so no duration can be counted"))
        if self._divisions is None or self._divisions <= 0:
            words = _("'{text}' is no number of divisions of the quarter note, so no duration can be counted")
            raise self._fault(words.format(text=given[:_MOST_SHOWN]))
        counted = duration / self._divisions
        if counted > self._limits.quarters:
            raise self._fault(_("a note lasts longer than any music"))
        self._common = lcm(self._common, counted.denominator)
        if self._common > self._limits.denominator:
            raise self._fault(_("the durations have no common measure"))
        return counted

    def _fault(self, what: str) -> ScoreFileError:
        return ScoreFileError(
            _("{place}, measure {label}: {what}").format(place=self._place, label=self.measures[-1].label, what=what)
        )
