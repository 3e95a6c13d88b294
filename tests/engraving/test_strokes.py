"""Tremolo and harmonics, as single notes and chords have them."""

from __future__ import annotations

import pytest

from analysis.music import Note
from tests.engraving.rawxml import QUARTER, raw, raw_note
from tests.engraving.signs import noted, notes_of, part_of

DIAMOND = "<notehead>diamond</notehead>"


def harmonic(inside: str, head: str = "") -> Note:
    return noted(f"<technical><harmonic>{inside}</harmonic></technical>", more=head)


def sounding(note: Note) -> tuple[str | None, bool, bool]:
    return note.harmonic and note.harmonic.name, note.touched, note.artificial


# Tremolo


def test_strokes_on_one_note_and_strokes_between_two() -> None:
    assert [n.tremolo for n in notes_of("D5/1%trem E5%trem1 F5%trem0 G5")] == ["bowed", "fingered", "", ""]


def test_a_tremolo_is_the_whole_chord_s() -> None:
    assert [n.tremolo for n in notes_of("[D5%trem1 F5]/2 [A5%trem0 C6]")] == ["fingered", "fingered", "", ""]


@pytest.mark.parametrize(("attributes", "kind"), [("", "bowed"), (' type="unmeasured"', "bowed"), (' type="wild"', "")])
def test_unusual_tremolos(attributes: str, kind: str) -> None:
    assert noted(f"<ornaments><tremolo{attributes}>3</tremolo></ornaments>").tremolo == kind


# Harmonics


@pytest.mark.parametrize("inside", ["", "<natural/>", "<natural/><sounding-pitch/>", "<sounding-pitch/>"])
def test_a_natural_harmonic_sounds_as_written(inside: str) -> None:
    assert sounding(harmonic(inside)) == ("D5", False, False)


@pytest.mark.parametrize("inside", ["<natural/><touching-pitch/>", "<touching-pitch/>"])
def test_a_natural_harmonic_may_be_written_where_it_is_touched(inside: str) -> None:
    assert sounding(harmonic(inside)) == ("D5", True, False)


@pytest.mark.parametrize("inside", ["", "<natural/>"])
def test_a_diamond_is_the_touched_place(inside: str) -> None:
    assert sounding(harmonic(inside, DIAMOND)) == ("D5", True, False)


def test_a_diamond_that_is_said_to_sound_is_not_the_touched_place() -> None:
    assert sounding(harmonic("<natural/><sounding-pitch/>", DIAMOND)) == ("D5", False, False)


def test_the_open_string_of_a_natural_harmonic_does_not_sound() -> None:
    assert sounding(harmonic("<natural/><base-pitch/>")) == (None, False, False)


@pytest.mark.parametrize(
    ("inside", "touched"),
    [("", False), ("<base-pitch/>", False), ("<touching-pitch/>", True), ("<sounding-pitch/>", False)],
)
def test_an_artificial_harmonic_is_no_natural_one(inside: str, touched: bool) -> None:
    assert sounding(harmonic(f"<artificial/>{inside}")) == (None, touched, True)


def test_a_diamond_alone_is_a_natural_harmonic() -> None:
    assert sounding(part_of(raw(raw_note("D5", QUARTER + DIAMOND))).notes[0]) == ("D5", True, False)


def test_a_diamond_over_a_plain_note_is_an_artificial_harmonic() -> None:
    chord = raw_note("D4") + raw_note("G4", QUARTER + DIAMOND, before="<chord/>")
    assert [sounding(n) for n in part_of(raw(chord))] == [(None, False, True), (None, True, True)]


def test_the_signs_of_a_chord_are_each_its_note_s_own() -> None:
    signs = "<notations><technical><harmonic><natural/></harmonic></technical></notations>"
    chord = raw_note("D4") + raw_note("A4", QUARTER + DIAMOND + signs, before="<chord/>")
    assert [sounding(n) for n in part_of(raw(chord))] == [(None, False, False), ("A4", True, False)]


@pytest.mark.parametrize("head", ["<notehead>x</notehead>", "<notehead>normal</notehead>", "<notehead/>"])
def test_another_head_is_no_harmonic(head: str) -> None:
    assert sounding(part_of(raw(raw_note("D5", QUARTER + head))).notes[0]) == (None, False, False)
