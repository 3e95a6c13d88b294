"""Key signatures and the accidentals that are printed before notes."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.engraving.rawxml import QUARTER, raw, raw_note
from tests.engraving.signs import notes_of, part_of
from tests.scores import score


def keys(*measures: str) -> list[tuple[Fraction, int]]:
    return [(sign.onset, sign.fifths) for sign in part_of(raw(*measures)).keys]


def key(inside: str, attributes: str = "") -> str:
    return f"<attributes><key{attributes}>{inside}</key></attributes>"


def in_fifths(count: int | str, attributes: str = "") -> str:
    return key(f"<fifths>{count}</fifths>", attributes)


def test_key_signatures_stand_where_they_are_printed() -> None:
    signs = part_of(score("Violin", "4/4", "D5/4 | {3b} E5/4 | F5/4 | {0} G5/4", key=2)).keys
    assert [(sign.onset, sign.fifths) for sign in signs] == [(0, 2), (4, -3), (12, 0)]


def test_a_key_signature_may_stand_inside_a_measure() -> None:
    assert keys(in_fifths(1) + raw_note("D5") + in_fifths(-2) + raw_note("E5")) == [(0, 1), (1, -2)]


@pytest.mark.parametrize(
    "odd",
    [
        key("<key-step>F</key-step><key-alter>1</key-alter>"),
        key(""),
        *map(in_fifths, ("", "many", "1.5", "99")),
        in_fifths(4, ' print-object="no"'),
        in_fifths(4, ' number="2"'),
    ],
)
def test_a_key_that_counts_no_fifths_or_is_not_printed_here_is_left_out(odd: str) -> None:
    assert keys(in_fifths(1) + raw_note("D5"), odd + raw_note("E5")) == [(0, 1)]


def test_of_two_staves_the_first_gives_the_key() -> None:
    both = in_fifths(2, ' number="2"') + in_fifths(-1, ' number="1"')
    assert keys(both + raw_note("D5")) == [(0, -1)]
    assert keys(in_fifths(3) + in_fifths(-1) + raw_note("D5")) == [(0, 3)]


def test_keys_stand_in_the_order_of_time() -> None:
    back = "<backup><duration>1</duration></backup>"
    assert keys(raw_note("D5") + in_fifths(1) + back + in_fifths(4) + raw_note("D4")) == [(0, 4), (1, 1)]


def test_a_printed_accidental_is_its_note_s_own() -> None:
    notes = notes_of("F#5%=# F#5 G5%=n [D5 Bb5%=b]/2 *C##5%=## E5/1")
    assert [n.sign for n in notes] == ["sharp", "", "natural", "", "flat", "double-sharp", ""]


def test_an_accidental_in_brackets_is_a_courtesy() -> None:
    assert [(n.sign, n.courtesy) for n in notes_of("F#5%=# F#5%?# F#5")] == [
        ("sharp", False), ("sharp", True), ("", False),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("accidental", "sign", "courtesy"),
    [
        ('<accidental cautionary="yes">flat</accidental>', "flat", True),
        ('<accidental editorial="yes">flat</accidental>', "flat", True),
        ('<accidental parentheses="yes">flat</accidental>', "flat", True),
        ('<accidental bracket="yes">flat</accidental>', "flat", True),
        ('<accidental cautionary="no" parentheses="no" color="#000000"> natural </accidental>', "natural", False),
        ("<accidental>quarter-sharp</accidental>", "quarter-sharp", False),
        ("<accidental/>", "", False),
    ],
)
def test_the_accidental_of_a_note(accidental: str, sign: str, courtesy: bool) -> None:
    note = part_of(raw(raw_note("D5", QUARTER + accidental))).notes[0]
    assert (note.sign, note.courtesy) == (sign, courtesy)
