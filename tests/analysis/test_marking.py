"""What is printed of a fingering: a player who reads it plays the plan, and no digit of the least set is too many."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.fingering.locks import Lock
from analysis.fingering.plan import make_plan
from analysis.fingering.rules.files import PRESETS, preset
from analysis.instruments import CELLO, INSTRUMENTS
from analysis.marking.policy import REASONS, Amount, printed
from analysis.marking.reader import Reader, alike, played_after
from tests.analysis.lines import line, plan, repeated
from tests.strategies import locked, parts


def orders(chain) -> Iterator[list[int]]:
    """Every order in which the stages of a voice may be played, each way on taken twice at the most."""
    follows: dict[int, list[int]] = {}
    for index, before in enumerate(played_after(chain)):
        for one in before:
            follows.setdefault(one, []).append(index)
    open_orders: list[tuple[list[int], Counter]] = [([first], Counter()) for first in follows.get(-1, ())]
    while open_orders:
        order, taken = open_orders.pop()
        ways = [way for way in follows.get(order[-1], ()) if taken[order[-1], way] < 2]
        if not ways:
            yield order
        open_orders += [([*order, way], taken + Counter({(order[-1], way): 1})) for way in ways]


def read_wrongly(made, prints) -> set[int]:
    """The numbers of the stages that a player who reads these prints plays otherwise than planned, on some way."""
    reader, wrong = Reader(made.setting), set()
    for chain in made.chains:
        for order in orders(chain):
            stages = [chain.stages[index] for index in order]
            read = reader.reads(stages, prints, reader.beginning(made.setting.own))
            for index, grip in zip(order, read, strict=True):
                if grip is None or not alike(grip, chain.chosen(index)):
                    wrong.add(index)
    return wrong


@st.composite
def plans(draw):
    instrument = draw(st.sampled_from(INSTRUMENTS))
    part = draw(parts(least=1, most=8, voices=2, instrument=instrument, seams=draw(st.booleans())))
    locks = draw(locked(part, instrument=instrument))
    return make_plan(part, instrument, preset(draw(st.sampled_from(PRESETS))), locks)


@given(plans(), st.sampled_from(Amount))
@settings(max_examples=150, deadline=None)
def test_a_player_who_reads_what_is_printed_plays_the_plan(made, amount):
    assert read_wrongly(made, {one.note_id: one.what for one in printed(made, amount)}) == set()


@given(plans())
@settings(max_examples=100, deadline=None)
def test_of_the_exceptions_none_can_be_left_out_and_none_says_too_much(made):
    prints = {one.note_id: one.what for one in printed(made, Amount.EXCEPTIONS)}
    for chain in made.chains:
        for stage in chain.stages:
            heads = [note.id for note in stage.heads if note.id in prints]
            without = {note_id: what for note_id, what in prints.items() if note_id not in heads}
            assert not heads or read_wrongly(made, without)
            if any(prints[note_id].string or prints[note_id].hand is not None for note_id in heads):
                plain = {note_id: replace(prints[note_id], string=None, hand=None) for note_id in heads}
                assert read_wrongly(made, prints | plain)


@given(plans())
@settings(max_examples=60, deadline=None)
def test_more_is_printed_the_larger_the_amount(made):
    exceptions, matters, every = (
        {one.note_id for one in printed(made, amount)} for amount in (Amount.EXCEPTIONS, Amount.MATTERS, Amount.EVERY)
    )
    assert exceptions <= matters <= every
    assert every == {note.id for note in made.part if made.struck(note.id)}


def marked(made, amount=Amount.MATTERS, turned=()):
    return {one.note_id: one.why for one in printed(made, amount, turned)}


# Common practice, no source: what a teacher marks.
def test_a_scale_in_first_position_has_a_finger_where_the_players_come_in_and_nowhere_else():
    assert marked(plan("G4/1 A4 B4 C5 D5 C5 B4 A4", "home-ground")) == {"n1": ("entry",)}


def test_a_fourth_finger_in_place_of_the_open_string_is_printed_once_for_equal_notes():
    made = plan("F#4/1 G4 A4/3 A4/1 G4")
    assert [made.choice(n).finger for n in ("n3", "n4")] == [4, 4]
    why = marked(made)
    assert "fourth" in why["n3"]
    assert "n4" not in why


def test_a_shift_is_printed_with_its_position_on_the_way_up_and_on_the_way_down():
    locks = {"n1": Lock(position=1), "n5": Lock(position=1)}
    made = plan("F#4/1 G4 B5 D6/2 r/1 G4/1 F#4", "two-homes", locks=locks)
    why = marked(made)
    moved = [note for note, reasons in why.items() if "shift" in reasons]
    assert len(moved) == 2
    assert [made.choice(note).position for note in moved] == [3, 1]
    prints = {one.note_id: one.what for one in printed(made, Amount.MATTERS)}
    assert prints[moved[0]].hand is not None


def test_a_part_that_begins_away_from_home_says_where():
    made = plan("D6/2 C#6 B5", "two-homes")
    (first, *_) = printed(made, Amount.MATTERS)
    assert first.what.hand == made.choice("n1").hand
    assert set(first.why) >= {"entry", "shift"}


def test_a_finger_that_goes_from_high_to_low_is_printed():
    why = marked(plan("D5/1 C#5 B4 C5 B4 C#5"))
    assert "moved_finger" in why["n4"]
    assert "moved_finger" in why["n6"]
    assert "n3" not in why


def test_one_finger_across_a_fifth_and_an_extension_are_printed():
    assert "across" in marked(plan("B4/1 F#5 B4 F#5"))["n2"]
    made = plan("D4/1 G#4 D4", locks={"n2": Lock(string=3, finger=3)})
    assert not made.choice("n2").is_extension
    stretched = plan("B4/1 C5 D5 F5 E5", locks={"n4": Lock(string=2, finger=4, position=1)})
    assert stretched.choice("n4").is_extension
    assert "extension" in marked(stretched)["n4"]


def test_after_a_rest_at_a_seam_and_after_a_page_turn_the_players_find_a_finger():
    why = marked(plan("G4/1 A4 r/2 B4/1 C5"))
    assert why["n3"] == ("entry",)
    part = repeated(line("G4/1 A4 B4 C5 D5 C5 B4 A4"), backs={1: 2})
    assert "seam" in marked(plan(part))["n1"] or "entry" in marked(plan(part))["n1"]
    assert marked(plan("G4/1 A4 B4 C5"), turned={"n3"})["n3"] == ("turn",)


def test_at_a_seam_a_digit_is_printed_where_only_the_way_back_needs_it():
    """The hand is in third position at the end and home at the beginning."""
    part = repeated(line("E5/1 F#5 G5 A5 | ".replace("| ", "") + "B5/1 C6 D6 E6"), backs={1: 2})
    made = plan(part, "two-homes", locks={"n1": Lock(position=1, string=1)})
    assert read_wrongly(made, {}) != set()
    assert "needed" in marked(made, Amount.EXCEPTIONS).get("n1", ())


@pytest.mark.parametrize("rules", PRESETS)
def test_every_reason_has_its_words(rules):
    made = plan(line("C3/1 D3 E3 G3 A3/2 A3/2 B3/1 C4"), rules, CELLO)
    for amount in Amount:
        assert {reason for why in marked(made, amount).values() for reason in why} <= set(REASONS)


def test_the_house_rules_say_how_much_is_printed_also_for_a_passage():
    rules = preset("first").with_table((("printed", "exceptions"),))
    passage = replace(rules, passage=({"measures": "2", "printed": "every-note"},))
    made = plan("G4/1 A4 B4 C5 D5 C5 B4 A4", passage)
    assert [one.note_id for one in printed(made)] == ["n5", "n6", "n7", "n8"]
    assert printed(made, Amount.EXCEPTIONS) == ()


def test_the_teacher_adds_a_digit_at_a_note_and_takes_one_away():
    made = plan("G4/1 A4 B4 C5", "home-ground")
    found = {one.note_id: one.why for one in printed(made, Amount.MATTERS, own={"n1": False, "n3": True})}
    assert found == {"n3": ("own",)}
