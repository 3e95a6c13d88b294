"""Tremolo, harmonics, bows, breaths and fermatas, as single notes and chords have them."""

from __future__ import annotations

import pytest

from analysis.music import Note
from tests.engraving.rawxml import QUARTER, raw, raw_note
from tests.engraving.schema import musicxml_schema, schema_errors
from tests.engraving.signs import noted, notes_of, part_of
from tests.scores import score

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


# Bows, breaths, fermatas


def test_a_bow_stands_at_its_note() -> None:
    assert [n.bow for n in notes_of("D5%down E5%up^3 F5")] == ["down", "up", ""]


def test_a_bow_is_the_whole_chord_s() -> None:
    assert [n.bow for n in notes_of("[D5 F5%up]/2 [A5 C6]")] == ["up", "up", "", ""]


@pytest.mark.parametrize(
    ("notations", "bow"),
    [
        ("<technical/><technical><up-bow/></technical>", "up"),
        ("<technical><fingering>1</fingering></technical><technical><down-bow/></technical>", "down"),
        ("<technical><down-bow/><up-bow/></technical>", "down"),
        ("<technical><stopped/></technical>", ""),
        ("<articulations><up-bow/></articulations>", ""),
    ],
)
def test_a_bow_in_any_of_the_notations_counts(notations: str, bow: str) -> None:
    assert noted(notations).bow == bow


@pytest.mark.parametrize("sign", ["breath", "caesura"])
def test_the_bow_is_lifted_after_the_whole_chord(sign: str) -> None:
    assert [n.lifted for n in notes_of(f"[D5 F5%{sign}]/2 A5")] == [True, True, False]


def test_a_fermata_is_the_whole_chord_s() -> None:
    assert [n.fermata for n in notes_of("[D5%fermata F5]/2 A5")] == [True, True, False]


def test_the_signs_of_a_grace_note_are_its_own() -> None:
    assert [(n.grace, n.bow, n.fermata) for n in notes_of("*E5%up D5/1%fermata")] == [
        (True, "up", False), (False, "", True),
    ]  # fmt: skip


def test_another_voice_keeps_its_own_signs() -> None:
    assert [(n.bow, n.lifted, n.fermata) for n in notes_of("A5/4%down%breath%fermata & D4/4")] == [
        ("down", True, True), ("", False, False),
    ]  # fmt: skip


def test_the_signs_are_those_music21_reads() -> None:
    """Outside source: ``music21.articulations`` and ``music21.expressions``, on a mini score that is valid MusicXML."""
    from music21 import articulations, converter, expressions

    music = "D5/1%down%=n E5%up%fermata F#5%?#%breath G5%caesura^1 | *A5%up [D4%down A4]/2 B4/2"
    data = score("Violin", "4/4", music)
    assert not schema_errors(musicxml_schema(), data)
    theirs = []
    for sounding in converter.parseData(data.decode(), format="musicxml").recurse().notes:
        signs = {type(sign) for sign in (*sounding.articulations, *sounding.expressions)}
        bow = "down" * (articulations.DownBow in signs) + "up" * (articulations.UpBow in signs)
        lifted = bool(signs & {articulations.BreathMark, articulations.Caesura})
        theirs += [(bow, lifted, expressions.Fermata in signs)] * len(sounding.pitches)
    ours = [(note.bow, note.lifted, note.fermata) for note in part_of(data)]
    assert ours == theirs
    assert [bow for bow, _, _ in ours] == ["down", "up", "", "", "up", "down", "down", ""]
