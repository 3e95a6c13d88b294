"""How parts are printed: on which paper, what stands beside the music, and who gets a copy."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.language import _
from app.errors import AppError
from engraving.imprint import Imprint
from engraving.layout import A4, LETTER, Layout

PAPERS = {"a4": A4, "letter": LETTER}
MOST_COPIES = 60


@dataclass(frozen=True, slots=True)
class Printing:
    """What holds for every part of a score that is printed.

    ``paper`` is a key of ``PAPERS``; ``staff_mm`` and ``margin_mm`` as in :class:`engraving.layout.Layout`. ``colour``:
    the teacher's marks are in colour, else black, for the copier. ``cues``: another part's notes before an entry after
    a long rest. ``turns``: pages end where the music lets the players turn. ``date`` and ``marked_by`` stand at the
    foot. AppError for a paper that is not known, EngravingError for sizes that cannot be printed.
    """

    paper: str = "a4"
    staff_mm: float = 7.0
    margin_mm: float = 12.0
    colour: bool = False
    cues: bool = True
    turns: bool = True
    date: str = ""
    marked_by: str = ""

    def __post_init__(self) -> None:
        if self.paper not in PAPERS:
            raise AppError(
                _("there is no paper '{paper}'; there is {papers}").format(
                    paper=self.paper, papers=_(" and ").join(PAPERS)
                )
            )
        _sizes = self.layout

    @property
    def layout(self) -> Layout:
        """The paper and staff to engrave on."""
        paper = PAPERS[self.paper]
        return Layout(paper.width_mm, paper.height_mm, margin_mm=self.margin_mm, staff_mm=self.staff_mm)


def imprint_of(printing: Printing, desk: str = "") -> Imprint:
    """What a copy says of itself, for that desk or player."""
    return Imprint(desk, printing.date, printing.marked_by)


@dataclass(frozen=True, slots=True)
class Copies:
    """``number`` copies of a part; the first of them bear the ``names`` of desks or players, one each.

    There are as many as names at least; or none, and the names stay for the next time. AppError for a number of copies
    that no section needs.
    """

    number: int = 1
    names: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        names = tuple(name for name in (" ".join(name.split()) for name in self.names) if name)
        object.__setattr__(self, "names", names)
        if self.number > 0:
            object.__setattr__(self, "number", max(self.number, len(names)))
        if not 0 <= self.number <= MOST_COPIES:
            raise AppError(
                _("a part is printed 0 to {most} times, not {number}").format(most=MOST_COPIES, number=self.number)
            )

    @property
    def labels(self) -> tuple[str, ...]:
        """The name on each copy, "" where it has none."""
        return (self.names + ("",) * (self.number - len(self.names)))[: self.number]
