"""Colours that tell the engraver's drawing of a mark apart from all other ink: they say which mark it is.

The engraver hands the colour of a MusicXML element on to what it draws for it, but not its id. So every mark is written
in a colour of its own, and where that colour is met in the drawing the mark is found again.
"""

from __future__ import annotations

import re

_COLOUR = re.compile(r"#F1([0-9A-F]{4})", re.IGNORECASE)


def colour_of(number: int) -> str:
    """The colour in which mark ``number``, 0 to 65535, is written."""
    return f"#F1{number:04X}"


def number_of(colour: str | None) -> int | None:
    """The number of the mark that is written in a colour, ``None`` for any other one.

    >>> number_of(colour_of(7)), number_of("black")
    (7, None)
    """
    found = _COLOUR.fullmatch(colour or "")
    return int(found[1], 16) if found else None
