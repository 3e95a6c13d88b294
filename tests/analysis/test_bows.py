"""Which way the bow goes, and the least change that brings it right.

Down-bow on the first beat and up-bow on a single upbeat: Leopold Mozart, "Violinschule" (1756), chapter IV, and Muffat,
"Florilegium secundum" (1698), both from memory. The rest: common practice, no source.
"""

from __future__ import annotations

import itertools
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.bowing.bows import DOWN, UP, Bowing, bowing_of, bows, directions_of
from analysis.bowing.cures import Charge, change_at, least
from analysis.bowing.strokes import Weight, weight
from analysis.fingering.stages import stages, voices
from analysis.music import Measure, Part
from tests.analysis.lines import line, repeated
from tests.strategies import parts


def shown(music: str | Part) -> str:
    """The bow of every note in written order: n and v where it begins, - where it goes on, . where there is none."""
    part = line(music) if isinstance(music, str) else music
    found = bows(part)
    signs = {(DOWN, True): "n", (UP, True): "v", (DOWN, False): "-", (UP, False): "-"}
    return "".join(signs[found[note.id].direction, found[note.id].begins] if note.id in found else "." for note in part)


def bowing(part: Part) -> Bowing:
    (notes,) = voices(part).values()
    return bowing_of(part, stages(part, notes, 88.0), 88.0)


# As printed


@pytest.mark.parametrize(
    ("music", "expected"),
    [
        ("D4 E4 F4 G4 A4", "nvnvn"),
        ("(D4 E4) F4 G4 A4", "n-vnv"),
        ("(D4 E4 F4) G4 (A4 B4)", "n--vn-"),
        ("D4 E4~ E4 F4", "nv.n"),
        ("D4/2 E4~ E4 F4", "nv.n"),
        # The tied D sounds on in the bow in which the B is struck.
        ("[D4~ A4]/2 [D4 B4]/2 E4", "nn.-v"),
    ],
)
def test_separate_notes_take_turns_and_slurred_or_tied_ones_go_on(music, expected):
    assert shown(music) == expected


@pytest.mark.parametrize(
    ("music", "expected"),
    [
        ("r/3 A4/1 D5 E5", "vnv"),
        ("r/3 A4/0.5 B4 D5/1 E5", "nvnv"),
        ("r/3 (A4/0.5 B4) D5/1 E5", "v-nv"),
        ("r/1 A4 B4 C5 D5", "vnvn"),
        ("D5/1 r r A4 D5", "nvn"),
        # No first beat follows before the next rest: the half of the measure, then the beat itself.
        ("r/1.5 A4/0.5 B4/1 r/1", "vn"),
        ("r/1 A4/1 r/2 E4/4", "nn"),
        # The first beat counts for more than the half.
        ("r/1 A4/1 B4/0.5 C5/0.5 D5/1 E5/4", "nvnvn"),
        # Of two halves the nearer one.
        ("r/2 D4/1 E4/1~ E4/1 F4/1 G4/1 r/1", "nv.nv"),
        ("r/0.5 A4 r/3", "v"),
        ("r/1 A4 r/2", "n"),
    ],
)
def test_after_a_rest_the_bow_begins_so_that_the_next_first_beat_is_down(music, expected):
    assert shown(music) == expected


def test_a_printed_bow_holds_and_the_bow_goes_on_from_there():
    assert shown("D4v E4 F4 G4") == "vnvn"
    assert shown("D4 E4n F4 G4n A4") == "nnvnv"
    assert shown("(D4 E4 F4v G4)") == "n-v-"
    assert shown("r/2 A4/1 B4v C5 D5") == "nvnv"


def test_a_breath_and_a_fermata_let_the_bow_begin_anew():
    assert shown("D4/2 E4/1 F4/1 G4/4") == "nvnv"
    assert shown("D4/2 E4/1 F4/1' G4/4") == "nvnn"
    assert shown("D4/2 E4/1 F4/1: G4/4") == "nvnn"


def test_a_rest_too_short_to_lift_the_bow_changes_nothing():
    # An eighth rest of 0.19 seconds, and one of half a second: two notes are left before the first beat.
    quick, slow = (line("D4/1.5 r/0.5 E4/1 F4 G4", tempo=tempo) for tempo in (160, 60))
    assert shown(quick) == "nvnv"
    assert shown(slow) == "nnvn"


def test_plucked_notes_have_no_bow_and_the_bow_begins_anew_after_them():
    assert shown("D4 {pizz} E4 F4 G4 {arco} A4 B4") == "n...nv"


def test_grace_notes_go_in_the_bow_of_their_note_and_its_sign_stands_there():
    assert shown("D4 *F4 E4 G4") == "n-vn"
    part = line("D4 *F4 E4 G4")
    assert directions_of(part) == {"n1": DOWN, "n3": UP, "n4": DOWN}
    # The grace notes that end a slurred trill are in its bow, the next note is not.
    assert shown("(D4/2^E4 *C4 *D4) E4/2") == "n--v"


def test_both_notes_of_a_fingered_tremolo_are_in_one_bow_and_trembling_ends_on_either_side():
    assert shown("E4/1= G4 A4/2 B4/4") == "n-vn"
    trembling = line("D4/2 E4/1 F4/1 G4/4")
    trembling = replace(
        trembling, notes=tuple(replace(n, tremolo="bowed") if n.id == "n3" else n for n in trembling.notes)
    )
    assert shown(trembling) == "nvnn"


def test_directions_are_shown_once_a_bow_over_the_highest_note_of_a_chord():
    assert directions_of(line("[D4 A4]/2 (B4/1 C5)")) == {"n2": DOWN, "n3": UP}


def test_an_ending_goes_on_from_the_section_and_not_from_the_other_ending():
    music = line("D4/1 E4 F4/2 G4/2 A4/4", time=(2, 4))
    endings = repeated(music, backs={1: 2}, endings={1: (1,), 2: (2,)})
    assert shown(line("D4/1 E4 F4/2 G4/2", time=(2, 4))) == "nvnv"
    assert shown(endings)[:4] == "nvnn"
    slurred = repeated(line("D4/1 E4 (F4/2 G4/2) A4/4", time=(2, 4)), backs={1: 2}, endings={1: (1,), 2: (2,)})
    assert shown(slurred)[:4] == "nvnn"


def test_every_player_of_a_divided_voice_has_a_bow():
    assert shown("{div} [D4 A4]/1 [E4 B4]") == "nnvv"


@pytest.mark.parametrize(
    ("time", "at", "expected"),
    [
        ((4, 4), 0, Weight.FIRST),
        ((4, 4), 2, Weight.HALF),
        ((4, 4), 1, Weight.LIGHT),
        ((6, 8), Fraction(3, 2), Weight.HALF),
        ((6, 8), 1, Weight.LIGHT),
        ((12, 8), 3, Weight.HALF),
        ((2, 2), 2, Weight.HALF),
        ((2, 4), 1, Weight.LIGHT),
        ((3, 4), Fraction(3, 2), Weight.LIGHT),
        ((5, 4), Fraction(5, 2), Weight.LIGHT),
    ],
)
def test_the_first_beat_is_heavy_and_the_half_of_even_times_less_so(time, at, expected):
    # Leopold Mozart, Violinschule, chapter XII, on good beats (from memory).
    measure = Measure(1, "2", Fraction(8), Fraction(4 * time[0], time[1]), time)
    assert weight(measure, Fraction(8) + at) is expected


def test_the_first_note_of_a_pickup_is_no_first_beat():
    pickup = Measure(0, "0", Fraction(0), Fraction(1), (4, 4), offset=Fraction(3))
    assert weight(pickup, Fraction(0)) is Weight.LIGHT


# The least change


def points_of(bowing: Bowing, directions: tuple[str, ...]) -> int | None:
    """What a course costs, stroke by stroke; ``None`` where it cannot be played."""
    points = 0
    for number, (stroke, way) in enumerate(zip(bowing.strokes, directions, strict=True)):
        if stroke.mark:
            if way != stroke.mark:
                return None
            continue
        if way == UP:
            points += {Weight.FIRST: Charge.FIRST_UP.points, Weight.HALF: Charge.HALF_UP.points}.get(stroke.weight, 0)
            points += Charge.CHORD_UP.points * stroke.is_full_chord
        turned = way == directions[stroke.before] if stroke.before is not None else False
        if stroke.loose:
            turned = way != bowing.printed[number]
        if turned:
            change = change_at(bowing.strokes, number)
            if change is None:
                return None
            points += change.points
    return points


def assert_least(part: Part) -> None:
    made = bowing(part)
    course = least(made)
    tried = [points_of(made, ways) for ways in itertools.product((DOWN, UP), repeat=len(made.strokes))]
    assert points_of(made, course.directions) == course.points
    assert course.points == min(points for points in tried if points is not None)


CHANGES = {
    "nothing is in the way": ("D4/1 E4/1", 1, 120, Charge.SLUR, 16),
    "across a beat": ("D4/0.5 E4/0.5 F4/0.5", 2, 160, Charge.SLUR, 16 + 2),
    "the second one longer": ("D4/0.5 E4/0.5 F4/0.25 G4/0.5", 3, 160, Charge.SLUR, 16 + 3),
    "one pitch": ("D4/1 D4/1", 1, 120, Charge.SLUR, 16 + 2),
    "a slur made longer": ("(D4/0.5 E4/0.5) F4/1", 1, 120, Charge.SLUR, 16 + 4),
    "over a bar line": ("D4/2 E4/2 F4/4", 2, 120, Charge.RETAKE, 24),
    "over a bar line, on a light beat": ("D4/3 E4/1~ E4/0.5 F4/0.5 G4/3", 2, 120, None, 0),
    "into the half": ("D4/2 E4/2", 1, 120, Charge.RETAKE, 24 + 3),
    "two seconds": ("D4/3 E4/1", 1, 120, Charge.SLUR, 16),
    "more than two seconds": ("D4/3 E4/1", 1, 100, Charge.RETAKE, 24 + 3),
    "a full chord": ("[G3 D4 B4]/1 E4/1", 1, 120, Charge.RETAKE, 24 + 3),
    "onto a full chord": ("D4/1 [G3 D4 B4]/1", 1, 120, Charge.RETAKE, 24 + 3),
    "a short rest": ("D4/0.5 r/0.5 E4/1", 1, 120, Charge.REST, 11),
    "a rest too short to use": ("D4/0.25 r/0.25 E4/1", 1, 160, None, 0),
    "the beat is too soon to lift": ("{f} D4/1.75 E4/0.25 [G3 D4 B4]/1", 2, 120, None, 0),
    "no beat to lift for": ("D4/2.5 [G3 D4 B4]/0.5", 1, 120, None, 0),
    "after a long rest": ("D4/1 r/2 E4/1", 1, 120, Charge.START, 18),
}


@pytest.mark.parametrize("name", CHANGES)
def test_what_can_be_changed_where_and_what_it_costs(name):
    music, number, tempo, what, points = CHANGES[name]
    change = change_at(bowing(line(music, tempo=tempo)).strokes, number)
    assert (change and change.what, change.points if change else 0) == (what, points)


def test_a_trembling_bow_is_not_slurred_on():
    music = line("D4/1 E4/1", tempo=120)
    trembling = replace(music, notes=(music.notes[0], replace(music.notes[1], tremolo="bowed")))
    change = change_at(bowing(trembling).strokes, 1)
    assert change is not None
    assert change.what is Charge.RETAKE


def test_the_course_is_the_least_where_a_line_has_to_begin_on_the_other_bow():
    music = line("r/3 A4/1 (D5/1 E5 F5 G5) " + "D5/2 E5/2 " * 4, tempo=200)
    assert_least(music)
    assert least(bowing(music)).directions[0] == DOWN != bowing(music).printed[0]


WORDS = st.builds(
    "{}/{}{}".format,
    st.sampled_from(("D4", "E4", "F4", "A4", "[G3 D4 B4]")),
    st.sampled_from(("1/4", "1/2", "1", "3/2", "3")),
    st.sampled_from(("", "", "", "", "n", "v", "'", ":")),
)


@given(
    st.lists(st.one_of(WORDS, st.sampled_from(("r/1/4", "r/1/2", "r/1"))), min_size=1, max_size=10),
    st.sampled_from((60.0, 100.0, 160.0)),
    st.sampled_from(((4, 4), (3, 4), (1, 4), (6, 8))),
)
@settings(max_examples=150, deadline=None)
def test_the_course_is_the_least_of_all_on_lines_with_rests_and_marks(words, tempo, time):
    part = line(" ".join(words), tempo=tempo, time=time)
    if part.notes:
        assert_least(part)


@given(parts(least=1, most=9, chords=False, seams=True))
@settings(max_examples=100, deadline=None)
def test_the_course_is_the_least_of_all_over_repeats_and_endings(part):
    if len(voices(part)) == 1:
        assert_least(part)


def test_every_charge_has_a_reason_and_a_source():
    for charge in Charge:
        assert charge.points > 0
        assert charge.reason
        assert charge.source


@given(parts(least=0, most=20, voices=2))
@settings(max_examples=60, deadline=None)
def test_every_bowed_attack_has_a_bow_and_no_other_note(part):
    tied = {note.id for note in part if note.tied_from}
    plucked = {note.id for note in part if note.pizzicato}
    found = bows(part)
    assert set(found) == {note.id for note in part} - tied - plucked
    assert set(directions_of(part)) <= set(found)
