"""When each note sounds, at which pitch, how loud, and where the clicks fall.

Seconds, pitches and the order of repeats are checked against music21 10's own reading of the same files: its
``secondsMap``, ``stripTies`` and ``expandRepeats``. What is common practice is said beside the test.
"""

from __future__ import annotations

import copy
import math
from dataclasses import replace
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest
from music21 import converter, note, stream, tempo

from analysis.instruments import BASS, VIOLIN
from analysis.music import Measure, Part, Score, Tempo
from analysis.sounding.beats import beats
from analysis.sounding.clock import Clock
from analysis.sounding.levels import level_of
from analysis.sounding.order import played_order
from analysis.sounding.performance import Performance, perform, written_tempo
from analysis.sounding.tones import Tone
from engraving.document import open_document
from engraving.reading import read_score
from tests.analysis.lines import line, repeated
from tests.engraving.corpus import corpus_folder
from tests.scores import full_score, part, score

# Movements and the number of a part; the first two have repeats. Those without a tempo mark are played at 96.
CORPUS = (
    ("haydn/opus1no1/movement1.mxl", 0),
    ("mozart/k156/movement1.mxl", 3),
    ("mozart/k155/movement3.mxl", 3),
)
UNMARKED = 96.0


@cache
def parsed(name: str) -> stream.Score:
    return converter.parse(corpus_folder() / name)


@cache
def read(name: str) -> Score:
    return read_score(open_document(corpus_folder() / name))


def seconds_of(reference: stream.Part) -> list[tuple[float, float]]:
    """Onset in seconds and pitch of every note of a music21 part but grace notes, in order."""
    found = []
    for entry in reference.flatten().secondsMap:
        element = entry["element"]
        if isinstance(element, note.NotRest) and not element.duration.isGrace:
            found += [(round(entry["offsetSeconds"], 4), float(pitch.ps)) for pitch in element.pitches]
    return sorted(found)


def expanded(name: str, number: int) -> stream.Part:
    """A music21 part with its repeats played, at the tempo printed in the score's first part."""
    marks = parsed(name).recurse().getElementsByClass(tempo.MetronomeMark)
    printed = {mark.getQuarterBPM() for mark in marks if not mark.numberImplicit}
    one = copy.deepcopy(parsed(name).parts[number])
    one.removeByClass(tempo.MetronomeMark)
    for measure in one.getElementsByClass(stream.Measure):
        measure.removeByClass(tempo.MetronomeMark)
    one.getElementsByClass(stream.Measure)[0].insert(
        0, tempo.MetronomeMark(number=printed.pop() if printed else UNMARKED)
    )
    return one.expandRepeats()


@pytest.mark.parametrize(("name", "number"), CORPUS)
def test_every_note_begins_when_and_where_music21_says(name: str, number: int):
    ours = read(name)
    performance = perform(ours, default_tempo=UNMARKED)
    mine = ours.parts[number]
    heads = sorted(
        (round(head.start, 4), float(mine.note(head.note_id).pitch.midi + mine.transpose_at(Fraction(0))))
        for head in performance.heads[mine.id]
        if not mine.note(head.note_id).grace
    )
    reference = seconds_of(expanded(name, number))
    assert len(heads) == len(reference) > 100
    assert all(math.isclose(a[0], b[0], abs_tol=0.002) and a[1] == b[1] for a, b in zip(heads, reference, strict=True))


def test_tied_notes_are_one_tone_as_music21_strips_ties():
    name = "haydn/opus1no1/movement1.mxl"
    ours = read(name)
    performance = perform(ours)
    for number in (0, 1):
        mine = ours.parts[number]
        tones = sorted(
            (round(tone.start, 3), tone.pitch)
            for tone in performance.tones
            if tone.part == mine.id and not mine.note(tone.note_ids[0]).grace
        )
        reference = [(round(start, 3), pitch) for start, pitch in seconds_of(expanded(name, number).stripTies())]
        assert tones == reference


@pytest.mark.parametrize(
    "music",
    [
        "C4/4 | D4 | E4 :| F4",
        "C4/4 | : D4 | E4 : | F4 | : G4 : | A4",
        "C4/4 | : D4 | {1.} E4 {.} : | {2.} F4 {.} | G4",
        "C4/4 | : D4 | {1,2.} E4 {.} : | {3.} F4 {.} | G4",
        ": C4/4 | {1.} D4 | E4 {.} : | {2.} F4 | G4 {.} | A4 | : B4 | C5 :",
    ],
)
def test_repeats_are_played_in_the_order_of_music21(music: str, tmp_path: Path):
    music = music.replace(":|", ": |")
    path = tmp_path / "repeats.musicxml"
    path.write_bytes(score("Violin", "4/4", music))
    mine = read_score(open_document(path)).parts[0]
    labels = [mine.measures[index].label for index in played_order(mine.measures)]
    reference = converter.parse(path).parts[0].expandRepeats()
    assert labels == [str(measure.number) for measure in reference.getElementsByClass(stream.Measure)]


def test_a_last_time_leaves_out_a_single_first_ending():
    music = repeated(line("C4/4 D4 E4 F4"), backs={2: 2}, endings={2: (1,)})
    assert played_order(music.measures) == (0, 1, 2, 0, 1, 3)


def test_endings_without_a_repeat_are_played_straight_on():
    music = repeated(line("C4/4 D4 E4"), endings={1: (2,)})
    assert played_order(music.measures) == (0, 1, 2)


def test_three_times_is_three_times():
    assert played_order(repeated(line("C4/4 D4"), backs={0: 3}).measures) == (0, 0, 0, 1)


@pytest.mark.parametrize(
    ("first", "last", "order"),
    [
        (0, 4, (0, 1, 2, 1, 3, 4)),  # the whole section lies within
        (2, 4, (3, 4)),  # cut: only the last ending, once
        (1, 2, (1, 2)),  # the range ends in the first ending
        (0, 1, (0, 1)),
        (4, 4, (4,)),
        (1, 3, (1, 2, 1, 3)),
    ],
)
def test_a_range_plays_a_section_that_it_cuts_once(first: int, last: int, order: tuple[int, ...]):
    music = repeated(line("C4/4 D4 E4 F4 G4"), starts=[1], backs={2: 2}, endings={2: (1,), 3: (2,)})
    assert played_order(music.measures, first, last) == order


# Mini parts


def performed(*parts: Part | str, **more: object) -> Performance:
    made = [line(one, tempo=60) if isinstance(one, str) else one for one in parts]
    named = [replace(one, id=f"P{number}") for number, one in enumerate(made, start=1)]
    return perform(Score("", tuple(named)), **more)


def tones(*parts: Part | str, **more: object) -> tuple[Tone, ...]:
    return performed(*parts, **more).tones


def starts(found: tuple[Tone, ...]) -> list[float]:
    return [round(tone.start, 3) for tone in found]


def test_a_tie_over_a_repeat_sign_is_struck_again_only_where_it_leads_nowhere():
    music = repeated(line("C4/4 D4/4~ D4/4", tempo=60), starts=[1], backs={1: 2}, endings={})
    assert [(tone.pitch, round(tone.start)) for tone in tones(music)] == [(60, 0), (62, 4), (62, 8)]
    assert tones(music)[-1].note_ids == ("n2", "n3")


def test_a_note_tied_from_before_its_section_is_struck_as_the_section_comes_again():
    music = repeated(line("D4/4~ D4/4", tempo=60), starts=[1], backs={1: 2})
    assert starts(tones(music)) == [0, 8]


def test_a_chord_may_be_tied_in_one_of_its_notes():
    found = tones("[D4~ A4]/2 [D4 B4]/2")
    assert [(tone.pitch, tone.start) for tone in found] == [(69, 0), (62, 0), (71, 2)]
    assert found[1].end > 3.9


def test_a_transposing_part_sounds_where_it_sounds():
    assert tones(line("E2/4", transpose=-12))[0].pitch == 28


def test_quarter_tones_keep_their_fraction():
    made = line("C4/4")
    note = replace(made.notes[0], pitch=replace(made.notes[0].pitch, alter=Fraction(1, 2)))
    assert tones(replace(made, notes=(note,)))[0].pitch == 60.5


def test_grace_notes_come_before_the_beat_and_take_their_time_from_the_note_before():
    found = tones("C4/1 *D4 *E4 F4/1 r/2")
    assert starts(found) == [0, 0.76, 0.88, 1]
    assert found[0].end <= 0.76


def test_grace_notes_before_the_first_beat_have_a_beat_of_silence_before_them():
    made = performed("*D4 C4/4")
    assert made.begin == 1
    assert starts(made.tones) == [0.88, 1]
    assert performed("C4/4").begin == 0


def test_grace_notes_in_fast_music_leave_half_of_the_note_before():
    found = tones(line("C4/0.25 *D4 *E4 F4/0.25 r/3.5", tempo=120))
    assert starts(found)[1:] == pytest.approx([0.0625, 0.09375, 0.125], abs=0.001)


def test_a_trill_goes_to_and_fro_and_ends_on_the_written_note():
    found = tones("A4/2^B4 r/2")
    assert [tone.pitch for tone in found[:4]] == [69, 71, 69, 71]
    assert found[-1].pitch == 69
    assert len(found) == 25
    assert found[-1].end == pytest.approx(2)


def test_grace_notes_after_a_trill_end_it():
    found = tones("A4/2^B4 *G4 *A4 B4/2")
    trill = [tone for tone in found if tone.note_ids == ("n1",)]
    assert max(tone.end for tone in trill) <= 1.7601


def test_a_tremolo_strikes_one_note_again_and_again():
    made = line("A4/1 r/3", tempo=60)
    found = tones(replace(made, notes=(replace(made.notes[0], tremolo="bowed"),)))
    assert {tone.pitch for tone in found} == {69}
    assert len(found) == 12


def test_a_fingered_tremolo_goes_between_two_notes():
    found = tones("E4/1= G4/1 r/2")
    assert [tone.pitch for tone in found[:4]] == [64, 67, 64, 67]
    assert len(found) == 24
    assert found[-1].end == pytest.approx(2)


def test_a_slurred_note_lasts_until_the_next_and_a_separate_one_a_little_less():
    found = tones("(C4/1 D4) E4 F4")
    assert found[0].end == pytest.approx(1)
    assert found[1].joined
    assert 0.9 < found[2].length < 1
    assert not found[2].joined


def test_a_breath_mark_takes_more_of_the_note():
    plain, lifted = tones("C4/1 D4/1' r/2")
    assert lifted.length < plain.length


def test_a_plucked_note_is_short():
    arco, plucked = tones("C4/2 {pizz} D4/2")
    assert (arco.plucked, plucked.plucked) == (False, True)
    assert plucked.length < 1 < arco.length


def test_two_voices_sound_together():
    music = line("G4/2 A4", "D4/4", tempo=60)
    assert [(tone.pitch, tone.start) for tone in tones(music)] == [(67, 0), (62, 0), (69, 2)]
    assert next(tone for tone in tones(music) if tone.pitch == 62).length > 3.9


def test_two_notes_at_once_in_one_voice_both_sound():
    made = line("G4/4", "D4/4", tempo=60)
    same = replace(made, notes=tuple(replace(note, voice="1") for note in made.notes))
    assert [round(tone.length, 2) for tone in tones(same)] == [3.97, 3.97]


# Harmonics: a string touched at a half, third, quarter or fifth sounds an octave, a twelfth, two octaves or two octaves
# and a major third higher (the harmonic series).
@pytest.mark.parametrize(
    ("music", "instrument", "sounds"),
    [("E6/1o", VIOLIN, 88), ("A5/1x", VIOLIN, 81), ("E5/1x", VIOLIN, 88), ("C#5/1x", VIOLIN, 97)],
)
def test_a_natural_harmonic_sounds_as_its_string_does(music: str, instrument: object, sounds: int):
    assert tones(f"{music} r/3", instruments={"P1": instrument})[0].pitch == sounds


def test_a_touched_note_on_the_bass_sounds_an_octave_lower_than_on_paper():
    music = line("G4/4x", transpose=-12)
    assert tones(music, instruments={"P1": BASS})[0].pitch == 55


def test_a_fourth_touched_over_a_stopped_note_sounds_two_octaves_higher():
    made = line("[A4 D5]/4", tempo=60)
    notes = tuple(replace(note, artificial=True) for note in made.notes)
    found = tones(replace(made, notes=notes))
    assert [(tone.pitch, tone.note_ids) for tone in found] == [(93, ("n1", "n2"))]


# Loudness


def test_dynamics_are_in_their_order():
    levels = [level_of(name) for name in ("ppp", "pp", "p", "mp", "mf", "f", "ff", "fff")]
    assert levels == sorted(set(levels))
    assert level_of("") == level_of("mf")
    assert 0 < level_of("pppppppp") < level_of("ffffffff") <= 1


def test_a_hairpin_leads_from_one_dynamic_to_the_next():
    found = tones("{p} {<} C4/1 D4 E4 F4 {-} {f} G4/4")
    loud = [tone.loudness for tone in found]
    assert loud == sorted(set(loud))
    assert loud[0] == pytest.approx(level_of("p"))
    assert loud[2] == pytest.approx((level_of("p") + level_of("f")) / 2)
    assert loud[4] == pytest.approx(level_of("f"))


def test_a_hairpin_to_nothing_leads_a_step_and_a_half_away_and_stays_there():
    found = tones("{f} {>} C4/2 D4 {-} E4/4")
    assert found[0].loudness == pytest.approx(level_of("f"))
    assert found[0].swell == pytest.approx(level_of("f") - 0.075)
    assert found[2].loudness == pytest.approx(level_of("f") - 0.15)


def test_a_dynamic_after_a_repeat_is_the_one_that_stands_there():
    music = repeated(line("{p} C4/4 {f} D4/4", tempo=60), backs={1: 2})
    assert [tone.loudness for tone in tones(music)] == [level_of(name) for name in "pfpf"]


# Time


def test_tempo_marks_change_the_pace_and_a_factor_all_of_it():
    made = replace(line("C4/1 D4 E4 F4"), tempi=(Tempo(Fraction(0), 60), Tempo(Fraction(2), 120)))
    assert starts(tones(made)) == [0, 1, 2, 2.5]
    assert starts(tones(made, factor=2.0)) == [0, 0.5, 1, 1.25]


def test_before_the_first_mark_the_default_holds():
    assert starts(tones(line("C4/2 D4"), default_tempo=30.0)) == [0, 4]


def test_a_repeat_goes_back_to_the_tempo_of_its_beginning():
    made = replace(line("C4/4 D4"), tempi=(Tempo(Fraction(0), 60), Tempo(Fraction(4), 120)))
    assert starts(tones(repeated(made, backs={1: 2}))) == [0, 4, 6, 10]


def test_a_range_has_the_tempo_in_force_there():
    made = replace(line("C4/4 D4 E4"), tempi=(Tempo(Fraction(0), 60), Tempo(Fraction(4), 120)))
    found = performed(made, measures=(2, 2))
    assert (found.tones[0].pitch, found.end) == (64, 2)
    assert written_tempo(Score("", (made,)), 2) == 120


def test_the_clock_runs_both_ways():
    clock = Clock.of([Tempo(Fraction(3), 90), Tempo(Fraction(7, 2), 45)], 60)
    for quarters in (0, 1.5, 3, 3.25, 8):
        assert clock.quarters(clock.at(Fraction(quarters))) == pytest.approx(quarters)


# Clicks: on every beat, on the dotted one in compound metres (common practice, no source).


@pytest.mark.parametrize(
    ("time", "offset", "expected"),
    [
        ((4, 4), 0, [(0, True), (1, False), (2, False), (3, False)]),
        ((6, 8), 0, [(0, True), (1.5, False)]),
        ((9, 8), 0, [(0, True), (1.5, False), (3, False)]),
        ((2, 2), 0, [(0, True), (2, False)]),
        ((3, 8), 0, [(0, True), (0.5, False), (1, False)]),
        ((5, 8), 0, [(0, True), (0.5, False), (1, False), (1.5, False), (2, False)]),
        ((4, 4), 3, [(0, False)]),
        ((4, 4), Fraction(7, 2), []),
        ((6, 8), 1, [(0.5, False)]),
    ],
)
def test_clicks_fall_on_the_beats(time: tuple[int, int], offset: object, expected: list[tuple[float, bool]]):
    full = Fraction(4 * time[0], time[1])
    measure = Measure(0, "1", Fraction(0), full - Fraction(offset), time, Fraction(offset))
    assert [(float(beat.onset), beat.first) for beat in beats(measure)] == expected


def test_a_count_in_is_a_measure_of_clicks_in_the_tempo_of_the_music():
    made = performed(line("C4/4", tempo=120), count_in=True)
    assert made.begin == 2
    assert [(click.start, click.accented) for click in made.clicks][:5] == [
        (0, True), (0.5, False), (1, False), (1.5, False), (2, True),
    ]  # fmt: skip
    assert made.tones[0].start == 2


def test_a_pickup_comes_in_on_its_beat_of_the_second_measure_counted():
    pickup = Measure(0, "0", Fraction(0), Fraction(1), (4, 4), Fraction(3))
    bar = Measure(1, "1", Fraction(1), Fraction(4), (4, 4))
    made = line("C4/1 D4/4", tempo=60)
    notes = (made.notes[0], replace(made.notes[1], measure=1))
    found = performed(replace(made, measures=(pickup, bar), notes=notes), count_in=True)
    assert found.begin == 7
    assert [click.accented for click in found.clicks] == [
        True, False, False, False, True, False, False, False, True, False, False, False,
    ]  # fmt: skip
    assert [click.start for click in found.clicks] == list(range(12))


def test_written_notes_are_followed_tie_by_tie():
    made = performed("C4/2~ C4 D4/4")
    assert [(head.note_id, head.start, head.end) for head in made.heads["P1"]] == [
        ("n1", 0, 2), ("n2", 2, 4), ("n3", 4, 8),
    ]  # fmt: skip


def test_all_parts_sound_and_one_may_be_shorter():
    made = performed("C4/4 D4/4", "E3/4")
    assert [(tone.part, tone.start) for tone in made.tones] == [("P1", 0), ("P2", 0), ("P1", 4)]
    assert made.end == 8


@pytest.mark.parametrize("music", ["r/4", "*C4", "C4/4 *D4", "{pizz} [C4 E4 G4]/1/64 r/3.9"])
def test_odd_music_is_played_without_complaint(music: str):
    made = performed(music, count_in=True)
    assert all(tone.length > 0 and tone.start >= 0 for tone in made.tones)


def test_tempo_marks_of_a_file_are_those_of_music21(tmp_path: Path):
    path = tmp_path / "tempi.musicxml"
    music = "!=60 C4/1 D4 !=90 E4 F4 | G4/4 | !=132 A4/1/3 B4 C5 D5/3"
    path.write_bytes(full_score(part("Violin", "4/4", music)))
    mine = perform(read_score(open_document(path)))
    reference = seconds_of(converter.parse(path).parts[0])
    assert [(round(tone.start, 4), tone.pitch) for tone in mine.tones] == reference
