"""What the engraver cannot take: values that are damaged, and that would end its process."""

from __future__ import annotations

from lxml import etree

from engraving.elements import number_in

_SHORTEST = 1024


def drop_unreadable(part: etree._Element) -> None:
    """Take out of a copied ``<part>`` the time signatures that count no note value: the engraver divides by it."""
    for time in list(part.iter("time")):
        parent = time.getparent()
        if parent is not None and time.find("senza-misura") is None and not _counts_notes(time):
            parent.remove(time)


def _counts_notes(time: etree._Element) -> bool:
    kinds = [number_in(kind.text) for kind in time.iterfind("beat-type")]
    return bool(kinds) and all(kind is not None and kind in range(1, _SHORTEST + 1) for kind in kinds)
