"""Rows of attacks and the longest stretches of them that were heard before, against plain searches."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.again.lines import Likeness, Lines, lines
from analysis.again.passages import Search
from analysis.again.returns import Return, returns
from analysis.again.suffixes import Suffixes
from analysis.fingering.stages import stages, voices
from analysis.instruments import INSTRUMENTS
from analysis.music import Note, Part, Pitch
from tests.analysis.lines import line
from tests.strategies import parts

LIKENESSES = pytest.mark.parametrize("likeness", Likeness)
TUNE = "A4/1 B4/1/2 C#5 E5/3/2 D5/1/2 C#5/1 A4/2"


def shared(one: Sequence[int], other: Sequence[int]) -> int:
    count = 0
    while count < min(len(one), len(other)) and one[count] == other[count]:
        count += 1
    return count


few_tokens = st.lists(st.integers(0, 2), max_size=40) | st.lists(st.integers(0, 30), max_size=40)


@given(few_tokens)
def test_suffixes_are_sorted_and_tell_what_neighbours_share(tokens):
    made = Suffixes(np.array(tokens, dtype=np.int64))
    suffixes = sorted((tokens[start:], start) for start in range(len(tokens)))
    assert made.order.tolist() == [start for _, start in suffixes]
    lengths = [shared(one, other) for (one, _), (other, _) in itertools.pairwise(suffixes)]
    assert made.shared.tolist() == [0, *lengths][: len(tokens)]


@given(few_tokens.filter(lambda tokens: len(tokens) > 1), st.data())
def test_any_two_suffixes_tell_what_they_share(tokens, data):
    one = data.draw(st.integers(0, len(tokens) - 1))
    other = data.draw(st.integers(0, len(tokens) - 1).filter(lambda start: start != one))
    made = Suffixes(np.array(tokens, dtype=np.int64))
    found = made.common(np.array([one]), np.array([other]))
    assert found.tolist() == [shared(tokens[one:], tokens[other:])]


@given(st.data())
def test_rows_are_the_stages_that_are_fingered(data):
    instrument = data.draw(st.sampled_from(INSTRUMENTS))
    part = data.draw(parts(least=0, most=14, voices=2, instrument=instrument))
    part = replace(part, notes=tuple(replace(note, divisi=False) for note in part.notes))
    made = lines([part])
    wanted = [stages(part, notes, 90.0) for notes in voices(part).values()]
    assert [[note.id for note in heads] for heads in made.heads] == [
        [note.id for note in stage.heads] for voice in wanted for stage in voice
    ]
    none = ((),) * 9
    assert [list(zip(heads, made.tied.get(row, none), strict=False)) for row, heads in enumerate(made.heads)] == [
        [(note, ids[1:]) for note, ids in zip(stage.heads, stage.ids, strict=True)]
        for voice in wanted
        for stage in voice
    ]
    assert [Fraction(int(onset), made.ticks) for onset in made.onset] == [s.onset for voice in wanted for s in voice]


def test_a_note_held_on_while_the_rest_of_its_chord_ends_is_a_row():
    made = lines([line("[A4~ E5]/1 A4/1 C5/1~ C5/1")])
    assert [len(heads) for heads in made.heads] == [2, 1, 1]
    assert dict(made.tied) == {2: (("n5",),)}


def sounds(part: Part, heads: Sequence[Note]) -> list[tuple[int, Fraction]]:
    """Letter and pitch of each note as it sounds."""
    low = part.transpose_at(heads[0].onset)
    return [(note.pitch.letter + round(low * 7 / 12), Fraction(note.pitch.midi + low)) for note in heads]


def are_alike(music: Sequence[Part], made: Lines, one: int, other: int, length: int, likeness: Likeness) -> bool:
    """Whether two stretches are alike, note by note."""
    if max(one + length - made.end[one], other + length - made.end[other]) > 0:
        return False
    differences: set[tuple[int, Fraction]] = set()
    waits = set()
    for step in range(length):
        here, there = (sounds(music[made.part[row + step]], made.heads[row + step]) for row in (one, other))
        if len(here) != len(there):
            return False
        differences |= {(t[0] - h[0], t[1] - h[1]) for h, t in zip(here, there, strict=True)}
        waits.add(made.heads[other + step][0].onset - made.heads[one + step][0].onset)
    if len(waits) > 1:
        return False
    match likeness:
        case Likeness.EXACT:
            return differences == {(0, 0)}
        case Likeness.MOVED:
            return len(differences) == 1
    return len({letters for letters, _ in differences}) == 1


def plain_returns(
    music: Sequence[Part], made: Lines, likeness: Likeness, least: int, wanted: Sequence[bool], sources: Sequence[bool]
) -> dict[tuple[int, int], Fraction]:
    """Start and length of every longest stretch heard before, with the onset of its earliest source: all pairs."""
    onset = [heads[0].onset for heads in made.heads]
    longest: dict[int, tuple[int, Fraction]] = {}
    for start in np.flatnonzero(wanted).tolist():
        for source in np.flatnonzero(sources).tolist():
            length = 0
            while onset[source] < onset[start] and are_alike(music, made, source, start, length + 1, likeness):
                length += 1
            if length >= least:
                found = longest.get(start, (0, Fraction(0)))
                if (length, -onset[source]) > (found[0], -found[1]):
                    longest[start] = length, onset[source]
    return {
        (start, length): source
        for start, (length, source) in longest.items()
        if not any(
            other < start and start + length <= other + over and made.voice[other] == made.voice[start]
            for other, (over, _) in longest.items()
        )
    }


words = st.sampled_from(
    (
        "A4/1",
        "B4/1",
        "C5/1",
        "C#5/1",
        "D5/1",
        "E5/1/2",
        "F#5/1/2",
        "F5/1/2",
        "[D4 A4]/1",
        "[E4 B4]/1",
        "r/1",
        "A4/1~ A4/1",
    )
)


@st.composite
def music(draw: st.DrawFn) -> list[Part]:
    """One or two parts of one or two voices, excerpts from few tunes strung together."""
    tunes = draw(st.lists(st.lists(words, min_size=3, max_size=7), min_size=1, max_size=3))
    made = []
    for name in ("P1", "P2")[: draw(st.integers(1, 2))]:
        texts = []
        for _ in range(draw(st.integers(1, 2))):
            excerpts = draw(st.lists(st.tuples(st.sampled_from(tunes), st.integers(0, 2)), min_size=1, max_size=4))
            texts.append(" ".join(word for tune, skipped in excerpts for word in tune[skipped:]))
        made.append(replace(line(*texts), id=name))
    return made


@LIKENESSES
@given(music=music(), least=st.integers(2, 4), other=st.booleans())
def test_every_longest_stretch_heard_before_is_found_and_nothing_else(likeness, music, least, other):
    made = lines(music)
    wanted = made.part == 0
    sources = made.part == len(music) - 1 if other else wanted
    found = returns(Suffixes(made.tokens(likeness)), made.onset, least, wanted, sources)
    heard = {(one.start, one.length): made.heads[one.source][0].onset for one in found}
    assert len(heard) == len(found)
    assert heard == plain_returns(music, made, likeness, least, wanted, sources)
    assert all(sources[one.source] for one in found)
    assert all(are_alike(music, made, one.source, one.start, one.length, likeness) for one in found)
    assert [one.length for one in found] == sorted((one.length for one in found), reverse=True)


@LIKENESSES
@given(music=music())
def test_passages_align_only_rows_that_are_alike_and_run_on_on_both_sides(likeness, music):
    made = lines(music)
    mine = made.part == 0
    for passage in Search(made).passages(mine, mine):
        if passage.likeness is not likeness:
            continue
        for block in passage.blocks:
            assert are_alike(music, made, block.source, block.start, block.length, likeness)
        for one, next_one in itertools.pairwise(passage.blocks):
            assert 0 <= next_one.start - one.start - one.length <= 2
            assert 0 <= next_one.source - one.source - one.length <= 2
        rows, sources = np.array(list(passage.pairs())).T
        if not passage.period:
            assert made.likeness(rows, sources) is not None
            assert made.likeness(rows, sources) <= likeness
            assert made.voice[rows[0]] != made.voice[sources[0]] or sources[-1] < rows[0]


def test_a_passage_never_reaches_back_into_its_own_source():
    """Before the last figure comes what comes before the middle one; but that is partly the middle one itself."""
    figure = "A4/1 B4/1/2 C#5 E5/3/2 D5/1/2 C#5/1 F#4/1/2 G#4 "
    made = lines([line(f"{figure} C6/1 {figure} D4/2 {figure} D4/2")])
    mine = made.part == 0
    found = [passage for passage in Search(made).passages(mine, mine) if passage.start - passage.blocks[0].source < 18]
    assert found
    for passage in found:
        assert max(source for _, source in passage.pairs()) < passage.start


def seeds(music: Part, likeness: Likeness, least: int = 4) -> list[Return]:
    made = lines([music])
    every = np.ones(len(made), dtype=bool)
    return returns(Suffixes(made.tokens(likeness)), made.onset, least, every, every)


@pytest.mark.parametrize(
    ("later", "first"),
    [
        (TUNE, Likeness.EXACT),
        ("D4/1 E4/1/2 F#4 A4/3/2 G4/1/2 F#4/1 D4/2", Likeness.MOVED),
        ("D5/1 E5/1/2 F5 A5/3/2 G5/1/2 F5/1 D5/2", Likeness.IN_KEY),
        ("A4/1 B4/1/2 C5 E5/3/2 D5/1/2 C5/1 A4/2", Likeness.IN_KEY),
    ],
)
def test_what_is_alike_in_one_way_is_alike_in_all_looser_ones(later, first):
    music = line(f"{TUNE} G4/4 {later}")
    for likeness in Likeness:
        found = Return(8, 0, 7) in seeds(music, likeness)
        assert found == (likeness >= first), likeness


@LIKENESSES
def test_another_rhythm_is_other_music_but_not_another_last_length(likeness):
    assert Return(5, 0, 4) in seeds(line("A4/1 B4/1 C5/2 A4/1 G4/8 A4/1 B4/1 C5/2 A4/4"), likeness)
    assert not seeds(line("A4/1 B4/1 C5/2 A4/1 G4/8 A4/1 B4/2 C5/1 A4/1"), likeness)


@LIKENESSES
def test_a_short_note_before_a_rest_is_as_good_as_a_long_one(likeness):
    assert Return(5, 0, 4) in seeds(line("A4/1 B4/1 C5/2 A4/1 G4/8 A4/1/2 r B4/1 C5/1 r A4/1"), likeness)


def test_slurs_and_dynamics_make_no_other_music():
    assert Return(5, 0, 4) in seeds(line("{p} A4/1 B4/1 C5/2 A4/1 G4/8 {f} (A4/1 B4/1 C5/2) A4/1"), Likeness.EXACT)


def test_quarter_tones_are_pitches_too():
    part = line("A4/1 B4 C5 A4 G4/8 A4/1 B4 C5 A4")
    raised = replace(part.notes[6], pitch=Pitch("B", Fraction(1, 2), 4))
    other = replace(part, notes=(*part.notes[:6], raised, *part.notes[7:]))
    assert [Return(5, 0, 4) in seeds(other, likeness) for likeness in Likeness] == [False, False, True]


def test_of_equally_long_sources_the_earliest_counts():
    tune = "A4/1 B4/1/2 C5 A4/1"
    assert Return(12, 0, 4) in seeds(line(f"{tune} F5/1 G5 {tune} G4/1 D5 {tune} E5/1"), Likeness.EXACT)


def test_a_bass_and_a_cello_are_compared_as_they_sound():
    """Music for double bass sounds an octave below what is written (reference: HyperPhysics, double bass)."""
    cello, bass = line("D3/1 E3 F3 D3"), line("r/4 D4/1 E4 F4 D4", transpose=-12)
    made = lines([bass, cello])
    found = returns(Suffixes(made.tokens(Likeness.EXACT)), made.onset, 4, made.part == 0, made.part == 1)
    assert found == [Return(0, 4, 4)]


def test_a_stretch_of_one_row_is_refused():
    with pytest.raises(ValueError, match="at least 2 rows, not 1"):
        seeds(line("A4 A4"), Likeness.EXACT, 1)


@pytest.mark.parametrize("text", ["", "r/4", "A4/1"])
def test_music_of_no_more_than_a_note_has_nothing_to_repeat(text):
    assert [seeds(line(text), likeness, 2) for likeness in Likeness] == [[], [], []]


def test_wide_columns_do_not_run_out_of_numbers():
    """Rows that differ in one column stay apart when all columns together need more than 64 bits."""
    wide = 2**32 - 1
    made = lines([line("A4/1 B4 A4 B4 A4 B4")])
    letter = np.array([0, 5, wide, 5, 0, 5], dtype=np.int64)
    pitch = np.array([7, 7, 7, 7, wide, 0], dtype=np.int64)
    tokens = replace(made, letter=letter, pitch=pitch).tokens(Likeness.EXACT)
    assert len(set(tokens.tolist())) == 6
