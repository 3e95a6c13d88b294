"""Which notes a slur joins to the next: the ends of slurs are paired, then spread over the notes between them.

Slur numbers tell slurs apart in the order of the document, which is not the order of time where a measure holds
several voices: the end of a slur may be written before its beginning (MusicXML 4.0, entity number-level).
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Protocol, TypeVar

# Where a note or chord stands in its part: its onset, then its place in the document.
Moment = tuple[Fraction, int]


class LineEnd(Protocol):
    """The beginning or end of any line over notes: a slur, a wedge."""

    @property
    def moment(self) -> Moment:
        """Where it stands."""

    @property
    def number(self) -> str:
        """The number that tells lines apart."""

    @property
    def is_start(self) -> bool:
        """Whether the line begins here."""


End = TypeVar("End", bound=LineEnd)


@dataclass(frozen=True, slots=True)
class SlurEnd:
    """A slur's beginning or end at the note or chord that stands at ``moment`` in ``voice``."""

    moment: Moment
    voice: str
    number: str
    is_start: bool


Slur = tuple[SlurEnd, SlurEnd]


def pair_ends(ends: Iterable[End]) -> list[tuple[End, End]]:
    """The lines as (start, stop), from their ends in document order; an end without its other end is left out."""
    lines: list[tuple[End, End]] = []
    starts: dict[str, End] = {}
    early_stops: dict[str, End] = {}
    for end in ends:
        partner = (early_stops if end.is_start else starts).pop(end.number, None)
        if end.is_start and partner and partner.moment[0] > end.moment[0]:
            lines.append((end, partner))
        elif end.is_start:
            starts[end.number] = end
        elif partner and partner.moment[0] <= end.moment[0]:
            lines.append((partner, end))
        else:
            early_stops[end.number] = end
            if partner:
                starts[end.number] = partner
    return lines


def slurred_moments(slurs: Iterable[Slur], voices: Mapping[str, Sequence[Moment]]) -> dict[str, set[Moment]]:
    """For each voice the moments after which a slur goes on to the voice's next note.

    ``voices`` holds each voice's moments, rising. A slur from one voice to another joins the notes of both.
    """
    joined: dict[str, set[Moment]] = defaultdict(set)
    for start, stop in slurs:
        for voice in {start.voice, stop.voice}:
            moments = voices.get(voice, ())
            # In a voice where the slur has no end of its own, it reaches over whatever sounds from start to stop.
            first = start.moment if voice == start.voice else (start.moment[0], -1)
            after = bisect_right(moments, stop.moment) if voice == stop.voice else _after(moments, stop.moment[0])
            joined[voice].update(moments[bisect_left(moments, first) : max(after - 1, 0)])
    return joined


def _after(moments: Sequence[Moment], onset: Fraction) -> int:
    return bisect_right(moments, onset, key=lambda moment: moment[0])
