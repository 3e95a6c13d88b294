"""Cues in the engraver's text and on the page: whole, small, and out of the way of the player's own notes.

Facts of cue notes: the MusicXML 4.0 schema (``cue``, ``type size="cue"``). Stems up: common practice, no source.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from lxml import etree

from analysis.cues import Cue, cues_of
from engraving.document import open_document, read_document
from engraving.engraver import EngravedPage, engrave
from engraving.errors import EngravingError
from engraving.extract import part_for_engraving
from engraving.layout import A4
from engraving.placing import Wanted, place
from engraving.reading import read_score
from engraving.reading.partwalk import PartWalk, WalkedNote
from engraving.restruns import measure_span
from tests.engraving.cued import BEFORE, EXAMPLE, REST, cue_notes, names, two, with_cues, written
from tests.engraving.pages import METRICS
from tests.engraving.schema import musicxml_schema, schema_errors
from tests.engraving.test_placing import check_clear
from tests.scores import full_score, part


def voices(text: str, index: int) -> dict[str, list[WalkedNote]]:
    """The notes of one measure, voice by voice."""
    found: dict[str, list[WalkedNote]] = {}
    for note in PartWalk(written(text), "tune.xml", "Viola").measures[index].notes:
        found.setdefault(note.voice, []).append(note)
    return found


def lengths(text: str, index: int) -> dict[str, Fraction]:
    return {voice: max(note.onset + note.duration for note in notes) for voice, notes in voices(text, index).items()}


def page_of(text: str) -> EngravedPage:
    return engrave(text, A4)[0]


# What is written


def test_the_last_measure_of_the_rest_holds_the_notes_of_the_other_part() -> None:
    text = with_cues(two(f"{REST} | D5/4", f"{BEFORE} | D5/1 E5/0.5 F5 G5/2 | D5/4"))
    (measure,) = {note.getparent() for note in cue_notes(text)}
    assert measure is not None
    assert measure.get("number") == "6"
    assert [note.findtext("type") for note in cue_notes(text)] == ["quarter", "eighth", "eighth", "half"]
    assert [kind.get("size") for note in cue_notes(text) for kind in note.iterfind("type")] == ["cue"] * 4
    assert {note.findtext("stem") for note in cue_notes(text)} == {"up"}


def test_the_part_is_named_over_its_first_note_only() -> None:
    text = with_cues(two(f"{REST} | D5/4", "D5/4 | D5 | D5 | D5 | D5/2 E5 | F5/2 G5 | D5/4"))
    words = list(written(text).iter("words"))
    assert [word.text for word in words] == ["Violin I"]
    assert words[0].get("font-style") == "italic"
    following = next(next(words[0].iterancestors("direction")).itersiblings())
    assert following.get("id") == cue_notes(text)[0].get("id")


def test_the_long_rest_ends_before_the_cue() -> None:
    text = with_cues(two(f"{REST} | D5/4", f"{BEFORE} | D5/1 E5 F5 G5 | D5/4"))
    spans = [
        measure_span(str(measure.get("id")))
        for measure in written(text)
        if measure.find(".//multiple-rest") is not None
    ]
    assert spans == [(0, 4)]


def test_without_cues_the_text_is_as_it_was() -> None:
    document = two(f"{REST} | D5/4", f"{BEFORE} | D5/1 E5 F5 G5 | D5/4")
    assert part_for_engraving(document, "P1", cues=()) == part_for_engraving(document, "P1")


def test_the_document_is_left_as_it_was() -> None:
    document = two(f"{REST} | D5/4", f"{BEFORE} | D5/1/3 E5 F5 G5/1 A5/2 | D5/4")
    before = etree.tostring(document.tree)
    with_cues(document)
    assert etree.tostring(document.tree) == before


def test_cue_notes_have_ids_of_their_own() -> None:
    document = two(f"{REST} | D5/4@cue-1", f"{BEFORE} | D5/1@cue-2 E5 F5 G5 | D5/4")
    ids = [note.get("id") for note in cue_notes(with_cues(document))]
    assert len(set(ids)) == 4
    assert not {element.get("id") for element in document.tree.iter()} & set(ids)


def test_a_cue_for_another_part_is_not_written() -> None:
    document = two(f"{REST} | D5/4", f"{BEFORE} | D5/1 E5 F5 G5 | D5/4")
    assert part_for_engraving(document, "P2", cues=cues_of(read_score(document), read_score(document).parts[0])) == (
        part_for_engraving(document, "P2")
    )


def test_the_schema_finds_nothing_wrong_with_a_cue() -> None:
    source = f"{BEFORE} | (D5/1/3 E5) F#5%=# r/0.5 [B4~ G5~]/1.5 [B4 G5]/1 | D5/4"
    text = with_cues(two(f"{REST} | D5/4", source))
    assert not schema_errors(musicxml_schema(), text.encode())


@pytest.mark.parametrize(
    ("source", "note", "says"),
    [("P9", "x", "no part with the id 'P9' to take a cue from"), ("P2", "x", "there is no note with the id x")],
)
def test_a_cue_from_nowhere_is_named(source: str, note: str, says: str) -> None:
    document = two(f"{REST} | D5/4", f"{BEFORE} | D5/1 E5 F5 G5 | D5/4")
    with pytest.raises(EngravingError, match=f"^tune.xml: {says}$"):
        part_for_engraving(document, "P1", cues=[Cue("P1", source, 5, 5, (note,))])


# Time


def test_rests_between_cue_notes_are_kept_and_gaps_filled() -> None:
    text = with_cues(two(f"{REST} | D5/4", f"{BEFORE} | D5/1 r/0.5 E5 x/1 F5/0.5 G5 | D5/4"))
    cue = [note for note in written(text)[5].iter("note") if note.find("cue") is not None]
    assert [note.find("rest") is not None for note in cue] == [False, True, False, False, False]
    assert set(lengths(text, 5).values()) == {4}


def test_a_cue_that_ends_early_lasts_to_the_end_of_its_measure_all_the_same() -> None:
    measure = written(with_cues(two(f"{REST} | D5/4", f"{BEFORE} | D5/1 E5 F5 x/1 | D5/4")))[5]
    backup = measure.index(next(measure.iterfind("backup")))
    durations = [int(element.findtext("duration") or 0) for element in measure[: backup + 1]]
    assert sum(durations[:-1]) == durations[-1] == 4


def test_a_measure_with_nothing_in_it_takes_a_cue() -> None:
    document = two(f"{REST} | D5/4", f"{BEFORE} | D5/1 E5 F5 G5 | D5/4")
    measure = document.tree.findall("part[@id='P1']/measure")[5]
    for child in list(measure):
        measure.remove(child)
    measure.append(etree.fromstring('<barline location="right"><bar-style>light-light</bar-style></barline>'))
    text = with_cues(document)
    assert [child.tag for child in written(text)[5]] == ["direction", "note", "note", "note", "note", "barline"]
    assert len(cue_notes(text)) == 4


def test_a_finer_division_is_made_where_the_cue_needs_one() -> None:
    document = two(
        "D4/2 E4 | r/4 | r | r | r | r | r | D5/1 E5 F5/2",
        f"D5/4 | {BEFORE} | D5/1/3 E5 F5 G5/0.25 A5 B5/0.5 C6/2 | D5/4",
    )
    text = with_cues(document)
    assert set(lengths(text, 6).values()) == {4}
    assert lengths(text, 0) == {"1": 4}
    assert [note.onset for note in voices(text, 7)["1"]] == [0, 1, 2]
    assert all(float(element.text or "").is_integer() for element in written(text).iter("duration", "divisions"))


def test_the_players_own_rest_stays_below() -> None:
    document = two(f"{REST} | D5/4", f"{BEFORE} | D5/1 E5 F5 G5 | D5/4")
    own = voices(with_cues(document), 5)
    assert list(own) == ["1", "2"]
    (rest,) = own["2"]
    assert [bare.get("measure") for bare in rest.element.iterfind("rest")] == ["yes"]


def test_of_two_resting_voices_one_rest_is_drawn() -> None:
    text = with_cues(
        two("r/4 & r | r & r | r & r | r & r | r & r | r & r | D5/4 & D4", f"{BEFORE} | D5/1 E5 F5 G5 | D5/4")
    )
    drawn = [note for notes in voices(text, 5).values() for note in notes if note.element.get("print-object") != "no"]
    assert [note.element.find("rest") is not None for note in drawn] == [False] * 4 + [True]
    assert set(lengths(text, 5).values()) == {4}


# What goes with the notes


def test_slurs_ties_and_tuplets_are_kept_whole_or_not_at_all() -> None:
    source = "D5/4 | D5 | D5 | D5/2 (D5 | E5/2) F#5/2~ | F#5/1 (G5/2 A5/1~ | A5/4)"
    text = with_cues(two(f"{REST} | D5/4", source))
    marks = [[(mark.tag, mark.get("type")) for mark in note.iterfind("notations/*")] for note in cue_notes(text)]
    assert marks == [[], [("tied", "start")], [("tied", "stop")], [], []]
    assert names(cue_notes(text))[1:3] == ["F#4[sharp]", "F#4"]


def test_a_slur_within_the_cue_is_kept() -> None:
    text = with_cues(two(f"{REST} | D5/4", f"{BEFORE} | (D5/1 E5 F5) G5 | D5/4"))
    assert [[mark.get("type") for mark in note.iterfind("notations/slur")] for note in cue_notes(text)] == [
        ["start"], [], ["stop"], [],
    ]  # fmt: skip


def test_what_is_for_the_player_of_the_other_part_is_left_out() -> None:
    source = f"{BEFORE} | !f D5/1^3_2%up E5%tr%breath *A5 F5%fermata G5 | D5/4"
    text = with_cues(two(f"{REST} | D5/4", source))
    kept = {child.tag for note in cue_notes(text) for child in note}
    assert kept == {"cue", "pitch", "duration", "voice", "type", "stem"}
    assert not list(written(text).iter("dynamics"))


def test_of_a_chord_the_highest_note_is_shown_as_a_note_of_its_own() -> None:
    text = with_cues(two(f"{REST} | D5/4", f"{BEFORE} | [D4 A4]/1 [B4 E4] ([F4 C5] D5) | D5/4", "Violin II"))
    assert names(cue_notes(text)) == ["A4", "B4", "C5", "D5"]
    assert not list(written(text).iter("chord"))
    assert [len(note.findall("notations/slur")) for note in cue_notes(text)] == [0, 0, 1, 1]


# The measure of the entry


LATE = f"{REST} | r/2 F5/1 G5"
LEADING = f"{BEFORE} | D5/1 E5 F5 G5 | "


def test_before_a_late_entry_the_cue_takes_the_place_of_the_rests() -> None:
    text = with_cues(two(LATE, f"{LEADING} A5/0.5 B5 C6/1 D6/2"))
    assert list(voices(text, 6)) == ["1"]
    assert [(note.onset, note.element.find("cue") is not None) for note in voices(text, 6)["1"]] == [
        (0, True), (Fraction(1, 2), True), (1, True), (2, False), (3, False),
    ]  # fmt: skip


def test_a_rest_after_the_cue_stays() -> None:
    text = with_cues(two(f"{REST} | r/1 r F5/1 G5", f"{LEADING} A5/1 B5/2 C6/1"))
    kinds = [(note.onset, note.element.find("rest") is not None) for note in voices(text, 6)["1"]]
    assert kinds == [(0, False), (1, True), (2, False), (3, False)]


@pytest.mark.parametrize(
    ("late", "leading"),
    [
        (LATE, "F#5/1 B5 D6/2"),
        (f"{REST} | r/2 F5/1 G5 & r/2 A4/2", "A5/1 B5 D6/2"),
    ],
    ids=["whose accidental the player's own note would lack", "which has two voices"],
)
def test_a_measure_that_cannot_take_the_cue_is_left_alone(late: str, leading: str) -> None:
    text = with_cues(two(late, LEADING + leading, "Violin II"))
    assert {bar.get("number") for note in cue_notes(text) for bar in note.iterancestors("measure")} == {"6"}


def test_where_the_file_has_a_cue_of_its_own_none_is_written() -> None:
    document = two(f"{REST} | D5/4", f"{BEFORE} | D5/1 E5 F5 G5 | D5/4")
    cues = cues_of(read_score(document), read_score(document).parts[0])
    measure = document.tree.findall("part[@id='P1']/measure")[5]
    for note in measure.findall("note"):
        measure.remove(note)
    own = "<note><cue/><pitch><step>A</step><octave>4</octave></pitch><duration>4</duration><type>whole</type></note>"
    measure.append(etree.fromstring(own))
    assert part_for_engraving(document, "P1", cues=cues) == part_for_engraving(document, "P1")


# The page


def test_cue_notes_are_drawn_small() -> None:
    text = with_cues(two(LATE, f"{LEADING} (A5/0.5 B5) [C6 A5]/1 D6/2"))
    page = page_of(text)
    small = [page.map.notes[str(note.get("id"))].head for note in cue_notes(text)]
    own = [place.head for note_id, place in page.map.notes.items() if not note_id.startswith("cue-")]
    assert len(small) == 7
    assert max(head.height for head in small) < 0.8 * min(head.height for head in own)
    assert max(head.width for head in small) < 0.8 * min(head.width for head in own)
    assert {page.map.notes[str(note.get("id"))].stem for note in cue_notes(text)} == {"up"}


def test_the_players_own_notes_are_on_the_page_as_before() -> None:
    document = open_document(EXAMPLE)
    part_id = read_score(document).parts[4].id
    plain, cued = part_for_engraving(document, part_id), with_cues(document, part_id)
    before = {note_id: place for page in engrave(plain, A4) for note_id, place in page.map.notes.items()}
    after = {note_id: place for page in engrave(cued, A4) for note_id, place in page.map.notes.items()}
    cues = {str(note.get("id")) for note in cue_notes(cued)}
    assert cues
    assert after.keys() - before.keys() == cues
    assert before.keys() <= after.keys()
    assert all(after[note_id].lower_voice == before[note_id].lower_voice for note_id in before)


def test_digits_stay_clear_of_cues() -> None:
    document = read_document(
        full_score(
            part("Viola", "4/4", f"{LATE} | D5/4 | {REST} | r/1 G4 A4 B4"),
            part("Violin I", "4/4", f"{LEADING} A5/1 B5 C6 D6 | D5/4 | {LEADING} F4/1 E4 D4 C4"),
        ),
        "tune.xml",
    )
    page = page_of(with_cues(document))
    own = [note_id for note_id in page.map.notes if not note_id.startswith("cue-")]
    placed = place(page.map, [Wanted(note_id, "3") for note_id in own], METRICS)
    assert len(placed) == len(own)
    check_clear(page.map, placed)
