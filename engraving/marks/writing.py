"""Marks put into the teacher's own file: the tree is patched, never written anew.

Whatever else the file holds stays as it is and where it is.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable

from lxml import etree

from analysis.language import _
from engraving.document import Document
from engraving.errors import EngravingError
from engraving.identity import notes_of, take_ids_back
from engraving.marks.finger import Mark
from engraving.marks.fingerings import write_fingering
from engraving.marks.pencil import look_of, write_teacher_marks
from engraving.marks.teacher import TeacherMark
from engraving.xmltext import has_declaration, xml_bytes


def marked_tree(
    document: Document, marks: Iterable[Mark], teacher: Iterable[TeacherMark] = (), *, colour: str | None = None
) -> etree._ElementTree:
    """A copy of the document's tree with a plan's marks and the teacher's, without the ids given while reading.

    A mark that is there already is left alone; a finger, string, bow or arrow that says otherwise is changed in its
    place. What is written gets the ``colour``, ``#RRGGBB``; with ``None`` it looks like the rest. EngravingError for a
    mark at a note the file has not or at a rest, and for marks that contradict each other.
    """
    tree = copy.deepcopy(document.tree)
    _write_fingerings(tree, document.name, _by_note(document, marks), colour)
    pencilled = tuple(teacher)
    if pencilled:
        write_teacher_marks(tree, document.name, pencilled, lambda mark: colour)
    take_ids_back(tree, document.stands_for)
    return tree


def marked_bytes(
    document: Document, marks: Iterable[Mark], teacher: Iterable[TeacherMark] = (), *, colour: str | None = None
) -> bytes:
    """The marked MusicXML text, in the encoding of the original and with its DOCTYPE; see :func:`marked_tree`."""
    tree = marked_tree(document, marks, teacher, colour=colour)
    return xml_bytes(tree, declared=has_declaration(document.source))


def _write_fingerings(tree: etree._ElementTree, name: str, wanted: dict[str, Mark], colour: str | None) -> None:
    look = look_of(None, colour)
    for note in notes_of(tree) if wanted else ():
        mark = wanted.get(note.get("id", ""))
        if mark is not None and note.find("rest") is None:
            del wanted[mark.note_id]
            write_fingering(note, mark, look)
    if wanted:
        raise EngravingError(
            _("{name} has no note with the id {note_id}").format(name=name, note_id=next(iter(wanted)))
        )


def _by_note(document: Document, marks: Iterable[Mark]) -> dict[str, Mark]:
    wanted: dict[str, Mark] = {}
    for mark in marks:
        if wanted.setdefault(mark.note_id, mark) != mark:
            raise EngravingError(
                _("{file}: two different marks for the note {note_id}").format(file=document.name, note_id=mark.note_id)
            )
    return wanted
