"""Repeats, endings, dynamics, trills, keys, accidentals and fermatas of the corpus, with music21 as the oracle."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

import pytest

from analysis.music import Measure, Note, Part
from tests.engraving.oracle import ATTACKS, LEFT_IN_FORCE, LOUD_AND_SOFT, both, measures_of, one_staff_pairs, pairs

REPEATED = (
    "haydn/opus1no1/movement4.mxl",
    "haydn/opus74no1/movement3.mxl",
    "mozart/k156/movement3.mxl",
    "mozart/k458/movement2.mxl",
)
TRILLED = ("haydn/opus1no1/movement4.mxl", "mozart/k156/movement1.mxl", "beethoven/opus59no1/movement4.mxl")
CHANGING_KEY = ("mozart/k156/movement3.mxl", "beethoven/opus59no3/movement3.mxl")
ALTERED = (
    "beethoven/opus59no3/movement1.mxl",
    "haydn/opus74no1/movement2.mxl",
    "schumann_clara/opus17/movement3.xml",
)
# By the names of MusicXML, accidental-value.
SIGNS = {"double-flat": "flat-flat"}


def played(measures: tuple[Measure, ...]) -> list[int]:
    """The measures in the order in which they are played, every section as often as its sign says."""
    order: list[int] = []
    start, turn, here = 0, 1, 0
    while here < len(measures):
        measure = measures[here]
        if measure.repeat_from and here != start:
            start, turn = here, 1
        if not measure.endings or turn in measure.endings:
            order.append(here)
            if measure.repeat_back > turn or (measure.repeat_back and measure.endings and turn in measure.endings):
                here, turn = start, turn + 1
                continue
        here += 1
    return order


@pytest.mark.parametrize("name", REPEATED)
def test_repeat_signs_stand_where_music21_reads_them(name: str) -> None:
    """Outside source: ``music21.bar.Repeat``. Beginnings that no sign marks are ours alone."""
    from music21 import bar

    for part, witness in pairs(name):
        measures = measures_of(witness)
        lines = [(i, line) for i, m in enumerate(measures) for line in (m.leftBarline, m.rightBarline)]
        repeats = [(i, line) for i, line in lines if isinstance(line, bar.Repeat)]
        back = {i for i, line in repeats if line.direction == "end"}
        assert {m.index for m in part.measures if m.repeat_back} == back
        assert {m.repeat_back for m in part.measures} == {0, 2}
        begins = {m.index for m in part.measures if m.repeat_from}
        assert begins >= {i for i, line in repeats if line.direction == "start"}
        assert len(begins) == len(back)


@pytest.mark.parametrize("name", REPEATED)
def test_endings_stand_where_music21_reads_them(name: str) -> None:
    """Outside source: ``music21.spanner.RepeatBracket``. It leaves a number open where the file does."""
    from music21 import spanner

    for part, witness in pairs(name):
        measures = measures_of(witness)
        found: dict[int, tuple[int, ...]] = {}
        for bracket in witness.recurse().getElementsByClass(spanner.RepeatBracket):
            over = [measures.index(measure) for measure in bracket.getSpannedElements()]
            found |= dict.fromkeys(over, tuple(n for n in bracket.numberRange if n))
        ours = {m.index: m.endings for m in part.measures if m.endings}
        assert ours.keys() == found.keys()
        assert all(numbers in (ours[i], ()) for i, numbers in found.items())


@pytest.mark.parametrize("name", ["haydn/opus1no1/movement4.mxl", "mozart/k156/movement3.mxl"])
def test_sections_are_played_in_the_order_that_music21_plays_them(name: str) -> None:
    """Outside source: ``music21.repeat.Expander``, which finds beginnings that no sign marks."""
    from music21 import repeat

    part, witness = pairs(name)[0]
    assert played(part.measures) == repeat.Expander(witness).measureMap()


@pytest.mark.parametrize("name", LOUD_AND_SOFT)
def test_the_dynamics_in_force_are_those_music21_reads(name: str) -> None:
    """Outside source: ``music21.dynamics.Dynamic``, at its offset in its part.

    What is drawn over the first half of a note is the note's own here; there it comes after its onset.
    """
    from music21 import dynamics

    notes = late = 0
    for part, witness in pairs(name):
        marks: list[tuple[Fraction, str]] = [(Fraction(-1), "")]
        for index, measure in enumerate(measures_of(witness)):
            for mark in measure.recurse().getElementsByClass(dynamics.Dynamic):
                if mark.value not in ATTACKS:
                    onset = part.measures[index].onset + Fraction(mark.getOffsetInHierarchy(measure))
                    marks.append((onset, LEFT_IN_FORCE.get(mark.value, mark.value)))
        marks.sort(key=lambda mark: mark[0])
        onsets = [onset for onset, _ in marks]
        for note in part.notes:
            there = marks[bisect_right(onsets, note.onset) - 1][1]
            if note.dynamic != there:
                assert note.dynamic == marks[bisect_left(onsets, note.onset + note.duration / 2) - 1][1], part.place(
                    note
                )
                late += 1
        notes += len(part.notes)
        assert {mark for _, mark in marks} == {"", *(note.dynamic for note in part.notes)}
    assert late < notes / 20


@pytest.mark.parametrize("name", TRILLED)
def test_trills_are_those_music21_reads_and_their_upper_notes_in_the_key(name: str) -> None:
    """Outside source: ``music21.expressions.Trill``, which knows the key and the sign beside the trill.

    It does not know accidentals earlier in the measure, so only measures without any are compared.
    """
    from music21 import expressions

    trilled = 0
    for part, witness in pairs(name):
        ours = {(n.measure, n.onset - part.measures[n.measure].onset, n.pitch.name): n.trill for n in part.notes}
        marks = {}
        for index, measure in enumerate(measures_of(witness)):
            for note in measure.recurse().notes:
                for trill in note.expressions:
                    if isinstance(trill, expressions.Trill):
                        place = (index, Fraction(note.getOffsetInHierarchy(measure)), _name(note.pitches[0]))
                        marks[place] = _upper(trill, note)
        found = {place: upper for place, upper in ours.items() if upper}
        assert marks.keys() <= found.keys()
        for place, upper in marks.items():
            altered = {n.pitch.alter for n in part.notes_in(place[0]) if n.pitch.letter == found[place].letter}
            if not altered or altered == {found[place].alter}:
                assert found[place].name == upper, place
                trilled += 1
    assert trilled > 3


def _upper(trill: Any, note: Any) -> str:
    trill.resolveOrnamentalPitches(note)
    return _name(trill.ornamentalPitch)


def _name(pitch: Any) -> str:
    return str(pitch.nameWithOctave).replace("-", "b")


@pytest.mark.parametrize("name", CHANGING_KEY)
def test_key_signatures_are_those_music21_reads(name: str) -> None:
    """Outside source: ``music21.key.KeySignature``."""
    from music21 import key

    changes = 0
    for part, witness in pairs(name):
        theirs = [
            (part.measures[index].onset + Fraction(sign.getOffsetInHierarchy(measure)), sign.sharps)
            for index, measure in enumerate(measures_of(witness))
            for sign in measure.recurse().getElementsByClass(key.KeySignature)
        ]
        assert [(sign.onset, sign.fifths) for sign in part.keys] == theirs
        changes += len(theirs) - 1
    assert changes >= 4


def heads(witness: Any) -> Iterator[tuple[tuple[int, Fraction, str], Any, Any]]:
    """Every notehead of music21's part: where it stands, itself, and the note or chord it belongs to."""
    for index, measure in enumerate(measures_of(witness)):
        for sounding in measure.recurse().notes:
            onset = Fraction(sounding.getOffsetInHierarchy(measure))
            for head in sounding.notes if sounding.isChord else (sounding,):
                yield (index, onset, _name(head.pitch)), head, sounding


def place_of(part: Part, note: Note) -> tuple[int, Fraction, str]:
    """Where a note of ours stands, as ``heads`` has it."""
    return note.measure, note.onset - part.measures[note.measure].onset, note.pitch.name


@pytest.mark.parametrize("name", ALTERED)
def test_printed_accidentals_are_those_music21_displays(name: str) -> None:
    """Outside source: ``music21.pitch.Accidental``, its display status and style."""
    found = Counter[str]()
    for part, witness in one_staff_pairs(name):
        theirs = Counter(
            (place, SIGNS.get(sign.name, sign.name), sign.displayStyle == "parentheses")
            for place, head, _ in heads(witness)
            if (sign := head.pitch.accidental) is not None and sign.displayStatus
        )
        ours = Counter((place_of(part, note), note.sign, note.courtesy) for note in part if note.sign)
        assert ours == theirs
        found.update(sign for _, sign, _ in ours.elements())
    assert min(found[sign] for sign in ("sharp", "flat", "natural")) > 2


def test_the_only_accidentals_in_brackets_are_found() -> None:
    """Outside source: counted in the file, where ``parentheses="yes"`` stands eight times in its three parts."""
    courtesies = [note.sign for part in both(ALTERED[2])[0].parts for note in part if note.courtesy]
    assert sorted(courtesies) == ["natural"] * 2 + ["sharp"] * 6


@pytest.mark.parametrize("name", ["beethoven/opus59no3/movement1.mxl", *LOUD_AND_SOFT[:2]])
def test_fermatas_and_breath_marks_are_those_music21_reads(name: str) -> None:
    """Outside source: ``music21.expressions.Fermata`` and ``music21.articulations.BreathMark``, for whole chords."""
    from music21 import articulations, expressions

    found = 0
    for part, witness in pairs(name):
        theirs = Counter(
            (place, type(sign) is articulations.BreathMark)
            for place, _, sounding in heads(witness)
            for sign in (*sounding.expressions, *sounding.articulations)
            if isinstance(sign, (expressions.Fermata, articulations.BreathMark))
        )
        ours = Counter((place_of(part, note), note.lifted) for note in part if note.fermata or note.lifted)
        assert ours == theirs
        found += len(ours)
    assert found
