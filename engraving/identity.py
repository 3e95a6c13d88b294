"""One identity for every ``<note>``: an id that the file, the part as values and the engraved page share.

A note keeps the id the file gives it if that is a valid XML ID which no other element uses. Every other note, rests
too, is given one, the same each time the same file is opened.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping

from lxml import etree

# An id is an NCName (XML Namespaces 1.0): a letter or an underline, then letters, digits, "_", "-" and ".".
_XML_ID = re.compile(r"[^\W\d][\w.\-]*")


def notes_of(tree: etree._ElementTree) -> Iterator[etree._Element]:
    """Every ``<note>`` of the tree, in document order."""
    return tree.iter("note")


def give_ids(tree: etree._ElementTree) -> dict[str, str | None]:
    """Give an id to every note that has none of its own to keep.

    Returns each given id with the id it stands in for, ``None`` where the file had none.
    """
    uses = Counter(element.get("id") for element in tree.iter(etree.Element))
    given: dict[str, str | None] = {}
    for number, note in enumerate(notes_of(tree), start=1):
        own = note.get("id")
        if own is not None and uses[own] == 1 and _XML_ID.fullmatch(own):
            continue
        fresh = f"note-{number}"
        while fresh in uses:
            fresh += "-"
        given[fresh] = own
        note.set("id", fresh)
    return given


def take_ids_back(tree: etree._ElementTree, given: Mapping[str, str | None]) -> None:
    """Put back what ``give_ids`` changed, on the same tree or on a copy of it."""
    for note in notes_of(tree):
        note_id = note.get("id", "")
        if note_id not in given:
            continue
        own = given[note_id]
        if own is None:
            del note.attrib["id"]
        else:
            note.set("id", own)
