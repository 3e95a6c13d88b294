"""Raised notes that lead to the tonic: told where an accidental raises them, once a passage."""

from __future__ import annotations

from analysis.fingering.locks import Lock
from analysis.music import Score
from analysis.watch.leading_notes import watch_leading_notes
from analysis.watch.study import Study
from tests.analysis.lines import line, plan
from tests.analysis.watch.studies import watched

A_MINOR = "A4/1 C5 E5 C5 D5 B4 C5 A4 B4 G#4 A4 B4 C5 D5 C5 B4 A4 C5 B4 G#4 A4/4 "


def texts(music: str) -> list[str]:
    return [finding.text for finding in watched("leading-note", music)]


def test_a_raised_note_under_the_tonic_is_told_with_its_fingers():
    """F12: the raised note that leads to the tonic lies a half step under it, beside the next finger.

    First position on the D string of the violin: D sharp is played by the first finger, E by the same, higher;
    G sharp by the third, A by the fourth (the position charts of any method).
    """
    (finding,) = watched("leading-note", A_MINOR)
    assert finding.text == (
        "G♯ in measures 3 and 5 leads to A, the home note of A minor: only a half step, "
        "so put the third finger close to the fourth."
    )
    (slid,) = watched("leading-note", "{1#} E4/1 G4 B4 G4 A4 F#4 G4 E4 F#4 D#4 E4 F#4 G4 A4 G4 F#4 E4 G4 F#4 D#4 E4/4")
    assert slid.text == (
        "D♯ in measures 3 and 5 leads to E, the home note of E minor: only a half step, "
        "so the first finger moves up only a little."
    )


def test_every_time_in_a_passage_is_one_finding():
    findings = watched("leading-note", A_MINOR * 2)
    assert len(findings) == 1
    assert len(findings[0].note_ids) == 4


def test_a_leading_note_of_the_printed_key_is_not_told():
    assert texts("{1#} G4/1 B4 D5 B4 C5 A4 F#4 G4 A4 F#4 G4 A4 B4 A4 F#4 G4") == []


def test_a_raised_note_that_leads_elsewhere_is_not_told():
    assert texts("C4/1 E4 G4 E4 F4 F#4 G4 E4 F4 F#4 G4 E4 D4 F4 B3 C4") == []


def test_a_raised_note_that_does_not_lead_up_is_not_told():
    up = "A4/1 C5 E5 C5 D5 B4 C5 A4 B4 G#4 A4 B4 C5 D5 C5 B4 A4 C5 B4 G#4 A4/2 B4"
    assert len(texts(up)) == 1
    assert texts(up.replace("G#4 A4", "G#4 E4")) == []
    assert texts(up.replace("G#4 A4", "G#5 A4")) == []


def test_once_is_told_only_where_the_line_comes_to_rest():
    passing = "A4/1 C5 E5 C5 D5 B4 C5 A4 B4 G#4/1/2 A4 B4/1 C5 D5 C5 B4 A4 C5 E5 C5 B4 A4/4"
    closing = "A4/1 C5 E5 C5 D5 B4 C5 A4 B4 C5 E5 C5 B4 G#4 A4/2"
    assert texts(passing) == []
    assert len(texts(closing)) == 1


def test_without_a_fingering_only_the_half_step_and_the_next_finger_are_told():
    part = line(A_MINOR)
    (finding,) = watch_leading_notes(Study(Score("", (part,)), part, None))
    assert finding.text == (
        "G♯ in measures 3 and 5 leads to A, the home note of A minor: only a half step, close to the next finger."
    )
    assert [part.note(name).pitch.name for name in finding.note_ids] == ["G#4", "G#4"]


def test_a_leading_note_before_an_open_string_names_no_finger():
    part = line(A_MINOR)
    made = plan(part, locks={name: Lock(finger=0) for name in ("n11", "n21")})
    (finding,) = watch_leading_notes(Study(Score("", (part,)), part, made))
    assert finding.text.endswith("the home note of A minor: only a half step.")


def test_fingers_that_differ_from_time_to_time_are_not_named():
    part = line(A_MINOR)
    made = plan(part, "two-homes", locks={"n10": Lock(finger=1), "n11": Lock(finger=2)})
    (finding,) = watch_leading_notes(Study(Score("", (part,)), part, made))
    assert finding.text.endswith("only a half step, close to the next finger.")
