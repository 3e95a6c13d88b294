"""What stands over the top staff and holds for every player: tempo marks, rehearsal letters, titles of movements.

A score prints them once; a part that is taken out of it needs them too (common practice, no source). MusicXML 4.0 can
say so (``system`` of ``<direction>``); files as a rule do not.
"""

from __future__ import annotations

import copy
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

from lxml import etree

from engraving.elements import number_in
from engraving.reading.tempowords import tempo_word

if TYPE_CHECKING:
    from engraving.document import Document

_SIGNS = ("rehearsal", "metronome", "segno", "coda")
_SOUNDS = ("tempo", "dacapo", "dalsegno", "tocoda", "fine")
_FIRST = frozenset(("attributes", "print", "barline"))
# Words that are said to the players of one part, however they are printed.
_OF_ONE_PART = frozenset(("solo", "soli", "tutti", "div", "unis", "pizz", "arco", "con sord", "senza sord"))


@dataclass(frozen=True, slots=True)
class _Found:
    """A direction that holds for all, how far into its measure it stands in quarter notes, and what it says."""

    onset: Fraction
    element: etree._Element
    says: tuple[str, ...]


def carry_over(part: etree._Element, document: Document, part_id: str) -> None:
    """Put into a copied ``<part>`` what other parts say for all players, unless it says so itself."""
    found: dict[int, list[_Found]] = {}
    for number, other in enumerate(document.tree.iterfind("part")):
        if other.get("id") != part_id:
            for index, one, _direction in _directions(other, is_top=number == 0):
                beside = found.setdefault(index, [])
                if all(one.says != known.says for known in beside):
                    beside.append(one)
    if found:
        _write(part, found)


def say_once(score: etree._Element) -> None:
    """Take out of the copied parts of a score what a part above says at the same place for all players."""
    said: set[tuple[int, Fraction, tuple[str, ...]]] = set()
    for number, part in enumerate(score.iterfind("part")):
        here, measures = list(_directions(part, is_top=number == 0)), part.findall("measure")
        for index, one, direction in here:
            if (index, one.onset, one.says) in said and len(one.says) == len(_says(direction)):
                measures[index].remove(direction)
        said.update((index, one.onset, one.says) for index, one, _direction in here)


def _directions(part: etree._Element, *, is_top: bool) -> Iterator[tuple[int, _Found, etree._Element]]:
    """What is said for all: the index of the measure, what it is, and the direction that says it."""
    divisions = Fraction(1)
    for index, measure in enumerate(part.iterfind("measure")):
        now = Fraction(0)
        for child in measure:
            if child.tag == "attributes":
                divisions = number_in(child.findtext("divisions")) or divisions
            elif child.tag in ("note", "forward") and child.find("chord") is None and child.find("grace") is None:
                now += _time(child, "duration") / divisions
            elif child.tag == "backup":
                now -= _time(child, "duration") / divisions
            elif child.tag == "direction":
                kept = _for_all(child, is_top=is_top)
                if kept is not None:
                    onset = now + _time(child, "offset") / divisions
                    yield index, _Found(max(onset, Fraction(0)), kept, _says(kept)), child


def _for_all(direction: etree._Element, *, is_top: bool) -> etree._Element | None:
    """A copy of what a direction says for all players, ``None`` when it says nothing of the kind."""
    if direction.get("system") == "none" or direction.get("print-object") == "no":
        return None
    told = direction.get("system") is not None
    sound = direction.find("sound")
    moves = sound is not None and any(name in sound.attrib for name in _SOUNDS)
    kinds = [kind for kind in direction.iterfind("direction-type") if told or _is_for_all(kind, moves or is_top, moves)]
    if not kinds:
        return None
    made = etree.Element("direction", placement="above")
    made.extend(copy.deepcopy(kind) for kind in kinds)
    for element in made.iter(etree.Element):
        if "id" in element.attrib:
            del element.attrib["id"]
    tempo = sound.get("tempo") if sound is not None else None
    if tempo is not None:
        # The engraver tells a tempo mark from other words by its sound.
        etree.SubElement(made, "sound", tempo=tempo)
    return made


def _is_for_all(kind: etree._Element, may_be_words: bool, moves: bool) -> bool:
    if any(child.tag in _SIGNS for child in kind):
        return True
    words = [child for child in kind if child.tag == "words" and (child.text or "").strip()]
    if not words or len(words) != len(kind):
        return False
    text = " ".join((child.text or "").strip() for child in words)
    if text.lower().rstrip(".") in _OF_ONE_PART:
        return False
    tempo = text[:1].isupper() and tempo_word(text) is not None
    bold = all(child.get("font-weight") == "bold" and child.get("font-style") != "italic" for child in words)
    return tempo or moves or (may_be_words and bold)


def _says(direction: etree._Element) -> tuple[str, ...]:
    """What it says whatever it looks like."""
    return tuple(
        " ".join((child.tag, *"".join(str(text) for text in child.itertext()).split()))
        for child in direction.iterfind("direction-type/*")
    )


def _write(part: etree._Element, found: dict[int, list[_Found]]) -> None:
    divisions = Fraction(1)
    for index, measure in enumerate(part.iterfind("measure")):
        own = {says for direction in measure.iterfind("direction") for says in _says(direction)}
        for attributes in measure.iterfind("attributes"):
            divisions = number_in(attributes.findtext("divisions")) or divisions
        place = next((number for number, child in enumerate(measure) if child.tag not in _FIRST), len(measure))
        new = [one for one in found.get(index, ()) if own.isdisjoint(one.says)]
        for one in reversed(new):
            if one.onset:
                offset = etree.Element("offset")
                offset.text = f"{float(one.onset * divisions):g}"
                one.element.findall("direction-type")[-1].addnext(offset)
            measure.insert(place, one.element)


def _time(element: etree._Element, tag: str) -> Fraction:
    return number_in(element.findtext(tag)) or Fraction(0)
