"""Passages that the teacher has named: a solo, a tune, a run-up to the tutti."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from types import MappingProxyType

from analysis.language import _, later
from analysis.music import Part
from app.errors import AppError
from engraving.placing.boxes import PassageBox

_LONGEST = 60
_TOO_LONG = MappingProxyType(
    {
        "name": later("the name of a passage: at most {most} letters that can be printed"),
        "players": later("the players of a passage: at most {most} letters that can be printed"),
    }
)


@dataclass(frozen=True, slots=True)
class Passage:
    """The measures of indices ``first`` to ``last`` of a part, both included; ``players`` are those who play them.

    AppError when it has no name, one that cannot be printed or is too long for a line, or ends before it begins.
    """

    name: str
    first: int
    last: int
    players: str = ""

    def __post_init__(self) -> None:
        for what, said in _TOO_LONG.items():
            text = " ".join(getattr(self, what).split())
            if not text.isprintable() or len(text) > _LONGEST:
                raise AppError(_(said).format(most=_LONGEST))
            object.__setattr__(self, what, text)
        if not self.name:
            raise AppError(_("a passage needs a name"))
        if not 0 <= self.first <= self.last:
            raise AppError(_("the passage {name} ends before it begins").format(name=self.name))

    @property
    def title(self) -> str:
        """What stands on its box."""
        return f"{self.name} · {self.players}" if self.players else self.name


def boxes_of(part: Part, passages: Iterable[Passage]) -> tuple[PassageBox, ...]:
    """The boxes around the passages, as far as the part has their measures."""
    count = len(part.measures)
    return tuple(PassageBox(one.title, one.first, min(one.last, count - 1)) for one in passages if one.first < count)
