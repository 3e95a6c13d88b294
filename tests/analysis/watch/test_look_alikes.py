"""What the player is told of music that comes again.

A passage that returns a fifth lower or higher has the same fingers one string over: common practice, no source. The
recapitulation of Mozart's K. 458 i begins with the upbeat to measure 139 (sonata form, from memory).
"""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.fingering.plan import make_plan
from analysis.fingering.rules.files import preset
from analysis.instruments import BASS, VIOLIN
from analysis.music import Measure, Part, Score
from analysis.watch.look_alike_words import interval_words
from analysis.watch.look_alikes import watch_look_alikes
from analysis.watch.study import Study
from engraving.document import open_document
from engraving.reading import read_score
from tests.analysis.lines import line, plan
from tests.analysis.watch.offences import offences
from tests.analysis.watch.studies import ensemble, watched
from tests.engraving.corpus import corpus_folder
from tests.strategies import parts

# Three measures each.
TUNE = "A4/1 B4/1/2 C#5 E5/3/2 D5/1/2 | C#5/1 F#4/1/2 G#4 B4/1 E5 | D5/1/2 C#5 B4/1 A4/2"
LOWER = "D4/1 E4/1/2 F#4 A4/3/2 G4/1/2 | F#4/1 B3/1/2 C#4 E4/1 A4 | G4/1/2 F#4 E4/1 D4/2"
STEP_LOWER = "G4/1 A4/1/2 B4 D5/3/2 C#5/1/2 | B4/1 E4/1/2 F#4 A4/1 D5 | C#5/1/2 B4 A4/1 G4/2"
IN_MINOR = "A4/1 B4/1/2 C5 E5/3/2 D5/1/2 | C5/1 F4/1/2 G#4 B4/1 E5 | D5/1/2 C5 B4/1 A4/2"
# Two and three more.
OTHER = "G4/2 F#5/1/2 D5 r/1 | G5/1/4 A5 B5 G5 E5/2 r/1"
SECOND = "E5/1 C#5/1/2 D5 F#5/2 | E5/1/2 G#4 A4/1 F#5 D5 | B4/1 C#5/1/2 E5 D5/1 B4"


def said(*music: str, rules: str = "first", key: str = "", **more) -> list[str]:
    text = f"{key} {' '.join(music)}".replace("|", " ")
    return [finding.text for finding in watched("look-alike", line(text, **more), rules)]


def test_a_passage_that_returns_is_told_with_its_measures():
    assert said(TUNE, OTHER, TUNE) == ["Measures 6–8 are 1–3 again."]


def test_the_notes_stand_beside_those_they_repeat():
    (found,) = watched("look-alike", line(f"{TUNE} {OTHER} {TUNE}".replace("|", " ")))
    assert found.note_ids == tuple(f"n{number}" for number in range(23, 37))
    assert found.again == tuple(f"n{number}" for number in range(1, 15))
    assert found.certainty == 1


@pytest.mark.parametrize("rules", ["first", "two-homes"])
def test_a_fifth_lower_is_the_same_fingers_one_string_over(rules):
    assert said(TUNE, OTHER, LOWER, rules=rules) == [
        "Measures 6–8 are 1–3 a fifth lower: the same fingers one string over."
    ]
    assert said(LOWER, OTHER, TUNE, rules=rules) == [
        "Measures 6–8 are 1–3 a fifth higher: the same fingers one string over."
    ]


def test_a_fifth_higher_from_the_highest_string_has_no_string_to_go_to():
    tune = "F#5/1 G#5/1/2 A5 B5/3/2 A5/1/2 | G#5/1 F#5/1/2 C#5 B4/1 E5 | A5/1/2 G#5 F#5/1 C#5/2"
    higher = "C#6/1 D#6/1/2 E6 F#6/3/2 E6/1/2 | D#6/1 C#6/1/2 G#5 F#5/1 B5 | E6/1/2 D#6 C#6/1 G#5/2"
    assert said(tune, OTHER, higher) == ["Measures 6–8 are 1–3 a fifth higher."]


def test_an_octave_higher_is_on_no_other_string():
    high = TUNE.replace("5", "6").replace("4", "5")
    assert said(TUNE, OTHER, high, rules="whole-board") == ["Measures 6–8 are 1–3 an octave higher."]


def test_on_a_bass_it_is_a_fourth_that_goes_one_string_over():
    """Basses are tuned in fourths (HyperPhysics, double bass)."""
    tune = "E3/1 F#3/1/2 G3 A3/3/2 G3/1/2 F#3/1 A3/1/2 G3 B3/1 E3 F#3/1/2 G3 A3/1 E3/2 "
    lower = "B2/1 C#3/1/2 D3 E3/3/2 D3/1/2 C#3/1 E3/1/2 D3 F#3/1 B2 C#3/1/2 D3 E3/1 B2/2 "
    part = line(f"{tune} {OTHER} {lower}".replace("|", " ").replace("5", "3"), transpose=-12, name="Double bass")
    (found,) = watched("look-alike", part, "two-homes", BASS)
    assert found.text.startswith("Measures 6–8 are 1–3 a fourth lower")


def test_without_a_fingering_nothing_is_said_of_fingers():
    part = line(f"{TUNE} {OTHER} {LOWER}".replace("|", " "))
    (found,) = watch_look_alikes(Study(Score("", (part,)), part, None))
    assert found.text == "Measures 6–8 are 1–3 a fifth lower."


def test_a_step_lower_is_told_as_half_or_whole_or_in_the_key():
    whole = "G4/1 A4/1/2 B4 D5/3/2 C5/1/2 | B4/1 E4/1/2 F#4 A4/1 D5 | C5/1/2 B4 A4/1 G4/2"
    assert said(TUNE, OTHER, whole) == ["Measures 6–8 are 1–3 a whole step lower."]
    assert said(TUNE, OTHER, STEP_LOWER) == ["Measures 6–8 are 1–3 a step lower in the key."]


def test_the_same_letters_with_few_other_accidentals_are_named():
    assert said(TUNE, OTHER, IN_MINOR) == ["Measures 6–8 are 1–3 again, with C and F natural."]


def test_the_same_letters_with_many_other_accidentals_are_not_counted_up():
    other = IN_MINOR.replace("B4", "Bb4").replace("G#4", "G4")
    assert said(TUNE, OTHER, other) == ["Measures 6–8 are 1–3 again, with other accidentals."]


def test_a_measure_that_is_other_music_is_named():
    assert said(TUNE, SECOND, OTHER, TUNE, SECOND.replace("G#4 A4/1", "G#4 C5/1")) == [
        "Measures 9–14 are 1–6 again, but for measure 13."
    ]


def test_a_last_measure_that_ends_otherwise_is_told():
    other_end = TUNE.removesuffix("A4/2") + "F#5/2"
    assert said(TUNE, OTHER, other_end) == ["Measures 6–8 are 1–3 again, but for the end."]


def test_music_that_fills_no_two_measures_is_not_told():
    body = "C#5/1/2 D5 F#5/1/4 E5 A4/1/2 | G#4/1/2 B4 E5/1 D5/1/2 C#5 B4/1"
    assert said(f"r/2 {body} A4/1 C6/3 G5/2 {body} A4/1 F5/3") == []
    assert said(f"r/2 {body} A4/1 C#5 B4/2 G5/2 {body} A4/1 C#5 B4/2") == ["Measures 5–6 are 2–3 again."]


def test_tied_notes_stand_beside_tied_notes():
    tune = TUNE.replace("A4/2", "A4/1~ A4/1")
    (found,) = watched("look-alike", line(f"{tune} {OTHER} {tune}".replace("|", " ")))
    assert found.note_ids == tuple(f"n{number}" for number in range(24, 39))
    assert found.again == tuple(f"n{number}" for number in range(1, 16))


@pytest.mark.parametrize(("put_in", "words"), [("r/4", "extended"), ("", "again")])
def test_music_that_takes_more_measures_is_extended(put_in, words):
    (text,) = said(TUNE, SECOND, OTHER, TUNE, put_in, SECOND)
    assert text == ("Measures 9–15 are 1–6 again, extended." if put_in else "Measures 9–14 are 1–6 again.")
    assert words in text


def test_music_that_takes_fewer_measures_is_shortened():
    assert said(TUNE, "r/4", SECOND, OTHER, TUNE, SECOND) == ["Measures 10–15 are 1–7 again, shortened."]


def test_a_single_other_slur_is_not_told():
    tune = "A4/1 B4/1/2 C#5 E5/3/2 D5/1/2 C#5/1 F#4/1/2 E4 G#4/2"
    assert said(tune, OTHER, tune.replace("E5/3/2 D5/1/2", "(E5/3/2 D5/1/2)")) == ["Measures 5–6 are 1–2 again."]


def test_an_upbeat_and_a_last_downbeat_are_not_counted_as_measures():
    body = "C#5/1 F#4/1/2 G#4 B4/1 E5 | D5/1/2 C#5 B4/1 A4/2 | E5/1 C#5/1/2 D5 F#5/2"
    text = f"G4/3 E5/1/2 F#5 {body} A4/1 G4/3 D5/3 E5/1/2 F#5 {body} A4/1 C5/3 "
    assert said(text) == ["Measures 7–9 are 2–4 again."]


def test_other_slurs_and_another_dynamic_are_told():
    slurred = "(A4/1 B4/1/2) (C#5 E5/3/2) (D5/1/2 C#5/1) F#4/1/2 G#4 B4/1 E5 D5/1/2 C#5 B4/1 A4/2"
    assert said(f"{{p}} {TUNE}", OTHER, f"{{f}} {slurred}") == [
        "Measures 6–8 are 1–3 again, with other slurs, f this time."
    ]


def test_a_measure_over_and_over_is_told_once():
    measure = "A4/1/2 C#5/1/2 E5/1 F#5/1/2 D5/1/2 B4/1"
    assert said("G4/4", measure, measure, measure, measure, "G4/4") == ["Measures 3–5 repeat measure 2."]


def test_a_measure_that_moves_on_each_time_is_told_once():
    sequence = ["A5/1 G5/1/2 F5 A5 F5 C5/1", "G5/1 F5/1/2 E5 G5 E5 B4/1", "F5/1 E5/1/2 D5 F5 D5 A4/1",
                "E5/1 D5/1/2 C5 E5 C5 G4/1"]  # fmt: skip
    assert said("G4/4", *sequence, "G4/4") == ["Measures 3–5 repeat measure 2, a step lower in the key each time."]


def test_a_figure_shorter_than_a_measure_is_one_figure():
    figures = ["A5/1/2 G5/1/4 F5 A5/1/2 E5", "G5/1/2 F5/1/4 E5 G5/1/2 D5", "F5/1/2 E5/1/4 D5 F5/1/2 C5",
               "E5/1/2 D5/1/4 C5 E5/1/2 B4", "D5/1/2 C5/1/4 B4 D5/1/2 A4", "C5/1/2 B4/1/4 A4 C5/1/2 G4"]  # fmt: skip
    (text,) = said(*figures)
    assert text == "Measures 1–3 are one figure over and over, a step lower in the key each time."


def test_music_that_returns_in_two_octaves_is_one_finding():
    up = "A5/1 B5/1/2 C#6 E6/3/2 D6/1/2 | C#6/1 F#5/1/2 G#5 B5/1 E6 | D6/1/2 C#6 B5/1 A5/2"
    (text,) = said(TUNE, SECOND, OTHER, up, SECOND, rules="whole-board")
    assert text == "Measures 9–14 are 1–6 again or an octave higher."


def in_ensemble(*music: str):
    score = ensemble(*(text.replace("|", " ") for text in music))
    made = []
    for part in score.parts:
        made.append(replace(part, notes=tuple(replace(note, id=f"{part.id}{note.id}") for note in part.notes)))
    return replace(score, parts=tuple(made))


def of_part(score: Score, index: int) -> list[tuple[str, float]]:
    part = score.parts[index]
    study = Study(score, part, make_plan(part, VIOLIN, preset("whole-board")))
    return [(finding.text, finding.certainty) for finding in watch_look_alikes(study)]


def test_what_another_part_has_had_is_told_with_its_name():
    score = in_ensemble(f"{TUNE} {SECOND} r/4 r r r r r", f"r/4 r r r r r {TUNE} {SECOND}")
    assert of_part(score, 0) == []
    ((text, certainty),) = of_part(score, 1)
    assert text == "Measures 7–12 are what Violin I has in 1–6."
    assert certainty < 0.9


def test_what_another_part_has_had_an_octave_higher_is_told_with_the_interval():
    high = f"{TUNE} {SECOND}".replace("5", "6").replace("4", "5")
    score = in_ensemble(f"{TUNE} {SECOND} r/4 r r r r r", f"r/4 r r r r r {high}")
    assert of_part(score, 1) == [("Measures 7–12 are what Violin I has in 1–6, an octave higher.", 0.8)]


def test_two_voices_that_return_together_are_one_finding():
    low = TUNE.replace("4", "3").replace("5", "4")
    part = line(f"{TUNE} {OTHER} {TUNE}".replace("|", " "), f"{low} r/4 r {low}".replace("|", " "))
    (found,) = watched("look-alike", part, "whole-board")
    assert found.text == "Measures 6–8 are 1–3 again."
    assert len(found.note_ids) == 28


def test_printed_numbers_are_told_not_counted_ones():
    part = line(f"{TUNE} {OTHER} {TUNE}".replace("|", " "))
    measures = tuple(replace(measure, label=f"{measure.index + 11}") for measure in part.measures)
    (found,) = watched("look-alike", replace(part, measures=measures))
    assert found.text == "Measures 16–18 are 11–13 again."


@pytest.mark.parametrize(
    ("letters", "semitones", "words"),
    [
        (4, 7, "a fifth higher"),
        (-3, -5, "a fourth lower"),
        (1, 1, "a half step higher"),
        (-1, -2, "a whole step lower"),
        (0, -1, "a half step lower"),
        (1, None, "a step higher"),
        (7, 12, "an octave higher"),
        (-11, -19, "an octave and a fifth lower"),
        (14, 24, "two octaves higher"),
        (35, 60, "5 octaves higher"),
    ],
)
def test_intervals_in_words(letters, semitones, words):
    assert interval_words(letters, semitones) == words


def test_a_recapitulation_reads_as_a_teacher_would_say_it():
    score = read_score(open_document(corpus_folder() / "mozart/k458/movement1.mxl"))
    part = score.parts[0]
    study = Study(score, part, make_plan(part, VIOLIN, preset("two-homes")))
    texts = [finding.text for finding in watch_look_alikes(study)]
    assert any(text.startswith("Measures 139–168 are 1–30 again") for text in texts)
    (second_group,) = (text for text in texts if text.startswith("Measures 173–227 are 31–85 "))
    assert "a fourth higher or a fifth lower" in second_group
    assert "the same fingers one string over" in second_group
    assert len(texts) < 25


@given(st.data())
@settings(max_examples=40)
def test_whatever_the_music_what_is_told_keeps_the_rules(data):
    """Much that comes again: excerpts of one line strung together, beside another part of the same excerpts."""
    tune = data.draw(parts(least=6, most=16, voices=2))
    made = [strung(tune, data.draw(st.lists(st.integers(0, 2), min_size=2, max_size=5)), name) for name in ("P1", "P2")]
    score = Score("", tuple(made))
    study = Study(score, made[0], data.draw(st.sampled_from((None, plan(made[0], "whole-board")))))
    found = list(watch_look_alikes(study))
    assert found == list(watch_look_alikes(study))
    assert [words for words in offences(made[0], found) if "stand_in_the_order" not in words] == []
    known = {note.id for part in made for note in part.notes}
    for finding in found:
        assert set(finding.again) <= known
        assert len(set(finding.note_ids)) == len(finding.note_ids)


def strung(tune: Part, waits: list[int], name: str) -> Part:
    """The part over and over, with so many measures of rest after each time; ids and measures made new."""
    notes, measures, at = [], [], 0
    for time, wait in enumerate(waits):
        shift = sum((measure.length for measure in measures), start=0)
        for note in tune.notes:
            chord = note.chord and f"{name}.{time}.{note.chord}"
            notes.append(
                replace(
                    note,
                    id=f"{name}.{time}.{note.id}",
                    chord=chord,
                    onset=note.onset + shift,
                    measure=note.measure + at,
                )
            )
        last = tune.measures[-1]
        for measure in (*tune.measures, *(last,) * wait):
            onset = sum((one.length for one in measures), start=0)
            measures.append(Measure(len(measures), str(len(measures) + 1), onset, measure.length, measure.time))
        at = len(measures)
    return Part(name, name, tuple(measures), tuple(notes), tune.transpose)
