"""The hardest spots: where hand and bow have the most to do in the time there is, ranked, with what makes them hard.

The effort of the fingering, term by term, over the seconds of the measure at the tempo. What an open string does to the
sound is no work, and not counted. The terms have their sources in the table of effort terms; how much harder than the
rest a spot has to be, and how many are told: common practice, no source.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType

import numpy as np
import numpy.typing as npt

from analysis.fingering.chain import Chain
from analysis.fingering.costs import UNIT, term_efforts
from analysis.fingering.stages import Stage
from analysis.fingering.terms import TERMS
from analysis.language import _, later, n_
from analysis.music import Measure, Note
from analysis.watch.finding import Finding, found
from analysis.watch.gathering import measures_listed, settled
from analysis.watch.study import Study
from analysis.wording import listed, number_word

# So many spots are told at the most, and no more than one for so many measures with notes.
_ONE_FOR = 8
_RANKS = (
    later("The hardest spot, {where}: {causes}."),
    later("The second hardest spot, {where}: {causes}."),
    later("The third hardest spot, {where}: {causes}."),
    later("The fourth hardest spot, {where}: {causes}."),
    later("The fifth hardest spot, {where}: {causes}."),
)
# A spot asks for so many times the effort a second of the whole part, and at the least for so many units a second.
_TIMES, _LEAST = 1.6, 2.5
# A measure beside it belongs to it that asks for this share of its effort; a spot is no longer than so many measures.
_SHARE, _LONGEST = 0.75, 4
# What makes it hard is told down to this share of what weighs most, so many things at the most.
_ALSO, _CAUSES = 0.3, 3
# The harder, the surer: that of the hardest spot, and how much less each next one has.
_CERTAINTY, _LESS = 0.7, 0.04


@dataclass(frozen=True, slots=True)
class Cause:
    """Something that makes a spot hard: the effort ``terms`` that measure it, and how it is said of so many times.

    ``said`` has ``{number}`` for how often where that is told.
    """

    terms: tuple[str, ...]
    said: Callable[[int], str]

    def words(self, times: int) -> str:
        """How often it happens."""
        return self.said(times).format(number=number_word(times))


CAUSES = (
    Cause(
        ("shift", "shift_travel", "slurred_shift", "no_guide_finger", "single_shift"),
        lambda times: n_("a shift", "{number} shifts", times),
    ),
    Cause(
        ("crossing", "crossing_down", "quick_crossing", "slurred_crossing", "single_crossing", "broken_tremolo"),
        lambda times: n_("a string crossing", "{number} string crossings", times),
    ),
    Cause(("skipped_string",), lambda times: n_("a skip over a string", "{number} skips over a string", times)),
    Cause(
        ("extension", "stretch"),
        lambda times: n_("a reach out of the hand", "{number} reaches out of the hand", times),
    ),
    Cause(
        ("sliding_finger",),
        lambda times: n_("one finger at two places in a row", "{number} moves of one finger along its string", times),
    ),
    Cause(
        ("hopping_finger", "other_way_at_once"),
        lambda times: n_("a finger hopping across strings", "{number} fingers hopping across strings", times),
    ),
    Cause(
        ("fifth_across", "fifth_in_chord"),
        lambda times: n_("one finger across two strings", "{number} times one finger across two strings", times),
    ),
    Cause(
        ("out_of_shape", "pattern_change", "span_of_hand", "tritone_across"),
        lambda _times: _("fingers out of their usual places"),
    ),
    Cause(("weak_finger",), lambda _times: _("work for the weaker fingers")),
    Cause(("high_position", "thick_string"), lambda _times: _("a high position")),
    Cause(("away_from_home", "between_positions", "half_position"), lambda _times: _("a less familiar position")),
)
# What is heard rather than done, or done before the music begins.
UNHEEDED = frozenset(("open_string", "ringing_open", "long_open", "shrill_open", "same_again", "start_away"))
_SPAN = MappingProxyType({term.name: term.span for term in TERMS})

_Numbers = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class _Load:
    """What one voice is asked, measure by measure: arrays [causes, measures] of thousandths, and of how often.

    ``first`` numbers the first stage of every measure, and of one measure more.
    """

    chain: Chain
    effort: _Numbers
    times: _Numbers
    first: _Numbers

    def stages(self, index: int) -> Sequence[Stage]:
        """The stages of a measure."""
        return self.chain.stages[self.first[index] : self.first[index + 1]]

    def music(self, measure: Measure) -> Hashable:
        """What is played in a measure, the same wherever it comes."""
        return tuple(
            (stage.onset - measure.onset, tuple(note.pitch for note in stage.heads))
            for stage in self.stages(measure.index)
        )


@dataclass(frozen=True, slots=True)
class _Spot:
    """A hard spot of one voice: the first and last index of its measures, each time its music comes."""

    load: _Load
    places: list[tuple[int, int]]


def watch_hard_spots(study: Study) -> Iterator[Finding]:
    """The hardest spots of the part by rank."""
    if study.chains:
        spots = _spots(study, [_load(chain, len(study.part.measures)) for chain in study.chains])
        yield from settled(study.part, (_finding(study, rank, spot) for rank, spot in enumerate(spots)))


def _load(chain: Chain, measures: int) -> _Load:
    efforts = term_efforts(chain.line, chain.chosen_path())
    measure_of = np.array([stage.measure for stage in chain.stages], dtype=np.intp)
    effort, times = (np.zeros((len(CAUSES), measures), dtype=np.int64) for _ in range(2))
    for number, cause in enumerate(CAUSES):
        total = np.zeros(len(measure_of), dtype=np.int64)
        for name in cause.terms:
            if name in efforts:
                # A term counts for the stage it arrives at.
                total[_SPAN[name] - 1 :] += efforts[name]
        effort[number] = np.bincount(measure_of, total, measures)
        times[number] = np.bincount(measure_of, total > 0, measures)
    return _Load(chain, effort, times, np.searchsorted(measure_of, np.arange(measures + 1)))


def _spots(study: Study, loads: Sequence[_Load]) -> list[_Spot]:
    """Hard spots, the hardest first; music that comes again is one spot."""
    measures = study.part.measures
    seconds = np.array([_seconds(study, measure) for measure in measures])
    every = np.stack([load.effort.sum(axis=0) for load in loads]) / UNIT / seconds
    density, hardest = every.max(axis=0), every.argmax(axis=0)
    played = np.array([bool(study.part.notes_in(measure.index)) for measure in measures])
    whole = float(np.average(density, weights=played * seconds)) if played.any() else 0.0
    most = min(len(_RANKS), max(1, int(played.sum()) // _ONE_FOR))
    taken = np.zeros(len(measures), dtype=bool)
    spots: dict[Hashable, _Spot] = {}
    for index in map(int, np.argsort(-density, kind="stable")):
        if density[index] < max(_LEAST, _TIMES * whole):
            break
        load = loads[hardest[index]]
        first, last = _around(density, index)
        music = load.music(measures[index])
        if not taken[max(first - 1, 0) : last + 2].any() and (music in spots or len(spots) < most):
            taken[first : last + 1] = True
            spots.setdefault(music, _Spot(load, [])).places.append((first, last))
    return list(spots.values())


def _seconds(study: Study, measure: Measure) -> float:
    """How long a measure lasts; one that is cut short, as at a repeat, counts as a whole one."""
    whole = Fraction(4 * measure.time[0], measure.time[1])
    return 60 * float(max(measure.length, whole)) / study.part.tempo_at(measure.onset, study.rules.tempo)


def _around(density: npt.NDArray[np.float64], index: int) -> tuple[int, int]:
    """The measures around one that ask for nearly as much."""
    first = last = index
    least = _SHARE * density[index]
    while last - first + 1 < _LONGEST:
        before = density[first - 1] if first > 0 else 0.0
        after = density[last + 1] if last + 1 < len(density) else 0.0
        if max(before, after) < least:
            break
        first, last = (first - 1, last) if before > after else (first, last + 1)
    return first, last


def _finding(study: Study, rank: int, spot: _Spot) -> Finding:
    places = sorted(spot.places)
    first, last = spot.places[0]
    here = slice(first, last + 1)
    weighs, times = spot.load.effort[:, here].sum(axis=1), spot.load.times[:, here].sum(axis=1)
    order = sorted(range(len(CAUSES)), key=lambda number: (-weighs[number], number))[:_CAUSES]
    causes = [
        CAUSES[number].words(int(times[number])) for number in order if weighs[number] >= _ALSO * weighs[order[0]]
    ]
    indices = itertools.chain.from_iterable(range(start, end + 1) for start, end in places)
    where = measures_listed(study.part, indices, len(places))
    text = _(_RANKS[rank]).format(where=where, causes=listed(causes))
    return found("hard-spot", _notes(spot.load, places), text, _CERTAINTY - _LESS * rank)


def _notes(load: _Load, places: Sequence[tuple[int, int]]) -> Iterator[Note]:
    for first, last in places:
        for index in range(first, last + 1):
            for stage in load.stages(index):
                yield from stage.heads
