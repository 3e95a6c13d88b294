"""Fingerings put into the teacher's own file: the tree is patched, never written anew.

A mark becomes a ``<fingering>``, and a ``<string>`` if it names one, at its note. Whatever else the file holds stays
as it is and where it is.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from lxml import etree

from analysis.fingering.frames.stops import THUMB, finger_text
from engraving.archive import archive_of
from engraving.atomic import write_atomically
from engraving.document import Document
from engraving.elements import FINGER_SIGNS, fingerings_of
from engraving.errors import EngravingError
from engraving.identity import notes_of, take_ids_back
from engraving.patching import indent_new, put_in, take_out
from engraving.xmltext import has_declaration, xml_bytes

_PLAIN_SUFFIXES = (".musicxml", ".xml")
_PACKED_SUFFIX = ".mxl"
# What follows <notations> in a <note> (MusicXML 4.0, complex type note).
_AFTER_NOTATIONS = frozenset(("lyric", "play", "listen"))


@dataclass(frozen=True, slots=True)
class Mark:
    """A fingering to be written at a note: finger 0 (open) to 4 or ``THUMB``; ``string`` from the highest, 1.

    EngravingError for a finger or a string that no bowed player has.
    """

    note_id: str
    finger: int
    string: int | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.finger <= THUMB:
            raise EngravingError(f"finger {self.finger} is not one of 0 to 4, nor {THUMB}, the thumb")
        if self.string is not None and self.string < 1:
            raise EngravingError(f"string {self.string} is not 1 or more")


def marked_tree(document: Document, marks: Iterable[Mark]) -> etree._ElementTree:
    """A copy of the document's tree with the marks, and without the ids that were given while reading.

    A fingering that already says the same is left alone, one that says another finger is changed. EngravingError for
    a mark at a note the file has not, and for two unlike marks at one note.
    """
    wanted = _by_note(document, marks)
    tree = copy.deepcopy(document.tree)
    for note in notes_of(tree):
        mark = wanted.get(note.get("id", ""))
        if mark is not None and note.find("rest") is None:
            del wanted[mark.note_id]
            _write_finger(note, mark.finger)
            if mark.string is not None:
                _write_string(note, mark.string)
    if wanted:
        raise EngravingError(f"{document.name} has no note with the id {next(iter(wanted))}")
    take_ids_back(tree, document.stands_for)
    return tree


def marked_bytes(document: Document, marks: Iterable[Mark]) -> bytes:
    """The marked MusicXML text, in the encoding of the original and with its DOCTYPE."""
    return xml_bytes(marked_tree(document, marks), declared=has_declaration(document.source))


def write_marked(document: Document, marks: Iterable[Mark], path: Path) -> None:
    """Write the marked score: plain for ``.musicxml`` and ``.xml`` or compressed for ``.mxl``; whole or not at all.

    EngravingError for another suffix, or when the file cannot be written.
    """
    suffix = path.suffix.lower()
    if suffix not in (*_PLAIN_SUFFIXES, _PACKED_SUFFIX):
        raise EngravingError(f"{path.name} cannot be written as MusicXML: end its name in .musicxml, .xml or .mxl")
    data = marked_bytes(document, marks)
    if suffix == _PACKED_SUFFIX:
        data = archive_of(data, f"{path.stem}.musicxml")
    write_atomically(path, data)


def _by_note(document: Document, marks: Iterable[Mark]) -> dict[str, Mark]:
    wanted: dict[str, Mark] = {}
    for mark in marks:
        if wanted.setdefault(mark.note_id, mark) != mark:
            raise EngravingError(f"{document.name}: two different marks for the note {mark.note_id}")
    return wanted


def _write_finger(note: etree._Element, finger: int) -> None:
    printed, text, said = next(fingerings_of(note), None), finger_text(finger), False
    for tag, says in FINGER_SIGNS.items():
        sign = note.find(f"notations/technical/{tag}")
        if sign is None:
            continue
        if says == finger:
            said = True
        elif printed is None:
            # The sign says a finger that no longer holds.
            sign.tag, printed = "fingering", sign
        else:
            take_out(sign)
    if printed is None and not said:
        _add_technical(note, "fingering", text)
    if printed is not None and (printed.text or "").strip() != text:
        printed.text = text


def _write_string(note: etree._Element, string: int) -> None:
    printed = note.find("notations/technical/string")
    if printed is None:
        _add_technical(note, "string", str(string))
    elif (printed.text or "").strip() != str(string):
        printed.text = str(string)


def _add_technical(note: etree._Element, tag: str, text: str) -> None:
    mark = etree.Element(tag)
    mark.text = text
    notations = note.find("notations")
    if notations is None:
        notations = etree.Element("notations")
        etree.SubElement(notations, "technical").append(mark)
        put_in(note, _notations_place(note), notations)
        indent_new(notations)
        return
    technical = notations.find("technical")
    if technical is None:
        technical = etree.Element("technical")
        technical.append(mark)
        put_in(notations, len(notations), technical)
        indent_new(technical)
        return
    put_in(technical, len(technical), mark)


def _notations_place(note: etree._Element) -> int:
    """Where ``<notations>`` belongs among a note's children: before lyrics and what may follow them."""
    return next((place for place, child in enumerate(note) if child.tag in _AFTER_NOTATIONS), len(note))
