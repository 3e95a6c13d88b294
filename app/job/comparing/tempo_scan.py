"""What ways of playing a passage cost from slow to fast, and from which tempo on another one costs less."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from numpy import interp

from analysis.fingering.rules.house import HouseRules
from analysis.fingering.ticking import Tick, no_tick
from analysis.language import _, n_
from analysis.music import Part, Tempo
from analysis.wording import listed
from app.job.comparing.ways import Weighed, unplayed, weigh
from app.job.teacher.work import PartWork
from app.job.words.names import rules_title

SLOWEST, FASTEST, STEP = 40, 160, 8
TEMPI = tuple(range(SLOWEST, FASTEST + 1, STEP))


@dataclass(frozen=True, slots=True)
class Crossing:
    """From ``tempo`` (quarter notes a minute) on, the way of number ``after`` costs least and no longer ``before``."""

    tempo: float
    before: int
    after: int


@dataclass(frozen=True, slots=True)
class TempoScan:
    """The effort of each way, in units, at each of the ``tempi``: ``efforts[way][tempo]``.

    All are measured by the part's own rules; each way keeps its fingers at every tempo. ``missing``: how many notes
    each of them leaves unplayed, which costs nothing.
    """

    titles: tuple[str, ...]
    tempi: tuple[float, ...]
    efforts: tuple[tuple[float, ...], ...]
    missing: tuple[int, ...]

    @property
    def crossings(self) -> tuple[Crossing, ...]:
        """Where another way begins to cost least, slowest first; the tempo lies between two that were worked out.

        Ways that cost the same take nothing from one another.
        """
        found = []
        least = self._least(0, 0)
        for number in range(1, len(self.tempi)):
            now = self._least(number, least)
            if now != least:
                found.append(Crossing(self._where(number, least, now), least, now))
                least = now
        # At the slowest tempo several may cost the same: the one that parts from the others was ahead all the time.
        return tuple(one for one in found if not self._level_until(one))

    @property
    def first(self) -> int:
        """The way that costs least at the slowest tempi."""
        crossings = self.crossings
        if crossings:
            return crossings[0].before
        return self._least(len(self.tempi) - 1, 0)

    @property
    def is_level(self) -> bool:
        """Whether all ways cost the same at every tempo."""
        return len(set(self.efforts)) <= 1

    def effort_at(self, way: int, tempo: float) -> float:
        """The effort of a way at any tempo between the first and the last, on straight lines between those known."""
        return float(interp(tempo, self.tempi, self.efforts[way]))

    def _least(self, number: int, kept: int) -> int:
        """The way of least effort at a tempo; of equal ones the one that was least before, then the first."""
        column = [efforts[number] for efforts in self.efforts]
        return kept if column[kept] == min(column) else column.index(min(column))

    def _where(self, number: int, before: int, after: int) -> float:
        """Between the tempo before and the one of that number: where straight lines through both efforts meet."""
        ahead, behind = (self.efforts[before][at] - self.efforts[after][at] for at in (number - 1, number))
        low, high = self.tempi[number - 1], self.tempi[number]
        return low + (high - low) * -ahead / (behind - ahead)

    def _level_until(self, crossing: Crossing) -> bool:
        """Whether both ways cost the same at every tempo up to a crossing."""
        before, after = self.efforts[crossing.before], self.efforts[crossing.after]
        return all(a == b for tempo, a, b in zip(self.tempi, before, after, strict=True) if tempo <= crossing.tempo)

    @property
    def sentences(self) -> tuple[str, ...]:
        """Which way costs least at which tempo, in words for the teacher."""
        return tuple(self._say())

    def _say(self) -> Iterator[str]:
        yield from self._say_costs()
        for title, missing in zip(self.titles, self.missing, strict=True):
            if missing:
                yield n_(
                    "{title} leaves {count} note unplayed, which is not counted.",
                    "{title} leaves {count} notes unplayed, which is not counted.",
                    missing,
                ).format(title=title, count=missing)

    def _say_costs(self) -> Iterator[str]:
        span = {"first": f"{self.tempi[0]:.0f}", "last": f"{self.tempi[-1]:.0f}"}
        if self.is_level:
            yield _("They cost the same from quarter = {first} to {last}.").format(**span)
            return
        crossings = self.crossings
        if not crossings:
            said = _("{costs} at every tempo from quarter = {first} to {last}.")
            yield said.format(costs=self._costs(self.first), **span)
            return
        yield _("{costs} when slow.").format(costs=self._costs(self.first))
        for one in crossings:
            said = _("From about quarter = {tempo:.0f} on, {costs}.")
            yield said.format(tempo=one.tempo, costs=self._costs(one.after))

    def _costs(self, way: int) -> str:
        """That a way, and those that cost the same as it at every tempo, cost less than the others."""
        alike = [
            title for title, efforts in zip(self.titles, self.efforts, strict=True) if efforts == self.efforts[way]
        ]
        named = listed(alike)
        if len(set(self.efforts)) == 2:
            said = n_("{ways} costs less", "{ways} cost less", len(alike))
        else:
            said = n_("{ways} costs least", "{ways} cost least", len(alike))
        return said.format(ways=named)


def at_tempo(part: Part, quarters_a_minute: float) -> Part:
    """The part at one tempo throughout, whatever is printed in it."""
    return replace(part, tempi=(Tempo(part.measures[0].onset, quarters_a_minute),))


def tempo_of(part: Part, measures: tuple[int, int], work: PartWork) -> float:
    """The quarter notes a minute in which measures (indices) of the part begin: as printed, else by the house rules."""
    instrument = work.instrument.key if work.instrument is not None else ""
    return part.tempo_at(part.measures[measures[0]].onset, work.rules.for_part(instrument, part.name).tempo)


def weigh_at(
    part: Part,
    work: PartWork,
    measures: tuple[int, int],
    every_rules: Sequence[HouseRules],
    quarters_a_minute: float,
    tick: Tick = no_tick,
) -> tuple[Weighed, ...]:
    """As :func:`app.job.comparing.ways.weigh`, with the passage taken at one tempo."""
    return weigh(at_tempo(part, quarters_a_minute), work, measures, every_rules, tick)


def scan_tempi(
    part: Part,
    work: PartWork,
    measures: tuple[int, int],
    ways: Sequence[Weighed],
    tempi: Sequence[float] = TEMPI,
    tick: Tick = no_tick,
) -> TempoScan:
    """What the ways of playing ``measures`` (indices, both included) cost with the same fingers, tempo by tempo."""
    passage = part.within(*measures)
    columns = []
    for number, tempo in enumerate(tempi):
        tick(number / len(tempi))
        at = at_tempo(passage, tempo)
        columns.append([way.plan.effort_by(work.rules, at) for way in ways])
    return TempoScan(
        tuple(rules_title(way.rules) for way in ways),
        tuple(map(float, tempi)),
        tuple(zip(*columns, strict=True)),
        tuple(unplayed(way) for way in ways),
    )
