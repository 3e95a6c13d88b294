"""One part of the score, or the whole of it, as text for the engraver.

The engraver reads plain MusicXML but loses or misreads some of it, so the part is copied and tidied first; the
document itself is never touched. Every measure is given an id that says which measures of the part it stands for.
"""

from __future__ import annotations

import copy
from collections.abc import Sequence
from typing import TYPE_CHECKING

from lxml import etree

from analysis.language import _
from engraving.beams import mend_beams
from engraving.clefs import put_clefs_before_times
from engraving.cueing.writing import write_cues
from engraving.errors import EngravingError
from engraving.marks.pencil import write_teacher_marks
from engraving.marks.tags import colour_of
from engraving.marks.teacher import TeacherMark
from engraving.notevalues import put_in_type, put_in_values
from engraving.restruns import drop_rest_counts, gather_rests, label_measures
from engraving.systemwide import carry_over, say_once
from engraving.unreadable import make_ids_readable, make_readable
from engraving.unseen import blank_hidden_notes

if TYPE_CHECKING:
    from analysis.cues import Cue
    from engraving.document import Document, PartEntry

_HEAD_ELEMENTS = ("work", "movement-number", "movement-title", "identification")
_DIGIT_MARKS = ("fingering", "string", "open-string", "fret")
_EMPTY_HOLDERS = ("technical", "notations")


def part_for_engraving(
    document: Document,
    part_id: str,
    *,
    marks: Sequence[TeacherMark] = (),
    cues: Sequence[Cue] = (),
    title: str = "",
) -> str:
    """The part of that id as a one-part MusicXML text, fingering marks left out (they are painted over the page).

    What the top staff says for all players is carried over (:mod:`engraving.systemwide`).

    ``marks`` that the engraver shall draw are written into it, each in the colour that says which of them it is
    (:mod:`engraving.marks.tags`). What colours the file has are left out, as in all that is drawn.
    ``cues`` are written where the part rests. ``title`` stands over it where the file gives none.
    EngravingError when the document has no such part, or a mark or a cue cannot stand in it.
    """
    entry = next((entry for entry in document.parts if entry.id == part_id), None)
    part = next((part for part in document.tree.iterfind("part") if part.get("id") == part_id), None)
    if entry is None or part is None:
        known = ", ".join(f"{entry.id} ({entry.name})" for entry in document.parts)
        raise EngravingError(
            _("{file}: no part with the id '{part_id}'; there is {known}").format(
                file=document.name, part_id=part_id, known=known
            )
        )
    score = _one_part_score(document.tree.getroot(), entry, part)
    if title and not (score.findtext("work/work-title", "") + score.findtext("movement-title", "")).strip():
        _set_title(score, title)
    _write_marks(score, document, marks)
    for copied in score.iterfind("part"):
        carry_over(copied, document, part_id)
        write_cues(copied, document, cues)
        _tidy(copied)
        gather_rests(copied)
    make_ids_readable(score)
    return etree.tostring(score, encoding="unicode")


def score_for_engraving(document: Document, *, marks: Sequence[TeacherMark] = ()) -> str:
    """All parts of the score as one MusicXML text, its fingering marks left out; ``marks`` as for one part."""
    root = document.tree.getroot()
    score = etree.Element("score-partwise", version="4.0")
    score.extend(_bare_copy(found) for tag in (*_HEAD_ELEMENTS, "part-list") for found in root.iterfind(tag))
    score.extend(_bare_copy(part) for part in root.iterfind("part"))
    say_once(score)
    _write_marks(score, document, marks)
    for copied in score.iterfind("part"):
        _tidy(copied)
    make_ids_readable(score)
    return etree.tostring(score, encoding="unicode")


def _write_marks(score: etree._Element, document: Document, marks: Sequence[TeacherMark]) -> None:
    """Write the teacher's marks into the copied score, each in its colour, which nothing else has then."""
    if marks:
        numbers = {mark: number for number, mark in enumerate(marks)}
        for element in score.iterfind("part//*[@color]"):
            del element.attrib["color"]
        write_teacher_marks(etree.ElementTree(score), document.name, numbers, lambda mark: colour_of(numbers[mark]))


def _one_part_score(root: etree._Element, entry: PartEntry, part: etree._Element) -> etree._Element:
    """A new score of the head elements, one entry of the part list and a copy of one part."""
    score = etree.Element("score-partwise", version="4.0")
    for tag in _HEAD_ELEMENTS:
        found = root.find(tag)
        if found is not None:
            score.append(_bare_copy(found))
    listed = etree.SubElement(etree.SubElement(score, "part-list"), "score-part", id=entry.id)
    # A part names itself in its heading, not beside the first system.
    etree.SubElement(listed, "part-name", {"print-object": "no"}).text = entry.name
    score.append(_bare_copy(part))
    return score


def _set_title(score: etree._Element, title: str) -> None:
    element = score.find("movement-title")
    if element is None:
        element = etree.Element("movement-title")
        score.insert(len(score.findall("work")) + len(score.findall("movement-number")), element)
    element.text = title


def _bare_copy(element: etree._Element) -> etree._Element:
    twin = copy.deepcopy(element)
    twin.tail = None
    return twin


def mend(part: etree._Element) -> None:
    """Change a copied ``<part>`` so that the engraver loses and misreads nothing it can draw."""
    _merge_notations(part)
    make_readable(part)
    for element in list(part.iter("staff-tuning", "print")):
        _remove(element)
    _type_grace_notes(part)
    mend_beams(part)


def _tidy(part: etree._Element) -> None:
    blank_hidden_notes(part)
    put_in_values(part)
    put_clefs_before_times(part)
    mend(part)
    for mark in list(part.iter(*_DIGIT_MARKS)):
        _remove(mark)
    for holder in _EMPTY_HOLDERS:
        for element in [found for found in part.iter(holder) if not len(found)]:
            _remove(element)
    drop_rest_counts(part)
    label_measures(part)


def _merge_notations(part: etree._Element) -> None:
    """Move what stands in later ``notations`` of a note into the first: the engraver reads only that one.

    Those that are not to be seen go first, lest what they take in goes unseen with them.
    """
    for note in part.iter("note"):
        every = []
        for notations in note.findall("notations"):
            if notations.get("print-object") == "no":
                note.remove(notations)
            else:
                every.append(notations)
        for later in every[1:]:
            every[0].extend(list(later))
            note.remove(later)


def _type_grace_notes(part: etree._Element) -> None:
    """Grace notes without a note value become eighths: inside a beam the engraver cannot place them otherwise."""
    for grace in part.iter("grace"):
        note = grace.getparent()
        if note is not None and note.find("type") is None:
            put_in_type(note, "eighth")


def _remove(element: etree._Element) -> None:
    parent = element.getparent()
    if parent is not None:
        parent.remove(element)
