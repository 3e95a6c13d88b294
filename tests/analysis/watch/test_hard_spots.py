"""The hardest spots and their ranks; our own judgement, checked against the effort of the plan itself."""

from __future__ import annotations

from dataclasses import replace

import pytest

from analysis.fingering.locks import Lock
from analysis.fingering.rules.house import HouseRules
from analysis.fingering.terms import TERM_NAMES
from analysis.watch.hard_spots import CAUSES, UNHEEDED
from tests.analysis.lines import line
from tests.analysis.watch.studies import study, watched

EASY = "D4/1 E4 F#4 G4 "
SKIPS = "A3/1/4 B4 A3 B4 A3 B4 A3 B4 A3 B4 A3 B4 A3 B4 A3 B4 "
CROSSINGS = "F#4/1/2 C#5 G4 C#5 F#4 C#5 G4 C#5 "


def _spots(music, rules="first", **kind):
    return watched("hard-spot", line(music, **kind), rules)


def test_every_effort_term_is_a_cause_or_left_out():
    told = [name for cause in CAUSES for name in cause.terms]
    assert sorted((*told, *UNHEEDED)) == sorted(TERM_NAMES)


def test_the_hardest_measure_is_told_with_what_makes_it_hard():
    (finding,) = _spots(EASY * 8 + SKIPS + EASY * 4, tempo=80)
    assert finding.text == "The hardest spot, measure 9: 16 string crossings and 15 skips over a string."
    assert finding.note_ids == tuple(f"n{number}" for number in range(33, 49))


def test_spots_are_ranked():
    music = EASY * 8 + CROSSINGS + EASY * 8 + SKIPS + EASY * 8
    told = [finding.text.partition(":")[0] for finding in _spots(music, tempo=80)]
    assert told == ["The hardest spot, measure 18", "The second hardest spot, measure 9"]


def test_the_rank_is_that_of_the_effort_a_second():
    music = EASY * 8 + CROSSINGS + EASY * 8 + SKIPS + EASY * 8
    made = study(line(music, tempo=80))
    plan = made.plan
    efforts = [sum(plan.own_effort(note.id) for note in made.part.notes_in(m.index)) for m in made.part.measures]
    hardest = sorted(range(len(efforts)), key=lambda index: -efforts[index])[:2]
    assert hardest == [17, 8]


def test_music_that_is_all_alike_has_no_hardest_spot():
    assert _spots(EASY * 16, tempo=80) == []
    assert _spots(SKIPS * 16, tempo=80) == []


def test_the_same_notes_are_harder_for_being_fast():
    music = EASY * 8 + CROSSINGS + EASY * 4
    assert len(_spots(music, tempo=120)) == 1
    assert _spots(music, tempo=30) == []


def test_neighbours_that_are_as_hard_belong_to_one_spot():
    (finding,) = _spots(EASY * 8 + SKIPS * 2 + EASY * 8, tempo=80)
    assert finding.text.startswith("The hardest spot, measures 9–10:")


def test_music_that_comes_again_is_one_spot():
    (finding,) = _spots(EASY * 8 + SKIPS + EASY * 8 + SKIPS + EASY * 8, tempo=80)
    assert finding.text.startswith("The hardest spot, measures 9 and 18: 16 string crossings")
    assert len(finding.note_ids) == 32


def test_music_that_comes_again_is_named_however_few_spots_are_told():
    (finding,) = _spots(EASY * 3 + SKIPS + EASY * 3 + SKIPS + EASY * 3, tempo=80)
    assert finding.text.startswith("The hardest spot, measures 4 and 8:")


def test_what_is_done_to_arrive_counts_for_the_measure_arrived_at():
    # The first note lies on another string than the one before, the last on the string of the one after.
    there = "A3/1/2 B4 A3 B4 A3 B4 A3 D4 "
    (finding,) = _spots(EASY * 8 + there + EASY * 4, tempo=80)
    assert finding.text == "The hardest spot, measure 9: six skips over a string and eight string crossings."


def test_spots_do_not_touch_one_another():
    hard = "".join(SKIPS.replace("B4", name) for name in ("B4", "C5", "D5", "C#5", "Bb4", "B4"))
    (finding,) = _spots(EASY * 20 + hard + EASY * 20, tempo=80)
    assert finding.text.startswith("The hardest spot, measures 2")


def test_a_short_piece_has_few_spots():
    music = EASY * 3 + CROSSINGS + EASY * 3 + SKIPS + EASY * 3
    assert [finding.text.partition(",")[0] for finding in _spots(music, tempo=80)] == ["The hardest spot"]


def test_at_most_five_are_told():
    hard = [SKIPS.replace("B4", name) for name in ("B4", "C5", "D5", "C#5", "D#5", "Bb4", "B#4")]
    found = _spots("".join(EASY * 8 + skips for skips in hard), tempo=80)
    assert len(found) == 5
    assert {finding.text.partition(" spot")[0] for finding in found} == {
        "The hardest", "The second hardest", "The third hardest", "The fourth hardest", "The fifth hardest"
    }  # fmt: skip


def test_shifts_are_among_the_causes():
    music = line(EASY * 8 + "B4/1/2 D5 B4 D5 B4 D5 B4 D5 " + EASY * 8, tempo=80)
    locks = {f"n{number}": Lock(position=1 if number % 2 else 3) for number in range(33, 41)}
    (finding,) = watched("hard-spot", music, "two-homes", locks=locks)
    assert finding.text == "The hardest spot, measure 9: seven shifts."


def test_a_measure_cut_short_counts_as_a_whole_one():
    part = line(EASY * 8 + CROSSINGS + EASY * 4, tempo=80)
    assert len(watched("hard-spot", part)) == 1
    # Its four quarter notes as what is left of sixteen.
    measures = [replace(one, time=(16, 4)) if one.index == 8 else one for one in part.measures]
    assert watched("hard-spot", replace(part, measures=tuple(measures))) == []


def test_rests_are_no_music():
    assert _spots("r/4 r r r", tempo=80) == []


@pytest.mark.parametrize("rules", [HouseRules(), HouseRules(positions=(1,))])
def test_a_single_note_is_no_spot(rules):
    assert watched("hard-spot", "A4/4", rules) == []
