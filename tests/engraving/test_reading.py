"""The tree read as values: when each note sounds, what joins it to the next, and what is said where that is unknown."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from analysis.music import Note, Part, PrintedFingering
from engraving.document import read_document
from engraving.errors import ScoreFileError
from engraving.reading import read_score
from tests.engraving.rawxml import QUARTER, raw, raw_note
from tests.scores import full_score, part, score


def parts_of(data: bytes) -> tuple[Part, ...]:
    return read_score(read_document(data, "tune.xml")).parts


def notes_of(music: str, time: str = "4/4") -> tuple[Note, ...]:
    return parts_of(score("Violin", time, music))[0].notes


def refusal(data: bytes) -> str:
    with pytest.raises(ScoreFileError) as raised:
        parts_of(data)
    assert str(raised.value).startswith("tune.xml: Viola, measure ")
    return str(raised.value)


# Time


def test_notes_follow_one_another_in_quarter_notes() -> None:
    assert [(n.onset, n.duration) for n in notes_of("D5/1 E5/0.5 F5/2.5")] == [
        (0, 1), (1, Fraction(1, 2)), (Fraction(3, 2), Fraction(5, 2)),
    ]  # fmt: skip


def test_triplets_are_exact() -> None:
    assert [n.onset for n in notes_of("D5/1/3 E5 F5 G5/3")] == [0, Fraction(1, 3), Fraction(2, 3), 1]


def test_a_rest_is_left_out_but_takes_its_time() -> None:
    assert [(n.pitch.name, n.onset) for n in notes_of("D5/1 r/2 E5/1")] == [("D5", 0), ("E5", 3)]


def test_silence_without_a_rest_takes_its_time() -> None:
    assert [n.onset for n in notes_of("D5/1 x/2 E5/1")] == [0, 3]


def test_divisions_may_change_inside_a_part() -> None:
    finer = "<attributes><divisions>3</divisions></attributes>"
    data = raw(raw_note("D5"), finer + raw_note("E5") + raw_note("F5", "<duration>2</duration>"))
    assert [(n.onset, n.duration) for n in parts_of(data)[0]] == [
        (0, 1), (1, Fraction(1, 3)), (Fraction(4, 3), Fraction(2, 3)),
    ]  # fmt: skip


def test_divisions_may_be_a_decimal_number() -> None:
    data = raw(raw_note("D5", "<duration>1</duration>"), attributes="<divisions>2.5</divisions>")
    assert parts_of(data)[0].notes[0].duration == Fraction(2, 5)


def test_a_grace_note_stands_where_its_note_does_and_takes_no_time() -> None:
    notes = notes_of("D5/1 *C5 *D5 E5/1")
    assert [(n.onset, n.duration, n.grace) for n in notes] == [(0, 1, False), (1, 0, True), (1, 0, True), (1, 1, False)]


def test_a_cue_note_is_left_out_but_takes_its_time() -> None:
    data = raw(raw_note("D5", before="<cue/>") + raw_note("E5"))
    assert [(n.pitch.name, n.onset) for n in parts_of(data)[0]] == [("E5", 1)]


def test_a_hidden_note_is_left_out_but_takes_its_time() -> None:
    data = raw(raw_note("D5", attributes=' print-object="no"') + raw_note("E5"))
    assert [(n.pitch.name, n.onset) for n in parts_of(data)[0]] == [("E5", 1)]


def test_an_unpitched_note_is_left_out_but_takes_its_time() -> None:
    data = raw(f"<note><unpitched/>{QUARTER}</note>" + raw_note("E5"))
    assert [(n.pitch.name, n.onset) for n in parts_of(data)[0]] == [("E5", 1)]


def test_two_voices_begin_together() -> None:
    notes = notes_of("A5/4 & D4/2 E4/2 | B5/4")
    assert [(n.pitch.name, n.voice, n.onset) for n in notes] == [
        ("A5", "1", 0), ("D4", "2", 0), ("E4", "2", 2), ("B5", "1", 4),
    ]  # fmt: skip


def test_a_measure_begins_where_the_longest_voice_ended() -> None:
    assert notes_of("A5/3 & D4/2 | B5/1")[-1].onset == 3


def test_a_backup_never_leaves_its_measure() -> None:
    data = raw(raw_note("D5") + "<backup><duration>9</duration></backup>" + raw_note("E5"))
    assert [n.onset for n in parts_of(data)[0]] == [0, 0]


def test_all_parts_share_the_beginning_of_a_measure() -> None:
    parts = parts_of(full_score(part("Violin", "4/4", "D5/3 | E5/4 | F5/4"), part("Viola", "4/4", "D4/4 | E4/4")))
    assert [[measure.onset for measure in one.measures] for one in parts] == [[0, 4, 8], [0, 4]]
    assert parts[0].measures[0].length == 4


def test_an_empty_measure_lasts_as_long_as_its_metre() -> None:
    assert notes_of("D5/3 | | E5/3", "3/4")[-1].onset == 6


@given(st.lists(st.lists(st.sampled_from(["0.5", "1", "1.5", "1/3", "2/5"]), min_size=1, max_size=6), min_size=1))
def test_onsets_are_the_exact_sums_of_the_lengths_before(lengths: list[list[str]]) -> None:
    music = " | ".join(" ".join(f"D5/{length}" for length in measure) for measure in lengths)
    now, expected = Fraction(0), []
    for length in (length for measure in lengths for length in measure):
        expected.append((now, Fraction(length)))
        now += Fraction(length)
    assert [(n.onset, n.duration) for n in notes_of(music)] == expected


# Metre


def test_a_pickup_begins_late_in_its_metre() -> None:
    measures = parts_of(score("Violin", "4/4", "A4/1 | D5/4", pickup=True))[0].measures
    assert [(m.label, m.length, m.offset) for m in measures] == [("0", 1, 3), ("1", 4, 0)]
    assert measures[0].beat(Fraction(0)) == 4


def test_a_measure_that_is_not_counted_and_short_begins_late_in_its_metre() -> None:
    data = score("Violin", "4/4", "D5/4 | E5/1 | F5/4").replace(b'number="2"', b'number="X1" implicit="yes"')
    assert parts_of(data)[0].measures[1].offset == 3


def test_a_short_measure_in_the_middle_begins_on_its_first_beat() -> None:
    assert parts_of(score("Violin", "4/4", "D5/4 | E5/1 | F5/4"))[0].measures[1].offset == 0


def test_a_time_signature_holds_until_the_next() -> None:
    measures = parts_of(score("Violin", "4/4", "D5/4 | {6/8} E5/3 | F5/3"))[0].measures
    assert [m.time for m in measures] == [(4, 4), (6, 8), (6, 8)]


def test_a_time_signature_inside_a_measure_holds_from_the_next_on() -> None:
    change = "<attributes><time><beats>3</beats><beat-type>8</beat-type></time></attributes>"
    assert [m.time for m in parts_of(raw(raw_note("D5") + change, raw_note("E5")))[0].measures] == [(4, 4), (3, 8)]


@pytest.mark.parametrize(
    ("written", "time"),
    [
        ("<beats>3+2</beats><beat-type>8</beat-type>", (5, 8)),
        ("<beats>2</beats><beat-type>4</beat-type><beats>3</beats><beat-type>8</beat-type>", (7, 8)),
        ("<beats>3</beats><beat-type>8</beat-type><beats>2</beats><beat-type>4</beat-type>", (7, 8)),
        ("<senza-misura/>", (4, 4)),
        ("<beats>C</beats><beat-type>4</beat-type>", (4, 4)),
        ("<beats>4</beats><beat-type>0</beat-type>", (4, 4)),
    ],
)
def test_unusual_time_signatures(written: str, time: tuple[int, int]) -> None:
    data = raw(raw_note("D5"), attributes=f"<divisions>1</divisions><time>{written}</time>")
    assert parts_of(data)[0].measures[0].time == time


def test_music_without_measure_has_no_pickup() -> None:
    data = raw(raw_note("D5"), attributes="<divisions>1</divisions><time><senza-misura/></time>")
    assert parts_of(data)[0].measures[0].offset == 0


# Pitch


def test_pitches_keep_their_spelling() -> None:
    assert [n.pitch.name for n in notes_of("F#5 Gb5 B##4 Ebb4")] == ["F#5", "Gb5", "B##4", "Ebb4"]


def test_a_quarter_tone_is_a_fraction() -> None:
    assert notes_of("C+0.5,5")[0].pitch.alter == Fraction(1, 2)


def test_a_double_bass_part_says_how_it_sounds() -> None:
    assert parts_of(score("Double Bass", "4/4", "D3/4"))[0].transpose == -12
    assert parts_of(score("Violin", "4/4", "D5/4"))[0].transpose == 0


@pytest.mark.parametrize(
    ("written", "semitones"),
    [
        ("<chromatic>-2</chromatic>", -2),
        ("<diatonic>-1</diatonic><chromatic>-2</chromatic><octave-change>-1</octave-change>", -14),
    ],
)
def test_transposition_counts_octaves(written: str, semitones: int) -> None:
    data = raw(raw_note("D5"), attributes=f"<divisions>1</divisions><transpose>{written}</transpose>")
    assert parts_of(data)[0].transpose == semitones


def transposed(*measures: str) -> tuple[int, list[tuple[Fraction, int]]]:
    part = parts_of(raw(*measures))[0]
    return part.transpose, [(change.onset, change.semitones) for change in part.transpositions]


def by(semitones: int) -> str:
    return f"<attributes><transpose><chromatic>{semitones}</chromatic></transpose></attributes>"


def test_later_transpositions_hold_from_their_place_on() -> None:
    music = (by(-2) + raw_note("D5"), raw_note("E5") + by(3) + raw_note("F5"), by(0) + raw_note("G5"))
    assert transposed(*music) == (-2, [(2, 3), (3, 0)])


def test_a_transposition_that_changes_nothing_is_left_out() -> None:
    assert transposed(by(-2) + raw_note("D5"), by(-2) + raw_note("E5")) == (-2, [])


def test_a_part_that_is_transposed_only_later_begins_as_written() -> None:
    assert transposed(raw_note("D5"), by(-12) + raw_note("E5")) == (0, [(1, -12)])


# Chords and ties


def test_the_notes_of_a_chord_know_its_first_note() -> None:
    notes = notes_of("[D4@a A4@b F#5@c]/2 D5/2@d")
    assert [(n.id, n.chord, n.onset) for n in notes] == [("a", "a", 0), ("b", "a", 0), ("c", "a", 0), ("d", None, 2)]


def test_a_chord_of_grace_notes_takes_no_time() -> None:
    assert [(n.grace, n.onset, n.chord) for n in notes_of("*[D4@a A4@b] E5/1@c")] == [
        (True, 0, "a"), (True, 0, "a"), (False, 0, None),
    ]  # fmt: skip


def test_a_tie_leads_from_note_to_note() -> None:
    assert [(n.tied_from, n.tied_on) for n in notes_of("D5/2~ D5/2~ | D5/2 D5/2")] == [
        (False, True), (True, True), (True, False), (False, False),
    ]  # fmt: skip


def test_only_the_tied_note_of_a_chord_is_tied() -> None:
    assert [(n.pitch.name, n.tied_from, n.tied_on) for n in notes_of("[D4~ A4]/2 [D4 B4]/2")] == [
        ("D4", False, True), ("A4", False, False), ("D4", True, False), ("B4", False, False),
    ]  # fmt: skip


def test_a_tie_that_is_only_drawn_is_a_tie() -> None:
    drawn = QUARTER + '<notations><tied type="start"/></notations>'
    assert parts_of(raw(raw_note("D5", drawn)))[0].notes[0].tied_on


def test_a_tie_that_is_only_heard_is_a_tie() -> None:
    assert parts_of(raw(raw_note("D5", QUARTER + '<tie type="start"/>')))[0].notes[0].tied_on


def test_a_note_left_to_ring_is_not_tied_on() -> None:
    ringing = QUARTER + '<notations><tied type="let-ring"/></notations>'
    assert not parts_of(raw(raw_note("D5", ringing)))[0].notes[0].tied_on


# Printed fingerings


def printed(technical: str, *, split: bool = False) -> PrintedFingering | None:
    between = "</technical></notations><notations><technical>" if split else ""
    notations = f"<notations><technical>{between}{technical}</technical></notations>"
    return parts_of(raw(raw_note("D5", QUARTER + notations)))[0].notes[0].printed


@pytest.mark.parametrize("split", [False, True])
@pytest.mark.parametrize(
    ("technical", "expected"),
    [
        ("<fingering>3</fingering>", PrintedFingering(3)),
        ("<fingering> 3 </fingering><string>2</string>", PrintedFingering(3, 2)),
        ("<string>4</string>", PrintedFingering(None, 4)),
        ("<open-string/>", PrintedFingering(0)),
        ("<open-string/><string>2</string>", PrintedFingering(0, 2)),
        ("<fingering>0</fingering>", PrintedFingering(0)),
        ('<fingering substitution="yes">1</fingering><fingering>2</fingering>', PrintedFingering(2)),
        ('<fingering alternate="yes">1</fingering><fingering>2</fingering>', PrintedFingering(2)),
        ('<fingering alternate="no" substitution="no">1</fingering><fingering>2</fingering>', PrintedFingering(1)),
        ("<fingering>x4</fingering>", None),
        ("<fingering>5</fingering>", None),
        ("<fingering>5</fingering><fingering>4</fingering>", PrintedFingering(4)),
        ("<fingering/>", None),
        ("<string>0</string>", None),
        ("<string>IV</string>", None),
        ("<up-bow/>", None),
    ],
)
def test_the_fingering_of_a_bowed_string_is_read(
    technical: str, expected: PrintedFingering | None, split: bool
) -> None:
    assert printed(technical, split=split) == expected


# Tempo


def test_a_tempo_holds_for_every_part() -> None:
    parts = parts_of(full_score(part("Violin", "4/4", "!=96 D5/4 | !=60 E5/4"), part("Viola", "4/4", "D4/4 | E4/4")))
    for one in parts:
        assert [(tempo.onset, tempo.quarters_a_minute) for tempo in one.tempi] == [(0, 96.0), (4, 60.0)]


@pytest.mark.parametrize(
    ("metronome", "tempo"),
    [
        ("<beat-unit>quarter</beat-unit><per-minute>72</per-minute>", 72.0),
        ("<beat-unit>half</beat-unit><per-minute>60</per-minute>", 120.0),
        ("<beat-unit>quarter</beat-unit><beat-unit-dot/><per-minute>60</per-minute>", 90.0),
        ("<beat-unit>eighth</beat-unit><per-minute>c. 132-140</per-minute>", 66.0),
    ],
)
def test_a_metronome_mark_is_a_tempo(metronome: str, tempo: float) -> None:
    direction = f"<direction><direction-type><metronome>{metronome}</metronome></direction-type></direction>"
    assert [t.quarters_a_minute for t in parts_of(raw(direction + raw_note("D5")))[0].tempi] == [tempo]


@pytest.mark.parametrize("per_minute", ["fast", "", "0"])
def test_a_metronome_mark_without_a_number_is_no_tempo(per_minute: str) -> None:
    metronome = f"<metronome><beat-unit>quarter</beat-unit><per-minute>{per_minute}</per-minute></metronome>"
    direction = f"<direction><direction-type>{metronome}</direction-type></direction>"
    assert parts_of(raw(direction + raw_note("D5")))[0].tempi == ()


@pytest.mark.parametrize("tempo", ["fast", "", "0", "-60", "nan", "1e9", "1e999999999", "1" + "0" * 400])
def test_a_sounding_tempo_without_a_usual_number_is_none(tempo: str) -> None:
    assert parts_of(raw(f'<sound tempo="{tempo}"/>' + raw_note("D5")))[0].tempi == ()


def test_the_sounding_tempo_goes_before_the_printed_one() -> None:
    metronome = "<metronome><beat-unit>quarter</beat-unit><per-minute>72</per-minute></metronome>"
    direction = f'<direction><direction-type>{metronome}</direction-type><sound tempo="66"/></direction>'
    assert [t.quarters_a_minute for t in parts_of(raw(direction + raw_note("D5")))[0].tempi] == [66.0]


def test_a_tempo_stands_where_its_direction_says() -> None:
    words = "<direction-type><words>rit.</words></direction-type>"
    direction = f'<direction>{words}<offset>2</offset><sound tempo="50"/></direction>'
    assert [t.onset for t in parts_of(raw(raw_note("D5") + direction + raw_note("E5")))[0].tempi] == [3]


def test_a_tempo_may_stand_free_in_the_measure() -> None:
    assert [t.onset for t in parts_of(raw(raw_note("D5") + '<sound tempo="50"/>'))[0].tempi] == [1]


# Title


def test_the_work_gives_the_title() -> None:
    assert (
        read_score(read_document(score("Violin", "4/4", "D5/4", title="  Little\n March "), "x.xml")).title
        == "Little March"
    )


def test_the_movement_gives_the_title_where_the_work_has_none() -> None:
    data = score("Violin", "4/4", "D5/4").replace(b"<part-list>", b"<movement-title>Air</movement-title><part-list>")
    assert read_score(read_document(data, "x.xml")).title == "Air"


def test_the_file_name_gives_the_title_where_the_score_has_none() -> None:
    assert read_score(read_document(score("Violin", "4/4", "D5/4"), "autumn song.musicxml")).title == "autumn song"


# Refusals


def test_a_note_without_a_duration_is_named() -> None:
    assert "measure 2: a note has no duration" in refusal(raw(raw_note("D5"), raw_note("E5", "")))


@pytest.mark.parametrize("duration", ["-1", "long", "nan", "1/0"])
def test_a_duration_that_is_none_is_named(duration: str) -> None:
    assert f"measure 1: '{duration}' is no duration" in refusal(raw(raw_note("D5", f"<duration>{duration}</duration>")))


@pytest.mark.parametrize("attributes", ["", "<divisions/>"])
def test_durations_without_divisions_are_named(attributes: str) -> None:
    assert "measure 1: the divisions" in refusal(raw(raw_note("D5"), attributes=attributes))


@pytest.mark.parametrize("pitch", ["<step>H</step><octave>4</octave>", "<step>D</step>", "<octave>4</octave>", "",
                                   "<step>D</step><octave>x</octave>", "<step>D</step><octave>4.5</octave>",
                                   "<step>CD</step><octave>4</octave>",
                                   "<step>D</step><alter>sharp</alter><octave>4</octave>"])  # fmt: skip
def test_an_unknown_pitch_is_named(pitch: str) -> None:
    assert "measure 2: a note's pitch" in refusal(raw(raw_note("D5"), f"<note><pitch>{pitch}</pitch>{QUARTER}</note>"))
