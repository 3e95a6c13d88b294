"""Effort terms: for each a smallest passage in which it is paid and one in which it is not."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.fingering.costs import UNIT, term_efforts
from analysis.fingering.hands import hands
from analysis.fingering.locks import Lock
from analysis.fingering.moments import moments
from analysis.fingering.plan import make_plan
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.terms import TERM_NAMES, TERMS, Window, spreads
from analysis.fingering.terms.window import effort_of
from analysis.instruments import BASS, CELLO, VIOLIN
from tests import strategies
from tests.analysis.lines import line, plan

EVERYWHERE = {"positions": tuple(range(13))}
_FINGERS = "01234T"


def paid(term, text, fingering, *, instrument=VIOLIN, tempo=60.0, **rules):
    """What a line costs by one term, in thousandths, when it is played as ``fingering`` says: string letter and finger
    of every note, and after a dot the position, else first."""
    letters = {string.letter: string.number for string in instrument.strings}
    part = line(text, tempo=tempo)
    locks = {}
    for note, word in zip((note for note in part if not note.tied_from), fingering.split(), strict=True):
        stop, _, position = word.partition(".")
        locks[note.id] = Lock(letters[stop[0]], int(position or 1), _FINGERS.index(stop[1]))
    made = plan(part, HouseRules(**(EVERYWHERE | rules)), instrument, locks)
    assert made.problems == {}
    (chain,) = made.chains
    return int(term_efforts(chain.line, chain.chosen_path())[term].sum())


# Term: a passage in which it is paid and the like in which it is not, as played on the violin.
CASES = {
    "weak_finger": (("E5", "A4"), ("B4", "A1")),
    "out_of_shape": (("F5", "E1"), ("F#5", "E1")),
    "extension": (("C6", "E4"), ("B5", "E4")),
    "stretch": (("C6", "E4"), ("B5", "E4")),
    "fifth_in_chord": (("[E4 B4]", "D1 A1"), ("[D4 B4]", "D0 A1")),
    "open_string": (("A4", "A0"), ("A4", "D4")),
    "ringing_open": (("A4/2", "A0"), ("A4/2", "D4")),
    "long_open": (("A4/5/2", "A0"), ("A4/2", "A0")),
    "shrill_open": (("E5", "E0"), ("E5", "A4")),
    "away_from_home": (("D5", "A1.3"), ("D5", "A3")),
    "start_away": (("D5", "A1.3"), ("D5", "A3")),
    "between_positions": (("C5", "A1.2"), ("D5", "A1.3")),
    "half_position": (("Bb4", "A1.0"), ("Bb4", "A1")),
    "high_position": (("E5", "A1.4"), ("D5", "A1.3")),
    "thick_string": (("C5", "D4.3"), ("D6", "E4.3")),
    "same_again": (("B4 C#5 D5 E5 B4 C#5 D5 E5", "A1 A2 A3 A4 A1 A2 A3 E0"), ("B4 C#5 D5 E5", "A1 A2 A3 A4")),
    "crossing": (("G4 B4", "D3 A1"), ("G4 A4", "D3 D4")),
    "crossing_down": (("B4 G4", "A1 D3"), ("G4 B4", "D3 A1")),
    "quick_crossing": (("G4/1/4 B4", "D3 A1"), ("G4/1 B4", "D3 A1")),
    "skipped_string": (("G4 F#5", "D3 E1"), ("G4 B4", "D3 A1")),
    "slurred_crossing": (("(G4 B4)", "D3 A1"), ("G4 B4", "D3 A1")),
    "other_way_at_once": (("A4 A4", "A0 D4"), ("A4 A4", "D4 D4")),
    "broken_tremolo": (("G4/1= A4", "D3 A0"), ("G4/1= A4", "D3 D4")),
    "shift": (("B4 D5", "A1 A1.3"), ("B4 D5", "A1 A3")),
    "shift_travel": (("B4 D5", "A1 A1.3"), ("B4 D5", "A1 A3")),
    "slurred_shift": (("(B4 D5)", "A1 A1.3"), ("B4 D5", "A1 A1.3")),
    "no_guide_finger": (("B4 E5", "A1 A2.3"), ("B4 D5", "A1 A1.3")),
    "sliding_finger": (("C5 C#5", "A2 A2"), ("C5 D5", "A2 A3")),
    "hopping_finger": (("F4 C#5", "D2 A2"), ("F#4 C#5", "D2 A2")),
    "fifth_across": (("F#4 C#5", "D2 A2"), ("F4 C#5", "D2 A2")),
    "tritone_across": (("F4 B4", "D2 A1"), ("F#4 B4", "D2 A1")),
    "span_of_hand": (("Bb4 C#5", "A1 A2"), ("B4 C#5", "A1 A2")),
    "single_crossing": (("G4 B4 G4", "D3 A1 D3"), ("G4 B4 F#5", "D3 A1 E1")),
    "single_shift": (("B4 D5 B4", "A1 A1.3 A1"), ("B4 D5 E5", "A1 A1.3 A2.3")),
    "pattern_change": (("C5 D5 C#5", "A2 A3 A2"), ("C5 D5 C5", "A2 A3 A2")),
}


@pytest.mark.parametrize("term", CASES)
def test_a_term_is_paid_where_it_should_be_and_not_beside_it(term):
    here, beside = CASES[term]
    assert paid(term, *here) > 0
    assert paid(term, *beside) == 0


def test_every_term_has_its_passage():
    assert set(CASES) == set(TERM_NAMES)
    assert len(set(TERM_NAMES)) == len(TERMS)


@pytest.mark.parametrize("term", TERMS, ids=lambda term: term.name)
def test_every_term_has_its_words_and_its_source(term):
    assert term.says
    assert not term.says.endswith(".")
    assert term.because[0].islower()
    assert not term.because.endswith(".")
    assert term.source
    assert term.measure.__doc__
    assert term.span in (1, 2, 3)


# Term, the dearer of two passages, the easier one, and rules.
DEARER = [
    ("shrill_open", ("{ff} E5", "E0"), ("{mf} E5", "E0")),
    ("shrill_open", ("{f} E5", "E0"), ("{p} E5", "E0")),
    ("shrill_open", ("E5", "E0"), ("{pizz} E5", "E0")),
    ("ringing_open", ("A4/2", "A0"), ("A4/1", "A0")),
    ("ringing_open", ("{p} A4/2", "A0"), ("{f} A4/2", "A0")),
    ("long_open", ("A4/4", "A0"), ("{pizz} A4/4", "A0")),
    ("crossing", ("G4 B4", "D3 A1"), ("{pizz} G4 B4", "D3 A1")),
    ("crossing", ("G4/1/2 B4", "D3 A1"), ("G4/1 B4", "D3 A1")),
    ("crossing", ("G4/1 B4", "D3 A1"), ("G4/1/2 r B4/1", "D3 A1")),
    ("single_crossing", ("G4 B4 G4", "D3 A1 D3"), ("G4 r B4 G4", "D3 A1 D3")),
    ("shift", ("B4/1/2 D5", "A1 A1.3"), ("B4/1 D5", "A1 A1.3")),
    ("shift", ("B4/1 D5", "A1 A1.3"), ("B4/1/2 r D5/1", "A1 A1.3")),
    ("shift", ("B4/1 D5 A5", "A1 A3 E1.3"), ("B4/1 E5 A5", "A1 E0 E1.3")),
    ("shift_travel", ("B4 F#5", "A1 A1.5"), ("B4 D5", "A1 A1.3")),
    ("away_from_home", ("E5", "A1.4"), ("D5", "A1.3")),
    ("weak_finger", ("E5", "A4"), ("D5", "A3")),
    ("fifth_in_chord", ("[A4 E5]", "D4 A4"), ("[E4 B4]", "D1 A1")),
    ("skipped_string", ("B3 F#5", "G2 E1"), ("G4 F#5", "D3 E1")),
    # While a finger trills over an open string the hand is bound to its place.
    ("open_string", ("A4^B4", "A0"), ("A4", "A0")),
    ("shift", ("E5/1^F#5 A5", "E0 E1.3"), ("E5/1 A5", "E0 E1.3")),
    ("shift", ("D5/1 E5^F#5", "A1.3 E0"), ("D5/1 E5", "A1.3 E0")),
    ("shift_travel", ("E5/1^F#5 A5", "E0 E1.3"), ("E5/1 A5", "E0 E1.3")),
    # Notes that close a trill leave no time for another position.
    ("shift", ("D4/4^E4 *C4 D4", "G2.3 G3 G4"), ("D4/4 *C4 D4", "G2.3 G3 G4")),
]


@pytest.mark.parametrize(("term", "dearer", "easier"), DEARER)
def test_of_two_passages_the_harder_one_costs_more(term, dearer, easier):
    assert paid(term, *dearer) > paid(term, *easier)


def test_a_string_that_a_finger_trills_on_does_not_ring():
    """It is stopped again and again. Common practice, no source."""
    assert paid("ringing_open", "A4/4^B4", "A0") == 0
    assert paid("long_open", "A4/4^B4", "A0") == 0


def test_rules_switch_their_terms_off():
    assert paid("shrill_open", "E5", "E0", avoid_shrill_open=False) == 0
    assert paid("single_crossing", "G4 B4 G4", "D3 A1 D3", fourth_saves_crossing=False) == 0
    assert paid("long_open", "A4/5/2", "A0", longest_open=3) == 0
    assert paid("away_from_home", "D5", "A1.3", home=3) == 0
    assert paid("same_again", *CASES["same_again"][0], same_again=False) == 0


def test_the_open_string_costs_by_what_the_rules_like():
    costs = [paid("open_string", "A4", "A0", open_or_fourth=liked) for liked in ("open", "either", "fourth")]
    assert costs == sorted(costs)
    assert len(set(costs)) == 3
    assert paid("weak_finger", "E5", "A4", open_or_fourth="fourth") < paid("weak_finger", "E5", "A4")


def test_the_open_a_of_the_viola_is_not_shrill():
    assert paid("shrill_open", "A4", "A0") == 0


def test_the_hands_of_cello_and_bass_are_measured_by_their_own_frames():
    assert paid("extension", "C#4 D#4", "A2.2 A4.2", instrument=CELLO) >= 0
    assert paid("extension", "D#4", "A4", instrument=CELLO) > paid("extension", "D4", "A4", instrument=CELLO) == 0
    assert paid("span_of_hand", "B3 D4", "A1 A4", instrument=CELLO) == 0
    assert paid("span_of_hand", "A2 B2", "G1 G4", instrument=BASS) == 0


@settings(max_examples=150)
@given(strategies.instruments(), st.data())
def test_no_term_is_ever_negative_and_the_tables_hold_their_sum(instrument, data):
    part = data.draw(strategies.parts(least=3, most=8, instrument=instrument, seams=True))
    # What departs from a figure is added later.
    off = {"same_again": False, "passage": (), "instrument": (), "part": ()}
    made = make_plan(part, instrument, replace(data.draw(strategies.rules(positions=2)), **off))
    for chain in made.chains:
        if not chain.stages:
            continue
        held = any(stage.held for stage in chain.stages)
        what = hands(chain.line.instrument, chain.grips)
        when = moments(chain.line.stages, chain.line.rules)
        for span, tables in enumerate((chain.free, chain.costs.pair, chain.costs.triple), start=1):
            for first, table in enumerate(tables):
                window = Window(
                    tuple(what.at(np.array([first + k]), width, k, span) for k, width in enumerate(table.shape)),
                    tuple(when.at(np.array([first + k]), span) for k in range(min(span - 1, 1), span)),
                    spreads(chain.line.instrument.frame),
                )
                total = np.zeros((1, *table.shape), dtype=np.int64)
                for term in TERMS:
                    if term.span == span and term.name != "same_again":
                        weight = chain.line.rules[first + span - 1].weight(term.name) * UNIT
                        total = total + thousandths(term.measure(window), weight)
                apart = any(first <= k < first + span - 1 for k in chain.line.parted)
                if not apart and not held:
                    assert np.array_equal(total[0], table)


def thousandths(measured, weight):
    """What a term measured in whole thousandths, once it is seen to be an effort."""
    assert np.isfinite(effort_of(measured)).all()
    assert (effort_of(measured) >= 0).all()
    if isinstance(measured, tuple):
        return sum(part.times * np.rint(part.each * weight).astype(np.int64) for part in measured)
    return np.rint(measured * weight).astype(np.int64)
