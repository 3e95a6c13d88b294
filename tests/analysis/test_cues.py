"""Which cues a part needs: where the player has rested long, and whom one hears best before the entry.

That a cue stands in the last measure of a long rest, and shows a moving line up to the entry: common practice,
no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import pytest

from analysis.cues import Cue, cues_of
from analysis.music import Measure, Part, Score
from tests.analysis.lines import line, repeated

REST = "r/4 r r r r r "  # six measures of 4/4
SIX = REST + "D5/4"
BEFORE = "r/4 r r r r "
TUNE = "D5/1 E5 F5 G5"


def cues(reader: str | Part, *others: str | Part, least_rest: int = 6) -> list[Cue]:
    """The cues of the first part; the others are called P2, P3 ... All have as many measures as the longest."""
    parts = [one if isinstance(one, Part) else line(one) for one in (reader, *others)]
    frame = max((part.measures for part in parts), key=len)
    parts = [replace(part, id=f"P{number}", measures=frame) for number, part in enumerate(parts, 1)]
    return list(cues_of(Score("", tuple(parts)), parts[0], least_rest))


def sources(reader: str | Part, *others: str | Part) -> list[str]:
    return [cue.source_id for cue in cues(reader, *others)]


def barred(part: Part, bars: Sequence[tuple[str, tuple[int, int]]]) -> Part:
    """The part in measures of these lengths in quarter notes, each with its metre."""
    measures, onset = [], Fraction(0)
    for index, (length, time) in enumerate(bars):
        full = Fraction(4 * time[0], time[1])
        offset = full - Fraction(length)
        measures.append(Measure(index, str(index), onset, Fraction(length), time, offset))
        onset += Fraction(length)
    starts = [measure.onset for measure in measures]
    placed = (replace(note, measure=sum(start <= note.onset for start in starts) - 1) for note in part.notes)
    return replace(part, measures=tuple(measures), notes=tuple(placed))


# Where a cue is needed


def test_a_cue_fills_the_last_measure_of_a_long_rest() -> None:
    assert cues(SIX, BEFORE + TUNE) == [Cue("P1", "P2", 5, 5, ("n1", "n2", "n3", "n4"))]


def test_a_short_rest_needs_no_cue() -> None:
    assert cues("r/4 r r r r D5", "r/4 r r r " + TUNE) == []
    assert cues("r/4 r r r r D5", "r/4 r r r " + TUNE, least_rest=5) != []


def test_a_rest_in_the_middle_counts_from_its_beginning() -> None:
    found = cues("D5/4 r r r r r r E5 r r E5", "r/4 r r r r r " + TUNE + " D5/4 " + TUNE + " " + TUNE)
    assert [(cue.first_measure, cue.last_measure) for cue in found] == [(6, 6)]


def test_a_rest_with_no_entry_after_it_needs_no_cue() -> None:
    assert cues("D5/4 r r r r r r r", " ".join([TUNE] * 8)) == []


def test_a_part_without_notes_has_no_cues() -> None:
    assert cues("r/4 r r r r r r r", " ".join([TUNE] * 8)) == []


def test_there_is_no_cue_where_nobody_plays() -> None:
    assert cues(SIX, "D5/4 r r r r r D5") == []
    assert cues(SIX) == []


def test_a_part_in_which_nothing_begins_is_no_cue() -> None:
    assert cues(SIX, "D5/4~ D5~ D5~ D5~ D5~ D5") == []


def test_measures_cut_short_count_as_the_share_they_are() -> None:
    halves = [("2", (4, 4))] * 2 + [("4", (4, 4))] * 6
    reader = barred(line("r/2 r r/4 r r r r D5/4"), halves)
    source = barred(line("r/2 r r/4 r r r D5/1 E5 F5 G5"), halves)
    assert [(cue.first_measure, cue.last_measure) for cue in cues(reader, source)] == [(6, 6)]
    assert cues(reader, source, least_rest=7) == []


def test_metres_may_change_in_the_rest() -> None:
    bars = [("4", (4, 4))] * 3 + [("3", (3, 4))] * 2 + [("3/2", (3, 8)), ("4", (4, 4))]
    reader = barred(line("r/4 r r r/3 r r/3/2 D5/4"), bars)
    source = barred(line("r/4 r r r/3 r D5/1/2 E5 F5"), bars)
    assert cues(reader, source) == [Cue("P1", "P2", 5, 5, ("n1", "n2", "n3"))]


# Repeats


def test_before_a_second_ending_the_cue_stands_before_the_first() -> None:
    reader = repeated(line(REST + "D5/4 E5"), backs={6: 2}, endings={6: (1,), 7: (2,)})
    source = repeated(line(BEFORE + TUNE + " " + TUNE + " " + TUNE), backs={6: 2}, endings={6: (1,), 7: (2,)})
    assert [(cue.first_measure, cue.last_measure) for cue in cues(reader, source)] == [(5, 5)]


def test_a_first_ending_of_rests_is_not_played_before_the_second() -> None:
    reader = repeated(line(REST + "r/4 D5"), backs={6: 2}, endings={6: (1,), 7: (2,)})
    source = repeated(line(BEFORE + TUNE + " " + TUNE + " D5/4"), backs={6: 2}, endings={6: (1,), 7: (2,)})
    assert [(cue.first_measure, cue.last_measure) for cue in cues(reader, source)] == [(5, 5)]


def test_a_player_who_rests_to_the_end_of_a_repeat_gets_a_cue_for_its_beginning() -> None:
    source = line(" ".join([TUNE] * 9))
    assert cues("D5/4", source) == []
    found = cues("D5/4", repeated(source, backs={6: 2}))
    assert [(cue.first_measure, cue.last_measure) for cue in found] == [(6, 6)]


# Whom one hears


@pytest.mark.parametrize(
    ("better", "worse"),
    [
        pytest.param("D4/1 E4 F4 G4", "D6/1 D6 D6 D6", id="a moving line before repeated notes"),
        pytest.param("D4/1 E4 F4 G4", "D6/4~ D6/4", id="a moving line before a held note"),
        pytest.param("D4/1 E4 F4 G4", "D6/1 E6 r/2", id="who plays right before the entry"),
        pytest.param("{solo} D4/1 E4 F4 G4", "D6/1 E6 F6 G6", id="a solo"),
        pytest.param("{f} D4/1 E4 F4 G4", "{p} D6/1 E6 F6 G6", id="who is loud"),
        pytest.param("{mf} D4/1 E4 F4 G4", "{mp} D6/1 E6 F6 G6", id="who is less soft"),
        pytest.param("D6/1 E6 F6 G6", "D4/1 E4 F4 G4", id="the highest line"),
    ],
)
def test_the_cue_is_what_is_heard_best(better: str, worse: str) -> None:
    assert sources(SIX, BEFORE + better, BEFORE + worse) == ["P2"]
    assert sources(SIX, BEFORE + worse, BEFORE + better) == ["P3"]


def test_height_is_what_sounds_not_what_is_written() -> None:
    bass = line(BEFORE + "C5/1 D5 E5 F5", transpose=-12)
    assert sources(SIX, bass, BEFORE + "A4/1 B4 C5 D5") == ["P3"]


def test_the_upper_voice_and_the_top_of_its_chords_are_shown() -> None:
    source = line(BEFORE + "D4/1 E4 F4 G4", BEFORE + "*E6 [D5 F5]/1 [G5 E5] A5 B5")
    (cue,) = cues(SIX, source)
    assert [source.note(note_id).pitch.name for note_id in cue.note_ids] == ["F5", "G5", "A5", "B5"]


def test_a_fingered_tremolo_is_no_cue() -> None:
    assert sources(SIX, BEFORE + "D6/1= F6= D6= F6=", BEFORE + "D4/1 E4 F4 G4") == ["P3"]


# How much is shown


def test_where_the_last_measure_says_little_the_cue_takes_one_more() -> None:
    assert cues(SIX, "r/4 r r r D5/2 E5 F5/2 G5") == [Cue("P1", "P2", 4, 5, ("n1", "n2", "n3", "n4"))]


def test_a_cue_begins_with_its_first_note() -> None:
    assert cues(SIX, BEFORE + "F5/2 G5") == [Cue("P1", "P2", 5, 5, ("n1", "n2"))]


def test_a_cue_stays_within_the_rest() -> None:
    found = cues("D5/4 r D5", "D5/2 E5 F5/2 G5 A5/4", least_rest=1)
    assert [(cue.first_measure, cue.last_measure) for cue in found] == [(1, 1)]


def test_a_single_attack_is_too_little() -> None:
    assert cues(SIX, BEFORE + "D5/4") == []


def test_a_late_entry_is_led_to_through_its_own_measure() -> None:
    late = REST + "r/2 D5/2"
    source = BEFORE + TUNE + " A5/1 B5 C6 D6"
    assert cues(late, source) == [Cue("P1", "P2", 5, 6, ("n1", "n2", "n3", "n4", "n5", "n6"))]


def test_the_cue_breaks_off_at_a_note_that_lasts_into_the_entry() -> None:
    late = REST + "r/2 D5/2"
    assert cues(late, BEFORE + TUNE + " A5/1 B5/2 D6/1")[0].note_ids == ("n1", "n2", "n3", "n4", "n5")
    assert cues(late, BEFORE + TUNE + " A5/4") == [Cue("P1", "P2", 5, 5, ("n1", "n2", "n3", "n4"))]


def test_no_two_cues_share_a_measure() -> None:
    reader = repeated(line("D5/4 " + REST + "D5/4"), backs={6: 2})
    source = repeated(line(" ".join([TUNE] * 8)), backs={6: 2})
    assert [(cue.first_measure, cue.last_measure) for cue in cues(reader, source)] == [(6, 6)]
