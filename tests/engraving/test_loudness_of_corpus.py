"""Dynamics and hairpins of corpus movements, with music21 as the oracle."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from fractions import Fraction
from typing import Any

import pytest

from tests.engraving.oracle import ATTACKS, LEFT_IN_FORCE, LOUD_AND_SOFT, measures_of, pairs

SWELLING = (
    "haydn/opus74no1/movement2.mxl",
    "beethoven/opus59no3/movement1.mxl",
    "mozart/k458/movement4.mxl",
    "haydn/opus74no1/movement3.mxl",
)


@pytest.mark.parametrize("name", LOUD_AND_SOFT)
def test_dynamics_stand_where_music21_reads_them(name: str) -> None:
    """Outside source: ``music21.dynamics.Dynamic``. What is drawn over the first half of a note is its own here."""
    from music21 import dynamics

    compared = 0
    for part, witness in pairs(name):
        theirs = sorted(
            (part.measures[index].onset + Fraction(mark.getOffsetInHierarchy(measure)), mark.value)
            for index, measure in enumerate(measures_of(witness))
            for mark in measure.recurse().getElementsByClass(dynamics.Dynamic)
            if mark.value not in ATTACKS
        )
        named = dict.fromkeys((onset, LEFT_IN_FORCE.get(value, value)) for onset, value in theirs)
        for mark, (onset, level) in zip(part.dynamics, named, strict=True):
            assert (mark.level, 0 <= onset - mark.onset < 1) == (level, True), onset
        compared += len(part.dynamics)
    assert compared > 50


@pytest.mark.parametrize("name", LOUD_AND_SOFT)
def test_the_dynamic_of_a_note_is_the_last_of_its_part(name: str) -> None:
    """Where a part's voices agree, ``Note.dynamic`` and ``Part.dynamics`` say the same."""
    for part, _ in pairs(name):
        onsets = [mark.onset for mark in part.dynamics]
        assert len(set(onsets)) == len(onsets)
        for note in part:
            before = bisect_right(onsets, note.onset)
            assert note.dynamic == (part.dynamics[before - 1].level if before else ""), part.place(note)


def wedges_of(witness: Any) -> list[tuple[bool, int, int]]:
    """The wedges of a part of music21's: whether it grows, the measures in which it begins and ends."""
    from music21 import dynamics, stream

    places = {id(measure): index for index, measure in enumerate(measures_of(witness))}

    def place(note: Any) -> int:
        return places[id(note.getContextByClass(stream.Measure))]

    return [
        (isinstance(line, dynamics.Crescendo), place(line.getFirst()), place(line.getLast()))
        for line in witness.recurse().getElementsByClass(dynamics.DynamicWedge)
    ]


def words_of(witness: Any) -> list[tuple[bool, int]]:
    """The cresc. and dim. among the words of a part of music21's: whether it grows, and its measure."""
    from music21 import expressions

    found = []
    for index, measure in enumerate(measures_of(witness)):
        for text in measure.recurse().getElementsByClass(expressions.TextExpression):
            word = text.content.lower().split(".")[0].split()[-1]
            if word in ("cresc", "dim", "decresc"):
                found.append((word == "cresc", index))
    return found


@pytest.mark.parametrize("name", SWELLING)
def test_wedges_and_words_begin_where_music21_reads_them(name: str) -> None:
    """Outside source: ``music21.dynamics.DynamicWedge`` and ``music21.expressions.TextExpression``.

    A wedge begins there at the note that is written after it, however far before it is drawn: up to a measure earlier.
    """
    compared = elsewhere = 0
    for part, witness in pairs(name):
        theirs = sorted([(grows, first) for grows, first, _ in wedges_of(witness)] + words_of(witness))
        starts = [measure.onset for measure in part.measures]
        ours = sorted((hairpin.grows, bisect_right(starts, hairpin.onset) - 1) for hairpin in part.hairpins)
        for (grows, mine), (also, other) in zip(ours, theirs, strict=True):
            assert grows is also
            assert abs(mine - other) <= 1
            elsewhere += mine != other
        compared += len(ours)
    assert compared > 10
    assert elsewhere < compared / 5


@pytest.mark.parametrize("name", SWELLING[:2])
def test_wedges_end_where_music21_reads_them(name: str) -> None:
    """Outside source: ``music21.dynamics.DynamicWedge``, which ends with a note near the drawn end."""
    compared = 0
    for part, witness in pairs(name):
        starts = [measure.onset for measure in part.measures]
        ours = [
            (hairpin.grows, bisect_right(starts, hairpin.onset) - 1, bisect_left(starts, hairpin.end) - 1)
            for hairpin in part.hairpins
        ]
        for grows, first, last in wedges_of(witness):
            assert any(kind is grows and abs(a - first) <= 1 and abs(b - last) <= 1 for kind, a, b in ours)
            compared += 1
    assert compared > 20
