"""Where in the tree the marked notes stand: their chords, their voices, and what lies beside them."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, field

from lxml import etree

_TAKING_TIME = frozenset(("backup", "forward"))


@dataclass(slots=True, eq=False)
class PartSites:
    """One ``<part>`` whose elements are counted: ``places`` holds the number of each note and direction."""

    element: etree._Element
    measures: list[etree._Element] = field(default_factory=list)
    places: dict[etree._Element, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, eq=False)
class Site:
    """A note, the ``chord`` it belongs to (itself, for a single note), and the index of its measure in its part."""

    note: etree._Element
    chord: list[etree._Element]
    measure: int
    part: PartSites

    @property
    def head(self) -> etree._Element:
        """The first written note of the chord: it carries what holds for all of them."""
        return self.chord[0]

    @property
    def voice(self) -> str | None:
        """The voice as the note names it, ``None`` where it names none."""
        return _text(self.head, "voice")

    @property
    def staff(self) -> str | None:
        """The staff as the note names it, ``None`` where it names none."""
        return _text(self.head, "staff")

    @property
    def begins(self) -> int:
        """The number of the chord's first note."""
        return self.part.places[self.head]

    @property
    def ends(self) -> int:
        """The number of the chord's last note."""
        return self.part.places[self.chord[-1]]

    def before(self) -> Iterator[etree._Element]:
        """The directions at the onset of the note, from the note backwards; grace notes take no time."""
        for element in self.head.itersiblings(preceding=True):
            if element.tag in _TAKING_TIME or (element.tag == "note" and element.find("grace") is None):
                return
            if element.tag == "direction":
                yield element

    def after(self) -> Iterator[etree._Element]:
        """The directions that follow the chord before anything else sounds."""
        for element in self.chord[-1].itersiblings():
            if element.tag in _TAKING_TIME or element.tag == "note":
                return
            if element.tag == "direction":
                yield element


def find_sites(tree: etree._ElementTree, note_ids: Collection[str] | None = None) -> dict[str, Site]:
    """The sites of the notes with these ids, or of all; an id that no note has is left out."""
    sites: dict[str, Site] = {}
    for element in tree.iterfind("part"):
        part = PartSites(element)
        count = 0
        for index, measure in enumerate(element.iterfind("measure")):
            part.measures.append(measure)
            chord: list[etree._Element] = []
            for child in measure.iterchildren("note", "direction"):
                part.places[child] = count = count + 1
                if child.tag == "direction":
                    continue
                chord = chord if child.find("chord") is not None and chord else []
                chord.append(child)
                note_id = child.get("id", "")
                if note_ids is None or note_id in note_ids:
                    sites[note_id] = Site(child, chord, index, part)
    return sites


def chords_between(first: Site, last: Site) -> Iterator[etree._Element]:
    """The first notes of all chords of the voice from one site to the other, both included; grace notes are not."""
    for measure in first.part.measures[first.measure : last.measure + 1]:
        for note in measure.iterchildren("note"):
            inside = first.begins <= first.part.places[note] <= last.begins
            plain = all(note.find(tag) is None for tag in ("chord", "grace", "rest"))
            if inside and plain and _text(note, "voice") == first.voice:
                yield note


def _text(note: etree._Element, tag: str) -> str | None:
    text = note.findtext(tag)
    return None if text is None else text.strip()
