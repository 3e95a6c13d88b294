"""The order in which measures are played: repeated sections as often as they say, each time with its own ending."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from analysis.music import Measure


def played_order(measures: Sequence[Measure], first: int = 0, last: int | None = None) -> tuple[int, ...]:
    """The indices of the measures from ``first`` to ``last`` (included; ``None``: the end) as they are played.

    A section that the range cuts is played once, and of its endings within the range the last.
    """
    end = len(measures) - 1 if last is None else min(last, len(measures) - 1)
    order: list[int] = []
    done = first
    for start, stop in _sections(measures):
        if stop < first or start > end:
            continue
        order.extend(range(done, max(start, done)))
        if first <= start and stop <= end:
            order.extend(_repeated(measures, start, stop))
        else:
            order.extend(_once(measures, max(start, first), min(stop, end)))
        done = min(stop, end) + 1
    order.extend(range(done, end + 1))
    return tuple(order)


def _sections(measures: Sequence[Measure]) -> Iterator[tuple[int, int]]:
    """The first and last measure of every section that is repeated or has endings, its endings included."""
    start = 0
    for index, measure in enumerate(measures):
        if measure.repeat_from:
            start = index
        more = bool(measure.endings) and index + 1 < len(measures) and bool(measures[index + 1].endings)
        if (measure.repeat_back or measure.endings) and not more:
            yield start, index
            start = index + 1


def _repeated(measures: Sequence[Measure], start: int, stop: int) -> Iterator[int]:
    section = measures[start : stop + 1]
    times = max(measure.repeat_back for measure in section)
    if not times:
        yield from range(start, stop + 1)
        return
    endings = list(dict.fromkeys(measure.endings for measure in section if measure.endings))
    if endings:
        # With several endings their numbers say how often; a single one is left out the last time.
        highest = max(map(max, endings))
        times = highest if len(endings) > 1 else max(highest, times)
    for time in range(1, times + 1):
        yield from (start + k for k, one in enumerate(section) if not one.endings or time in one.endings)


def _once(measures: Sequence[Measure], start: int, stop: int) -> Iterator[int]:
    last = next((measures[k].endings for k in range(stop, start - 1, -1) if measures[k].endings), ())
    yield from (k for k in range(start, stop + 1) if measures[k].endings in ((), last))
