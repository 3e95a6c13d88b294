"""Lines composed to be in known keys: walks up and down the scale that end in cadences."""

from __future__ import annotations

import itertools
import random
from collections.abc import Iterator, Sequence, Set
from dataclasses import dataclass

from analysis.keys.regions import Region
from analysis.keys.signatures import SIGNATURES, Key
from analysis.music import LETTERS, Part, Pitch, altered_by
from tests.analysis.lines import line

# The range of the walks, G3 and D6 left out, as letters counted from C0.
_LOW, _HIGH = Pitch.parse("A3").letter, Pitch.parse("C6").letter
# Steps of a walk in letters, and how often each is taken.
_STEPS = ((-1, 6), (1, 6), (-2, 2), (2, 2), (0, 1), (-4, 1), (3, 1))
# The tonic triad, in letters above the tonic.
_TRIAD = (0, 2, 4)
# The lengths of the notes of a measure of four quarters.
_RHYTHMS = ("1 1 1 1", "1/2 1/2 1 1 1", "1 1/2 1/2 1/2 1/2 1", "1/2 1/2 1/2 1/2 1 1", "2 1 1", "3/2 1/2 1 1")
# From a printed key, the keys that music is apt to go to: fifths up, and the mode.
_GOALS = {
    "major": ((1, "major"), (-1, "major"), (1, "minor"), (-1, "minor"), (2, "major"), (-3, "minor")),
    "minor": ((1, "minor"), (-1, "minor"), (1, "major"), (-1, "major"), (3, "major")),
}


@dataclass(frozen=True, slots=True)
class Planted:
    """A part printed in ``printed`` that is in ``key`` from the measure of index ``first`` to ``last``."""

    part: Part
    printed: Key
    key: Key
    first: int
    last: int


def planted(seed: int, *, sign: bool = False) -> Planted:
    """A line in one key, then in another, then in the first again; ``sign``: with the new signatures printed."""
    chance = random.Random(seed)
    printed = Key(chance.choice(range(-3, 4)), chance.choice(("major", "minor")))
    goals = [Key(printed.fifths + up, mode) for up, mode in _GOALS[printed.mode] if printed.fifths + up in SIGNATURES]
    key = chance.choice(goals)
    before, inside, after = (chance.randint(*ends) for ends in ((6, 10), (5, 9), (6, 10)))
    tells = {step for step in LETTERS if altered_by(key.fifths, step) != altered_by(printed.fifths, step)}
    sections = [
        _telling(chance, one, measures, tells) for one, measures in ((printed, before), (key, inside), (printed, after))
    ]
    first, *later = (signature(one.fifths) for one in (printed, key, printed))
    words = [first, sections[0], *itertools.chain(*zip(later, sections[1:], strict=True))]
    if not sign:
        words = [first, *sections]
    return Planted(line(" ".join(words)), printed, key, before, before + inside - 1)


def _telling(chance: random.Random, key: Key, measures: int, letters: Set[str]) -> str:
    """A walk of which the first two measures and the last two each hold one of some letters."""
    while True:
        words = _measures(chance, key, measures)
        if all(letters & {word[0] for measure in ends for word in measure} for ends in (words[:2], words[-2:])):
            return " ".join(itertools.chain(*words))


def signature(fifths: int) -> str:
    """The word of a line for a key signature."""
    return "{0}" if not fifths else f"{{{abs(fifths)}{'#' if fifths > 0 else 'b'}}}"


def walk(chance: random.Random, key: Key, measures: int) -> str:
    """So many measures of four quarters in a key.

    Each begins on a note of the tonic triad; the last is the cadence, over the leading note to the tonic.
    """
    return " ".join(itertools.chain(*_measures(chance, key, measures)))


def _measures(chance: random.Random, key: Key, measures: int) -> list[list[str]]:
    tonic = _letter(key)
    at = chance.randint(_LOW + 4, _HIGH - 4)
    found: list[list[str]] = []
    for _ in range(measures - 1):
        at = min(at, at - 1, at + 1, key=lambda letter: (letter - tonic) % 7 not in _TRIAD)
        words: list[str] = []
        for length in chance.choice(_RHYTHMS).split():
            words.append(f"{_name(key, at)}/{length}")
            at = _next(chance, at)
        found.append(words)
    end = min((letter for letter in range(_LOW + 1, _HIGH) if letter % 7 == tonic), key=lambda it: abs(it - at))
    leading = _name(key, end - 1, raised=True)
    found.append([f"{_name(key, end + 1)}/1", f"{leading}/1", f"{_name(key, end)}/2"])
    return found


def _next(chance: random.Random, at: int) -> int:
    steps = [(step, often) for step, often in _STEPS if _LOW <= at + step <= _HIGH]
    return at + chance.choices([step for step, _ in steps], [often for _, often in steps])[0]


def _letter(key: Key) -> int:
    """The letter of the tonic, C = 0."""
    return 4 * key.tonic % 7


def _name(key: Key, letter: int, *, raised: bool = False) -> str:
    octave, step = divmod(letter, 7)
    alter = altered_by(key.fifths, LETTERS[step]) + (raised and key.mode == "minor")
    return Pitch(LETTERS[step], alter, octave).name


def found_again(case: Planted, spans: Sequence[tuple[int, int, int]]) -> Iterator[tuple[int, int, int]]:
    """Of regions, each its first and last measure and its signature, those that are the planted one to the measure,
    or to the next."""
    for first, last, fifths in spans:
        if fifths == case.key.fifths and abs(first - case.first) <= 1 and abs(last - case.last) <= 1:
            yield first, last, fifths


def signatures_of(case: Planted, regions: Sequence[Region]) -> list[tuple[int, int, int]]:
    """First and last measure and signature of the passages whose signature is not the printed one of a case."""
    spans: list[tuple[int, int, int]] = []
    for fifths, run in itertools.groupby(regions, lambda region: region.fifths):
        one = list(run)
        if fifths != case.printed.fifths:
            spans.append((one[0].first_measure, one[-1].last_measure, fifths))
    return spans
