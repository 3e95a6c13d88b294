"""Far reaches of small hands are told, with an easier way, and defer to professionals."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analysis.fingering.cautions import CAUTION, cautions
from analysis.fingering.locks import Lock
from analysis.fingering.plan import make_plan
from analysis.fingering.rules.files import preset
from analysis.instruments import CELLO, VIOLIN
from tests.analysis.lines import line


def told(text, instrument=VIOLIN, locks=None, **rules):
    made = make_plan(line(text), instrument, replace(preset("two-homes"), **rules), locks)
    return list(cautions(made))


STRETCHED = {"n2": Lock(string=2, position=1, finger=4)}


def test_a_stretched_fourth_finger_of_small_hands_is_told_with_an_easier_way():
    (caution,) = told("C5/1 F5 D5", locks=STRETCHED, reach="small")
    assert caution.note_id == "n2"
    assert caution.text.startswith("measure 1, beat 2: 4 for F5 reaches ")
    assert caution.text.endswith(" mm from the first finger.")
    assert caution.easier.startswith("Easier: ")
    assert "4 on the A string, 1st position" not in caution.easier


@pytest.mark.parametrize("size", ["3/4", "1/2"])
def test_a_small_instrument_is_reason_enough_to_say_so(size):
    assert [caution.note_id for caution in told("C5/1 F5 D5", locks=STRETCHED, size=size)] == ["n2"]


def test_grown_hands_on_a_full_size_are_told_nothing():
    assert told("C5/1 F5 D5", locks=STRETCHED) == []


def test_a_line_inside_the_frame_is_told_nothing():
    assert told("C5/1 D5 B4 A4", reach="small") == []


def test_a_first_finger_drawn_back_says_how_far():
    found = told("Bb3/1 C4 D4", CELLO, locks={"n1": Lock(string=1, position=1, finger=1)}, reach="small")
    assert found[0].text.startswith("measure 1, beat 1: 1 for Bb3 is drawn back ")
    assert "37 mm" in found[0].text or "38 mm" in found[0].text


def test_another_extension_is_no_easier_way():
    """The fourth finger on the A string in third position would come first, and reaches out of the frame too."""
    (caution,) = told("G#5/1", locks={"n1": Lock(string=1, position=3, finger=1, hand=5.0)}, reach="small")
    assert caution.easier == "Easier: 2 on the E string, 1st position."


def test_where_there_is_no_easier_way_the_note_may_be_left_out():
    rules = {"positions": (1,), "reach": "small"}
    (caution,) = told("Bb5/1 C6", locks={"n2": Lock(finger=4)}, **rules)
    assert caution.easier == "No easier way under these rules: give it to another desk, or leave it out."


def test_the_general_sentence_defers_to_professionals():
    """Source of the wording's sense: NASM/PAMA student sheet; Michigan State University ergonomics page."""
    assert "Stop if it hurts" in CAUTION
    assert "licensed health professional" in CAUTION
