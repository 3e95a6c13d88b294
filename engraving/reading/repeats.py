"""Repeated sections and their endings, from the barlines of all parts together.

A barline counts for every part, though often only the first one has it.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from lxml import etree

from engraving.elements import number_in
from engraving.reading.partwalk import WalkedMeasure

_NUMBERS = re.compile(r"(?<!\d)(\d{1,2})(?!\d)\.?(?:\s*[-–]\s*(\d{1,2})(?!\d))?")


@dataclass(frozen=True, slots=True)
class Section:
    """A measure's place among repeats; the fields are those of ``analysis.music.Measure``."""

    repeat_from: bool = False
    repeat_back: int = 0
    endings: tuple[int, ...] = ()


@dataclass(slots=True)
class _Signs:
    """The signs by the index of the measure that they begin or end."""

    forward: set[int] = field(default_factory=set)
    backward: dict[int, int] = field(default_factory=dict)
    ending_starts: dict[int, tuple[int, ...]] = field(default_factory=dict)
    ending_stops: set[int] = field(default_factory=set)
    finals: set[int] = field(default_factory=set)


def sections(parts: Sequence[Sequence[WalkedMeasure]], count: int) -> tuple[Section, ...]:
    """Where sections begin and end in the ``count`` measures of a score.

    A section that ends without having begun goes back to the end of the section, the endings or the movement (a final
    barline) before it, or to the first measure.
    """
    signs = _Signs()
    for part in parts:
        for index, measure in enumerate(part):
            for barline in measure.barlines:
                _read(barline, index, signs)
    endings = _endings(signs, count)
    begins = signs.forward | _unsaid_beginnings(signs, endings, count)
    return tuple(Section(i in begins, signs.backward.get(i, 0), endings.get(i, ())) for i in range(count))


def _read(barline: etree._Element, index: int, signs: _Signs) -> None:
    location = barline.get("location", "right")
    begun = index + 1 if location == "right" else index
    ended = index - 1 if location == "left" else index
    repeat = barline.find("repeat")
    direction = None if repeat is None else repeat.get("direction")
    if direction == "forward":
        signs.forward.add(begun)
    elif repeat is not None and direction == "backward":
        signs.backward.setdefault(ended, _times(repeat.get("times")))
    elif barline.findtext("bar-style") == "light-heavy":
        signs.finals.add(ended)
    for ending in barline.iterfind("ending"):
        if ending.get("type") == "start":
            signs.ending_starts.setdefault(begun, ending_numbers(ending.get("number", "")))
        else:
            signs.ending_stops.add(ended)


def _times(text: str | None) -> int:
    number = number_in(text)
    return int(number) if number is not None and number.denominator == 1 and 0 < number < 100 else 2


def ending_numbers(text: str) -> tuple[int, ...]:
    """The numbers of an ending, rising: ``1``, ``1, 2`` and ``1-3`` are known; nothing for other texts.

    >>> ending_numbers("1-3, 5")
    (1, 2, 3, 5)
    """
    numbers: set[int] = set()
    for first, last in _NUMBERS.findall(text):
        numbers.update(range(int(first), int(last or first) + 1))
    return tuple(sorted(numbers - {0}))


def _endings(signs: _Signs, count: int) -> dict[int, tuple[int, ...]]:
    """The ending over each measure: up to its stop, the next repeat sign or the next ending.

    An ending that nothing ends stands over its first measure only. One that ends without having begun stands over its
    last one, and has the numbers that the next ending leaves.
    """
    over: dict[int, tuple[int, ...]] = {}
    ends = signs.ending_stops | signs.backward.keys() | {start - 1 for start in signs.ending_starts}
    for start, numbers in signs.ending_starts.items():
        if numbers and start < count:
            last = min((end for end in ends if end >= start), default=start)
            over.update(dict.fromkeys(range(start, min(last + 1, count)), numbers))
    for stop in signs.ending_stops - over.keys():
        following = signs.ending_starts.get(stop + 1)
        if following and stop >= 0:
            over[stop] = tuple(range(1, following[0]))
    return {index: numbers for index, numbers in over.items() if numbers}


def _unsaid_beginnings(signs: _Signs, endings: Mapping[int, tuple[int, ...]], count: int) -> set[int]:
    begins: set[int] = set()
    start, is_begun = 0, False
    for index in range(count):
        is_begun = is_begun or index in signs.forward
        if index in signs.backward and not is_begun:
            begins.add(start)
            is_begun = True
        leaves_endings = index in endings and index + 1 not in endings
        if leaves_endings or index in signs.finals or (index in signs.backward and index not in endings):
            start, is_begun = index + 1, False
    return begins
