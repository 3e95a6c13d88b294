"""What is told at once, and the words for where."""

from __future__ import annotations

from analysis.watch.finding import found
from analysis.watch.gathering import Event, gathered, measures_listed, settled, told_at_once
from tests.analysis.lines import line

PART = line("C4/4 " * 40)


def _event(measure, told="In {where} it is so.", closer=""):
    return Event(told, (PART.notes[measure],), closer=closer)


def test_alike_events_close_together_are_one_group():
    assert [len(group) for group in gathered([_event(0), _event(8), _event(17), _event(18)], 8)] == [2, 2]


def test_unlike_events_between_do_not_part_them():
    events = [_event(0), _event(1, "In {where} it is otherwise."), _event(2)]
    assert [len(group) for group in gathered(events, 8)] == [2, 1]


def test_the_closer_words_stand_where_they_hold_for_all():
    both = [_event(0, closer="In {where} it is just so."), _event(1, closer="In {where} it is just so.")]
    unlike = [both[0], _event(2, closer="In {where} it is quite so.")]
    assert [finding.text for finding in told_at_once(PART, "shift", both, 8)] == ["In measures 1–2 it is just so."]
    assert [finding.text for finding in told_at_once(PART, "shift", unlike, 8)] == ["In measures 1 and 3 it is so."]


def test_measures_in_words():
    assert measures_listed(PART, [4]) == "measure 5"
    assert measures_listed(PART, [4, 4, 5, 6]) == "measures 5–7"
    assert measures_listed(PART, [4, 8, 13]) == "measures 5, 9 and 14"
    assert measures_listed(PART, [0, 2, 4, 6, 8, 10, 12], 9) == "measures 1 to 13 (nine times)"


def test_what_is_said_alike_is_said_once_with_all_its_notes_in_order():
    notes = PART.notes
    pair = [found("shift", [notes[3], notes[2]], "So it is."), found("shift", [notes[1], notes[2]], "So it is.")]
    (finding,) = settled(PART, pair)
    assert finding.note_ids == ("n2", "n3", "n4")


def test_two_that_share_their_key_are_not_both_told():
    notes = PART.notes
    pair = [found("shift", notes[:3], "So it is."), found("shift", [notes[0], notes[2]], "So it was.")]
    assert [finding.text for finding in settled(PART, pair)] == ["So it is."]
