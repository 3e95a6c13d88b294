"""What is to be placed at notes, and what stands where: digits with all that belongs to them. Millimetres."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from engraving.drawing import Typeface
from engraving.metrics import TEXT_FAMILY
from engraving.page import Rect

# Signs beside a digit, drawn as strokes: the finger goes higher or lower than it last was, and it reaches out.
UP, DOWN, REACH = "\N{UPWARDS ARROW}", "\N{DOWNWARDS ARROW}", "\N{MULTIPLICATION SIGN}"
SIGNS = frozenset((UP, DOWN, REACH))

# Places are measured for bold, as on paper; the figures of the face are as wide when they are not.
DIGIT_FACE, NAME_FACE = Typeface(TEXT_FAMILY, bold=True), Typeface(TEXT_FAMILY, bold=True, italic=True)
FIGURE_HEIGHT = 0.676  # of digits and capitals in that face, in parts of the em
DIGIT_SPACES = 1.3  # height of a digit in staff spaces
_DESCENT = 0.22  # of a small p below the baseline, in parts of the em

Arrow = Literal["up", "down"]


@dataclass(frozen=True, slots=True)
class Wanted:
    """A digit for a note, and what else is said there.

    ``string``: a numeral such as ``III`` beyond the digit. ``below`` says on which side of the staff; ``None`` lets a
    lower voice have its digits below, all others above. ``hand``: where the hand goes, ``3rd pos.``, over the digit.
    ``arrow``: the finger stands higher or lower than it last did. ``reach``: the finger leaves the hand frame.
    """

    note_id: str
    text: str
    string: str | None = None
    below: bool | None = None
    hand: str | None = None
    arrow: Arrow | None = None
    reach: bool = False


@dataclass(frozen=True, slots=True)
class Figure:
    """Text or a sign at its place: ``rect`` is as wide as the text's advance, from the top of a digit to the baseline.

    ``size`` is the em of the face in millimetres; ``slanted`` for words.
    """

    text: str
    rect: Rect
    size: float
    slanted: bool = False

    @property
    def space(self) -> float:
        """The staff space that a sign beside a digit was drawn for, in mm."""
        return self.size * FIGURE_HEIGHT / DIGIT_SPACES

    @property
    def box(self) -> Rect:
        """The room it takes, below the baseline too."""
        if not self.slanted:
            return self.rect
        return Rect(self.rect.x0, self.rect.y0, self.rect.x1, self.rect.y1 + _DESCENT * self.size)


@dataclass(frozen=True, slots=True)
class Placed:
    """Where the digit of a note stands, and what goes with it."""

    note_id: str
    digit: Figure
    string: Figure | None = None
    hand: Figure | None = None
    reach: Figure | None = None
    arrow: Figure | None = None

    @property
    def figures(self) -> tuple[Figure, ...]:
        """All there is, as it is read: reach, digit and arrow in one line, then the numeral, then the position."""
        every = (self.reach, self.digit, self.arrow, self.string, self.hand)
        return tuple(figure for figure in every if figure is not None)
