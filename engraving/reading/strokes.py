"""What the notations at single notes say of how they are played: tremolo, harmonics, bows, breaths, fermatas."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from lxml import etree

from engraving.reading.partwalk import WalkedNote
from engraving.reading.placed import Placed

_BOWS = {"up-bow": "up", "down-bow": "down"}
# Where the signs for all of a chord stand among the notations.
_SIGNED = frozenset(("technical", "articulations", "fermata"))
_LIFTS = frozenset(("breath-mark", "caesura"))
_TREMOLOS = {"single": "bowed", "unmeasured": "bowed", "start": "fingered"}


@dataclass(frozen=True, slots=True)
class HarmonicSign:
    """The harmonic a note belongs to, natural or ``artificial``.

    ``is_touched``: the written pitch is where the finger touches. ``is_base``: it is the string's own pitch.
    """

    artificial: bool = False
    is_touched: bool = False
    is_base: bool = False


@dataclass(frozen=True, slots=True)
class Signs:
    """The signs at a note that hold for all of its chord; the fields are those of ``analysis.music.Note``."""

    bow: str = ""
    lifted: bool = False
    fermata: bool = False


_NO_SIGNS = Signs()


def tremolo_of(one: Placed) -> str:
    """The tremolo of a note or of the chord it belongs to, as ``analysis.music.Note`` has it."""
    for member in one.members:
        for tremolo in notations_in(member, "ornaments", "tremolo"):
            kind = _TREMOLOS.get(tremolo.get("type", "single"))
            if kind is not None:
                return kind
    return ""


def signs_of(one: Placed) -> Signs:
    """The bow, breath mark and fermata of a note, or of the chord it belongs to; of several bows the first counts."""
    if not one.chord and _SIGNED.isdisjoint(one.walked.notations):
        return _NO_SIGNS
    members = one.members
    bows = (_BOWS[tag] for tag in _tags(members, "technical") if tag in _BOWS)
    return Signs(
        bow=next(bows, ""),
        lifted=not _LIFTS.isdisjoint(_tags(members, "articulations")),
        fermata=any("fermata" in member.notations for member in members),
    )


def harmonic_of(one: Placed) -> HarmonicSign | None:
    """The harmonic of a note, ``None`` when it is a plain note.

    A diamond head is the touched place. Without any sign it is a natural harmonic if it stands alone, and in a chord
    with plain heads the chord is an artificial one.
    """
    members = one.members
    if not any("technical" in member.notations or "notehead" in member.children for member in members):
        return None
    signs = [next(notations_in(member, "technical", "harmonic"), None) for member in members]
    heads = [_is_diamond(member) for member in members]
    place = members.index(one.walked)
    sign, is_diamond = signs[place], heads[place]
    if sign is not None:
        says = {child.tag for child in sign}
        is_touched = "touching-pitch" in says or (is_diamond and not says & {"sounding-pitch", "base-pitch"})
        return HarmonicSign("artificial" in says, is_touched, "base-pitch" in says)
    if any(heads) and signs.count(None) == len(signs):
        return HarmonicSign(artificial=not all(heads), is_touched=is_diamond)
    return None


def _tags(members: Sequence[WalkedNote], holder: str) -> list[str]:
    """What the holders of this kind at some notes hold."""
    return [str(sign.tag) for member in members for element in member.notations.get(holder, ()) for sign in element]


def notations_in(walked: WalkedNote, holder: str, tag: str) -> Iterator[etree._Element]:
    """The ``tag`` elements in the note's ``<ornaments>`` or ``<technical>``."""
    for element in walked.notations.get(holder, ()):
        yield from element.iterfind(tag)


def _is_diamond(walked: WalkedNote) -> bool:
    head = walked.children.get("notehead")
    return head is not None and (head.text or "").strip() == "diamond"
