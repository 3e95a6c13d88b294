"""The teacher's marks as values: bows, dynamics, words and lines, each tied to the notes it belongs to."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from math import isfinite
from types import MappingProxyType
from typing import Literal

from analysis.instruments import ROMAN
from analysis.language import _, later
from engraving.errors import EngravingError

Scope = Literal["note", "range"]

# More is no mark, but a mark lost.
_FARTHEST = 200.0  # in staff spaces
_NUMERAL = re.compile(r"[IVX]+\.?|\d+\.?", re.IGNORECASE)
_POSITIONS = ("position", "held-position")
# A slur or a hook joins two notes; the other lines may stand over one.
_JOINING = ("slur", "dashed-slur", "hooked-bow")


@dataclass(frozen=True, slots=True)
class MarkKind:
    """One kind of mark.

    ``title`` is what the trade calls it, in English. ``scope``: it stands at one note, or reaches from one note to
    another. ``takes_text``: it says something of its own. ``element`` is the MusicXML element it is written as.
    ``engraved``: the engraver draws that element as it should be; the other kinds are painted over the page.
    """

    name: str
    title: str
    scope: Scope
    takes_text: bool
    element: str
    engraved: bool


_KINDS = (
    MarkKind("down-bow", later("Down-bow"), "note", False, "down-bow", True),
    MarkKind("up-bow", later("Up-bow"), "note", False, "up-bow", True),
    MarkKind("retake", later("Retake"), "note", False, "other-technical", False),
    MarkKind("tenuto", later("Tenuto"), "note", False, "tenuto", True),
    MarkKind("accent", later("Accent"), "note", False, "accent", True),
    MarkKind("staccato", later("Staccato"), "note", False, "staccato", True),
    MarkKind("breath", later("Breath"), "note", False, "breath-mark", True),
    MarkKind("courtesy", later("Courtesy accidental"), "note", False, "accidental", True),
    MarkKind("high", later("High finger"), "note", False, "arrow", False),
    MarkKind("low", later("Low finger"), "note", False, "arrow", False),
    MarkKind("extension", later("Extension"), "note", False, "other-technical", False),
    MarkKind("dynamic", later("Dynamic"), "note", True, "dynamics", True),
    MarkKind("text", later("Text"), "note", True, "words", False),
    MarkKind("margin-text", later("Text in the margin"), "note", True, "words", False),
    MarkKind("position", later("Position"), "note", True, "words", False),
    MarkKind("string", later("String"), "note", True, "string", False),
    MarkKind("slur", later("Slur"), "range", False, "slur", True),
    MarkKind("dashed-slur", later("Dashed slur"), "range", False, "slur", True),
    MarkKind("hooked-bow", later("Hooked bow"), "range", False, "slur", True),
    MarkKind("crescendo", later("Crescendo"), "range", False, "wedge", True),
    MarkKind("diminuendo", later("Diminuendo"), "range", False, "wedge", True),
    MarkKind("bracket", later("Bracket"), "range", False, "bracket", False),
    MarkKind("circle", later("Circle"), "range", False, "other-notation", False),
    MarkKind("held-finger", later("Finger stays down"), "range", False, "bracket", False),
    MarkKind("held-position", later("Stay in position"), "range", True, "dashes", False),
)
MARK_KINDS: Mapping[str, MarkKind] = MappingProxyType({kind.name: kind for kind in _KINDS})
# Kinds of which a note has one at most; those of ``OF_CHORD`` hold for all notes of a chord.
ONE_OF: Mapping[str, str] = MappingProxyType(
    {
        "down-bow": later("bows"),
        "up-bow": later("bows"),
        "high": later("arrows"),
        "low": later("arrows"),
        "string": later("strings"),
        "dynamic": later("dynamics"),
    }
)
OF_CHORD = ("bows", "dynamics")


@dataclass(frozen=True, slots=True)
class TeacherMark:
    """A mark at the note ``first``, or from ``first`` to ``last`` for a kind that reaches over notes.

    ``text`` is what it says: a dynamic ``"mf"``, words, a position ``"3rd pos."``, a string ``"I"`` to ``"V"`` from the
    highest. ``dx`` to the right and ``dy`` upwards, in staff spaces, say how far it was moved by hand. EngravingError
    for a kind that does not exist, and for ends, texts or distances that the kind cannot have.
    """

    kind: str
    first: str
    last: str = ""
    text: str = ""
    dx: float = 0.0
    dy: float = 0.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "text", " ".join(self.text.split()))
        kind = MARK_KINDS.get(self.kind)
        if kind is None:
            near = get_close_matches(self.kind, MARK_KINDS, 1)
            said = _("there is no mark '{kind}'; there is '{near}'") if near else _("there is no mark '{kind}'")
            raise EngravingError(said.format(kind=self.kind, near="".join(near)))
        self._check_ends(kind)
        self._check_text(kind)
        if not all(isfinite(way) and abs(way) <= _FARTHEST for way in (self.dx, self.dy)):
            raise EngravingError(
                _("{title}: a mark can be moved by {farthest:g} staff spaces at most").format(
                    title=_(kind.title), farthest=_FARTHEST
                )
            )

    def _check_ends(self, kind: MarkKind) -> None:
        if not self.first:
            raise EngravingError(_("{title}: the mark names no note").format(title=_(kind.title)))
        if kind.scope == "note" and self.last:
            raise EngravingError(
                _("{title}: the mark stands at one note and ends at no other").format(title=_(kind.title))
            )
        if kind.scope == "range" and not self.last:
            raise EngravingError(_("{title}: the mark names no note where it ends").format(title=_(kind.title)))
        if kind.name in _JOINING and self.first == self.last:
            raise EngravingError(_("{title}: the mark needs two notes").format(title=_(kind.title)))

    def _check_text(self, kind: MarkKind) -> None:
        if kind.takes_text and not self.text:
            raise EngravingError(_("{title}: the mark says nothing").format(title=_(kind.title)))
        if self.text and not kind.takes_text:
            raise EngravingError(
                _("{title}: the mark has no text of its own, not '{text}'").format(title=_(kind.title), text=self.text)
            )
        if not self.text.isprintable():
            raise EngravingError(_("{title}: the text holds signs that cannot be printed").format(title=_(kind.title)))
        if kind.name == "string" and self.text not in ROMAN[1:]:
            raise EngravingError(
                _("{title}: '{text}' is no string; strings are {highest} to {lowest}").format(
                    title=_(kind.title), text=self.text, highest=ROMAN[1], lowest=ROMAN[-1]
                )
            )
        if kind.name in _POSITIONS and _NUMERAL.fullmatch(self.text):
            raise EngravingError(
                _("{title}: '{text}' reads as a string or a finger; write the position as '3rd pos.'").format(
                    title=_(kind.title), text=self.text
                )
            )
