"""The few different ways a teacher would consider for a passage: as planned, in one position, on one string ..."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from analysis.fingering.chain import Chain
from analysis.fingering.costs import UNIT, Effort
from analysis.fingering.counts import Counts, count
from analysis.fingering.grips import Grip
from analysis.fingering.placements import Placement, hand_name
from analysis.fingering.plan import Plan
from analysis.fingering.position_words import in_position
from analysis.instruments import Instrument
from analysis.language import _

# Beyond any effort of a passage, so that one crossing fewer always wins.
_CROSSING = 1_000_000
# Besides the plan's own, so many are told, and always those in the positions that are learned first.
_MOST = 4
_USUAL = (("all in", "1st"), ("all in", "3rd"))
_Fits = Callable[[Placement], bool]
# What tells one kind of way from the others, in whatever language it is named.
_Kind = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PassageWay:
    """One way to play a passage.

    ``name`` in a teacher's words, in the user's language. ``placements`` by note id. ``extra``: effort the whole part
    would pay beyond the plan's. ``counts``: of the passage alone, without effort.
    """

    name: str
    placements: Mapping[str, Placement]
    extra: float
    counts: Counts


def passage_ways(plan: Plan, first: int, last: int) -> tuple[PassageWay, ...]:
    """A few ways to play measures ``first`` to ``last`` (indices): the plan's own, then by effort; none twice.

    Each is the exact least effort of its kind: for the whole part, with the music around the passage free to follow.
    """
    passage = _Passage(plan, first, last)
    if not passage.chains:
        return ()
    found: list[tuple[_Kind, PassageWay]] = []
    found.append(((), passage.way(_("Least effort"), {index: plan.chains[index] for index in passage.chains})))
    for kind, name, fits in passage.kinds():
        solved = passage.restricted(fits)
        if solved is not None:
            found.append((kind, passage.way(name, solved)))
    found.append((("fewest crossings",), passage.way(_("Fewest crossings"), passage.fewest_crossings())))
    different: dict[object, tuple[_Kind, PassageWay]] = {}
    for kind, way in found:
        different.setdefault(tuple((key, one.as_played) for key, one in sorted(way.placements.items())), (kind, way))
    (_own, own), *others = different.values()
    others.sort(key=lambda one: (one[1].extra, one[0]))
    return own, *(way for number, (kind, way) in enumerate(others) if number < _MOST or kind in _USUAL)


class _Passage:
    """The stages of a plan's chains that lie in the passage."""

    def __init__(self, plan: Plan, first: int, last: int) -> None:
        self.plan = plan
        # Which stages of each chain lie in the passage: from start to before stop.
        self.chains: dict[int, tuple[int, int]] = {}
        for index, chain in enumerate(plan.chains):
            inside = [k for k, stage in enumerate(chain.stages) if first <= stage.measure <= last]
            if inside:
                self.chains[index] = (inside[0], inside[-1] + 1)

    def kinds(self) -> Iterator[tuple[_Kind, str, _Fits]]:
        """All in one position, all on one string; what the passage could use."""
        instrument = self.plan.setting.instrument
        grips = [grip for chain, start, stop in self._inside() for row in chain.grips[start:stop] for grip in row]
        here = [placement for grip in grips for placement in grip]
        for name in dict.fromkeys(hand_name(placement, instrument) for placement in sorted(here, key=_by_hand)):
            words = _("All {position}").format(position=in_position(name))
            yield ("all in", name), words, _in_position(name, instrument)
        for string in sorted({placement.string for placement in here}):
            letter = instrument.string(string).letter
            yield ("all on", letter), _("All on the {letter} string").format(letter=letter), _on_string(string)

    def restricted(self, fits: _Fits) -> dict[int, Chain] | None:
        """The chains with only fitting placements in the passage; ``None`` where a stage has none."""
        solved = {}
        for index, (start, stop) in self.chains.items():
            kept = self.plan.chains[index].kept_to(start, stop, fits)
            if kept is None:
                return None
            solved[index] = kept
        return solved

    def fewest_crossings(self) -> dict[int, Chain]:
        """The chains with as few crossings in the passage as there can be."""
        solved = {}
        for index, (start, stop) in self.chains.items():
            chain = self.plan.chains[index]
            pair = list(chain.costs.pair)
            for k in range(start, stop - 1):
                pair[k] = pair[k] + _CROSSING * _crossings(chain.grips[k], chain.grips[k + 1])
            solved[index] = chain.solved_with(replace(chain.costs, pair=tuple(pair)), start, stop - 1)
        return solved

    def way(self, name: str, solved: Mapping[int, Chain]) -> PassageWay:
        """A way from the solved chains."""
        placements: dict[str, Placement] = {}
        extra, counts = 0, Counts()
        for index, chain in solved.items():
            start, stop = self.chains[index]
            own = self.plan.chains[index]
            extra += own.costs.path_effort(chain.solution.path) - own.solution.effort
            path = chain.chosen_path()[start:stop]
            for stage, grip in zip(chain.stages[start:stop], path, strict=True):
                placements |= {note_id: one for ids, one in zip(stage.ids, grip, strict=True) for note_id in ids}
            counts = counts + count(self.plan.setting.played_on, [(chain.stages[start:stop], path)], 0.0)
        return PassageWay(name, placements, extra / UNIT, counts)

    def _inside(self) -> Iterator[tuple[Chain, int, int]]:
        for index, (start, stop) in self.chains.items():
            yield self.plan.chains[index], start, stop


def _in_position(name: str, instrument: Instrument) -> _Fits:
    return lambda placement: hand_name(placement, instrument) == name


def _by_hand(placement: Placement) -> tuple[float, int]:
    return placement.hand, placement.position


def _on_string(string: int) -> _Fits:
    return lambda placement: placement.string == string


def _crossings(here: tuple[Grip, ...], there: tuple[Grip, ...]) -> Effort:
    """1 for every pair of grips that share no string: [grips here, grips there]."""
    strings = [np.array([[p.string for p in (grip[0], grip[-1])] for grip in row]) for row in (here, there)]
    high, low = [row.min(axis=1) for row in strings], [row.max(axis=1) for row in strings]
    apart = (high[1][None, :] > low[0][:, None]) | (high[0][:, None] > low[1][None, :])
    crossed: Effort = apart.astype(np.int32)
    return crossed
