"""Each kind of mark that stands at one note, written as the standard element for it.

MusicXML has no element for a retake or an extension: they are ``<other-technical>``, "retake" and "ext.". Text in the
margin is ``<words>`` that end where their note begins (``halign="right"``).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from types import MappingProxyType

from lxml import etree

from analysis.instruments import ROMAN
from analysis.language import _
from engraving.elements import pitch_in
from engraving.errors import EngravingError
from engraving.marks.directions import add_direction, has_signs
from engraving.marks.fingerings import restyle, sign, write_string
from engraving.marks.notations import add_accidental, add_notation, signs_at
from engraving.marks.sites import Site
from engraving.marks.teacher import MARK_KINDS, TeacherMark

Look = Mapping[str, str]

# The empty children of <dynamics> (MusicXML 4.0, complex type dynamics); any other is written as text.
_LEVELS = frozenset(
    (
        *("p", "pp", "ppp", "pppp", "ppppp", "pppppp", "f", "ff", "fff", "ffff", "fffff", "ffffff", "mp", "mf"),
        *("sf", "sfp", "sfpp", "fp", "rf", "rfz", "sfz", "sffz", "fz", "n", "pf", "sfzp"),
    )
)
_ACCIDENTALS: Mapping[int | Fraction, str] = MappingProxyType(
    {
        0: "natural",
        1: "sharp",
        -1: "flat",
        2: "double-sharp",
        -2: "flat-flat",
        Fraction(1, 2): "quarter-sharp",
        Fraction(-1, 2): "quarter-flat",
        Fraction(3, 2): "three-quarters-sharp",
        Fraction(-3, 2): "three-quarters-flat",
    }
)
_TEXTS = MappingProxyType({"retake": "retake", "extension": "ext.", "breath": "comma"})
_ABOVE = "above"


def _bow(site: Site, mark: TeacherMark, look: Look) -> None:
    """The bow of the whole chord; one that says the other way is changed in its place."""
    if _stands(site, f"technical/{mark.kind}"):
        return
    other = "up-bow" if mark.kind == "down-bow" else "down-bow"
    for printed in (one for note in site.chord for one in signs_at(note, f"technical/{other}")):
        printed.tag = mark.kind
        restyle(printed, look)
        return
    add_notation(site.head, sign(mark.kind, {"placement": _ABOVE, **look}), "technical")


def _articulation(site: Site, mark: TeacherMark, look: Look) -> None:
    element = MARK_KINDS[mark.kind].element
    if not _stands(site, f"articulations/{element}"):
        add_notation(site.head, sign(element, look, _TEXTS.get(mark.kind)), "articulations")


def _other_technical(site: Site, mark: TeacherMark, look: Look) -> None:
    text = _TEXTS[mark.kind]
    if all((one.text or "").strip() != text for one in signs_at(site.note, "technical/other-technical")):
        add_notation(site.note, sign("other-technical", {"placement": _ABOVE, **look}, text), "technical")


def _arrow(site: Site, mark: TeacherMark, look: Look) -> None:
    """Up beside a high finger, down beside a low one; one that points the other way is turned round."""
    points = "up" if mark.kind == "high" else "down"
    for printed in signs_at(site.note, "technical/arrow"):
        direction = printed.find("arrow-direction")
        if direction is not None and (direction.text or "").strip() in ("up", "down"):
            if (direction.text or "").strip() != points:
                direction.text = points
                restyle(printed, look)
            return
    arrow = sign("arrow", {"placement": _ABOVE, **look})
    etree.SubElement(arrow, "arrow-direction").text = points
    add_notation(site.note, arrow, "technical")


def _courtesy(site: Site, mark: TeacherMark, look: Look) -> None:
    """The accidental of the note in brackets; where one is printed already, the player sees it."""
    if site.note.find("accidental") is not None:
        return
    written = site.note.find("pitch")
    pitch = None if written is None else pitch_in(written)
    name = None if pitch is None else _ACCIDENTALS.get(pitch.alter)
    if name is None:
        raise EngravingError(_("the note {note_id} has no accidental that could be written").format(note_id=mark.first))
    add_accidental(site.note, sign("accidental", {"cautionary": "yes", "parentheses": "yes", **look}, name))


def _dynamic(site: Site, mark: TeacherMark, look: Look) -> None:
    dynamics = sign("dynamics", look)
    if mark.text in _LEVELS:
        etree.SubElement(dynamics, mark.text)
    else:
        etree.SubElement(dynamics, "other-dynamics").text = mark.text
    if not has_signs(site, [dynamics]):
        add_direction(site, [dynamics], "below")


def _words(site: Site, mark: TeacherMark, look: Look) -> None:
    margin = {"justify": "right", "halign": "right"} if mark.kind == "margin-text" else {}
    words = sign("words", {**margin, **look}, mark.text)
    if not has_signs(site, [words]):
        add_direction(site, [words], _ABOVE)


def _string(site: Site, mark: TeacherMark, look: Look) -> None:
    write_string(site.note, ROMAN.index(mark.text), look, _ABOVE)


def _stands(site: Site, path: str) -> bool:
    """Whether a sign stands at any note of the chord."""
    return any(True for note in site.chord for _ in signs_at(note, path))


AT_NOTES: Mapping[str, Callable[[Site, TeacherMark, Look], None]] = MappingProxyType(
    {
        "down-bow": _bow,
        "up-bow": _bow,
        "retake": _other_technical,
        "tenuto": _articulation,
        "accent": _articulation,
        "staccato": _articulation,
        "breath": _articulation,
        "courtesy": _courtesy,
        "high": _arrow,
        "low": _arrow,
        "extension": _other_technical,
        "dynamic": _dynamic,
        "text": _words,
        "margin-text": _words,
        "position": _words,
        "string": _string,
    }
)
