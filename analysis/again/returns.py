"""Stretches that came before: for every place the longest one that has been heard, where it was heard first.

The lengths are the longest previous factors of Crochemore and Ilie (Information Processing Letters 106, 2008), from
memory: among the suffixes in sorted order the nearest earlier ones on both sides share most.
"""

from __future__ import annotations

import bisect
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.again.suffixes import Numbers, Suffixes


@dataclass(frozen=True, slots=True)
class Return:
    """``length`` rows from row ``start`` on are like those from row ``source`` on, which are heard earlier."""

    start: int
    source: int
    length: int


def returns(
    suffixes: Suffixes, heard: Numbers, least: int, wanted: NDArray[np.bool_], sources: NDArray[np.bool_]
) -> list[Return]:
    """Every longest stretch of ``least`` (2 or more) rows and up that has been heard before; the longest come first.

    ``heard`` orders the rows in time: a source begins strictly earlier. Only rows that are ``wanted`` come again, only
    those among ``sources`` are pointed at, and of all equally long ones at the earliest. A stretch that lies within
    another one is left out. ValueError for a ``least`` under 2.
    """
    if least < 2:
        raise ValueError(f"a stretch that comes again has at least 2 rows, not {least}")
    lengths, before = _longest_before(suffixes, heard, wanted | sources, sources)
    longer = np.concatenate(([0], lengths[:-1]))[: len(lengths)]
    # What follows shares at least one row less with the same source: it says nothing new unless it shares more.
    begins = wanted & (lengths >= least - 1) & ((lengths >= longer) | ~np.roll(wanted, 1))
    starts = np.flatnonzero(begins)
    firsts = _first_heard(starts.tolist(), lengths[starts].tolist(), lengths.tolist(), before.tolist())
    found = [Return(*one) for one in zip(starts.tolist(), firsts, (lengths[starts] + 1).tolist(), strict=True)]
    return sorted(found, key=lambda one: (-one.length, int(heard[one.start]), one.start))


def _longest_before(
    suffixes: Suffixes, heard: Numbers, rows: NDArray[np.bool_], sources: NDArray[np.bool_]
) -> tuple[Numbers, Numbers]:
    """How many tokens each of the ``rows`` shares with an earlier source at the most, and with which; else 0 and -1."""
    order = suffixes.order[rows[suffixes.order]]
    times, may = heard[order].tolist(), sources[order].tolist()
    above = _nearest_earlier(times, may)
    below = len(order) - 1 - _nearest_earlier(times[::-1], may[::-1])[::-1]
    lengths, before = np.zeros(len(heard), dtype=np.int64), np.full(len(heard), -1, dtype=np.int64)
    for near in (above, below):
        there = np.flatnonzero((near >= 0) & (near < len(order)))
        ones, others = order[there], order[near[there]]
        shared = suffixes.common(ones, others)
        more = shared > lengths[ones]
        lengths[ones[more]] = shared[more]
        before[ones[more]] = others[more]
    return lengths, before


def _nearest_earlier(times: Sequence[int], may: Sequence[bool]) -> Numbers:
    """For each index the nearest one before it that ``may`` serve and has an earlier time; -1 where there is none."""
    nearest = []
    rising: list[int] = []  # the times of what may still be nearest to something, and their indices
    indices: list[int] = []
    for index, (time, serves) in enumerate(zip(times, may, strict=True)):
        earlier = bisect.bisect_left(rising, time)
        nearest.append(indices[earlier - 1] if earlier else -1)
        if serves:
            del rising[earlier:], indices[earlier:]
            rising.append(time)
            indices.append(index)
    return np.array(nearest, dtype=np.int64)


def _first_heard(
    starts: Sequence[int], wanted: Sequence[int], lengths: Sequence[int], before: Sequence[int]
) -> list[int]:
    """For each start the earliest row that shares as many tokens with it as any earlier row does."""
    firsts = []
    for start, length in zip(starts, wanted, strict=True):
        source = before[start]
        while lengths[source] >= length:
            source = before[source]
        firsts.append(source)
    return firsts
