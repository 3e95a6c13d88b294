"""The mark of a plan: the finger of a note, and its string where the finger does not tell."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.fingering.frames.stops import THUMB
from analysis.language import _
from engraving.errors import EngravingError


@dataclass(frozen=True, slots=True)
class Mark:
    """A fingering to be written at a note: finger 0 (open) to 4 or ``THUMB``; ``string`` from the highest, 1.

    EngravingError for a finger or a string that no bowed player has.
    """

    note_id: str
    finger: int
    string: int | None = None

    def __post_init__(self) -> None:
        if not 0 <= self.finger <= THUMB:
            raise EngravingError(
                _("finger {finger} is not one of 0 to 4, nor {thumb}, the thumb").format(
                    finger=self.finger, thumb=THUMB
                )
            )
        if self.string is not None and self.string < 1:
            raise EngravingError(_("string {string} is not 1 or more").format(string=self.string))
