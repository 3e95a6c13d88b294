"""What the notations at single notes say of how they are played: tremolo and harmonics."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from lxml import etree

from engraving.partwalk import WalkedNote
from engraving.placed import Placed

_TREMOLOS = {"single": "bowed", "unmeasured": "bowed", "start": "fingered"}


@dataclass(frozen=True, slots=True)
class HarmonicSign:
    """The harmonic a note belongs to, natural or ``artificial``.

    ``is_touched``: the written pitch is where the finger touches. ``is_base``: it is the string's own pitch.
    """

    artificial: bool = False
    is_touched: bool = False
    is_base: bool = False


def tremolo_of(one: Placed) -> str:
    """The tremolo of a note or of the chord it belongs to, as ``analysis.music.Note`` has it."""
    for member in one.chord or (one,):
        for tremolo in notations_in(member.walked, "ornaments", "tremolo"):
            kind = _TREMOLOS.get(tremolo.get("type", "single"))
            if kind is not None:
                return kind
    return ""


def harmonic_of(one: Placed) -> HarmonicSign | None:
    """The harmonic of a note, ``None`` when it is a plain note.

    A diamond head is the touched place. Without any sign it is a natural harmonic if it stands alone, and in a chord
    with plain heads the chord is an artificial one.
    """
    members = one.chord or (one,)
    if not any("technical" in member.walked.notations or "notehead" in member.walked.children for member in members):
        return None
    signs = [next(notations_in(member.walked, "technical", "harmonic"), None) for member in members]
    heads = [_is_diamond(member) for member in members]
    place = members.index(one)
    sign, is_diamond = signs[place], heads[place]
    if sign is not None:
        says = {child.tag for child in sign}
        is_touched = "touching-pitch" in says or (is_diamond and not says & {"sounding-pitch", "base-pitch"})
        return HarmonicSign("artificial" in says, is_touched, "base-pitch" in says)
    if any(heads) and signs.count(None) == len(signs):
        return HarmonicSign(artificial=not all(heads), is_touched=is_diamond)
    return None


def notations_in(walked: WalkedNote, holder: str, tag: str) -> Iterator[etree._Element]:
    """The ``tag`` elements in the note's ``<ornaments>`` or ``<technical>``."""
    for element in walked.notations.get(holder, ()):
        yield from element.iterfind(tag)


def _is_diamond(one: Placed) -> bool:
    head = one.walked.children.get("notehead")
    return head is not None and (head.text or "").strip() == "diamond"
