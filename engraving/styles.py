"""How digits and marks look: their colours, and what tells them apart without colour."""

from __future__ import annotations

from dataclasses import dataclass

# Of the teacher's own: digits, marks painted or engraved.
OWN_INK = "#7a2e1d"


@dataclass(frozen=True, slots=True)
class DigitStyle:
    """How digits look: colours as ``#rrggbb``; with ``label`` a rounded label of that colour lies under them.

    The label's edge has the colour of the ink. Kinds of digits should differ in shape (bold, label) and not by colour
    alone.
    """

    ink: str
    bold: bool = False
    label: str | None = None


@dataclass(frozen=True, slots=True)
class MarkStyle:
    """The colour of painted marks, ``#rrggbb``; their heavy strokes and letters tell them apart without it.

    ``passages``: the colours that boxes round passages have in turn, as many as they have kinds of lines.
    """

    ink: str
    passages: tuple[str, ...] = ("#000000",)


# On paper digits are bold: the thinnest stroke of the regular face, 0.09 mm, does not survive a school copier.
PAPER = DigitStyle("#000000", bold=True)
COMPUTED = DigitStyle("#1f6f78")
OWN = DigitStyle(OWN_INK, bold=True, label="#fff6ec")
OWN_MARKS = MarkStyle(OWN_INK, (OWN_INK, "#1d4e89", "#5b2a86"))
OWN_MARKS_COPIED = MarkStyle("#000000")
