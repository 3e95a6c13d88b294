"""The cases of a run: each follows from the seed and its number alone."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from tests.fuzzing.mutations import of_archive, of_bytes, of_tree
from tests.fuzzing.seeds import foreign_seeds, musicxml_seeds

_SUFFIXES = (".musicxml", ".musicxml", ".musicxml", ".xml", ".mxl", ".txt", ".mid", ".abc", ".mei", "")
# Each takes a process of its own with music21 in it, which is slow to begin.
_FOREIGN_SHARE = 0.004


@dataclass(frozen=True, slots=True)
class Case:
    """A damaged file."""

    name: str
    data: bytes


def case(seed: int, number: int) -> Case:
    """The case of that number, the same in every run."""
    random = Random(f"{seed}:{number}")
    if random.random() < _FOREIGN_SHARE:
        suffix, data = random.choice(foreign_seeds())
        return Case(f"case{suffix}", of_bytes(random, data))
    data = random.choice(musicxml_seeds())
    data = random.choice((of_tree, of_tree, of_tree, of_tree, of_bytes, _both, of_archive))(random, data)
    return Case(f"case{random.choice(_SUFFIXES)}", data)


def _both(random: Random, data: bytes) -> bytes:
    return of_bytes(random, of_tree(random, data))
