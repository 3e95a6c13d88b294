"""A voice as the hand meets it: attacks, chords, ties, rests and slurs."""

from __future__ import annotations

import itertools
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.fingering.grips import grips
from analysis.fingering.placements import THUMB, along_string, finger_text, placements
from analysis.fingering.stages import GRACE_SECONDS, stages, voices
from analysis.instruments import BASS, BASS5, CELLO, VIOLA, VIOLIN
from analysis.music import Note, Part, Pitch
from tests.analysis.lines import line
from tests.strategies import parts


def _stages(text, **options):
    part = line(text, **options)
    return stages(part, part.notes, 60.0)


def _names(made):
    return [[note.pitch.name for note in stage.heads] for stage in made]


def test_every_note_is_a_stage_of_its_own():
    made = _stages("G4 A4/2 B4/0.5")
    assert _names(made) == [["G4"], ["A4"], ["B4"]]
    assert [stage.quarters for stage in made] == [1, 2, Fraction(1, 2)]
    assert [stage.onset for stage in made] == [0, 1, 3]


def test_a_chord_is_one_stage_with_its_notes_from_high_to_low():
    (made,) = _stages("[D4 B4 G4]/2")
    assert [note.pitch.name for note in made.heads] == ["B4", "G4", "D4"]
    assert made.ids == (("n2",), ("n3",), ("n1",))


def test_two_chords_one_after_the_other_stay_two():
    assert _names(_stages("[D4 A4] [D4 B4]")) == [["A4", "D4"], ["B4", "D4"]]


def test_a_tie_over_the_barline_makes_one_stage():
    part = line("G4/3 A4/1~ A4/4~ A4/2 B4")
    assert part.notes[1].measure != part.notes[2].measure
    made = stages(part, part.notes, 60.0)
    assert _names(made) == [["G4"], ["A4"], ["B4"]]
    assert made[1].ids == (("n2", "n3", "n4"),)
    assert made[1].quarters == 7
    assert made[2].seconds_since == 7


def test_a_repeated_note_without_a_tie_is_struck_again():
    assert _names(_stages("A4 A4")) == [["A4"], ["A4"]]


def test_a_tie_that_leads_nowhere_is_passed_over():
    assert _names(_stages("A4~ B4 A4")) == [["A4"], ["B4"], ["A4"]]


def test_a_whole_chord_tied_on_stays_one_stage():
    (made,) = _stages("[D4 A4]/2~ [D4 A4]/1")
    assert made.ids == (("n2", "n4"), ("n1", "n3"))
    assert made.quarters == 3
    assert made.held == ()


def test_a_chord_of_which_one_note_is_held_is_a_new_stage_that_knows_the_held_note():
    first, second = _stages("[D4~ A4] [D4 B4]")
    assert first.held == ()
    assert [second.heads[head].pitch.name for head in second.held] == ["D4"]
    assert second.ids == (("n4",), ("n3",))


def test_a_chord_that_thins_out_leaves_its_held_note_as_a_stage_without_an_attack():
    first, second = _stages("[D4~ A4]/1 D4/2 E4")[:2]
    assert [len(first.heads), len(second.heads)] == [2, 1]
    assert second.held == (0,)


def test_grace_notes_come_before_their_note_and_take_a_moment():
    made = _stages("G4 *A4 *B4 C5")
    assert _names(made) == [["G4"], ["A4"], ["B4"], ["C5"]]
    assert [stage.quarters for stage in made] == [1, 0, 0, 1]
    assert [stage.seconds_since for stage in made[1:]] == [1.0, GRACE_SECONDS, GRACE_SECONDS]
    assert [stage.seconds_rest for stage in made[1:]] == [0, 0, 0]


def test_grace_notes_that_close_a_trill_come_out_of_it_at_once():
    """The trill is played until they begin: common practice, no source. After a rest they lead to the next note."""
    closing = _stages("D4/2^E4 *C4 *D4 C4")
    assert [stage.seconds_since for stage in closing[1:3]] == [GRACE_SECONDS, GRACE_SECONDS]
    assert [stage.after_trill for stage in closing] == [False, True, False, False]
    assert _stages("D4/2 *C4 D4")[1].seconds_since == 2.0
    assert _stages("D4/2^E4 C4")[1].seconds_since == 2.0
    apart = _stages("D4/1^E4 r/1 *C4 D4")[1]
    assert (apart.seconds_since, apart.after_trill) == (2.0, False)


def test_a_rest_is_told_in_seconds():
    made = _stages("G4/1 r/2 A4", tempo=120)
    assert made[1].seconds_rest == 1.0
    assert made[1].seconds_since == 1.5


def test_notes_that_follow_at_once_have_no_rest_between():
    assert [stage.seconds_rest for stage in _stages("G4 A4 B4")[1:]] == [0, 0]


def test_the_tempo_in_force_turns_quarters_into_seconds():
    assert [_stages("G4 A4", tempo=tempo)[1].seconds_since for tempo in (30, 60, 120)] == [2.0, 1.0, 0.5]
    assert _stages("G4 A4")[1].seconds_since == 1.0


def test_a_slur_leads_into_its_second_note_and_not_beyond_its_last():
    assert [stage.slurred for stage in _stages("G4 (A4 B4 C5) D5")] == [False, False, True, True, False]


def test_a_slur_over_a_tie_goes_on_after_it():
    made = _stages("(G4 A4/1~ A4 B4) C5")
    assert _names(made) == [["G4"], ["A4"], ["B4"], ["C5"]]
    assert [stage.slurred for stage in made] == [False, True, True, False]


def test_a_slur_that_ends_on_the_tied_note_does_not_go_on():
    assert [stage.slurred for stage in _stages("(G4 A4~ A4) B4")] == [False, True, False]


def test_voices_are_kept_apart_and_each_in_the_order_it_is_played():
    part = line("D5/2 E5", "G4/1 A4 B4 C5")
    found = voices(part)
    assert [(key, [note.pitch.name for note in notes]) for key, notes in found.items()] == [
        ((1, "1", 0), ["D5", "E5"]),
        ((1, "2", 0), ["G4", "A4", "B4", "C5"]),
    ]


def test_a_second_staff_is_a_voice_of_its_own():
    notes = tuple(Note(f"n{staff}", Pitch.parse("A4"), Fraction(0), Fraction(1), 0, staff=staff) for staff in (1, 2))
    assert list(voices(Part("P1", "Violin", (), notes))) == [(1, "1", 0), (2, "1", 0)]


def test_a_divided_chord_is_shared_out_from_the_top_and_what_is_together_is_the_first_players():
    found = voices(line("C4 {div} [D4 B4]/1 [E4 C5 G4] {unis} [D4 A4] F4"))
    assert [(key[2], [note.pitch.name for note in notes]) for key, notes in found.items()] == [
        (0, ["C4", "B4", "C5", "D4", "A4", "F4"]),
        (1, ["D4", "G4"]),
        (2, ["E4"]),
    ]


def test_a_stage_knows_how_loud_it_is_and_whether_it_is_plucked():
    made = _stages("G4 {pp} A4 {pizz} B4 {ff} C5 {arco} D5 {sfz} E5")
    assert [stage.loudness for stage in made] == [0, -3, -3, 3, 3, 0]
    assert [stage.plucked for stage in made] == [False, False, True, True, False, False]


def test_the_second_note_of_a_tremolo_alternates_with_the_first():
    assert [stage.alternates for stage in _stages("G4 E4/1= G4 A4")] == [False, False, True, False]


def _choices(*names):
    return [placements(VIOLIN, Pitch.parse(name)) for name in names]


def _fingers(found, position):
    return {
        tuple(f"{VIOLIN.string(way.string).letter}{way.finger}" for way in grip)
        for grip in found
        if grip[0].position == position and not any(way.respelled for way in grip)
    }


@pytest.mark.parametrize(
    ("names", "first_position"),
    [
        (("A4", "D4"), {("A0", "D0"), ("D4", "G4")}),
        (("B4", "D4"), {("A1", "D0")}),
        (("B4", "E4"), {("A1", "D1")}),
        (("B4", "G4"), {("A1", "D3")}),
        (("F#5", "A4"), {("E1", "A0")}),
        (("E5", "G3"), set()),
        (("D5", "B3", "G3"), set()),
        (("B4", "D4", "G3"), {("A1", "D0", "G0")}),
        (("E5", "C#5", "E4", "A3"), {("E0", "A2", "D1", "G1")}),
        (("A4", "G4"), {("A0", "D3")}),
    ],
)
def test_a_chord_is_held_on_neighbouring_strings_in_one_hand(names, first_position):
    """Common practice, no source."""
    assert _fingers(grips(_choices(*names), VIOLIN.frame), 1) == first_position


def test_one_finger_lies_across_two_strings_only_for_a_perfect_fifth():
    for grip in grips(_choices("B4", "E4"), VIOLIN.frame):
        if grip[0].finger == grip[1].finger > 0:
            assert grip[0].place == grip[1].place
    assert all(
        grip[0].finger != grip[1].finger for grip in grips(_choices("C5", "E4"), VIOLIN.frame) if not grip[0].is_open
    )


def test_a_single_note_has_its_placements_as_grips():
    (choice,) = _choices("A4")
    assert grips([choice], VIOLIN.frame) == tuple((way,) for way in choice)


def test_a_note_without_placements_leaves_its_chord_without_grips():
    assert grips(_choices("A4", "C3"), VIOLIN.frame) == ()


def test_a_chord_of_more_notes_than_strings_has_no_grips_and_takes_no_time_to_find_out():
    names = [f"{step}{octave}" for octave in (4, 5) for step in "CDEFGAB"]
    assert grips(_choices(*names), VIOLIN.frame) == ()


def _held(instrument, *names, most_position=8):
    """The grips of a chord as words such as ``A1 D3``, in whatever hand, and the hands."""
    found = grips([placements(instrument, Pitch.parse(name)) for name in names], instrument.frame)
    return {
        (" ".join(f"{instrument.string(way.string).letter}{finger_text(way.finger)}" for way in grip), grip[0].hand)
        for grip in found
        if grip[0].position <= most_position and not all(way.is_open for way in grip)
    }


@pytest.mark.parametrize(
    ("instrument", "names", "held"),
    [
        # A minor third takes the open hand, forwards or with the first finger drawn back; a major third the closed one.
        (CELLO, ("C4", "A3"), {("A1 D4", 3.0), ("A1 D4", 4.0)}),
        (CELLO, ("C4", "Ab3"), {("A1 D4", 3.0), ("A1 D3", 3.0), ("A1 D3", 4.0)}),
        # A fifth takes one finger, on whichever the hand puts there.
        (CELLO, ("B3", "E3"), {("A1 D1", 2.0), ("A2 D2", 1.0), ("A1 D1", 3.0)}),
        (CELLO, ("A3", "E3"), {("A0 D1", 2.0), ("A0 D2", 1.0), ("A0 D1", 3.0)}),
        # On the bass a fourth takes one finger, a major third two.
        (BASS, ("Bb2", "F2"), {("G1 D1", 3.0), ("G2 D2", 2.0), ("G4 D4", 1.0)}),
        (BASS, ("Bb2", "F#2"), {("G1 D2", 3.0), ("G2 D4", 2.0)}),
        (BASS5, ("A1", "F1"), {("A0 E1", 1.0), ("E4 C4", 3.0), ("E2 C2", 4.0)}),
        (BASS5, ("F1", "C#1"), {("E1 C1", 1.0)}),
    ],
)
def test_chords_of_cello_and_bass_are_held_in_their_own_frames(instrument, names, held):
    """Arithmetic on the strings and the spread of each hand; sources of the frames: test_frames.py."""
    assert {found for found in _held(instrument, *names) if found[1] <= 4} == held


@pytest.mark.parametrize(
    ("instrument", "names"),
    [
        (CELLO, ("C4", "C3")),
        (CELLO, ("G4", "C3", "C2")),
        (CELLO, ("B3", "Bb3")),
        (BASS, ("B2", "Eb2")),
        (BASS, ("A2", "F#2", "Eb2")),
        (BASS, ("C3", "E1")),
        (VIOLIN, ("E5", "G#3")),
        (VIOLA, ("A5", "C3")),
    ],
)
def test_a_chord_wider_than_the_hand_has_no_grip_on_the_neck(instrument, names):
    assert _held(instrument, *names, most_position=7) == set()


def test_octaves_on_the_cello_are_held_with_the_thumb_and_third_finger():
    """Common practice, no source."""
    held = _held(CELLO, "D5", "D4")
    assert ("A3 DT", 12.0) in held
    assert all("T" in words for words, _ in held)


def test_the_thumb_lies_across_two_strings():
    grip = next(g for g in grips([placements(CELLO, Pitch.parse(n)) for n in ("A4", "D4")], "cello")
                if {way.finger for way in g} == {THUMB})  # fmt: skip
    assert len({way.place for way in grip}) == 1


@pytest.mark.parametrize(
    ("instrument", "names", "wanted"),
    [
        (CELLO, ("C4", "E3", "G2", "C2"), ("A2 D1 G0 C0", 2.0)),
        (CELLO, ("B3", "D3", "G2"), ("A1 D0 G0", 2.0)),
        (CELLO, ("F#4", "A3", "D3"), ("A3 D1 G1", 7.0)),
        (VIOLIN, ("E5", "B4", "E4", "G3"), ("E0 A1 D1 G0", 2.0)),
    ],
)
def test_three_and_four_notes_are_one_grip_that_the_bow_rolls(instrument, names, wanted):
    assert wanted in _held(instrument, *names)


def test_b_and_f_of_the_viola_are_held_once_either_takes_its_other_spelling():
    names = ("F4", "B3")
    assert not any(g[0].position == 1 for g in grips([placements(VIOLA, Pitch.parse(n)) for n in names], VIOLA.frame))
    both = grips([placements(VIOLA, Pitch.parse(n), any_spelling=True) for n in names], VIOLA.frame)
    assert {tuple(way.finger for way in g) for g in both if g[0].position == 1} == {(1, 2), (2, 3), (1, 3)}


@given(st.sampled_from((VIOLIN, VIOLA, CELLO, BASS, BASS5)), st.data())
def test_a_grip_lies_in_one_hand_on_neighbouring_strings_with_its_fingers_in_order(instrument, data):
    low = min(string.pitch.midi for string in instrument.strings)
    pitches = [p for p in _PITCHES if low <= p.midi <= low + 40]
    chord = data.draw(st.lists(st.sampled_from(pitches), min_size=2, max_size=4, unique_by=lambda p: p.midi))
    chord.sort(key=lambda pitch: -pitch.midi)
    choices = [placements(instrument, pitch) for pitch in chord]
    for grip in grips(choices, instrument.frame):
        strings = {way.string for way in grip}
        assert len(strings) == len(grip) == max(strings) - min(strings) + 1
        assert len({(way.position, way.hand) for way in grip}) == 1
        assert all(way in choice for way, choice in zip(grip, choices, strict=True))
        down = sorted((way for way in grip if not way.is_open), key=lambda way: (along_string(way.finger), way.place))
        for one, other in itertools.pairwise(down):
            assert one.place <= other.place
            assert one.finger != other.finger or (one.place == other.place and abs(one.string - other.string) == 1)
        if down:
            assert down[-1].place - down[0].place <= _SPREAD[instrument.frame][grip[0].position == 8]


_PITCHES = [Pitch(step, alter, octave) for octave in range(1, 7) for step in "CDEFGAB" for alter in (-1, 0, 1)]
# Semitones between the outer fingers of a grip, on the neck and in thumb position.
_SPREAD = {"letters": (7, 7), "cello": (4, 5), "bass": (2, 5)}


@given(parts())
def test_stages_hold_every_note_once(part):
    found = [
        note_id
        for notes in voices(part).values()
        for stage in stages(part, notes, 88.0)
        for ids in stage.ids
        for note_id in ids
    ]
    assert sorted(found) == sorted(note.id for note in part)


@given(parts())
def test_stages_follow_one_another_in_time(part):
    for notes in voices(part).values():
        made = stages(part, notes, 88.0)
        for here, there in itertools.pairwise(made):
            assert here.onset <= there.onset
            assert there.seconds_since >= GRACE_SECONDS
            assert there.seconds_rest >= 0
        assert all(stage.quarters >= 0 and len(stage.heads) == len(stage.ids) for stage in made)


@given(parts())
def test_every_grip_of_a_chord_lies_on_strings_of_its_own_in_one_position(part):
    for stage in stages(part, part.notes, 88.0):
        for grip in grips([placements(VIOLIN, note.pitch) for note in stage.heads], VIOLIN.frame):
            strings = [way.string for way in grip]
            assert len(set(strings)) == len(strings)
            assert max(strings) - min(strings) == len(strings) - 1
            assert len({way.position for way in grip}) == 1
