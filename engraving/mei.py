"""Marked scores and excerpts as MEI, for those who put music into their documents.

The engraver encodes them. What it would lose of the marks is put into words or digits first: the thumb is ``T``, a
string its numeral, a high or low finger an arrow, a retake and an extension their words. A circle cannot be said.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path
from types import MappingProxyType

from lxml import etree

from analysis.fingering.frames.stops import THUMB, finger_text
from analysis.instruments import ROMAN
from analysis.language import _
from engraving.apart import Call, here
from engraving.atomic import write_atomically
from engraving.document import Document, read_document
from engraving.errors import EngravingError
from engraving.extract import mend
from engraving.marks.directions import add_direction
from engraving.marks.finger import Mark
from engraving.marks.fingerings import sign
from engraving.marks.notations import add_notation
from engraving.marks.sites import Site, find_sites
from engraving.marks.teacher import TeacherMark
from engraving.marks.writing import marked_bytes
from engraving.patching import take_out
from engraving.typesetting import encoded
from engraving.unreadable import make_ids_readable

_TECHNICAL = "notations/technical/"
_ARROWS = MappingProxyType({"up": "↑", "down": "↓"})
_NUMERALS = MappingProxyType({str(number): numeral for number, numeral in enumerate(ROMAN) if numeral})
_DATE = re.compile(r'(<application\b[^>]*?) isodate="[^"]*"')


def write_mei(
    path: Path,
    document: Document,
    marks: Iterable[Mark],
    teacher: Iterable[TeacherMark] = (),
    *,
    part_id: str | None = None,
    measures: tuple[int, int] | None = None,
    colour: str | None = None,
    call: Call = here,
) -> None:
    """Write the score with a plan's marks and the teacher's as MEI; whole or not at all.

    ``part_id`` picks one part, ``measures`` the measures from one index to another, both included. Notes keep the ids
    they have in ``document``. ``call`` calls the engraver. EngravingError for a part or measures that are not there,
    for marks that cannot be written, and when the file cannot be.
    """
    marked = read_document(marked_bytes(document, marks, teacher, colour=colour), document.name)
    _keep_part(marked, part_id)
    for part in marked.tree.iterfind("part"):
        mend(part)
    make_ids_readable(marked.tree.getroot())
    _put_into_words(marked.tree)
    picked = None if measures is None else _measure_ids(marked, measures)
    text = call(encoded, etree.tostring(marked.tree, encoding="unicode"), picked)
    write_atomically(path, _undated(text))


def _keep_part(document: Document, part_id: str | None) -> None:
    if part_id is None:
        return
    if part_id not in {entry.id for entry in document.parts}:
        known = ", ".join(f"{entry.id} ({entry.name})" for entry in document.parts)
        raise EngravingError(
            _("{file}: no part with the id '{part_id}'; there is {known}").format(
                file=document.name, part_id=part_id, known=known
            )
        )
    root = document.tree.getroot()
    for other in [part for part in root.iterfind("part") if part.get("id") != part_id]:
        root.remove(other)
    for part_list in root.iterfind("part-list"):
        for entry in [one for one in part_list if one.tag != "score-part" or one.get("id") != part_id]:
            part_list.remove(entry)


def _put_into_words(tree: etree._ElementTree) -> None:
    for site in find_sites(tree).values():
        for thumb in site.note.findall(f"{_TECHNICAL}thumb-position"):
            thumb.tag, thumb.text = "fingering", finger_text(THUMB)
        for arrow in site.note.findall(f"{_TECHNICAL}arrow"):
            _set_arrow(site, arrow)
        for string in site.note.findall(f"{_TECHNICAL}string"):
            number = (string.text or "").strip()
            _set_words(site, string, _NUMERALS.get(number, number))
        for other in site.note.findall(f"{_TECHNICAL}other-technical"):
            _set_words(site, other, (other.text or "").strip())


def _set_arrow(site: Site, arrow: etree._Element) -> None:
    """An arrow becomes a letter, behind the digit if there is one."""
    letter = _ARROWS.get((arrow.findtext("arrow-direction") or "").strip())
    if letter is None:
        return
    digit = site.note.find(f"{_TECHNICAL}fingering")
    if digit is None:
        add_notation(site.note, sign("fingering", _colour(arrow), letter), "technical")
    else:
        digit.text = f"{(digit.text or '').strip()}{letter}"
    take_out(arrow)


def _set_words(site: Site, mark: etree._Element, text: str) -> None:
    if text:
        add_direction(site, [sign("words", _colour(mark), text)], "above")
        take_out(mark)


def _colour(mark: etree._Element) -> dict[str, str]:
    colour = mark.get("color")
    return {} if colour is None else {"color": colour}


def _measure_ids(document: Document, measures: tuple[int, int]) -> tuple[str, str]:
    """The ids of the first and last measure of the first part, given to them if they have none."""
    all_measures = document.tree.findall("part[1]/measure")
    first, last = measures
    if not 0 <= first <= last < len(all_measures):
        raise EngravingError(
            _("{file} has no measures {first} to {last}; it has {count}").format(
                file=document.name, first=first + 1, last=last + 1, count=len(all_measures)
            )
        )
    taken = {element.get("id") for element in document.tree.iter(etree.Element)}
    for index in measures:
        if all_measures[index].get("id") is None:
            fresh = f"measure-{index + 1}"
            while fresh in taken:
                fresh += "-"
            all_measures[index].set("id", fresh)
    return all_measures[first].get("id", ""), all_measures[last].get("id", "")


def _undated(mei: str) -> bytes:
    """The text without the time of writing, so that the same score gives the same file."""
    return _DATE.sub(r"\1", mei, count=1).encode()
