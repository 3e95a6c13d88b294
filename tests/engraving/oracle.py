"""Corpus files as they are read here, beside music21's reading of the same text."""

from __future__ import annotations

from functools import cache
from types import MappingProxyType
from typing import Any

from analysis.music import Part, Score
from engraving.document import open_document
from engraving.reading import read_score
from tests.engraving.corpus import corpus_folder
from tests.engraving.witnesses import music21_parts, music21_score

LOUD_AND_SOFT = ("haydn/opus74no1/movement2.mxl", "haydn/opus74no1/movement4.mxl", "mozart/k155/movement1.mxl")
# What attacks leave in force, and those that change nothing.
LEFT_IN_FORCE = MappingProxyType({"fp": "p", "sfp": "p"})
ATTACKS = ("sf", "sfz", "fz", "rf", "rfz")


@cache
def both(name: str) -> tuple[Score, dict[str, Any]]:
    """A corpus file as read here, and music21's parts of it by name."""
    document = open_document(corpus_folder() / name)
    return read_score(document), music21_parts(music21_score(document))


def one_staff_pairs(name: str) -> list[tuple[Part, Any]]:
    """The parts of one staff, each with music21's of the same name."""
    score, witnesses = both(name)
    return [(part, witnesses[part.name]) for part in score.parts if part.name in witnesses]


def pairs(name: str) -> list[tuple[Part, Any]]:
    """The four parts of a quartet, each with music21's of the same name."""
    found = one_staff_pairs(name)
    assert len(found) == 4
    return found


def measures_of(witness: Any) -> list[Any]:
    """The measures of a part of music21's."""
    from music21 import stream

    return list(witness.getElementsByClass(stream.Measure))
