"""Locks in a teacher's words: what they mean on each instrument, and what is said of those that mean nothing."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.fingering.locks import Lock
from analysis.fingering.placements import THUMB, hand_places
from analysis.instruments import BASS, BASS5, CELLO, INSTRUMENTS, VIOLA, VIOLIN
from app.errors import AppError
from app.job.teacher.locking import read_lock, with_ranges_locked
from engraving.document import read_document
from engraving.reading import read_score
from tests.scores import score


@pytest.mark.parametrize(
    ("instrument", "words", "lock"),
    [
        (VIOLIN, "3rd position", Lock(position=3)),
        (VIOLIN, "  In  The half POSITION ", Lock(position=0)),
        (VIOLIN, "position 3", Lock(position=3)),
        (VIOLIN, "12th position", Lock(position=12)),
        (VIOLIN, "on the A string", Lock(string=2)),
        (VIOLIN, "a string", Lock(string=2)),
        (VIOLIN, "string 4", Lock(string=4)),
        (VIOLA, "on the C string", Lock(string=4)),
        (BASS5, "on the C string", Lock(string=5)),
        (VIOLIN, "finger 2", Lock(finger=2)),
        (VIOLIN, "open", Lock(finger=0)),
        (VIOLIN, "open, on string 2", Lock(string=2, finger=0)),
        (VIOLIN, "3rd position, finger 2 on the D string", Lock(string=3, position=3, finger=2)),
        (CELLO, "thumb", Lock(finger=THUMB)),
        (CELLO, "finger T", Lock(finger=THUMB)),
        (CELLO, "thumb position", Lock(position=8)),
        (CELLO, "thumb in thumb position", Lock(position=8, finger=THUMB)),
        # A number that two places of the hand share leaves the choice; a name that is one's own does not.
        (CELLO, "2nd position", Lock(position=2)),
        (CELLO, "upper 2nd position", Lock(position=2, hand=4.0)),
        (CELLO, "3rd position", Lock(position=3, hand=5.0)),
        (CELLO, "position 3", Lock(position=3)),
        (CELLO, "1st position", Lock(position=1)),
        (CELLO, "3 1/2 position", Lock(position=3, hand=6.0)),
        (BASS, "2nd-3rd position", Lock(position=2, hand=4.0)),
        (BASS, "III position", Lock(position=3, hand=5.0)),
    ],
)
def test_words_mean_a_lock(instrument, words, lock):
    assert read_lock(words, instrument) == lock


@pytest.mark.parametrize(
    ("instrument", "words", "told"),
    [
        (VIOLIN, "", "'' is nothing to fix a note to; say a position"),
        (VIOLIN, "slowly", "'slowly' is nothing to fix a note to; say a position"),
        (VIOLIN, "openly", "'openly' is nothing to fix"),
        (VIOLIN, "openstring 2", "'openstring 2' is nothing to fix"),
        (VIOLIN, "finger 2 please", "'finger 2 please' is nothing to fix"),
        (VIOLIN, "on the C string", "the violin has no C string; its strings are E, A, D, G"),
        (BASS, "string 5", "the double bass has no string 5; its strings are G, D, A, E"),
        (VIOLIN, "14th position", "the violin has no 14th position; it has half, 1st, 2nd"),
        (VIOLIN, "upper 2nd position", "the violin has no upper 2nd position"),
        (VIOLIN, "thumb", "the violin is not played with the thumb"),
        (VIOLIN, "thumb position", "the violin has no thumb position"),
        (VIOLIN, "finger 5", "there is no finger 5; fingers are 1 to 4, and T for the thumb"),
        (VIOLIN, "open finger 2", "'open finger 2' asks for two fingers at once"),
        (VIOLIN, "3rd position 1st position", "asks for two positions at once"),
        (VIOLIN, "string 1, A string", "asks for two strings at once"),
    ],
)
def test_words_that_mean_no_lock_are_refused_in_one_sentence(instrument, words, told):
    with pytest.raises(AppError) as refused:
        read_lock(words, instrument)
    assert str(refused.value).startswith(told) or told in str(refused.value)
    assert "\n" not in str(refused.value)


@given(st.sampled_from(INSTRUMENTS), st.data())
def test_what_the_program_calls_a_lock_is_read_as_that_lock(instrument, data):
    fingers = (0, 1, 2, 3, 4) if instrument.letter_frame else (0, 1, 2, 3, 4, THUMB)
    place = data.draw(st.none() | st.sampled_from(hand_places(instrument)))
    lock = Lock(
        string=data.draw(st.none() | st.sampled_from([string.number for string in instrument.strings])),
        position=place.number if place else None,
        finger=data.draw(st.none() | st.sampled_from(fingers)),
    )
    if lock != Lock():
        read = read_lock(lock.words(instrument), instrument)
        assert (read.string, read.position, read.finger) == (lock.string, lock.position, lock.finger)
        if place is not None and place.name != "thumb":
            named = read_lock(f"in {place.name} position", instrument)
            assert named.position == place.number
            assert named.hand in (None, place.place)


def part_of(music):
    return read_score(read_document(score("Violin", "4/4", music, key=2), "s.musicxml")).parts[0]


def test_every_note_struck_in_the_range_is_locked_and_one_tied_into_it_is_not():
    part = part_of("D5/1 E5 F#5 G5~ | G5/1 E5 D5/2 | A4/4")
    locks = with_ranges_locked(part, VIOLIN, {}, ["2: 3rd position"])
    assert locks == {note.id: Lock(position=3) for note in part.notes[5:7]}


def test_locks_that_are_there_stay_and_are_joined_with_those_of_the_range():
    part = part_of("D5/1 E5 F#5 G5 | A4/4")
    first, second, *_, last = (note.id for note in part.notes)
    held = {first: Lock(finger=3), second: Lock(position=1), last: Lock(finger=4)}
    locks = with_ranges_locked(part, VIOLIN, held, ["1: 3rd position", "1: on the A string"])
    assert locks[first] == Lock(string=2, position=3, finger=3)
    assert locks[second] == Lock(string=2, position=3)
    assert locks[last] == Lock(finger=4)
    assert held[first] == Lock(finger=3)


def test_a_range_must_be_there_and_stand_before_a_colon():
    part = part_of("D5/4 | E5/4")
    for asked, told in (("1 open", "lacks a colon"), ("7: open", "no measure 7"), ("first: open", "no measure first")):
        with pytest.raises(AppError, match=told):
            with_ranges_locked(part, VIOLIN, {}, [asked])
