"""What the teacher has fixed for a note: string, position, finger, or any of them."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.fingering.placements import Placement, position_name
from analysis.instruments import Instrument


@dataclass(frozen=True, slots=True)
class Lock:
    """What a note's placement must be; ``None`` leaves the choice to the solver."""

    string: int | None = None
    position: int | None = None
    finger: int | None = None

    @classmethod
    def on(cls, placement: Placement) -> Lock:
        """The lock that holds a note to just this placement; an open string leaves the hand where it likes."""
        position = None if placement.is_open else placement.position
        return cls(placement.string, position, placement.finger)

    def admits(self, placement: Placement) -> bool:
        """Whether a placement is what the lock asks for."""
        return (
            self.string in (None, placement.string)
            and self.position in (None, placement.position)
            and self.finger in (None, placement.finger)
        )

    def words(self, instrument: Instrument) -> str:
        """The lock in words: ``finger 2 on the A string in 3rd position``."""
        words = []
        if self.finger is not None:
            words.append("open" if self.finger == 0 else f"finger {self.finger}")
        if self.string is not None:
            known = self.string <= len(instrument.strings)
            words.append(
                f"on the {instrument.string(self.string).letter} string" if known else f"on string {self.string}"
            )
        if self.position is not None:
            words.append(f"in {position_name(self.position)} position")
        return " ".join(words) or "any way"
