"""What ways of playing cost from slow to fast: exact at every tempo, and the tempo from which another costs less."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from analysis.fingering.plan import make_plan
from analysis.fingering.rules.files import preset
from analysis.instruments import BASS, CELLO, VIOLA, VIOLIN
from analysis.music import Tempo
from app.job.comparing.tempo_scan import TEMPI, Crossing, TempoScan, at_tempo, scan_tempi, tempo_of, weigh_at
from app.job.comparing.ways import locks_of, weigh
from app.job.teacher.work import PartWork
from tests.analysis.lines import line

# Two strings in first position, one in third: the crossings weigh the more the faster they come.
FAST_IN_THIRD = "A4/1 B4 G4 A4 G4 B4 A4 G4"
# Here third position has to leave for low notes in quick ones.
SLOW_IN_THIRD = "A4/1 B4 G4 B4 A4 G4 B4/0.5 A3 B3 A3 A4/2"
BOTH = (preset("first"), preset("third"))


def scanned(music, tempi=TEMPI, *, at=88.0, every=BOTH, instrument=VIOLIN):
    part = line(music, tempo=at)
    work = PartWork(instrument, preset("two-homes"))
    measures = (0, len(part.measures) - 1)
    ways = weigh(part, work, measures, every)
    return part, work, ways, scan_tempi(part, work, measures, ways, tempi)


def made_up(*efforts, tempi=(40, 80, 120)):
    titles = tuple("ABCD"[: len(efforts)])
    return TempoScan(titles, tuple(map(float, tempi)), efforts, (0,) * len(efforts))


@pytest.mark.parametrize(
    ("music", "instrument"),
    [
        (FAST_IN_THIRD, VIOLIN),
        ("D5/0.5 (E5 F#5 G5) *A5 G5/1 r F#5/0.25 E5 D5 C#5 [D4 A4]/1 E5", VIOLIN),
        ("A4/0.5 B4 (C5 D5) E5/2~ E5/1 D5 C5 B4/0.5 A4 G4 A4", VIOLA),
        ("A3/0.5 B3 (C4 D4) E4/2 D4/1 C4 B3 A3/0.25 G3 F3 E3 D3/1", CELLO),
        ("G2/1 A2 B2 C3/0.5 D3 E3 D3 C3 B2 A2/2", BASS),
    ],
)
def test_an_effort_is_that_of_a_plan_with_these_fingers_at_that_tempo(music, instrument):
    part, work, ways, scan = scanned(music, (40, 104, 160), instrument=instrument)
    for way, efforts in zip(ways, scan.efforts, strict=True):
        for tempo, effort in zip(scan.tempi, efforts, strict=True):
            plan = make_plan(at_tempo(part, tempo), instrument, way.rules, locks_of(way))
            assert [one.as_played for _, one in plan.choices()] == [one.as_played for _, one in way.plan.choices()]
            assert effort == pytest.approx(plan.effort_by(work.rules), abs=1e-9)
    assert any(efforts[0] != efforts[-1] for efforts in scan.efforts)


def test_at_the_tempo_of_the_part_a_way_costs_what_it_is_weighed_at():
    _, _, ways, scan = scanned(FAST_IN_THIRD, (40, 88, 160))
    assert [efforts[1] for efforts in scan.efforts] == pytest.approx([way.counts.effort for way in ways], abs=1e-9)


@pytest.mark.parametrize(
    ("music", "slow", "fast"), [(FAST_IN_THIRD, "First", "Third"), (SLOW_IN_THIRD, "Third", "First")]
)
def test_another_way_pays_from_the_tempo_at_which_it_begins_to_cost_less(music, slow, fast):
    part, work, ways, scan = scanned(music)
    (crossing,) = scan.crossings
    assert [ways[way].rules.title for way in (crossing.before, crossing.after)] == [
        f"{slow} position",
        f"{fast} position",
    ]
    step = int(crossing.tempo // 8 * 8)
    for tempo, other_is_less in ((step, False), (step + 8, True)):
        before, after = (
            make_plan(at_tempo(part, tempo), VIOLIN, way.rules, locks_of(way)).effort_by(work.rules)
            for way in (ways[crossing.before], ways[crossing.after])
        )
        assert (after < before) == other_is_less
    assert scan.sentences == (
        f"{slow} position costs less when slow.",
        f"From about quarter = {crossing.tempo:.0f} on, {fast} position costs less.",
    )


def test_the_crossing_lies_where_straight_lines_between_the_tempi_meet():
    assert made_up((4.0, 6.0, 8.0), (5.0, 5.0, 5.0)).crossings == (Crossing(60.0, 0, 1),)
    assert made_up((5.0, 5.0, 5.0), (4.0, 6.0, 8.0)).crossings == (Crossing(60.0, 1, 0),)
    assert made_up((1.0, 1.0, 4.0), (2.0, 2.0, 2.5)).crossings == (Crossing(96.0, 0, 1),)
    assert made_up((1.0, 1.0, 4.0), (2.0, 2.0, 2.5)).effort_at(1, 96.0) == pytest.approx(2.2)


def test_every_change_of_the_least_way_is_named_and_one_that_only_draws_level_is_none():
    scan = made_up((1.0, 4.0, 9.0), (2.0, 3.0, 6.0), (9.0, 5.0, 2.0))
    assert [(one.before, one.after) for one in scan.crossings] == [(0, 1), (1, 2)]
    assert scan.sentences[0] == "A costs least when slow."
    assert made_up((2.0, 2.0, 4.0), (1.0, 2.0, 3.0)).crossings == ()


def test_ways_that_part_only_when_fast_have_no_crossing():
    scan = made_up((3.0, 3.0, 5.0), (3.0, 3.0, 4.0))
    assert scan.sentences == ("B costs less at every tempo from quarter = 40 to 120.",)


def test_ways_that_cost_the_same_are_named_together():
    scan = made_up((3.0, 3.0, 3.0), (4.0, 4.0, 4.0), (3.0, 3.0, 3.0), (3.0, 3.0, 3.0))
    assert scan.sentences == ("A, C and D cost less at every tempo from quarter = 40 to 120.",)
    assert made_up((3.0, 3.0, 3.0), (3.0, 3.0, 3.0)).sentences == ("They cost the same from quarter = 40 to 120.",)


def test_notes_that_a_way_leaves_out_are_told():
    _, _, _, scan = scanned("D6/1 A4 B4 D6")
    assert scan.missing == (2, 0)
    assert scan.sentences[-1] == "First position leaves 2 notes unplayed, which is not counted."


def test_the_tempo_asked_for_holds_whatever_is_printed_later():
    part = replace(line(FAST_IN_THIRD, tempo=60), tempi=(Tempo(Fraction(0), 60.0), Tempo(Fraction(4), 200.0)))
    work = PartWork(VIOLIN, preset("two-homes"))
    asked = weigh_at(part, work, (0, 1), BOTH, 120)
    plain = weigh(line(FAST_IN_THIRD, tempo=120), work, (0, 1), BOTH)
    assert [way.counts for way in asked] == [way.counts for way in plain]
    assert [way.counts for way in asked] != [way.counts for way in weigh(part, work, (0, 1), BOTH)]


def test_a_passage_begins_at_the_printed_tempo_else_at_that_of_the_house_rules():
    work = PartWork(VIOLIN, replace(preset("two-homes"), tempo=72))
    part = replace(line(FAST_IN_THIRD), tempi=(Tempo(Fraction(4), 132.0),))
    assert tempo_of(part, (0, 1), work) == 72
    assert tempo_of(part, (1, 1), work) == 132
