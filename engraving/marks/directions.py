"""Directions put beside notes: right before a note, or right after it for the end of a line."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from lxml import etree

from engraving.marks.sites import Site
from engraving.patching import indent_new, put_in

# How a direction that ends to the left of its note is told from one that begins there.
_HANGING = "right"


def add_direction(site: Site, signs: Sequence[etree._Element], placement: str, *, after: bool = False) -> None:
    """Add a direction of one or more signs, in the voice and on the staff of the note.

    It goes right before the note's chord, or right behind it for ``after``.
    """
    direction = etree.Element("direction", placement=placement)
    for sign in signs:
        etree.SubElement(direction, "direction-type").append(sign)
    for tag, text in (("voice", site.voice), ("staff", site.staff)):
        if text is not None:
            etree.SubElement(direction, tag).text = text
    measure = site.part.measures[site.measure]
    place = measure.index(site.chord[-1]) + 1 if after else measure.index(site.head)
    put_in(measure, place, direction)
    indent_new(direction)


def has_signs(site: Site, signs: Sequence[etree._Element]) -> bool:
    """Whether a direction at the note's onset already says all that these signs do."""
    wanted = {meaning(sign) for sign in signs}
    return any(wanted <= meanings(direction) for direction in site.before() if belongs_to(direction, site))


def belongs_to(direction: etree._Element, site: Site) -> bool:
    """Whether a direction names no other voice and no other staff than the note's."""
    named = ((direction.findtext("voice"), site.voice), (direction.findtext("staff"), site.staff))
    return all((said or "").strip() in ("", own or "") for said, own in named)


def meanings(direction: etree._Element) -> set[tuple[str, ...]]:
    """What each sign of a direction says."""
    return {meaning(sign) for sign in direction.iterfind("direction-type/*")}


def meaning(sign: etree._Element) -> tuple[str, ...]:
    """What a sign says whatever it looks like: colour, place and number left aside."""
    inside: Iterable[etree._Element] = sign.iterchildren("*")
    return (
        str(sign.tag),
        sign.get("type", ""),
        sign.get("line-end", ""),
        "hanging" if sign.get("halign") == _HANGING else "",
        " ".join((sign.text or "").split()),
        *(f"{child.tag} {(child.text or '').strip()}" for child in inside),
    )
