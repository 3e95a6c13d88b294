"""Repeats and endings are solved exactly, whatever their shape."""

from __future__ import annotations

import pytest

from analysis.fingering.locks import Lock
from analysis.fingering.rules.house import HouseRules
from analysis.instruments import BASS, Instrument
from analysis.music import Part
from tests.analysis.exactness import (
    FOUR,
    assert_same,
    is_exact,
)
from tests.analysis.lines import line, plan, repeated

# Repeats in short measures: the notes, the time, and where sections begin, end and have endings.
SEAMS = {
    "one note": ("A4/2 B4 C5", (2, 4), {"backs": {1: 2}, "starts": (1,)}),
    "one chord": ("B4/2 [D4 A4] G4", (2, 4), {"backs": {1: 2}, "starts": (1,)}),
    "two notes": ("A4/1 B4 E4 F4", (2, 4), {"backs": {0: 2}}),
    "three notes": ("A4/1 E5 G4 F4", (3, 4), {"backs": {0: 2}}),
    "long": ("A4/1 B4 G4 D5 E4 F#5", (2, 4), {"backs": {2: 2}}),
    "long, played three times": ("A4/1 B4 G4 D5 E4 F#5", (2, 4), {"backs": {2: 3}}),
    "a section in the middle": ("A4/1 B4 G4 D5 E4 F#5 G5", (1, 4), {"starts": (1,), "backs": {5: 2}}),
    "two sections": ("A4/1 B4 G4 D5 E4 F#5 G5 A4", (1, 4), {"backs": {3: 2, 7: 2}}),
    "chords at both ends": ("[D4 A4]/1 B4 G4 D5 [E4 C5]", (1, 4), {"backs": {4: 2}}),
    "two endings": ("A4/1 B4 G4 D5 E4 F#5", (1, 4), {"backs": {3: 2}, "endings": {3: (1,), 4: (2,)}}),
    "chords around the endings": (
        "[D4 A4]/1 B4 [G4 D5] D5 [E4 C5] F#5", (1, 4), {"backs": {3: 2}, "endings": {3: (1,), 4: (2,)}},
    ),
    "three endings": (
        "A4/1 B4 G4 D5 E4 F#5 A4", (1, 4), {"backs": {3: 2, 4: 2}, "endings": {3: (1,), 4: (2,), 5: (3,)}},
    ),
    "three endings after one note": (
        "B4/1 G4 D5 E4 F#5", (1, 4), {"backs": {1: 2, 2: 2}, "endings": {1: (1,), 2: (2,), 3: (3,)}},
    ),
    "an ending with a rest": ("A4/1 B4 G4 r E4 F#5", (1, 4), {"backs": {3: 2}, "endings": {3: (1,), 4: (2,)}}),
    "a section within what a later end brings back": (
        "A4/1 B4 G4 D5 E4 F#5 A4", (1, 4), {"starts": (0,), "backs": {1: 2, 3: 2}, "endings": {1: (1,), 2: (2,)}},
    ),
}  # fmt: skip

_LOWER = {"violin": 0, "viola": -7, "cello": -19, "bass": -31}


def sung(name: str, instrument: Instrument) -> Part:
    """One of the lines with repeats, where the instrument can play it."""
    text, time, signs = SEAMS[name]
    return repeated(line(text, time=time, transpose=_LOWER[instrument.key]), **signs)


@pytest.mark.parametrize("instrument", FOUR, ids=lambda one: one.key)
@pytest.mark.parametrize("name", SEAMS)
def test_repeats_of_every_shape_are_solved_exactly(name, instrument):
    rules = HouseRules(positions=(1, 2) if instrument is BASS else (1, 3))
    made = plan(sung(name, instrument), rules, instrument)
    (chain,) = made.chains
    assert chain.costs.links
    assert all(note.id in made for note in made.part)
    is_exact(chain, made)
    beyond = [way for way in made.other_placements(made.part.notes[0].id) if not way.is_open][:3]
    assert beyond
    for way in beyond:
        locked = made.with_locks({made.part.notes[0].id: Lock.on(way)})
        is_exact(locked.chains[0], locked)


@pytest.mark.parametrize("instrument", FOUR, ids=lambda one: one.key)
@pytest.mark.parametrize("name", SEAMS)
def test_a_lock_beyond_the_rules_at_either_end_of_a_seam_is_solved_again_as_afresh(name, instrument):
    rules = HouseRules(positions=(1,))
    made = plan(sung(name, instrument), rules, instrument)
    (chain,) = made.chains
    ends = {stage for link in chain.costs.links for stage in (link.first, link.last)}
    for stage in ends:
        note_id = chain.stages[stage].ids[0][0]
        beyond = [way for way in made.other_placements(note_id) if not way.is_open]
        for way in beyond[:2]:
            edited = made.with_locks({note_id: Lock.on(way)})
            assert_same(edited, plan(made.part, rules, instrument, {note_id: Lock.on(way)}), ways=False)
            assert_same(edited.with_locks({}), made, ways=False)
