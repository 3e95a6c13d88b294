"""Who plays: solos, duets, sections and the full score, measure by measure, and which parts double one another.

The passages are the segmentation of least cost (Viterbi, "Error bounds for convolutional codes", 1967): a change costs
as much as half a measure of quite other players, a passage costs its measures weighed by the share of players it
misses or adds (Jaccard, "The distribution of the flora in the alpine zone", 1912; both from memory). So one part of
four that rests changes the texture after four measures, three of four after one and a third; a word such as solo after
one. That a rest of one measure changes nothing: common practice, no source.
"""

from __future__ import annotations

import bisect
import itertools
import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from analysis.music import Measure, Note, Part, Score

# A change of players costs as much as so many measures in which every player is another.
_CHANGE = 0.5
# After a rest of so many whole measures a part is no longer playing.
_RESTS = 2
# So many sets of players are weighed against each other, those that play longest.
_SETS = 32
# From so many parts on, everyone together makes a full score beside which one or two are few.
_EVERYONE = 3
# A measure is doubled where this share of its attacks is; so many measures and attacks, on so many notes, make a line.
_DOUBLED, _MEASURES, _ATTACKS, _NOTES = 0.8, 2, 8, 3
# A part that doubles another through more than this share of its measures does so as a rule.
_AS_A_RULE = Fraction(1, 3)
# Words that leave out players; everyone else plays with or without a word for it.
_FEWER = ("solo", "few")

# A part by its number in the score, and the word in force for fewer players, "" where all play.
_Token = tuple[int, str]


@dataclass(frozen=True, slots=True)
class Passage:
    """Measures in which the same players sound.

    ``first_measure`` and ``last_measure`` are indices; a measure shared by two passages counts to that which has the
    greater part of it. ``onset`` and ``end`` are exact, in quarter notes. ``kind``: "full" where every part that has
    notes plays; "solo" and "duet" for one and two parts, or one and two that words call solo; else "section".
    ``parts`` are the ids of those that play; ``soloists`` and ``few`` those of them whom words in force call solo, and
    those of which few play; ``divided`` those whose notes are for the most part shared out among the players.
    """

    first_measure: int
    last_measure: int
    kind: str
    parts: tuple[str, ...]
    onset: Fraction
    end: Fraction
    soloists: tuple[str, ...] = ()
    few: tuple[str, ...] = ()
    divided: tuple[str, ...] = ()

    @property
    def foremost(self) -> tuple[str, ...]:
        """The ids of the one or two parts that are heard by themselves: the soloists, or all that play; else none."""
        return (self.soloists or self.parts) if self.kind in ("solo", "duet") else ()


@dataclass(frozen=True, slots=True)
class Doubling:
    """Measures (indices) in which another part plays the notes of this one; ``unison`` where never octaves apart."""

    first_measure: int
    last_measure: int
    part: str
    unison: bool


@dataclass(frozen=True, slots=True)
class _Span:
    """A part, or some of it, plays from ``onset`` to ``end``."""

    onset: Fraction
    end: Fraction
    players: str


@dataclass(frozen=True, slots=True)
class _Piece:
    """From ``onset`` to ``end``, so many ``measures``, exactly the players of the bits of ``sounding``."""

    onset: Fraction
    end: Fraction
    measures: float
    sounding: int


def textures(score: Score) -> tuple[Passage, ...]:
    """The passages of a score in order; none where fewer than two parts have notes."""
    spans = {number: spans for number, part in enumerate(score.parts) if (spans := _spans(part))}
    if len(spans) < 2:
        return ()
    grid = max((part.measures for part in score.parts), key=len)
    tokens = sorted({(number, span.players) for number, every in spans.items() for span in every})
    pieces = _pieces(spans, {token: 1 << bit for bit, token in enumerate(tokens)}, grid)
    words = sum(1 << bit for bit, (_, players) in enumerate(tokens) if players)
    passages: list[Passage] = []
    for bits, run in itertools.groupby(zip(_labels(pieces, words), pieces, strict=True), key=lambda pair: pair[0]):
        heard = [piece for _, piece in run if piece.sounding]
        if heard:
            here = [token for bit, token in enumerate(tokens) if bits >> bit & 1]
            passages.append(_passage(score, here, len(spans), (heard[0].onset, heard[-1].end), grid))
    return tuple(_last_measures(passages))


def notes_of(part: Part, passage: Passage) -> tuple[Note, ...]:
    """The notes of a part that begin in a passage, in written order."""
    first, last = (_index_at(part.measures, onset) for onset in (passage.onset, passage.end))
    notes = itertools.chain.from_iterable(part.notes_in(index) for index in range(first, last + 1))
    return tuple(note for note in notes if passage.onset <= note.onset < passage.end)


def measures_of(passage: Passage, notes: Sequence[Note]) -> tuple[int, int]:
    """First and last measure (indices) of a passage in which these notes of it, at least one, are played."""
    earliest, latest = min(note.measure for note in notes), max(note.measure for note in notes)
    first = min(max(passage.first_measure, earliest), latest)
    return first, max(min(passage.last_measure, latest), first)


def few_after_all(passage: Passage, everyone: Passage) -> bool:
    """Whether one or two are heard by themselves in a passage, and everyone, at least twice as many, in the other."""
    return (
        everyone.kind == "full"
        and len(everyone.parts) >= max(_EVERYONE, 2 * len(passage.foremost))
        and passage.kind in ("solo", "duet")
    )


# What sounds


def _spans(part: Part) -> list[_Span]:
    """Where the part plays, without regard to rests of a single measure."""
    begun: list[tuple[Note, int]] = []
    last = -math.inf
    for measure in part.measures:
        notes = [note for note in part.notes_in(measure.index) if not note.grace]
        if not notes:
            continue
        rested = measure.index - last > _RESTS
        if rested or any(_players(note) != _players(begun[-1][0]) for note in notes):
            notes.sort(key=lambda note: note.onset)
            for note in notes:
                if rested or _players(note) != _players(begun[-1][0]):
                    begun.append((note, measure.index))
                    rested = False
        last = measure.index
    return list(_ended(part, begun))


def _players(note: Note) -> str:
    return note.players if note.players in _FEWER else ""


def _ended(part: Part, begun: Sequence[tuple[Note, int]]) -> Iterator[_Span]:
    """The spans that begin with these notes, each up to the last sound before the next one begins."""
    for number, (note, first) in enumerate(begun):
        stop, limit = (begun[number + 1][0].onset, begun[number + 1][1]) if number + 1 < len(begun) else (None, None)
        yield _Span(note.onset, _silence(part, first, limit, stop), _players(note))


def _silence(part: Part, first: int, limit: int | None, stop: Fraction | None) -> Fraction:
    """When what sounds in measures ``first`` to ``limit`` has ended, at the latest at ``stop``."""
    ends: list[Fraction] = []
    index = len(part.measures) - 1 if limit is None else limit
    while not ends and index >= first:
        notes = [note for note in part.notes_in(index) if not note.grace and (stop is None or note.onset < stop)]
        ends = [note.onset + note.duration for note in notes]
        index -= 1
    return min(max(ends), stop) if stop is not None else max(ends)


def _pieces(spans: dict[int, list[_Span]], bit: dict[_Token, int], grid: Sequence[Measure]) -> list[_Piece]:
    turns: defaultdict[Fraction, int] = defaultdict(int)
    for number, every in spans.items():
        for span in every:
            turns[span.onset] ^= bit[number, span.players]
            turns[span.end] ^= bit[number, span.players]
    times = sorted(turns)
    bars = _bars(grid, times)
    sounding = itertools.accumulate((turns[time] for time in times), lambda before, turn: before ^ turn)
    return [
        _Piece(*pair, bars[number + 1] - bars[number], bits)
        for number, (pair, bits) in enumerate(zip(itertools.pairwise(times), sounding, strict=False))
    ]


def _index_at(grid: Sequence[Measure], onset: Fraction) -> int:
    return max(0, bisect.bisect_right(grid, onset, key=lambda measure: measure.onset) - 1)


def _place(grid: Sequence[Measure], onset: Fraction) -> float:
    """Measures from the start of the score, and the share of the last that is over."""
    measure = grid[_index_at(grid, onset)]
    return measure.index + float((onset - measure.onset) / measure.length) if measure.length else float(measure.index)


def _bars(grid: Sequence[Measure], times: Iterable[Fraction]) -> list[float]:
    """At each time, how many whole measures have gone by; a pickup is less than one."""
    shares = [float(measure.length * measure.time[1] / (4 * measure.time[0])) for measure in grid]
    gone = list(itertools.accumulate(shares, initial=0.0))
    places = ((int(place), place % 1) for place in (_place(grid, time) for time in times))
    return [
        gone[index] + share * (gone[index + 1] - gone[index]) if index < len(grid) else gone[-1]
        for index, share in places
    ]


# The passages


def _labels(pieces: Sequence[_Piece], words: int) -> list[int]:
    """The players of the passage to which each piece belongs, by the segmentation of least cost.

    ``words`` are the bits of players that a word calls for.
    """
    lasting: defaultdict[int, float] = defaultdict(float)
    for piece in pieces:
        if piece.sounding:
            lasting[piece.sounding] += piece.measures
    sets = sorted(lasting, key=lambda bits: (-lasting[bits], bits))[:_SETS]
    if not sets:
        return []
    costs, came = [0.0] * len(sets), list[list[int]]()
    for piece in pieces:
        best = min(range(len(sets)), key=costs.__getitem__)
        changed = costs[best] + _CHANGE
        came.append([best if changed < cost else number for number, cost in enumerate(costs)])
        costs = [
            min(cost, changed) + piece.measures * _distance(piece.sounding, bits, words)
            for cost, bits in zip(costs, sets, strict=True)
        ]
    at = min(range(len(sets)), key=costs.__getitem__)
    path = []
    for before in reversed(came):
        path.append(sets[at])
        at = before[at]
    return path[::-1]


def _distance(sounding: int, players: int, words: int) -> float:
    """The share of players that tells two sets apart, everyone where words do; silence is as far from every set."""
    other = sounding ^ players
    return 1.0 if other & words else other.bit_count() / (sounding | players).bit_count()


def _passage(
    score: Score, here: Sequence[_Token], playing: int, time: tuple[Fraction, Fraction], grid: Sequence[Measure]
) -> Passage:
    first = math.ceil(_place(grid, time[0]) - 0.5)
    last = max(first, math.ceil(_place(grid, time[1])) - 1)
    ids = [(score.parts[number].id, players) for number, players in here]
    parts = tuple(dict.fromkeys(part for part, _ in ids))
    soloists = tuple(part for part, players in ids if players == "solo")
    few = tuple(part for part, players in ids if players == "few")
    divided = tuple(part.id for part in score.parts if part.id in parts and _divided(part, first, last))
    kind = "full" if len(parts) == playing and not soloists else "section"
    foremost = len(soloists) or len(parts)
    if kind != "full" and foremost <= 2:
        kind = "solo" if foremost == 1 else "duet"
    return Passage(first, last, kind, parts, *time, soloists, few, divided)


def _divided(part: Part, first: int, last: int) -> bool:
    notes = [note for measure in range(first, last + 1) for note in part.notes_in(measure)]
    return 2 * sum(note.divisi for note in notes) > len(notes)


def _last_measures(passages: Sequence[Passage]) -> Iterator[Passage]:
    """The passages, none reaching into the first measure of the next."""
    for passage, after in itertools.zip_longest(passages, passages[1:]):
        if after is None or passage.last_measure < after.first_measure:
            yield passage
        else:
            yield replace(passage, last_measure=max(passage.first_measure, after.first_measure - 1))


# Doublings


# Measure by measure, the notes attacked together, by their onset: as floats, which are looked up much faster.
_Attacks = dict[int, dict[float, list[Note]]]


def doublings(score: Score, part: Part) -> tuple[Doubling, ...]:
    """Where other parts play the notes of this one at the same time, in unison or in octaves, by place.

    A part that doubles it as a rule, as the double bass the cello, is left out.
    """
    own = _attacks(part)
    every = [doubled for other in score.parts if other.id != part.id for doubled in _doubled_by(part, own, other)]
    return tuple(sorted(every, key=lambda doubling: (doubling.first_measure, -doubling.last_measure)))


def _attacks(part: Part) -> _Attacks:
    attacks: _Attacks = {}
    for note in part.notes:
        if not (note.grace or note.tied_from):
            attacks.setdefault(note.measure, {}).setdefault(float(note.onset), []).append(note)
    return attacks


def _doubled_by(part: Part, own: _Attacks, other: Part) -> Iterator[Doubling]:
    its = _attacks(other)
    doubled: dict[int, list[_Heard]] = {}
    for measure in sorted(own.keys() & its.keys()):
        wanted = _DOUBLED * max(len(own[measure]), len(its[measure]))
        together = [(notes, its[measure][onset]) for onset, notes in own[measure].items() if onset in its[measure]]
        if len(together) >= wanted:
            heard = [_heard(_sounding(part, mine), _sounding(other, yours)) for mine, yours in together]
            if sum(bool(one.notes) for one in heard) >= wanted:
                doubled[measure] = heard
    if len(doubled) <= _AS_A_RULE * len(own):
        for first, last in _runs(doubled):
            line = [one for measure in range(first, last + 1) for one in doubled[measure]]
            if _makes_a_line(line, last - first + 1):
                yield Doubling(first, last, other.id, all(one.unison for one in line if one.notes))


@dataclass(frozen=True, slots=True)
class _Heard:
    """What two parts attack at once: the pitch classes they share; whether they share a pitch."""

    notes: frozenset[int | Fraction]
    unison: bool


def _heard(mine: frozenset[int | Fraction], yours: frozenset[int | Fraction]) -> _Heard:
    classes = frozenset(pitch % 12 for pitch in mine) & frozenset(pitch % 12 for pitch in yours)
    return _Heard(classes, bool(mine & yours))


def _sounding(part: Part, notes: Iterable[Note]) -> frozenset[int | Fraction]:
    """Sounding pitches in semitones, C4 = 60."""
    return frozenset(note.pitch.midi + part.transpose_at(note.onset) for note in notes)


def _makes_a_line(line: Sequence[_Heard], measures: int) -> bool:
    """Whether there is enough of it to be heard as one line; repeated notes are none."""
    attacks = sum(bool(one.notes) for one in line)
    notes = frozenset[int | Fraction]().union(*(one.notes for one in line))
    return measures >= _MEASURES and attacks >= _ATTACKS and len(notes) >= _NOTES


def _runs(measures: Iterable[int]) -> Iterator[tuple[int, int]]:
    """First and last of each run of measures that follow each other."""
    for _, run in itertools.groupby(enumerate(measures), key=lambda pair: pair[1] - pair[0]):
        every = [measure for _, measure in run]
        yield every[0], every[-1]
