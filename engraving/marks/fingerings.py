"""The marks of a plan put at their notes: ``<fingering>``, ``<thumb-position>`` for the thumb, and ``<string>``."""

from __future__ import annotations

from collections.abc import Mapping

from lxml import etree

from analysis.fingering.frames.stops import THUMB, finger_text
from engraving.elements import FINGER_SIGNS, fingerings_of
from engraving.marks.finger import Mark
from engraving.marks.notations import add_notation, signs_at
from engraving.patching import take_out

_THUMB_SIGN = "thumb-position"
_FLAGS = ("substitution", "alternate")


def write_fingering(note: etree._Element, mark: Mark, look: Mapping[str, str]) -> None:
    """Write a mark at its note; ``look``: the attributes of what is written.

    A fingering that already says the same is left alone, one that says another finger is changed.
    """
    _write_finger(note, mark.finger, look)
    if mark.string is not None:
        write_string(note, mark.string, look)


def write_string(note: etree._Element, string: int, look: Mapping[str, str], placement: str | None = None) -> None:
    """Write the string, counted from the highest, at its note; one that names another string is changed in its place.

    ``placement``, "above" or "below", is for one that is not there yet.
    """
    printed = next(signs_at(note, "technical/string"), None)
    if printed is None:
        placed = {} if placement is None else {"placement": placement}
        add_notation(note, sign("string", placed | dict(look), str(string)), "technical")
    elif (printed.text or "").strip() != str(string):
        printed.text = str(string)
        restyle(printed, look)


def sign(tag: str, look: Mapping[str, str], text: str | None = None) -> etree._Element:
    """A new element with these attributes and this text."""
    made = etree.Element(tag, dict(look))
    made.text = text
    return made


def restyle(element: etree._Element, look: Mapping[str, str]) -> None:
    """Give an element of the file these attributes."""
    for name, value in look.items():
        element.set(name, value)


def _write_finger(note: etree._Element, finger: int, look: Mapping[str, str]) -> None:
    printed, said = _printed_finger(note), False
    for tag, says in FINGER_SIGNS.items():
        for one in list(signs_at(note, f"technical/{tag}"))[:1]:
            if says == finger:
                said = True
            elif printed is None:
                # The sign says a finger that no longer holds.
                printed = one
            else:
                take_out(one)
    if printed is not None:
        _say(printed, finger, look)
    elif not said and finger == THUMB:
        add_notation(note, sign(_THUMB_SIGN, look), "technical")
    elif not said:
        add_notation(note, sign("fingering", look, finger_text(finger)), "technical")


def _printed_finger(note: etree._Element) -> etree._Element | None:
    seen = set(signs_at(note, "technical/fingering"))
    return next((one for one in fingerings_of(note) if one in seen), None)


def _say(printed: etree._Element, finger: int, look: Mapping[str, str]) -> None:
    """Let what is printed say this finger, in its place."""
    text = finger_text(finger)
    if printed.tag == "fingering" and (printed.text or "").strip() == text:
        return
    if finger == THUMB:
        printed.tag, printed.text = _THUMB_SIGN, None
        etree.strip_attributes(printed, *_FLAGS)
    else:
        printed.tag, printed.text = "fingering", text
    restyle(printed, look)
