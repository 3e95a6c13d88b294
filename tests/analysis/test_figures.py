"""Music that comes again: repeats and figures, against a plain search and on small invented tunes."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis import figures as module
from analysis.figures import Event, Figure, Repeat, figures, repeats
from analysis.music import Pitch
from tests.analysis.growth import lines_run

FIFTHS = (4, 7)
FOURTHS = (3, 5)
SHIFTS = pytest.mark.parametrize("shift", [None, FIFTHS, FOURTHS])
TUNE = "A4:1 B4:1/2 C#5:1/2 E5:3/2 D5:1/2 C#5:1 A4:2"
A_FIFTH_LOWER = "D4:1 E4:1/2 F#4:1/2 A4:3/2 G4:1/2 F#4:1 D4:2"


def tune(text: str) -> list[Event]:
    """``A4:1/2`` is an eighth, ``E5+G4:1`` a chord, ``-A4:1`` slurred to, ``_A4:1`` after a quarter rest."""
    made = []
    for word in text.split():
        names, quarters = word.lstrip("-_").split(":")
        pitches = tuple((pitch.letter, int(pitch.midi)) for pitch in map(Pitch.parse, names.split("+")))
        made.append(Event(pitches, Fraction(quarters), word[0] == "-", Fraction(word[0] == "_")))
    return made


def letters(text: str) -> list[Event]:
    """Each letter an event of its own pitch, no two of them a fifth or fourth apart in letter steps and semitones."""
    return [Event(((ord(letter), 2 * ord(letter)),), Fraction(1), False, Fraction(0)) for letter in text]


def moved_by(events: Sequence[Event], one: int, other: int, length: int, shift: tuple[int, int] | None) -> int | None:
    """How many shifts the stretch at ``other`` lies above that at ``one``; None when they are not the same."""
    pairs = list(zip(events[one : one + length], events[other : other + length], strict=False))
    if max(one, other) + length > len(events):
        return None
    differences = set()
    for number, (here, there) in enumerate(pairs):
        if len(here.pitches) != len(there.pitches) or here.quarters != there.quarters:
            return None
        if number and (here.slurred, here.rest_before) != (there.slurred, there.rest_before):
            return None
        differences |= {(t[0] - h[0], t[1] - h[1]) for h, t in zip(here.pitches, there.pitches, strict=True)}
    if len(differences) != 1:
        return None
    steps, semitones = differences.pop()
    if shift is None:
        return 0 if (steps, semitones) == (0, 0) else None
    moves = steps // shift[0]
    return moves if (moves * shift[0], moves * shift[1]) == (steps, semitones) else None


def starts_of(events: Sequence[Event], start: int, length: int, shift: tuple[int, int] | None) -> list[int]:
    return [other for other in range(len(events)) if moved_by(events, start, other, length, shift) is not None]


def apart(starts: Sequence[int], length: int) -> list[int]:
    kept: list[int] = []
    for start in starts:
        if not kept or start >= kept[-1] + length:
            kept.append(start)
    return kept


def with_moves(events: Sequence[Event], starts: Sequence[int], length: int, shift: tuple[int, int] | None):
    return tuple((start, moved_by(events, starts[0], start, length, shift)) for start in starts)


def plain_repeats(events: Sequence[Event], shift: tuple[int, int] | None, least: int) -> tuple[Repeat, ...]:
    """Every stretch looked for at every place."""
    found = []
    for length in range(least, len(events)):
        for start in range(len(events) - length + 1):
            starts = starts_of(events, start, length, shift)
            if starts[0] != start or starts[-1] - start < length:
                continue
            longer = starts_of(events, start, length + 1, shift)
            if longer == starts and starts[-1] - start > length:
                continue
            if start and [one + 1 for one in starts_of(events, start - 1, length + 1, shift)] == starts:
                continue
            places = with_moves(events, apart(starts, length), length, shift)
            found.append(Repeat(length, places))
    return tuple(sorted(found, key=lambda one: (-one.length, -len(one.places), one.places)))


def plain_figures(events: Sequence[Event], shift: tuple[int, int] | None, least: int) -> tuple[Figure, ...]:
    """Always the longest stretch that is still free twice, by trying all of them again each time."""
    taken: set[int] = set()
    chosen: list[Figure] = []
    length = len(events) // 2
    while length >= least:
        best: list[int] = []
        for start in range(len(events) - length + 1):
            starts = starts_of(events, start, length, shift)
            starts = apart([one for one in starts if not taken & set(range(one, one + length))], length)
            if starts[:1] == [start] and len(starts) > max(1, len(best)):
                best = starts
        if best:
            chosen.append(Figure(length, with_moves(events, best, length, shift)))
            taken |= {index for start in best for index in range(start, start + length)}
        else:
            length -= 1
    return tuple(chosen)


def few_events(most: int) -> st.SearchStrategy[list[Event]]:
    """Events of a small alphabet with much that comes again, some of it moved or cut short."""
    bases = st.sampled_from([(28, 60), (29, 62)])
    pitches = st.builds(lambda base, by, n: (base[0] + n * by[0], base[1] + n * by[1]), bases, ups, st.integers(0, 2))
    single = st.builds(lambda pitch: (pitch,), pitches)
    chords = single | st.just(((31, 65), (28, 60))) | st.just(((35, 72), (32, 67)))
    plain = st.builds(Event, single, st.just(Fraction(1)), st.just(False), st.just(Fraction(0)))
    quarters = st.sampled_from([Fraction(1), Fraction(1, 2)])
    varied = st.builds(Event, chords, quarters, st.booleans(), st.sampled_from([Fraction(0), Fraction(2)]))
    return st.lists(plain, max_size=most) | excerpts(plain, most) | excerpts(plain | varied, most)


def excerpts(one: st.SearchStrategy[Event], most: int) -> st.SearchStrategy[list[Event]]:
    """Excerpts from one tune strung together, so that long stretches come again and overlap."""
    ends = st.tuples(st.integers(0, 9), st.integers(0, 9)).map(sorted)
    rows = st.tuples(st.lists(one, min_size=4, max_size=9), st.lists(ends, min_size=2, max_size=most // 3))
    return rows.map(lambda row: [event for low, high in row[1] for event in row[0][low:high]][:most])


ups = st.sampled_from([FIFTHS, FOURTHS])
shifts = st.none() | ups


@given(few_events(24), shifts, st.integers(2, 4))
def test_every_maximal_repeat_is_found_and_nothing_else(events, shift, least):
    assert repeats(events, shift, least) == plain_repeats(events, shift, least)


@given(few_events(24), shifts, st.integers(2, 4))
def test_figures_are_always_the_longest_still_free(events, shift, least):
    assert figures(events, shift, least) == plain_figures(events, shift, least)


@given(few_events(80), shifts, st.integers(2, 6))
def test_figures_share_no_event_and_are_the_same_at_all_their_places(events, shift, least):
    found = figures(events, shift, least)
    used = Counter(index for one in found for start, _ in one.places for index in range(start, start + one.length))
    assert set(used.values()) <= {1}
    for one in found:
        first = one.places[0][0]
        assert one.length >= least
        assert len(one.places) >= 2
        assert [moved_by(events, first, start, one.length, shift) for start, _ in one.places] == [
            n for _, n in one.places
        ]


@given(few_events(60), shifts)
def test_events_are_only_read_so_a_second_search_finds_the_same(events, shift):
    once = repeats(events, shift, 2), figures(events, shift, 2)
    assert (repeats(tuple(events), shift, 2), figures(tuple(events), shift, 2)) == once


def test_a_tune_that_returns_a_fifth_lower_is_the_same_figure_one_string_down():
    events = tune(f"{TUNE} G4:1 {A_FIFTH_LOWER} B4:2 {TUNE}")
    assert figures(events, FIFTHS, 4) == (Figure(7, ((0, 0), (8, -1), (16, 0))),)
    assert repeats(events, FIFTHS, 4) == (Repeat(7, ((0, 0), (8, -1), (16, 0))),)


def test_without_a_shift_only_the_same_pitches_are_the_same_figure():
    events = tune(f"{TUNE} G4:1 {A_FIFTH_LOWER} B4:2 {TUNE}")
    assert figures(events, None, 4) == (Figure(7, ((0, 0), (16, 0))),)


def test_a_tune_moved_by_another_interval_is_no_repeat():
    """A fourth is no fifth: its fingers are others on strings tuned in fifths, the same on a bass."""
    events = tune(f"{TUNE} G4:4 D5:1 E5:1/2 F#5:1/2 A5:3/2 G5:1/2 F#5:1 D5:2")
    assert figures(events, FIFTHS, 3) == ()
    assert figures(events, FOURTHS, 3) == (Figure(7, ((0, 0), (8, 1))),)


def test_a_return_two_strings_away_counts_two_shifts():
    events = tune("B5:1 A5:1 F#5:1 E5:1/2 A3:1 G3:1 E3:1 D3:1/2")
    assert figures(events, FIFTHS, 4) == ()
    events = tune("B5:1 A5:1 F#5:1 E5:1/2 A4:1 G4:1 E4:1 D4:1/2")
    assert figures(events, FIFTHS, 4) == (Figure(4, ((0, 0), (4, -2))),)


def test_the_same_pitches_in_other_rhythm_are_no_repeat():
    other = "A4:1/2 B4:1 C#5:1 E5:1/2 D5:3/2 C#5:1/2 A4:1"
    assert repeats(tune(f"{TUNE} {TUNE}"), FIFTHS, 2) != ()
    assert repeats(tune(f"{TUNE} {other}"), FIFTHS, 2) == ()


def test_the_length_of_the_last_event_counts():
    assert repeats(tune("A4:1 B4:1 C5:1 G4:4 A4:1 B4:1 C5:2"), FIFTHS, 2) == (Repeat(2, ((0, 0), (4, 0))),)


def test_another_spelling_is_no_repeat():
    """The hand takes F# with another finger than Gb."""
    assert repeats(tune("F#5:1 G5:1 E5:1 D5:2 Gb5:1 G5:1 E5:1"), FIFTHS, 2) == (Repeat(2, ((1, 0), (5, 0))),)


@pytest.mark.parametrize("sign", ["-", "_"])
def test_a_slur_or_rest_counts_between_the_events_and_not_before_the_first(sign):
    before_the_first = tune(f"A4:1 B4:1 C5:1 G4:4 {sign}A4:1 B4:1 C5:1")
    assert figures(before_the_first, FIFTHS, 3) == (Figure(3, ((0, 0), (4, 0))),)
    between = tune(f"A4:1 B4:1 C5:1 G4:4 A4:1 {sign}B4:1 C5:1")
    assert figures(between, FIFTHS, 3) == ()


def test_a_long_rest_may_stand_inside_a_figure():
    resting = [replace(event, rest_before=Fraction(12)) for event in tune("C5:1 B4:1")]
    events = tune("A4:1 B4:1") + resting + tune("G4:4 A4:1 B4:1") + resting
    assert figures(events, None, 4) == (Figure(4, ((0, 0), (5, 0))),)


def test_a_chord_is_the_same_only_with_all_its_notes():
    events = tune("A4:1 B4+D4:1 C5:1 G4:4 A4:1 B4+D4:1 C5:1 D4:2 D4:1 E4+G3:1 F4:1 D4:4 A4:1 B4+E4:1 C5:1")
    assert figures(events, FIFTHS, 3) == (Figure(3, ((0, 0), (4, 0), (8, -1))),)


def test_a_stretch_that_overlaps_itself_is_cut_until_its_places_stand_apart():
    events = letters("xyzxyzx")
    assert repeats(events, None, 2) == (Repeat(3, ((0, 0), (3, 0))),)
    assert figures(events, None, 2) == (Figure(3, ((0, 0), (3, 0))),)


def test_what_a_longer_figure_leaves_over_is_a_figure_if_it_still_comes_twice():
    events = letters("abcde1abcde2abcd3e4abcd")
    assert figures(events, None, 3) == (Figure(5, ((0, 0), (6, 0))), Figure(4, ((12, 0), (19, 0))))


@pytest.mark.parametrize(
    ("text", "places"),
    [
        ("ghiabcdef1abcdef2ghiab3klmn4klmn", [(3, 10), (23, 28), (0, 17)]),
        ("ghiab3klmn4ghiabcdef1abcdef2klmn", [(14, 21), (6, 28), (0, 11)]),
    ],
)
def test_what_a_longer_figure_leaves_over_waits_for_its_turn(text, places):
    """``ghiab`` loses ``ab`` to ``abcdef`` at one place, so ``klmn`` is the longer one."""
    found = figures(letters(text), None, 3)
    assert [one.length for one in found] == [6, 4, 3]
    assert [tuple(start for start, _ in one.places) for one in found] == places


def test_of_equally_long_stretches_the_one_with_most_places_is_first_then_the_earliest():
    events = letters("abc1def2ghi3def4abc5ghi6ghi")
    assert [one.places[0][0] for one in figures(events, None, 3)] == [8, 0, 4]
    assert [one.places[0][0] for one in repeats(events, None, 3)] == [8, 0, 4]


def test_a_part_of_a_stretch_seen_before_does_not_make_it_the_earlier_one():
    events = letters("de0abc1def2abc3def")
    assert [one.places[0][0] for one in figures(events, None, 3)] == [3, 7]
    assert [one.places[0][0] for one in repeats(events, None, 3)] == [3, 7]


@SHIFTS
@pytest.mark.parametrize("text", ["", "a", "ab", "aa", "abcdefg"])
def test_music_too_short_or_never_the_same_has_no_repeat(text, shift):
    assert repeats(letters(text), shift, 2) == ()
    assert figures(letters(text), shift, 2) == ()


@SHIFTS
def test_one_note_over_and_over_is_one_figure_in_two_halves(shift):
    assert figures(letters("a" * 10_000), shift, 4) == (Figure(5000, ((0, 0), (5000, 0))),)


@SHIFTS
def test_ten_thousand_events_of_four_kinds_keep_their_figures_apart(shift):
    dice = random.Random(7)
    events = letters("".join(dice.choice("abcd") for _ in range(10_000)))
    found = figures(events, shift, 5)
    used = Counter(index for one in found for start, _ in one.places for index in range(start, start + one.length))
    assert len(found) > 100
    assert set(used.values()) == {1}


def test_a_stretch_of_one_event_is_refused():
    for search in (repeats, figures):
        with pytest.raises(ValueError, match="at least 2 events, not 1"):
            search(letters("aa"), None, 1)


@pytest.mark.parametrize("shift", [(0, 0), (-4, -7)])
def test_a_shift_that_does_not_go_up_is_refused(shift):
    with pytest.raises(ValueError, match=f"at least one letter step, not {shift[0]}"):
        repeats(letters("aa"), shift, 2)


def test_an_event_without_pitches_is_refused():
    with pytest.raises(ValueError, match="at least one pitch"):
        Event((), Fraction(1), False, Fraction(0))


def equal(count: int) -> list[Event]:
    return letters("a" * count)


def ostinato(count: int) -> list[Event]:
    return letters(("abcdefg" * count)[:count])


def mixed(count: int) -> list[Event]:
    dice = random.Random(count)
    return letters("".join(dice.choice("abcd") for _ in range(count)))


@pytest.mark.parametrize("music", [equal, ostinato, mixed])
@pytest.mark.parametrize("search", [repeats, figures])
def test_twice_the_music_takes_little_more_than_twice_the_steps(search, music):
    some, twice = music(700), music(1400)
    few, many = (
        lines_run(lambda events=events: search(events, FIFTHS, 4), module.__file__) for events in (some, twice)
    )
    assert many < 2.6 * few


@pytest.mark.parametrize("music", [equal, ostinato, mixed])
def test_twice_the_music_has_little_more_than_twice_the_places(music):
    some, twice = (sum(len(one.places) for one in repeats(music(count), FIFTHS, 2)) for count in (1000, 2000))
    assert 0 < twice < 2.6 * some
