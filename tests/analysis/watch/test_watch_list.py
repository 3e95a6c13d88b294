"""The watch-list as a whole: what holds whatever the music."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from analysis.fingering.plan import make_plan
from analysis.fingering.rules.files import PRESETS, preset
from analysis.instruments import INSTRUMENTS
from analysis.music import Part, Score
from analysis.watch.kinds import KINDS
from analysis.watch.watchlist import watch_list
from tests.analysis.lines import line
from tests.analysis.watch.offences import offences
from tests.strategies import parts

NAMES = (
    "finger-pattern", "bar-line", "key-region", "leading-note", "fifth-across", "single-crossing", "string-skip",
    "open-string", "shift", "extension", "stretch", "high-finger", "look-alike", "texture", "dynamics", "range",
    "hard-spot", "bowing",
)  # fmt: skip


def test_the_table_holds_every_kind_once_with_words_and_a_source():
    assert sorted(kind.name for kind in KINDS) == sorted(NAMES)
    assert len({kind.title for kind in KINDS}) == len(KINDS)
    for kind in KINDS:
        assert kind.says.endswith(".")
        assert kind.source


@given(st.data())
@settings(max_examples=60)
def test_whatever_the_music_the_watch_list_keeps_its_rules(data):
    instrument = data.draw(st.sampled_from(INSTRUMENTS))
    part = data.draw(parts(least=0, most=30, voices=2, instrument=instrument, seams=data.draw(st.booleans())))
    below = data.draw(parts(least=0, most=12))
    score = Score("", (part, Part("P2", "Viola", below.measures, ())))
    plan = make_plan(part, instrument, preset(data.draw(st.sampled_from(PRESETS))))
    found = watch_list(score, part, plan)
    assert offences(part, found) == []
    assert watch_list(score, part, plan) == found
    assert offences(part, watch_list(score, part, None)) == []


def test_a_part_without_notes_has_nothing_to_watch():
    part = line("r/4 r r r")
    assert watch_list(Score("", (part,)), part, None) == ()
    assert watch_list(Score("", (part,)), part, make_plan(part, INSTRUMENTS[0], preset("first"))) == ()


def test_work_under_way_tells_how_far_it_is_and_can_be_stopped():
    part = line("D4 E4 F#4 G4")
    shares: list[float] = []
    watch_list(Score("", (part,)), part, None, shares.append)
    assert shares == sorted(shares)
    assert 0 <= shares[0] < shares[-1] <= 1
