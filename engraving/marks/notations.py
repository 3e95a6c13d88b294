"""Signs put into the ``<notations>`` of a note, and accidentals put before it."""

from __future__ import annotations

from collections.abc import Iterator

from lxml import etree

from engraving.patching import indent_new, put_in

# What follows <notations> and <accidental> in a <note> (MusicXML 4.0, complex type note).
_AFTER_NOTATIONS = frozenset(("lyric", "play", "listen"))
_AFTER_ACCIDENTAL = _AFTER_NOTATIONS | {
    *("time-modification", "stem", "notehead", "notehead-text", "staff", "beam", "notations"),
}


def signs_at(note: etree._Element, path: str) -> Iterator[etree._Element]:
    """The elements at a path such as ``technical/string`` in the notations of a note that are to be seen."""
    for notations in note.iterfind("notations"):
        if not _is_hidden(notations):
            yield from notations.iterfind(path)


def add_notation(note: etree._Element, sign: etree._Element, holder: str | None = None) -> None:
    """Add a sign to the note's first notations, inside ``holder`` (``technical``, ``articulations``) if it has one.

    Some readers, the engraver among them, look at no later notations; those that are not to be seen are left alone.
    """
    notations = note.find("notations")
    if notations is None or _is_hidden(notations):
        place = _place_before(note, _AFTER_NOTATIONS) if notations is None else note.index(notations)
        notations = etree.Element("notations")
        notations.append(_held(sign, holder))
        put_in(note, place, notations)
        indent_new(notations)
        return
    held = notations.find(holder) if holder else None
    if held is not None:
        put_in(held, len(held), sign)
    else:
        put_in(notations, len(notations), whole := _held(sign, holder))
    if held is None or len(sign):
        indent_new(sign if held is not None else whole)


def add_accidental(note: etree._Element, accidental: etree._Element) -> None:
    """Put an ``<accidental>`` where it belongs among the note's children."""
    put_in(note, _place_before(note, _AFTER_ACCIDENTAL), accidental)


def _held(sign: etree._Element, holder: str | None) -> etree._Element:
    if holder is None:
        return sign
    held = etree.Element(holder)
    held.append(sign)
    return held


def _is_hidden(notations: etree._Element) -> bool:
    return notations.get("print-object") == "no"


def _place_before(note: etree._Element, tags: frozenset[str]) -> int:
    return next((place for place, child in enumerate(note) if child.tag in tags), len(note))
