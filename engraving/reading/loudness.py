"""How loud a part is from place to place: its printed dynamics, its hairpins, and the words that stand for hairpins.

Words such as cresc. and calando, and how long they hold, are common practice, no source. Only the first staff counts.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby

from analysis.music import DynamicMark, Hairpin
from engraving.reading.directions import Said
from engraving.reading.partwalk import WalkedMeasure
from engraving.reading.performance import Mark
from engraving.reading.slurs import Moment, pair_ends

_FIRST_STAFF = (None, 1)
# What begins a line, and whether it grows.
_WEDGES = {"crescendo": True, "diminuendo": False}
_DASHES = {"start": True}


@dataclass(frozen=True, slots=True)
class _End:
    """One end of a wedge, or of the dashes behind a word."""

    moment: Moment
    number: str
    is_start: bool
    grows: bool


def dynamic_marks(marks_of_all: Sequence[Sequence[Mark]], onsets: Sequence[Fraction]) -> tuple[DynamicMark, ...]:
    """The dynamics that set a level, in the order of time.

    ``marks_of_all`` are the marks of each measure in that order, ``onsets`` those of the measures and of the end.
    """
    placed = (
        (min(onsets[index] + mark.onset, onsets[index + 1]), mark)
        for index, marks in enumerate(marks_of_all)
        for mark in marks
        if mark.said.dynamic and mark.staff in _FIRST_STAFF
    )
    found: list[DynamicMark] = []
    for onset, together in groupby(placed, key=lambda pair: pair[0]):
        levels: dict[str, str] = {}
        for _, mark in together:
            # Of several at one place in a voice the last counts.
            levels.pop(mark.voice, None)
            levels[mark.voice] = mark.said.dynamic
        found += [DynamicMark(onset, level) for level in dict.fromkeys(levels.values())]
    return tuple(found)


def hairpins(
    measures: Sequence[WalkedMeasure], onsets: Sequence[Fraction], dynamics: Sequence[DynamicMark]
) -> tuple[Hairpin, ...]:
    """The gradual changes of loudness, in the order of time; ``dynamics`` are those of the part.

    A wedge reaches from its start to its stop. A word holds until the next dynamic, in signs or in words, the next such
    word or wedge, or where the dashes behind it stop; so does a wedge that never stops. The end of the part ends all.
    """
    spoken = list(_spoken(measures, onsets))
    if not spoken:
        return ()
    ends = list(_ends(spoken, "wedge", _WEDGES))
    drawn = pair_ends(ends)
    found = [Hairpin(start.moment[0], stop.moment[0], start.grows) for start, stop in drawn]
    closed = {start.moment for start, _ in drawn}
    lasting = [(end.moment[0], end.grows) for end in ends if end.is_start and end.moment not in closed]
    lasting += [(onset, said.swell) for onset, said in spoken if said.swell is not None]
    turns = {mark.onset for mark in dynamics} | {end.moment[0] for end in ends if end.is_start}
    turns |= {onset for onset, said in spoken if said.swell is not None or said.names_level}
    dashed = {start.moment[0]: stop.moment[0] for start, stop in pair_ends(_ends(spoken, "dashes", _DASHES))}
    rising = [*sorted(turns), onsets[len(measures)]]
    for onset, grows in lasting:
        later = bisect_right(rising, onset)
        if later < len(rising):
            end = rising[later]
            stop = dashed.get(onset, end)
            found.append(Hairpin(onset, min(end, stop) if stop > onset else end, grows))
    return tuple(sorted(dict.fromkeys(found), key=lambda hairpin: (hairpin.onset, hairpin.end)))


def _spoken(measures: Sequence[WalkedMeasure], onsets: Sequence[Fraction]) -> Iterator[tuple[Fraction, Said]]:
    """What the directions of the first staff say of swelling, in document order."""
    for index, measure in enumerate(measures):
        for direction in measure.directions:
            said = direction.said
            if said.is_swelling and said.staff in _FIRST_STAFF:
                yield min(onsets[index] + direction.onset, onsets[index + 1]), said


def _ends(spoken: Sequence[tuple[Fraction, Said]], sign: str, begins: Mapping[str, bool]) -> Iterator[_End]:
    lines = ((onset, line) for onset, said in spoken for line in said.lines if line.sign == sign)
    for order, (onset, line) in enumerate(lines):
        if line.kind == "stop" or line.kind in begins:
            yield _End((onset, order), line.number, line.kind in begins, begins.get(line.kind, False))
