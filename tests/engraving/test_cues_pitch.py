"""The pitches of cues: they sound as the part they come from and are read easily in the clef and key of the player.

What sounds is heard by music21. That a cue stays within about two ledger lines: common practice, no source.
"""

from __future__ import annotations

from typing import Any

import pytest
from lxml import etree

from analysis.cues import cues_of
from engraving.document import Document, open_document, read_document
from engraving.extract import part_for_engraving
from engraving.reading import read_score
from tests.engraving.corpus import corpus_folder
from tests.engraving.cued import BEFORE, EXAMPLE, REST, cue_notes, names, two, with_cues
from tests.scores import full_score, part


def heard_by_music21(text: str | bytes) -> Any:
    """The score at sounding pitch."""
    from music21 import converter

    return converter.parse(text, format="musicxml").toSoundingPitch()


def highest(part: Any, first: int, last: int, *, cue: bool) -> list[int]:
    """The highest pitch of each note of a part of music21's in measures of these indices; cue notes, or all others."""
    from music21 import stream

    measures = list(part.getElementsByClass(stream.Measure))[first : last + 1]
    notes = [note for measure in measures for note in measure.recurse().notes if not note.duration.isGrace]
    return [max(pitch.midi for pitch in note.pitches) for note in notes if (note.style.noteSize == "cue") == cue]


def check_sounds_alike(document: Document, reader: int, least_rest: int = 6) -> None:
    """The cues of a part sound, by whole octaves higher or lower, as music21 hears their own part."""
    score = read_score(document)
    cues = cues_of(score, score.parts[reader], least_rest)
    text = part_for_engraving(document, score.parts[reader].id, cues=cues)
    full, cued = heard_by_music21(document.source).parts, heard_by_music21(text).parts[0]
    sources = {part.id: heard for part, heard in zip(score.parts, full, strict=True)}
    assert cues
    for cue in cues:
        here = highest(cued, cue.first_measure, cue.last_measure, cue=True)
        there = highest(sources[cue.source_id], cue.first_measure, cue.last_measure, cue=False)
        assert len(here) == len(cue.note_ids)
        moved = {one - other for one, other in zip(here, there[: len(here)], strict=True)}
        assert len(moved) == 1
        assert moved.pop() % 12 == 0


CLARINET = b"<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose></attributes>"


def clarinet(reader: str, source: str, *, key: int, own_key: int, said: bytes = CLARINET) -> Document:
    """A violin that waits for a clarinet in B flat."""
    data = full_score(part("Violin", "4/4", reader, key=key), part("Clarinet", "4/4", source, key=own_key))
    first, second = data.split(b'<part id="P2">')
    return read_document(first + b'<part id="P2">' + second.replace(b"</attributes>", said, 1), "tune.xml")


@pytest.mark.parametrize(
    ("reader", "source_name"),
    [("Viola", "Violin I"), ("Double Bass", "Violin I"), ("Violin I", "Double Bass"), ("Violin I", "Violoncello")],
)
def test_a_cue_sounds_as_its_part_by_octaves(reader: str, source_name: str) -> None:
    tune = f"{BEFORE} | F#5/1 E5 C#6 D6 | D5/4"
    check_sounds_alike(two(f"{REST} | D5/4", tune, reader, key=2, source_name=source_name), 0)


@pytest.mark.parametrize("said", [CLARINET, CLARINET.replace(b"<diatonic>-1</diatonic>", b"")], ids=["letters", "none"])
def test_the_pitches_of_a_transposing_part_are_written_for_the_reader(said: bytes) -> None:
    document = clarinet(f"{REST} | D5/4", f"{BEFORE} | E5/1 F#5 G#5 F5 | D5/4", key=0, own_key=2, said=said)
    assert names(cue_notes(with_cues(document))) == ["D5", "E5", "F#5[sharp]", "Eb5[flat]"]
    check_sounds_alike(document, 0)


@pytest.mark.parametrize(
    ("name", "tune", "read"),
    [
        ("Violin II", "E5/1 F5 G5 A5", "E5 F5 G5 A5"),
        ("Violin II", "D7/1 C7 B6 A6", "D6 C6 B5 A5"),
        ("Viola", "E7/1 D7 C7 B6", "E5 D5 C5 B4"),
        ("Violoncello", "E5/1 F5 G5 A5", "E3 F3 G3 A3"),
        ("Double Bass", "E5/1 F5 G5 A5", "E3 F3 G3 A3"),
    ],
)
def test_a_cue_is_brought_into_reach_of_the_clef(name: str, tune: str, read: str) -> None:
    document = two(f"{REST} | D5/4", f"{BEFORE} | {tune} | D5/4", name)
    assert " ".join(names(cue_notes(with_cues(document)))) == read


def test_the_clef_in_force_counts() -> None:
    document = two(f"D5/4 | {REST} | D5/4", f"D5/4 | {BEFORE} | E5/1 F5 G5 A5 | D5/4", "Violoncello")
    measure = document.tree.find("part/measure")
    assert measure is not None
    measure.append(etree.fromstring("<attributes><clef><sign>C</sign><line>4</line></clef></attributes>"))
    assert names(cue_notes(with_cues(document))) == ["E4", "F4", "G4", "A4"]


def test_accidentals_stand_where_the_key_of_the_reader_needs_them() -> None:
    source = f"{BEFORE} | F#5/0.5 F#5 F5 F5 F#4 Bb5 B5 C#5 | D5/4"
    text = with_cues(two(f"{REST} | D5/4", source, "Violin II", key=2))
    assert names(cue_notes(text)) == [
        "F#5", "F#5", "F5[natural]", "F5", "F#4", "Bb5[flat]", "B5[natural]", "C#5",
    ]  # fmt: skip


def test_cues_of_the_demo_suite_sound_as_their_parts() -> None:
    check_sounds_alike(open_document(EXAMPLE), 4)


@pytest.mark.sweep
@pytest.mark.parametrize(
    ("work", "reader", "least_rest"),
    [
        ("beethoven/opus18no1/movement4", 2, 4),
        ("mozart/k155/movement3", 2, 4),
    ],
)
def test_cues_of_quartets_sound_as_their_parts(work: str, reader: int, least_rest: int) -> None:
    check_sounds_alike(open_document(corpus_folder() / f"{work}.mxl"), reader, least_rest)


@pytest.mark.sweep
def test_the_measures_of_a_cue_add_up_in_music21() -> None:
    from music21 import converter, stream

    document = open_document(corpus_folder() / "beethoven/opus18no1/movement4.mxl")
    score = read_score(document)
    for reader in score.parts:
        cues = cues_of(score, reader, 4)
        assert cues
        text = part_for_engraving(document, reader.id, cues=cues)
        measures = list(converter.parse(text, format="musicxml").parts[0].getElementsByClass(stream.Measure))
        for cue in cues:
            for index in range(cue.first_measure, cue.last_measure + 1):
                assert measures[index].highestTime == measures[index].barDuration.quarterLength == 2
