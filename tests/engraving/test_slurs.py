"""Which notes a slur joins to the next, in one voice and over several."""

from __future__ import annotations

import pytest

from analysis.music import Note
from engraving.document import read_document
from engraving.reading import read_score
from tests.engraving.rawxml import QUARTER, raw, raw_note
from tests.scores import score


def notes_of(data: bytes) -> tuple[Note, ...]:
    return read_score(read_document(data, "tune.xml")).parts[0].notes


def slurred(music: str) -> str:
    """The note names, each with ``-`` behind it where a slur goes on."""
    return " ".join(n.pitch.name + "-" * n.slurred_on for n in notes_of(score("Violin", "4/4", music)))


@pytest.mark.parametrize(
    ("music", "expected"),
    [
        ("D5 (E5 F5 G5) | A5", "D5 E5- F5- G5 A5"),
        ("(D5 E5 | F5 G5)", "D5- E5- F5- G5"),
        ("(D5 (E5) F5) G5", "D5- E5- F5 G5"),
        ("(D5 (E5 F5) G5) A5", "D5- E5- F5- G5 A5"),
        ("(D5 r E5) F5", "D5- E5 F5"),
        ("(*D5 E5) F5", "D5- E5 F5"),
        ("([D4 A4] [E4 B4]) F5", "D4- A4- E4 B4 F5"),
        ("(A5/2 B5) & D4/1 (E4 F4) G4 | C5", "A5- B5 D4 E4- F4 G4 C5"),
    ],
)
def test_a_slur_joins_each_of_its_notes_to_the_next(music: str, expected: str) -> None:
    assert slurred(music) == expected


def slur(kind: str, number: int = 1) -> str:
    return f'<notations><slur type="{kind}" number="{number}"/></notations>'


def voice(number: int, notations: str = "") -> str:
    return f"{QUARTER}<voice>{number}</voice>{notations}"


BACK = "<backup><duration>4</duration></backup>"


def joined(data: bytes) -> set[str]:
    return {n.pitch.name for n in notes_of(data) if n.slurred_on}


def test_a_slur_may_be_carried_by_the_second_note_of_a_chord() -> None:
    start = raw_note("D4") + raw_note("A4", QUARTER + slur("start"), before="<chord/>")
    stop = raw_note("E4") + raw_note("B4", QUARTER + slur("stop"), before="<chord/>")
    assert joined(raw(start + stop)) == {"D4", "A4"}


def test_the_end_of_a_slur_may_be_written_before_its_beginning() -> None:
    # MusicXML 4.0, number-level: a reader meets the stop of a slur between voices before its start.
    upper = (
        raw_note("A5", voice(1))
        + raw_note("B5", voice(1))
        + raw_note("C6", voice(1))
        + raw_note("D6", voice(1, slur("stop")))
    )
    lower = (
        raw_note("D4", voice(2, slur("start")))
        + raw_note("E4", voice(2))
        + raw_note("F4", voice(2))
        + raw_note("G4", voice(2))
    )
    assert joined(raw(upper + BACK + lower, raw_note("E5", voice(1)))) == {"A5", "B5", "C6", "D4", "E4", "F4"}


def test_three_slurs_of_one_number_that_overlap_in_time_are_told_apart() -> None:
    # The example of MusicXML 4.0, number-level: both voices have a slur from beat 2 to 3, and a third goes between.
    upper = [voice(1), voice(1, slur("start")), voice(1, slur("stop")), voice(1, slur("stop"))]
    lower = [voice(2, slur("start")), voice(2, slur("start")), voice(2, slur("stop")), voice(2)]
    data = raw(
        "".join(raw_note(f"{'ABCD'[i]}5", inside) for i, inside in enumerate(upper))
        + BACK
        + "".join(raw_note(f"{'ABCD'[i]}4", inside) for i, inside in enumerate(lower))
    )
    notes = notes_of(data)
    assert [n.slurred_on for n in notes if n.voice == "1"] == [True, True, True, False]
    assert [n.slurred_on for n in notes if n.voice == "2"] == [True, True, True, False]


def test_a_slur_that_ends_in_another_voice_joins_the_notes_of_both() -> None:
    upper = raw_note("A5", voice(1, slur("start"))) + raw_note("B5", voice(1))
    upper += "<forward><duration>2</duration></forward>"
    lower = (
        "<forward><duration>2</duration></forward>" + raw_note("F4", voice(2)) + raw_note("G4", voice(2, slur("stop")))
    )
    assert joined(raw(upper + BACK + lower)) == {"A5", "F4"}


def test_a_slur_without_an_end_joins_nothing() -> None:
    assert joined(raw(raw_note("D5", QUARTER + slur("start")) + raw_note("E5"), raw_note("F5"))) == set()


def test_a_slur_without_a_beginning_joins_nothing() -> None:
    data = raw(raw_note("D5", QUARTER + slur("stop")) + raw_note("E5", QUARTER + slur("start")), raw_note("F5"))
    assert joined(data) == set()


def test_a_slur_without_a_beginning_does_not_take_the_next_ones() -> None:
    ends = ("stop", "start", "stop")
    data = raw("".join(raw_note(f"{name}5", QUARTER + slur(end)) for name, end in zip("DEF", ends, strict=True)))
    assert joined(data) == {"E5"}


def test_slurs_of_different_numbers_may_cross() -> None:
    data = raw(
        raw_note("D5", QUARTER + slur("start", 1))
        + raw_note("E5", QUARTER + slur("start", 2))
        + raw_note("F5", QUARTER + slur("stop", 1))
        + raw_note("G5", QUARTER + slur("stop", 2))
        + raw_note("A5")
    )
    assert joined(data) == {"D5", "E5", "F5"}


def test_a_slur_in_a_later_notations_element_counts() -> None:
    first = QUARTER + "<notations/>"
    assert joined(raw(raw_note("D5", first + slur("start")) + raw_note("E5", first + slur("stop")))) == {"D5"}
