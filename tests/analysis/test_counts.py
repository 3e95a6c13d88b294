"""What a fingering asks for, counted by hand on short lines whose fingers are locked."""

from __future__ import annotations

from dataclasses import fields

import pytest
from hypothesis import given, settings

from analysis.fingering.counts import COUNT_NAMES, Counts, count
from analysis.fingering.locks import Lock
from analysis.fingering.placements import placements
from analysis.fingering.plan import make_plan
from analysis.fingering.rules.house import HouseRules
from analysis.instruments import BASS, CELLO, VIOLIN
from analysis.music import Pitch
from tests import strategies
from tests.analysis.lines import line, plan, played

_STRINGS = {"E": 1, "A": 2, "D": 3, "G": 4}


def counted(text, fingering):
    """The counts of a line played as ``fingering`` says: string, finger and, after a dot, position (else first)."""
    part = line(text)
    locks = {}
    for note, word in zip((note for note in part if not note.tied_from), fingering.split(), strict=True):
        stop, _, position = word.partition(".")
        locks[note.id] = Lock(_STRINGS[stop[0]], int(position or 1), int(stop[1]))
    made = plan(part, HouseRules(positions=tuple(range(8))), locks=locks)
    assert made.problems == {}
    return made.counts


def test_a_line_on_one_string_has_only_its_notes():
    found = counted("B4 C#5 D5", "A1 A2 A3")
    assert found == Counts(notes=3, effort=found.effort)


def test_open_strings_and_fourth_fingers_are_counted():
    found = counted("A4 E5 A4 E5 B4", "A0 A4 D4 E0 A1")
    assert (found.open_strings, found.fourth_fingers) == (2, 2)


def test_a_crossing_there_and_back_for_one_note_is_a_single_one():
    found = counted("G4 A4 G4", "D3 A0 D3")
    assert (found.crossings, found.single_crossings) == (2, 1)


def test_two_notes_on_the_other_string_are_no_single_crossing():
    found = counted("G4 A4 B4 G4", "D3 A0 A1 D3")
    assert (found.crossings, found.single_crossings) == (2, 0)


def test_a_crossing_that_goes_on_is_no_single_crossing():
    found = counted("G4 B4 F#5", "D3 A1 E1")
    assert (found.crossings, found.single_crossings) == (2, 0)


def test_a_rocking_figure_crosses_for_a_single_note_each_time():
    found = counted("B4 E4 B4 E4", "A1 D1 A1 D1")
    assert (found.crossings, found.single_crossings) == (3, 2)


def test_a_shift_there_and_back_is_two_and_its_way_is_measured():
    """First finger from a whole step to a fourth above the nut: 82.3 less 35.8 mm on a 328 mm string, twice."""
    found = counted("B4 D5 B4", "A1 A1.3 A1")
    assert found.shifts == 2
    assert found.hand_travel_mm == pytest.approx(2 * (82.3 - 35.8), abs=0.2)


def _path(instrument, *stops):
    """Grips of single notes, each given as note, finger and hand."""
    path = []
    for name, finger, hand in stops:
        (way,) = [
            w for w in placements(instrument, Pitch.parse(name)) if (w.finger, w.hand, w.string) == (finger, hand, 1)
        ]
        path.append((way,))
    return path


def test_a_cellists_hand_shifts_within_second_position():
    """From 109.8 to 142.3 mm: lower and upper second position stand a semitone apart."""
    found = count(CELLO, [((), _path(CELLO, ("C4", 1, 3.0), ("C#4", 1, 4.0), ("E4", 4, 4.0)))], 0.0)
    assert found.shifts == 1
    assert found.hand_travel_mm == pytest.approx(142.3 - 109.8, abs=0.2)


def test_an_extended_finger_is_no_shift_and_a_finger_at_two_places_of_two_hands_no_change_of_low_and_high():
    extended = count(CELLO, [((), _path(CELLO, ("B3", 1, 2.0), ("C#4", 2, 2.0)))], 0.0)
    assert (extended.shifts, extended.hand_travel_mm, extended.extensions) == (0, 0.0, 1)
    moved = count(BASS, [((), _path(BASS, ("Bb2", 1, 3.0), ("B2", 1, 4.0)))], 0.0)
    assert (moved.shifts, moved.low_high_changes) == (1, 0)


def test_staying_in_third_position_is_no_shift():
    found = counted("D5 E5 F#5", "A1.3 A2.3 A3.3")
    assert (found.shifts, found.hand_travel_mm) == (0, 0)


def test_a_stretched_fourth_finger_is_an_extension():
    assert counted("A5 C6", "E3 E4").extensions == 1
    assert counted("A5 B5", "E3 E4").extensions == 0


def test_a_finger_that_comes_back_low_after_high_is_a_change():
    assert counted("C#5 B4 C5", "A2 A1 A2").low_high_changes == 1
    assert counted("C#5 C5 C#5 C5", "A2 A2 A2 A2").low_high_changes == 3
    assert counted("C#5 B4 C#5", "A2 A1 A2").low_high_changes == 0


def test_the_same_finger_on_another_string_is_no_low_high_change():
    assert counted("C#5 F4", "A2 D2").low_high_changes == 0


def test_every_note_of_a_chord_is_counted_and_a_shared_string_is_no_crossing():
    found = counted("[D4 B4] D4 B4", "D0 A1 D0 A1")
    assert (found.notes, found.open_strings, found.crossings) == (4, 2, 1)


def test_a_tied_note_counts_once():
    assert counted("B4/4~ B4 C#5", "A1 A2").notes == 2


def test_an_unfingered_note_counts_for_nothing():
    made = plan("B4 F3 C#5", "first")
    assert played(made) == "A1 - A2"
    assert made.counts.notes == 2


def test_counts_add_up_field_by_field():
    one, two = counted("B4 D5 B4", "A1 A1.3 A1"), counted("G4 A4 G4", "D3 A0 D3")
    total = one + two
    for item in fields(Counts):
        assert getattr(total, item.name) == getattr(one, item.name) + getattr(two, item.name)


def test_voices_are_counted_together():
    part = line("B4 C#5", "G4 A4")
    made = plan(part)
    assert made.counts.notes == 4


def test_every_count_has_its_name_in_the_order_of_the_table():
    assert list(COUNT_NAMES) == [item.name for item in fields(Counts)]


@settings(max_examples=50)
@given(strategies.parts(voices=2), strategies.rules())
def test_counts_hold_together(part, rules):
    made = make_plan(part, VIOLIN, rules)
    found = made.counts
    attacks = {made.stage_id(note.id) for note in part if note.id in made}
    assert 0 <= found.single_crossings <= found.crossings
    assert found.crossings + 1 <= max(1, len(attacks))
    assert found.open_strings + found.fourth_fingers <= found.notes
    assert (found.hand_travel_mm > 0) == (found.shifts > 0)
    assert found.effort == made.effort
