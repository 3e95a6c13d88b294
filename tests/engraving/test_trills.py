"""Which notes are trilled, and with what upper note."""

from __future__ import annotations

import pytest
from lxml import etree

from engraving.reading.trills import key_alters
from tests.engraving.rawxml import QUARTER, raw, raw_note
from tests.engraving.signs import notes_of, part_of

TRILL = "<ornaments><trill-mark/></ornaments>"


def uppers(music: str, *, key: int = 0) -> str:
    """The upper note of each note, ``-`` for none."""
    return " ".join(n.trill.name if n.trill else "-" for n in notes_of(music, key=key))


def upper_of(notations: str, *before: str, attributes: str = "<divisions>1</divisions>") -> str | None:
    trilled = raw_note("D5", f"{QUARTER}<notations>{notations}</notations>")
    trill = part_of(raw("".join(before) + trilled, attributes=attributes)).notes[-1].trill
    return trill and trill.name


# The upper note


@pytest.mark.parametrize(
    ("note", "key", "upper"),
    [
        ("D5", 0, "E5"),
        ("D5", -2, "Eb5"),
        ("E5", 1, "F#5"),
        ("B4", 0, "C5"),
        ("B4", 2, "C#5"),
        ("Bb4", -3, "C5"),
        ("F#5", 1, "G5"),
        ("E5", 8, "F##5"),
        ("D5", -9, "Ebb5"),
    ],
)
def test_the_upper_note_is_the_next_letter_in_the_key(note: str, key: int, upper: str) -> None:
    assert uppers(f"{note}/4%tr", key=key) == upper


def test_a_key_holds_from_its_place_on() -> None:
    assert uppers("D5/4%tr | {3b} D5%tr | D5%tr | {0} D5%tr") == "E5 Eb5 Eb5 E5"


def test_a_key_of_another_staff_does_not_count() -> None:
    keys = "<divisions>1</divisions><staves>2</staves>" + "".join(
        f'<key number="{staff}"><fifths>{fifths}</fifths></key>' for staff, fifths in ((1, 0), (2, -3))
    )
    assert upper_of(TRILL, attributes=keys) == "E5"


@pytest.mark.parametrize(
    ("key", "alters"),
    [
        ("<fifths>2</fifths>", {"F": 1, "C": 1}),
        ("<fifths>-1</fifths>", {"B": -1}),
        ("<fifths>0</fifths>", {}),
        ("<key-step>E</key-step><key-alter>-1</key-alter><key-step>F</key-step><key-alter>1</key-alter>",
         {"E": -1, "F": 1}),
        ("<key-step>E</key-step><key-alter>low</key-alter>", {}),
        ("<fifths>many</fifths>", None),
        ("<fifths>1000000000</fifths>", None),
        ("<fifths>0.5</fifths>", None),
        ("", None),
    ],
)  # fmt: skip
def test_what_a_key_alters(key: str, alters: dict[str, int] | None) -> None:
    assert key_alters(etree.fromstring(f"<key>{key}</key>")) == alters


def test_an_accidental_earlier_in_the_measure_counts() -> None:
    assert uppers("Eb5/1 D5%tr r D5%tr | D5%tr") == "- Eb5 Eb5 E5"


def test_the_latest_accidental_counts() -> None:
    assert uppers("Eb5/1 E5 D5%tr", key=-3) == "- - E5"


def test_an_accidental_after_the_trill_does_not_count() -> None:
    assert uppers("D5/1%tr Eb5") == "E5 -"


def test_an_accidental_in_another_octave_does_not_count() -> None:
    assert uppers("Eb4/1 D5%tr") == "- E5"


def test_an_accidental_of_another_voice_counts_from_its_place_on() -> None:
    assert uppers("D5/1%tr D5/1%tr & r/1 Eb5") == "E5 E5 -"
    assert uppers("D5/1%tr D5/1%tr & Eb5/0.5 F5/1.5") == "E5 Eb5 - -"


def test_an_accidental_on_another_staff_does_not_count() -> None:
    flat = "<note><pitch><step>E</step><alter>-1</alter><octave>5</octave></pitch>" + QUARTER
    assert upper_of(TRILL, f"{flat}<staff>2</staff></note>") == "E5"
    assert upper_of(TRILL, f"{flat}<staff>1</staff></note>") == "Eb5"


def test_a_note_tied_over_the_barline_keeps_its_accidental_for_itself() -> None:
    assert uppers("Eb5/4~ | Eb5/1 D5/3%tr") == "- - E5"


def test_a_tied_note_that_repeats_its_accidental_counts() -> None:
    flat = "<note><pitch><step>E</step><alter>-1</alter><octave>5</octave></pitch>" + QUARTER
    assert upper_of(TRILL, f'{flat}<tie type="stop"/><accidental>flat</accidental></note>') == "Eb5"
    assert upper_of(TRILL, f'{flat}<tie type="stop"/></note>') == "E5"


@pytest.mark.parametrize(
    ("signs", "upper"),
    [
        ("%tr%b", "Eb5"),
        ("%tr%#", "E#5"),
        ("%tr%n", "E5"),
        ("%tr%w1%b", "Eb5"),
        ("%tr%turn%b", "E5"),
        ("%mordent%b%tr", "E5"),
    ],
)
def test_an_accidental_beside_the_trill_alters_its_upper_note(signs: str, upper: str) -> None:
    assert uppers(f"D5/4{signs}") == upper


def test_the_sign_beside_the_trill_goes_before_the_measure_and_the_key() -> None:
    assert uppers("E5/1 D5%tr%b") == "- Eb5"
    assert uppers("Eb5/1 D5%tr%n", key=-3) == "- E5"


@pytest.mark.parametrize(
    ("sign", "upper"),
    [
        ("double-sharp", "E##5"),
        ("flat-flat", "Ebb5"),
        ("quarter-flat", "E5 -1/4 tone"),
        ("sori", "E5"),
        ("", "E5"),
    ],
)
def test_unusual_signs_beside_a_trill(sign: str, upper: str) -> None:
    assert upper_of(f"<ornaments><trill-mark/><accidental-mark>{sign}</accidental-mark></ornaments>") == upper


def test_an_accidental_over_the_whole_note_is_the_trill_s() -> None:
    assert upper_of(f"{TRILL}<accidental-mark>flat</accidental-mark>") == "Eb5"


# Which notes


@pytest.mark.parametrize("ornament", ["turn", "mordent", "trem"])
def test_another_ornament_is_no_trill(ornament: str) -> None:
    assert uppers(f"D5/4%{ornament}") == "-"


def test_only_the_marked_note_of_a_chord_is_trilled() -> None:
    assert uppers("[D5 A5%tr]/4") == "- B5"


def test_the_notes_under_a_wavy_line_are_trilled() -> None:
    assert uppers("D5/4%tr%w1~ | D5~ | D5~ | D5/2%w0 E5") == "E5 E5 E5 E5 -"


def test_a_line_goes_on_with_its_accidental_over_barlines() -> None:
    assert uppers("D5/4%tr%b%w1~ | D5~ | D5%w0") == "Eb5 Eb5 Eb5"


def test_a_line_over_other_notes_trills_them_with_their_own_upper_notes() -> None:
    assert uppers("D5/1%tr%b%w1 E5 E5%w0") == "Eb5 F5 F5"


def test_a_line_leaves_the_other_notes_of_its_first_chord() -> None:
    assert uppers("[D5%tr%w1~ F4]/2 D5%w0") == "E5 - E5"


def test_a_line_leads_to_another_note_that_is_not_trilled() -> None:
    assert uppers("D5/2%tr%w1 *C5 *D5 E5%w0") == "E5 - - -"


def test_notes_that_go_on_with_a_line_are_trilled_without_an_end() -> None:
    assert uppers("D5/4%tr%w1 | D5%wc | D5%wc | D5") == "E5 E5 E5 -"


def test_a_line_that_never_ends_is_its_note_s_alone() -> None:
    assert uppers("D5/4%tr%w1 | E5 | D5%tr%w1 | E5") == "E5 - E5 -"


def test_a_line_without_a_trill_is_none() -> None:
    assert uppers("D5/4%w1 | E5%wc | E5%w0") == "- - -"


def test_a_new_line_over_the_same_note_goes_on_with_the_trill() -> None:
    assert uppers("D5/4%tr%w1 | D5%w1 | D5%wc") == "E5 E5 E5"


def test_a_line_is_its_voice_s_own() -> None:
    assert uppers("D5/2%tr%w1~ D5%w0 & F4/2 G4 | A5/4") == "E5 E5 - - -"


def test_an_end_without_a_beginning_is_nothing() -> None:
    assert uppers("D5/2 D5%w0") == "- -"
