"""What cannot be played.

Lowest notes: the string pitches of music21's instrument classes. Two quartets of music21's corpus have notes below the
range, as their files stand.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from analysis.fingering.plan import make_plan
from analysis.fingering.rules.files import preset
from analysis.instruments import CELLO, VIOLA, VIOLIN
from analysis.music import Pitch, Score
from analysis.watch.out_of_reach import watch_range
from analysis.watch.study import Study
from engraving.document import open_document
from engraving.reading import read_score
from tests.analysis.lines import line
from tests.analysis.watch.studies import watched
from tests.engraving.corpus import corpus_folder


def _said(music, *setting):
    return [finding.text for finding in watched("range", music, *setting)]


def test_a_note_below_the_lowest_string_is_told_each_time():
    (finding,) = watched("range", "C3/1 Cb3 r Cb3", "first", VIOLA)
    assert finding.text == "In measure 1 C♭ lies below the lowest string of the viola: play it an octave higher."
    assert finding.note_ids == ("n2", "n3")
    assert finding.certainty == 1


def test_a_tied_note_is_told_once():
    (finding,) = watched("range", "B1/4~ B1/2 C2", "first", CELLO)
    assert finding.note_ids == ("n1",)


def test_a_note_above_the_fingerboard():
    assert _said("C8/1 C5 D5 E5", "whole-board") == [
        "In measure 1 C lies above what the violin reaches: play it an octave lower."
    ]


def test_a_note_above_the_positions_that_are_allowed():
    assert _said("D6/1 E5 D5 C5") == [
        "In measure 1 D is out of reach under the house rules: allow another position there."
    ]
    assert _said("D6/1 E5 D5 C5", "two-homes") == []


def test_several_of_them_are_told_at_once():
    (finding,) = watched("range", "D6/1 E5 r E6")
    assert finding.text == (
        "In measure 1 notes are out of reach under the house rules: allow another position there, or divide the part."
    )
    assert finding.note_ids == ("n1", "n3")


def test_a_chord_that_cannot_be_held():
    (finding,) = watched("range", "[G3 A3]/1 C5 D5 E5")
    assert finding.text == "In measure 1 G and A cannot be held together: divide them."
    assert finding.note_ids == ("n1", "n2")


def test_a_chord_beyond_what_is_allowed():
    assert _said("[F5 D6]/1 C5 D5 E5") == [
        "In measure 1 F and D are out of reach under the house rules: allow another position there."
    ]


def test_a_quarter_tone_has_no_finger():
    part = line("C5/1 D5 E5 F5")
    raised = replace(part.notes[1], pitch=Pitch("D", Fraction(1, 2), 5))
    part = replace(part, notes=(part.notes[0], raised, *part.notes[2:]))
    assert _said(part) == ["In measure 1 quarter tones get no fingers: mark them by hand."]


def test_what_can_be_played_is_silent():
    assert _said("G3/1 A3 B3 C4 A5 B5 [G3 E4] [D4 B4]") == []


def test_without_an_instrument_nothing_is_known():
    part = line("C2/4")
    assert list(watch_range(Study(Score("", (part,)), part, None))) == []


@pytest.mark.sweep
@pytest.mark.parametrize(
    ("name", "number", "instrument", "label", "note", "times"),
    [
        ("schumann_robert/opus41no1/movement4.mxl", 2, VIOLA, "32", "C♭", 2),
        ("haydn/opus74no1/movement4.mxl", 3, CELLO, "273", "B", 1),
    ],
)
def test_known_notes_below_the_range(name, number, instrument, label, note, times):
    score = read_score(open_document(corpus_folder() / name))
    part = score.parts[number]
    (finding,) = watch_range(Study(score, part, make_plan(part, instrument, preset("whole-board"))))
    owner = instrument.name.lower()
    assert finding.text.startswith(f"In measure {label} {note} lies below the lowest string of the {owner}")
    assert len(finding.note_ids) == times


def test_the_violin_reaches_its_lowest_string():
    assert _said("G3/4", "first", VIOLIN) == []
    assert len(_said("F#3/4", "first", VIOLIN)) == 1
